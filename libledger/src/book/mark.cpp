#include "book/mark.hpp"

namespace baybook::book {

void write_mark(store::Db& db, const BackupMark& mark) {
  const std::string text = to_string(mark.made) + " " + mark.seal;
  auto q = db.query("INSERT OR IGNORE INTO beside(name, value) VALUES('backup', ?)");
  q.bind_blob(text.data(), text.size()).run();
}

void remove_mark(store::Db& db) { db.query("DELETE FROM beside WHERE name = 'backup'").run(); }

BackupMark read_mark(const std::string& bytes) {
  // The row alone makes it a backup; what cannot be read of it is left empty.
  BackupMark mark;
  const std::size_t blank = bytes.find(' ');
  if (const auto made = read_instant(bytes.substr(0, blank))) mark.made = *made;
  if (blank != std::string::npos) mark.seal = bytes.substr(blank + 1);
  return mark;
}

Refusal not_written_in(const std::string& path, const BackupMark& mark) {
  return Refusal{Code::not_allowed,
                 path + " is a backup made " + to_string(mark.made).substr(0, 10) + " " + to_string(mark.made).substr(11, 5) + " UTC" + (mark.seal.empty() ? "" : " at seal " + mark.seal) + "; nothing is written in it",
                 "were the book that it was made of still there, two books would go on under one name, and neither could be told from a forgery",
                 "baybook backup --continue NEW.baybook --tag NEW-TAG --book " + as_typed(path),
                 {{"made", to_string(mark.made)}, {"seal", mark.seal}}};
}

}  // namespace baybook::book
