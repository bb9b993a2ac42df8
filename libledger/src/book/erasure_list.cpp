#include "book/erasure_list.hpp"

#include "book/erase.hpp"
#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "store/paths.hpp"

#include <baybook/text.hpp>

#include <cerrno>
#include <cstdio>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::book {

namespace {

using log::Value;

// A list of more is none of ours: some hundred thousand erasures.
constexpr off_t kMostBytes = 64 * 1024 * 1024;

std::string name_of(const Book::Inside& in, EntryId id) {
  for (const log::Installation& i : in.known.all) {
    if (i.origin == id.origin()) return i.identity + ":" + std::to_string(id.number());
  }
  return "";
}

// As it is typed in the book that goes on, where it is another installation's.
std::string typed_name(const Book::Inside& in, EntryId id) { return std::to_string(id.number()) + "@" + std::string(in.known.tag_of(id.origin())); }

// The entry here that such a name means; none of an installation that is not here.
std::optional<EntryId> entry_of(const Book::Inside& in, const std::string& name) {
  for (const log::Installation& i : in.known.all) {
    if (!name.starts_with(i.identity + ":")) continue;
    try {
      return EntryId{log::read_ref(Value(name), i.origin)};
    } catch (const log::Malformed&) {
      return std::nullopt;
    }
  }
  return std::nullopt;
}

std::string line_of(const std::string& name, const ListedErasure& e) {
  Value v;
  v["day"] = to_string(e.day);
  v["digest"] = e.digest;
  v["erasure"] = name;
  Value::Array list;
  for (const auto& [entry, fields] : e.texts) {
    Value one;
    one["entry"] = entry;
    Value::Array names;
    for (const std::string& f : fields) names.emplace_back(f);
    one["fields"] = std::move(names);
    list.push_back(std::move(one));
  }
  v["list"] = std::move(list);
  return log::canonical(v) + "\n";
}

void read_line(const Value& v, ErasureList& out) {
  ListedErasure e;
  const auto day = read_day(v.str("day"));
  if (!day) throw log::Malformed("a day that is none");
  e.day = *day;
  e.digest = v.str("digest");
  for (const Value& one : v.list("list")) {
    auto& text = e.texts.emplace_back(std::string(one.str("entry")), std::vector<std::string>());
    for (const Value& f : one.list("fields")) text.second.push_back(f.as_string());
  }
  out.emplace(v.str("erasure"), std::move(e));
}

constexpr std::string_view kFirstLine = "{\"baybook-erasures\":1}";

// The bytes of the list; none when there is no such file.
std::optional<std::string> bytes_of(const std::string& path) {
  const int fd = ::open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0 && errno == ENOENT) return std::nullopt;
  struct stat st {};
  const bool file = fd >= 0 && ::fstat(fd, &st) == 0 && S_ISREG(st.st_mode) && st.st_size <= kMostBytes;
  std::string out;
  char piece[65536];
  ssize_t n = file ? 1 : -1;
  while (n > 0) {
    n = ::read(fd, piece, sizeof piece);
    if (n < 0 && errno == EINTR) n = 1;
    else if (n > 0) out.append(piece, static_cast<std::size_t>(n));
  }
  if (fd >= 0) ::close(fd);
  if (n < 0) throw log::Malformed("it cannot be read");
  return out;
}

ErasureList parsed(const std::string& bytes) {
  ErasureList out;
  bool first = true;
  for (std::size_t at = 0; at < bytes.size();) {
    const std::size_t end = std::min(bytes.find('\n', at), bytes.size());
    const std::string_view line = std::string_view(bytes).substr(at, end - at);
    at = end + 1;
    if (first && line != kFirstLine) throw log::Malformed("it does not begin like one");
    if (!first) {
      const auto v = log::parse_canonical(line);
      if (!v.ok() || !v->is_object()) throw log::Malformed("a line of it is none");
      read_line(*v, out);
    }
    first = false;
  }
  return out;
}

