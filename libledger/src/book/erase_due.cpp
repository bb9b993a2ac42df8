// What is due of erasures: those that were asked for and may be done, and one whose files are not yet rid of it.
#include "book/erase.hpp"
#include "book/knowing.hpp"

#include "log/references.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace baybook::book {

namespace {

DueLine line(Day day, Day today, int within) {
  DueLine d;
  d.group = DueGroup::paper;
  d.day = day;
  d.state = day < today ? DueLine::State::over : day.n - today.n <= within ? DueLine::State::soon : DueLine::State::later;
  return d;
}

// Whether the installation that wrote this correction had erased such a text of the entry before: what it wrote then, it meant.
bool knew(store::Db& db, EntryId correction, EntryId target, const std::string& field) {
  auto q = db.query("SELECT 1 FROM erased e WHERE e.field = ?1 AND e.asked = 0 AND (e.erasure >> 40) = (?2 >> 40) AND e.erasure < ?2 AND (e.entry = ?3 OR e.entry IN (SELECT entry FROM correction WHERE target = ?3)) LIMIT 1");
  q.bind(field).bind(correction.n).bind(target.n);
  return q.step();
}

// A correction takes the texts of its entry along. One that was written where their erasure was not known brings them back into every book.
void add_come_back(Book::Inside& in, Day today, int within, std::vector<DueLine>& out) {
  struct Back {
    EntryId erasure, target, correction;
    std::string field;
  };
  std::vector<Back> all;
  {
    auto q = in.db.query("SELECT max(e.erasure), c.target, c.entry, e.field FROM erased e JOIN correction c ON c.target = e.entry JOIN private p ON p.entry = c.entry AND p.field = e.field WHERE e.asked = 0 AND e.field <> 'why' GROUP BY c.target, c.entry, e.field ORDER BY c.target, e.field, c.entry");
    while (q.step()) all.push_back({EntryId{q.num(0)}, EntryId{q.num(1)}, EntryId{q.num(2)}, q.text(3)});
  }
  for (const Back& b : all) {
    if (knew(in.db, b.correction, b.target, b.field) || knows(in.db, b.correction, b.erasure))
      continue;
    const std::string name = entry_name(in, b.target);
    DueLine d = line(Day{today.n - 1}, today, within);
    d.day = log::day_of_moment(log::row_of(in.db, b.correction).moment);
    if (*d.day > today) continue;
    d.about = "entry " + name;
    d.what = "erased, and is there again: \"" + b.field + "\" of entry " + name;
    d.bare = d.what;
    d.why = "entry " + entry_name(in, b.correction) + " may have been written without knowing of the erasure, and say the same again";
    d.note = "a text that is to stay is erased too, and then written anew";
    d.source = "entry " + entry_name(in, b.erasure);
    d.settle = "baybook erase entry " + name + " " + b.field;
    d.key = "erasure-again-" + std::to_string(b.correction.n) + "-" + b.field;
    d.entries.push_back(ref_of(in, b.correction));
    out.push_back(std::move(d));
  }
}

// What of a car an erasure takes together: of its texts all, whichever they are.
std::string_view sort_of(std::string_view field) {
  if (field == "keeper" || field == "keeper-contact") return "keeper";
  return field == "plate" || field == "vin" ? field : std::string_view("text");
}

struct CarErased {
  EntryId erasure;
  CarId car;
  std::set<std::string, std::less<>> sorts;
};

std::vector<CarErased> erasures_of_cars(Book::Inside& in) {
  std::map<EntryId, std::set<std::string, std::less<>>> by_erasure;
  {
    auto q = in.db.query("SELECT DISTINCT erasure, field FROM erased WHERE asked = 0");
    while (q.step()) by_erasure[EntryId{q.num(0)}].emplace(sort_of(q.text(1)));
  }
  std::vector<CarErased> out;
  for (auto& [erasure, sorts] : by_erasure) {
    const auto fact = log::find_fact(in.db, erasure);
    if (!fact || fact->kind != log::Kind::erasure || !fact->details.has("about")) continue;
    const EntryId about{
        log::goes_by(in.db, log::read_ref(fact->details.at("about"), fact->origin()))};
    const auto row = log::read_row(in.db, about);
    if (row && row->kind == log::Kind::car)
      out.push_back({erasure, CarId{about.n}, std::move(sorts)});
  }
  return out;
}

// Of what one installation erased of a car, another goes on writing until it learns of that. Nobody
// meant those texts to stay, nor to go: each is listed with what takes it out.
void add_unaware(Book::Inside& in, Day today, int within, std::vector<DueLine>& out) {
  if (in.known.all.size() < 2) return;
  std::set<std::pair<EntryId, std::string>> told;
  for (const CarErased& x : erasures_of_cars(in)) {
    for (const std::int64_t id : entries_of_car(in.db, x.car)) {
      const EntryId entry{id};
      const log::Row row = log::row_of(in.db, entry);
      // A correction's texts go with those of its entry.
      if (entry.origin() == x.erasure.origin() || row.kind == log::Kind::correction) continue;
      if (log::day_of_moment(row.moment) > today) continue;
      std::vector<std::string> fields;
      {
        auto q = in.db.query("SELECT field FROM private WHERE entry = ? ORDER BY field");
        q.bind(id);
        while (q.step()) {
          if (x.sorts.contains(sort_of(q.text(0)))) fields.push_back(q.text(0));
        }
      }
      // Who erased had the text and let it stay, or who wrote it knew of the erasure and meant it.
      if (fields.empty() || knows(in.db, x.erasure, entry) || knows(in.db, entry, x.erasure))
        continue;
      for (const std::string& field : fields) {
        if (!told.emplace(entry, field).second) continue;
        const std::string name = entry_name(in, entry);
        DueLine d = line(Day{today.n - 1}, today, within);
        d.day = log::day_of_moment(row.moment);
        d.about = "entry " + name;
        d.what = "written without knowing that it was erased: \"" + field + "\" of entry " + name;
        d.bare = d.what;
        d.why = "entry " + entry_name(in, x.erasure) + " erased such texts of " +
                about_name(in, EntryId{x.car.n});
        d.note = "a text that is to stay is erased too, and then written anew";
        d.source = "entry " + entry_name(in, x.erasure);
        d.settle = "baybook erase entry " + name + " " + field;
        d.key = "erasure-unaware-" + std::to_string(id) + "-" + field;
        d.entries.push_back(ref_of(in, entry));
        out.push_back(std::move(d));
      }
    }
  }
}

}  // namespace

