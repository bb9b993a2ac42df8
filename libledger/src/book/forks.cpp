#include "book/forks.hpp"

#include <algorithm>
#include <sstream>

namespace baybook::book {

namespace {

bool is_digest(const std::string& text) {
  return !text.empty() && text.size() <= 64 &&
         text.find_first_not_of("0123456789abcdef") == std::string::npos;
}

void keep(store::Db& db, const std::vector<Parted>& all) {
  if (all.empty()) {
    auto q = db.query("DELETE FROM beside WHERE name = ?");
    q.bind(kForks).run();
    return;
  }
  std::string text;
  for (const Parted& f : all)
    text += std::to_string(f.entry.n) + " " + f.here + " " + f.there + "\n";
  auto q = db.query("INSERT OR REPLACE INTO beside(name, value) VALUES(?, ?)");
  q.bind(kForks).bind_blob(text.data(), text.size()).run();
}

}  // namespace

std::vector<Parted> forks_in(store::Db& db) {
  std::vector<Parted> out;
  std::string text;
  {
    auto q = db.query("SELECT value FROM beside WHERE name = ?");
    q.bind(kForks);
    if (!q.step()) return out;
    text = q.blob(0);
  }
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    std::istringstream words(line);
    Parted f;
    if (!(words >> f.entry.n >> f.here >> f.there) || f.entry.origin() < 1 ||
        f.entry.number() < 1 || !is_digest(f.here) || !is_digest(f.there))
      throw log::Malformed("what is kept of chains that parted cannot be read");
    out.push_back(std::move(f));
  }
  return out;
}

void note_fork(store::Db& db, const Parted& fork) {
  std::vector<Parted> all = forks_in(db);
  std::erase_if(all, [&](const Parted& f) { return f.entry.origin() == fork.entry.origin(); });
  all.push_back(fork);
  std::sort(all.begin(), all.end(),
            [](const Parted& a, const Parted& b) { return a.entry < b.entry; });
  keep(db, all);
}

bool forget_forks(store::Db& db, std::int64_t origin, std::int64_t agrees_up_to) {
  std::vector<Parted> all = forks_in(db);
  const auto over = std::erase_if(all, [&](const Parted& f) {
    return f.entry.origin() == origin && f.entry.number() <= agrees_up_to;
  });
  if (over > 0) keep(db, all);
  return over > 0;
}

void list_forks(Book::Inside& in, const ConflictMaker& maker, std::vector<Conflict>& out) {
  for (const Parted& f : forks_in(in.db)) {
    const std::string name = entry_name(in, f.entry);
    const std::string tag(in.known.tag_of(f.entry.origin()));
    const bool own = f.entry.origin() == in.known.own().origin;
    const bool here = log::read_row(in.db, f.entry).has_value();
    Conflict c = maker.make(Conflict::What::fork,
                            "the chain of " + tag + " parted: entry " + name + " has digest " +
                                f.here + " here and " + f.there + " in a file that came",
                            here ? std::vector<EntryId>{f.entry} : std::vector<EntryId>{});
    c.instead.push_back("baybook entry " + name);
    if (!own)
      c.instead.push_back("baybook exchange forget " + tag + " --from " +
                          std::to_string(f.entry.number()) + " --dry-run");
    out.push_back(std::move(c));
  }
}

}  // namespace baybook::book
