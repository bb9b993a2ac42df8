#include "book/once.hpp"

#include "book/request.hpp"
#include "log/commitment.hpp"
#include "service/build.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

std::string keyed_bytes(const std::string& secret, std::string_view text) {
  const log::Digest d = log::keyed(secret, text);
  return std::string(reinterpret_cast<const char*>(d.data()), d.size());
}

constexpr std::size_t kBytes = 32;

// Behind the digest of the request stands a second one, over the whole row, so that a changed row or another secret is seen. It binds the
// row against accident and the hand that does not know how; who reads the secret can make it anew.
std::string bound(const std::string& secret, const std::string& key, const std::string& request, std::int64_t entry) {
  return keyed_bytes(secret, "row " + std::to_string(entry) + "\n" + key + request);
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
  known_request_ = q.blob(1).substr(0, kBytes);
}

Result<Receipt> Once::first() const {
  const auto row = log::read_row(in_.db, EntryId{entry_});
  if (!row) throw store::Failure(Code::unsound, in_.db.path() + ": a once-key without its entry", "baybook prove");
  Receipt r;
  r.entry = ref_of(in_, EntryId{entry_});
  if (request_ != known_request_) {
    return Refusal{Code::already_there, "the once-key was used for entry " + entry_name(in_, r.entry.id) + " with other details", "a key stands for one entry", "another --once key", {}};
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
  const std::string request = request_ + bound(secret_of(in_.db), key_, request_, entry.n);
  q.bind_blob(key_.data(), key_.size()).bind_blob(request.data(), request.size()).bind(entry.n).run();
}

std::int64_t once_rows_changed(store::Db& db) {
  std::int64_t changed = 0;
  std::string secret;
  auto q = db.query("SELECT key, request, entry FROM once");
  while (q.step()) {
    if (secret.empty()) secret = secret_of(db);
    const std::string key = q.blob(0);
    const std::string request = q.blob(1);
    // Rows of the first books have the request alone.
    const bool early = request.size() == kBytes;
    if (key.size() != kBytes || (!early && request.substr(std::min(kBytes, request.size())) != bound(secret, key, request.substr(0, kBytes), q.num(2)))) ++changed;
  }
  return changed;
}

namespace {

std::optional<log::Fact> fact_under(Book::Inside& in, std::string_view once_key) {
  const std::string key = keyed_bytes(secret_of(in.db), once_key);
  std::int64_t entry = 0;
  {
    auto q = in.db.query("SELECT entry FROM once WHERE key = ?");
    q.bind_blob(key.data(), key.size());
    if (q.step()) entry = q.num(0);
  }
  return entry == 0 ? std::nullopt : log::find_fact(in.db, EntryId{entry});
}

}  // namespace

JobId job_under(Book::Inside& in, std::string_view once_key) {
  const auto fact = fact_under(in, once_key);
  return fact ? service::belongs_to(in.db, *fact).job : JobId{};
}

std::string key_after_withdrawn(Book::Inside& in, std::string key) {
  for (;;) {
    const auto fact = fact_under(in, key);
    if (!fact || !fact->withdrawn) return key;
    key += "\nafter " + std::to_string(fact->source.n);
  }
}

EntryId erased_under(Book::Inside& in, std::string_view once_key) {
  const auto fact = fact_under(in, once_key);
  if (!fact || fact->kind != log::Kind::erasure) return {};
  return EntryId{log::read_ref(fact->details.at("about"), fact->origin())};
}

}  // namespace baybook::book
