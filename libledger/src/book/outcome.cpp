#include "book/outcome.hpp"

#include "log/entry.hpp"

#include <algorithm>

namespace baybook::book {

Outcome look_again(Book::Inside& in, EntryId entry, const log::Digest& digest) {
  bool there = false;
  try {
    in.db.reopen();
    load(in);
    auto q = in.db.query("SELECT digest FROM entry WHERE id = ?");
    q.bind(entry.n);
    if (q.step()) {
      const std::string bytes = q.blob(0);
      there = bytes.size() == digest.size() && std::equal(digest.begin(), digest.end(), bytes.begin(), [](std::uint8_t a, char b) { return a == static_cast<std::uint8_t>(b); });
    }
  } catch (const store::Failure&) {
    return Outcome::unknown;
  } catch (const log::Malformed&) {
    return Outcome::unknown;
  }
  if (!in.db.settle()) return Outcome::unknown;
  return there ? Outcome::stored : Outcome::not_stored;
}

std::optional<Refusal> commit_or_look(Book::Inside& in, EntryId entry, const log::Digest& digest, std::string& noted) {
  try {
    in.db.commit();
    return std::nullopt;
  } catch (const store::Failure& f) {
    if (f.code != Code::unknown_outcome) throw;
    const std::string what = f.what();
    const std::size_t open = what.rfind('(');
    const std::size_t close = what.rfind(')');
    const std::string cause = open != std::string::npos && close > open ? what.substr(open + 1, close - open - 1) : "the end of the write failed";
    const std::string name = "entry " + entry_name(in, entry);
    const std::vector<Figure> figures = {{"entry", std::to_string(entry.number())}, {"digest", log::hex(digest)}};
    switch (look_again(in, entry, digest)) {
      case Outcome::stored:
        noted = cause + "; the book was opened again, and " + name + " is stored";
        return std::nullopt;
      case Outcome::not_stored:
        return Refusal{Code::unwritable, in.db.path() + ": " + cause + "; the book was opened again, and " + name + " is not stored",  "nothing of it was written", "make room or look at the disk, then the same again", figures};
      case Outcome::unknown: break;
    }
    return Refusal{Code::unknown_outcome, in.db.path() + ": " + cause + "; whether " + name + " is stored is not known", "the book could not be opened and synced again; an entry is stored if baybook entry shows the digest " + log::hex(digest).substr(0, 12),
                   "look at the disk; then baybook " + name + " --book " + in.db.path(), figures};
  }
}

}  // namespace baybook::book
