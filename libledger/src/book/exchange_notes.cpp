#include "book/exchange_notes.hpp"

#include "book/words.hpp"

#include <baybook/exchange.hpp>

#include <algorithm>
#include <charconv>

namespace baybook::book {

namespace {

// A folder with more files than this that are not renewed is read in part each time.
constexpr std::size_t kRemembered = 64;

std::string row_of(store::Db& db, const char* name) {
  auto q = db.query("SELECT value FROM beside WHERE name = ?");
  q.bind(name);
  return q.step() ? q.blob(0) : std::string();
}

void keep_row(store::Db& db, const char* name, const std::string& value) {
  auto q = db.query("INSERT OR REPLACE INTO beside(name, value) VALUES(?, ?)");
  q.bind(name).bind_blob(value.data(), value.size()).run();
}

void drop_row(store::Db& db, const char* name) {
  auto q = db.query("DELETE FROM beside WHERE name = ?");
  q.bind(name).run();
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    out.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return out;
}

std::vector<FileReach> waits(store::Db& db) {
  std::vector<FileReach> out;
  for (const std::string& line : lines_of(row_of(db, kWaits))) {
    const std::size_t blank = line.find(' ');
    FileReach r;
    r.identity = line.substr(0, blank);
    if (blank != std::string::npos)
      std::from_chars(line.data() + blank + 1, line.data() + line.size(), r.last);
    out.push_back(std::move(r));
  }
  return out;
}

std::vector<std::int64_t> own_line(Book::Inside& in) {
  const std::int64_t own = in.known.own().origin;
  std::vector<std::int64_t> out = Words::predecessors(in.db, own);
  out.push_back(own);
  return out;
}

bool contains(const std::vector<std::int64_t>& all, std::int64_t one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

}  // namespace

bool was_taken(store::Db& db, std::string_view digest) {
  const std::vector<std::string> all = lines_of(row_of(db, kTakenFiles));
  return std::find(all.begin(), all.end(), digest) != all.end();
}

bool note_taken(store::Db& db, const std::string& digest) {
  std::vector<std::string> all = lines_of(row_of(db, kTakenFiles));
  if (std::find(all.begin(), all.end(), digest) != all.end()) return false;
  all.push_back(digest);
  if (all.size() > kRemembered) all.erase(all.begin());
  std::string value;
  for (const std::string& d : all) value += d + "\n";
  keep_row(db, kTakenFiles, value);
  return true;
}

void forget_taken(store::Db& db) { drop_row(db, kTakenFiles); }

void wait_for_others(Book::Inside& in) {
  const std::vector<std::int64_t> ours = own_line(in);
  std::string value;
  for (const log::Installation& i : in.known.all) {
    if (contains(ours, i.origin)) continue;
    auto q = in.db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
    q.bind(i.origin << 40).bind((i.origin + 1) << 40);
    const std::int64_t last = q.step() ? EntryId{q.num(0)}.number() : 0;
    value += i.identity + " " + std::to_string(last) + "\n";
  }
  if (value.empty()) drop_row(in.db, kWaits);
  else keep_row(in.db, kWaits, value);
}

std::vector<std::string> waited_for(Book::Inside& in) {
  std::vector<std::string> out;
  for (const FileReach& r : waits(in.db)) {
    for (const log::Installation& i : in.known.all) {
      if (i.identity == r.identity) out.push_back(i.tag);
    }
  }
  return out;
}

std::optional<Refusal> refuse_while_waiting(Book::Inside& in, const Draft& draft) {
  if (std::holds_alternative<PeerWord>(draft) || std::holds_alternative<Erasure>(draft))
    return std::nullopt;
  const std::vector<std::string> tags = waited_for(in);
  if (tags.empty()) return std::nullopt;
  std::string all;
  for (const std::string& t : tags) all += (all.empty() ? "" : " and ") + t;
  return Refusal{
      Code::not_allowed,
      "this book stands in the place of a lost one, and " + all +
          " may hold what was written in that after the backup",
      "what is written now would stand beside it, entered twice or in another order",
      "baybook exchange with FOLDER  # with a file of " +
          std::string(tags.size() == 1 ? tags.front() : "one of them") + " that was made since",
      {},
      {},
      {"baybook exchange in FILE  # the same from a file alone",
       "baybook exchange none  # only if no other book is left"}};
}

bool wait_no_more_for(Book::Inside& in, std::string_view by, const std::vector<FileReach>& reach) {
  const std::vector<FileReach> noted = waits(in.db);
  if (noted.empty()) return false;
  const std::vector<std::int64_t> ours = own_line(in);
  const auto goes_as_far = [&](const FileReach& file) {
    if (!by.empty() && file.identity != by) return false;
    if (contains(ours, log::origin_of(file.identity))) return false;
    const auto held = std::find_if(noted.begin(), noted.end(), [&](const FileReach& n) {
      return n.identity == file.identity;
    });
    // One that was not known then: what it brings is newer than the backup.
    return held == noted.end() ? !by.empty() : file.last >= held->last;
  };
  if (std::none_of(reach.begin(), reach.end(), goes_as_far)) return false;
  drop_row(in.db, kWaits);
  return true;
}

bool wait_no_more(store::Db& db) {
  if (row_of(db, kWaits).empty()) return false;
  drop_row(db, kWaits);
  return true;
}

}  // namespace baybook::book

namespace baybook {

Result<std::vector<std::string>> waits_for(const Book& b) {
  return book::guarded<std::vector<std::string>>(
      [&]() -> Result<std::vector<std::string>> { return book::waited_for(b.inside()); });
}

Result<Done> waits_no_more(Book& b) {
  return book::guarded<Done>([&]() -> Result<Done> {
    store::Transaction t(b.inside().db);
    if (book::wait_no_more(b.inside().db)) t.commit();
    return Done{};
  });
}

}  // namespace baybook