std::vector<DueLine> due_of_erasures(Book::Inside& in, Day today, int within) {
  std::vector<DueLine> out;
  std::vector<EntryId> asked;
  {
    // An asking is settled when an erasure names everything that it named.
    auto q = in.db.query("SELECT DISTINCT a.erasure FROM erased a WHERE a.asked = 1 AND NOT EXISTS (SELECT 1 FROM erased e WHERE e.entry = a.entry AND e.field = a.field AND e.asked = 0) ORDER BY a.erasure");
    while (q.step()) asked.push_back(EntryId{q.num(0)});
  }
  for (const EntryId id : asked) {
    const Day on = log::day_of_moment(log::row_of(in.db, id).moment);
    if (on > today) continue;
    Erasure draft;
    draft.asked = id;
    const auto reached = reached_by(in, draft, today);
    if (!reached.ok()) continue;  // of another installation, whose texts are not here
    const auto held = longest(reached->texts);
    const std::string name = entry_name(in, id);
    // Without a hold it may go since the last one ended; the day of asking is the earliest it can have been.
    Day free = on;
    if (held && held->free) free = *held->free;
    else if (!held) {
      std::vector<PrivateText> then = reached->texts;
      look_for_holds(in, then, on);
      if (const auto first = longest(then); first && first->free && *first->free <= today) free = *first->free;
    }
    DueLine d = line(free, today, within);
    if (held && !held->free) {
      d.day.reset();
      d.state = DueLine::State::no_day;
    }
    if (d.state == DueLine::State::later) continue;
    const std::size_t n = reached->texts.size();
    d.about = "entry " + name;
    d.what = "erasure asked for: " + std::to_string(n) + (n == 1 ? " text of " : " texts of ") + about_name(in, reached->about);
    d.bare = d.what;
    d.why = held ? "held " + held->until + ": " + held->what : "no rule holds it any more";
    d.figures = "asked " + to_string(on);
    d.source = held ? with_words(held->section, held->sure) : "entry " + name;
    d.settle = "baybook erase asked " + name;
    d.key = "erasure-" + std::to_string(id.n);
    d.entries.push_back(ref_of(in, id));
    out.push_back(std::move(d));
  }
  add_come_back(in, today, within, out);
  add_unaware(in, today, within, out);
  auto q = in.db.query("SELECT CAST(value AS TEXT) FROM beside WHERE name = 'erasure-unfinished'");
  if (q.step()) {
    DueLine d = line(Day{today.n - 1}, today, within);
    const EntryId id{std::stoll(q.text(0))};
    d.day = today;
    if (const auto row = log::read_row(in.db, id)) {
      d.day = log::day_of_moment(row->moment);
      d.entries.push_back(ref_of(in, id));
    }
    d.about = "entry " + entry_name(in, id);
    d.what = "erasure not finished: bytes may still be in the book's files";
    d.bare = d.what;
    d.why = "the book was open elsewhere, or the program was cut off";
    d.source = d.about;
    d.settle = "baybook erase finish";
    d.key = "erasure-unfinished-" + std::to_string(id.n);
    out.push_back(std::move(d));
  }
  return out;
}

}  // namespace baybook::book