// Written beside its name, synced, and put in its place at once.
bool write_list(const std::string& path, const std::string& bytes) {
  const std::string part = store::make_beside(path, 0600);
  const int fd = ::open(store::absolute(part).c_str(), O_WRONLY | O_NOFOLLOW | O_CLOEXEC);
  bool good = fd >= 0;
  for (std::size_t at = 0; good && at < bytes.size();) {
    const ssize_t n = ::write(fd, bytes.data() + at, bytes.size() - at);
    if (n < 0 && errno == EINTR) continue;
    good = n > 0;
    if (good) at += static_cast<std::size_t>(n);
  }
  good = good && ::fsync(fd) == 0;
  if (fd >= 0) good = ::close(fd) == 0 && good;
  good = good && ::rename(store::absolute(part).c_str(), store::absolute(path).c_str()) == 0;
  if (!good) ::unlink(store::absolute(part).c_str());
  return good && store::sync_path(store::folder_of(store::absolute(path)), true);
}

std::string list_in(const std::string& folder) { return folder + "/" + std::string(kErasureList); }

}  // namespace

ErasureList erasures_of(Book::Inside& in) {
  ErasureList out;
  auto q = in.db.query("SELECT DISTINCT erasure FROM erased WHERE asked = 0 ORDER BY erasure");
  std::vector<EntryId> all;
  while (q.step()) all.push_back(EntryId{q.num(0)});
  for (const EntryId id : all) {
    const log::Row row = log::row_of(in.db, id);
    ListedErasure e;
    e.digest = log::hex_of(row.digest);
    e.day = log::day_of_moment(row.moment);
    const Value body = log::parse_body(row.body);
    for (const PrivateText& t : named_by_erasure(body.at("details"), id.origin())) {
      const std::string entry = name_of(in, t.entry);
      if (e.texts.empty() || e.texts.back().first != entry) e.texts.emplace_back(entry, std::vector<std::string>());
      e.texts.back().second.push_back(t.field);
    }
    out.emplace(name_of(in, id), std::move(e));
  }
  return out;
}

ErasureList read_erasure_list(const std::string& folder, std::vector<Finding>& findings) {
  const std::string path = list_in(folder);
  try {
    if (const auto bytes = bytes_of(store::absolute(path))) return parsed(*bytes);
  } catch (const log::Malformed& m) {
    findings.push_back({path + " is no list of erasures: " + visible(m.what()), {}, "mv " + as_typed(path) + " " + as_typed(path + ".aside")});
  }
  return {};
}

void keep_erasure_list(Book::Inside& in, const std::string& folder, std::vector<Finding>& findings) {
  ErasureList all = erasures_of(in);
  if (all.empty()) return;
  const std::size_t before = findings.size();
  ErasureList there = read_erasure_list(folder, findings);
  if (findings.size() > before) return;  // what it is nobody knows: it is not written over
  const std::size_t known = there.size();
  there.merge(all);
  if (there.size() == known) return;
  std::string bytes = std::string(kFirstLine) + "\n";
  for (const auto& [name, e] : there) bytes += line_of(name, e);
  if (!write_list(list_in(folder), bytes)) findings.push_back({list_in(folder) + " could not be written: backups made before an erasure still have the text, and nothing beside them says so", {}, "look at that disk, then the same again"});
}

std::vector<UnknownErasure> unknown_in(Book::Inside& copy, const ErasureList& known) {
  std::vector<UnknownErasure> out;
  for (const auto& [name, e] : known) {
    UnknownErasure u;
    u.day = e.day;
    if (const auto erasure = entry_of(copy, name)) {
      if (log::read_row(copy.db, *erasure)) continue;
      u.erasure = typed_name(copy, *erasure);
    }
    for (const auto& [entry, fields] : e.texts) {
      const auto id = entry_of(copy, entry);
      if (!id) continue;
      for (const std::string& field : fields) {
        auto q = copy.db.query("SELECT 1 FROM private WHERE entry = ? AND field = ?");
        q.bind(id->n).bind(field);
        if (q.step()) u.texts.emplace_back(typed_name(copy, *id), field);
      }
    }
    if (!u.texts.empty()) out.push_back(std::move(u));
  }
  return out;
}

}  // namespace baybook::book
