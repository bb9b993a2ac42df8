#include "book/once.hpp"

#include "book/request.hpp"
#include "log/commitment.hpp"
#include "service/build.hpp"

namespace baybook::book {

namespace {

std::string keyed_bytes(const std::string& secret, std::string_view text) {
  const log::Digest d = log::keyed(secret, text);
  return std::string(reinterpret_cast<const char*>(d.data()), d.size());
}

std::string secret_of(store::Db& db) {
  auto q = db.query("SELECT value FROM beside WHERE name = 'once-secret'");
  if (!q.step()) throw store::Failure(Code::unsound, db.path() + ": the secret of the once-keys is missing", "a backup of the book");
  return q.blob(0);
}

}  // namespace

Once::Once(Book::Inside& in, const Draft& draft, const Stamp& stamp) : in_(in) {
  if (stamp.once.empty()) return;
  const std::string secret = secret_of(in.db);
  key_ = keyed_bytes(secret, stamp.once);
  request_ = keyed_bytes(secret, request_text(draft, stamp));
  auto q = in.db.query("SELECT entry, request FROM once WHERE key = ?");
  q.bind_blob(key_.data(), key_.size());
  if (!q.step()) return;
  entry_ = q.num(0);
  known_request_ = q.blob(1);
}

Result<Receipt> Once::first() const {
  const auto row = log::read_row(in_.db, EntryId{entry_});
  if (!row) throw store::Failure(Code::unsound, in_.db.path() + ": a once-key without its entry", "baybook prove");
  Receipt r;
  r.entry = ref_of(in_, EntryId{entry_});
  if (request_ != known_request_) {
    return Refusal{Code::already_there, "the once-key was used for entry " + std::to_string(r.entry.number()) + " with other details", "a key stands for one entry", "another --once key", {}};
  }
  r.body = row->body;
  log::Digest digest{};
  std::copy_n(row->digest.begin(), std::min(row->digest.size(), digest.size()), digest.begin());
  r.digest = log::hex(digest);
  r.summary = summarize(in_, log::read_fact(in_.db, *row));
  r.repeated = true;
  return r;
}

void Once::remember(EntryId entry) const {
  if (key_.empty()) return;
  auto q = in_.db.query("INSERT INTO once(key, request, entry) VALUES(?, ?, ?)");
  q.bind_blob(key_.data(), key_.size()).bind_blob(request_.data(), request_.size()).bind(entry.n).run();
}

JobId job_under(Book::Inside& in, std::string_view once_key) {
  const std::string key = keyed_bytes(secret_of(in.db), once_key);
  std::int64_t entry = 0;
  {
    auto q = in.db.query("SELECT entry FROM once WHERE key = ?");
    q.bind_blob(key.data(), key.size());
    if (q.step()) entry = q.num(0);
  }
  if (entry == 0) return {};
  const auto fact = log::find_fact(in.db, EntryId{entry});
  return fact ? service::belongs_to(in.db, *fact).job : JobId{};
}

}  // namespace baybook::book
