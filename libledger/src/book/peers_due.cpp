// What is due of other installations: those that were met and not accepted, and entries that have
// no effect until somebody says so.
#include "book/peers.hpp"
#include "book/peers_due.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

DueLine line(Day day, Day today, int within) {
  DueLine d;
  d.group = DueGroup::paper;
  d.day = day;
  d.state = day < today                 ? DueLine::State::over
            : day.n - today.n <= within ? DueLine::State::soon
                                        : DueLine::State::later;
  return d;
}

Day day_of(store::Db& db, EntryId entry) {
  return log::day_of_moment(log::row_of(db, entry).moment);
}

}  // namespace

std::vector<DueLine> due_of_peers(Book::Inside& in, Day today, int within) {
  std::vector<DueLine> out;
  const Words words(in.db);
  if (!words.any()) return out;
  const std::int64_t own = in.known.own().origin;
  const std::vector<Held> held = held_entries(in);
  for (const log::Installation& i : in.known.all) {
    if (i.own || words.counts(own, i.origin) != Words::Last::closed) continue;
    const EntryId word = words.said_in(own, i.origin);
    const Day met = day_of(in.db, word);
    if (met > today) continue;
    DueLine d = line(met, today, within);
    const auto n = std::count_if(held.begin(), held.end(),
                                 [&](const Held& h) { return h.entry.origin() == i.origin; });
    d.about = i.tag;
    d.what = i.tag + " was met and is not accepted";
    d.bare = d.what;
    d.why = n == 0 ? "nothing of it waits yet"
                   : std::to_string(n) + (n == 1 ? " entry of it has" : " entries of it have") +
                         " no effect on what others wrote";
    d.note =
        "compare the digest of its entry 1 with the other book by telephone: baybook exchange "
        "list, in both";
    d.source = "entry " + entry_name(in, word);
    d.settle = "baybook exchange accept " + i.tag + " --dry-run";
    d.key = "peer-" + i.identity.substr(0, 12);
    d.entries.push_back(ref_of(in, word));
    out.push_back(std::move(d));
  }
  for (const Held& h : held) {
    const EntryId word = words.said_in(own, h.entry.origin());
    const Day since = std::max(day_of(in.db, h.entry), word.n != 0 ? day_of(in.db, word) : Day{0});
    if (since > today) continue;
    DueLine d = line(since, today, within);
    const std::string name = entry_name(in, h.entry);
    d.about = "entry " + name;
    d.what = std::string(in.known.tag_of(h.entry.origin())) + ": " + h.text;
    d.bare = "entry " + name + " has no effect until somebody agrees";
    d.why = "not in effect until agreed";
    d.source = "entry " + name;
    d.settle = how_to_agree(in, h);
    d.key = "waits-" + std::to_string(h.entry.n);
    d.entries.push_back(ref_of(in, h.entry));
    out.push_back(std::move(d));
  }
  return out;
}

}  // namespace baybook::book
