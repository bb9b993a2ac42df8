#include "book/conflict_list.hpp"

#include <baybook/text.hpp>

namespace baybook::book {

ConflictMaker::ConflictMaker(Book::Inside& in) : in_(in) {
  auto q = in.db.query("SELECT keep, other FROM settlement WHERE joins = 0");
  while (q.step()) apart_.insert(std::minmax(q.num(0), q.num(1)));
}

Conflict ConflictMaker::make(Conflict::What what, std::string text,
                             const std::vector<EntryId>& entries) const {
  Conflict c;
  c.what = what;
  c.text = std::move(text);
  for (const EntryId id : entries) tell(c, id);
  return c;
}

void ConflictMaker::tell(Conflict& c, EntryId entry) const {
  c.entries.push_back(ref_of(in_, entry));
  const auto fact = log::find_fact(in_.db, entry);
  if (!fact) return;
  const std::string text = main_text(in_, *fact);
  c.said.push_back(to_string(log::day_of_moment(fact->effect.moment)) + ": " +
                   summarize(in_, *fact) + (text.empty() ? "" : ": " + visible(text)));
}

void ConflictMaker::choose(Conflict& c, const std::vector<EntryId>& among) const {
  for (const EntryId id : among) {
    c.choices.push_back(ref_of(in_, id));
    c.instead.push_back("baybook settle keep " + entry_name(in_, id));
  }
}

void ConflictMaker::keep_apart(Conflict& c, EntryId a, EntryId b, const std::string& why) const {
  c.instead.push_back("baybook settle apart " + entry_name(in_, a) + " " + entry_name(in_, b) +
                      " --why \"" + why + "\"");
}

std::string ConflictMaker::withdraw(EntryId entry) const {
  return "baybook correct " + entry_name(in_, entry) + " --withdraw --why \"...\"";
}

}  // namespace baybook::book
