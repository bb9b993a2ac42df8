#include "book/circumstances.hpp"

#include "book/inside.hpp"
#include "book/of_event.hpp"
#include "returns/category.hpp"

#include <algorithm>
#include <limits>
#include <map>

namespace baybook::book {

using log::Kind;
using log::Value;
using What = Circumstance::What;

namespace {

Spell read_spell(const log::Fact& fact) {
  const Value& d = fact.details;
  Spell s;
  s.entry = fact.id();
  const std::string_view what = d.str("what");
  s.what = what == "event" ? What::event : what == "hold" ? What::hold : What::extension;
  s.day = Day{static_cast<std::int32_t>(log::read_day_number(d.str("day")))};
  s.planned = d.has("planned");
  s.petitioned = d.has("petitioned");
  if (d.has("days")) s.days = static_cast<int>(d.num("days"));
  if (d.has("containers")) {
    for (const Value& c : d.list("containers"))
      s.containers.push_back(log::read_place(c.at("place"), fact.origin()));
  }
  if (s.what != What::hold && s.containers.empty())
    throw log::Malformed("an event or an extension without a container");
  return s;
}

// Fillings of a container that began within the event.
struct Stand {
  Day since;
  std::optional<Day> until{};
};
std::vector<Stand> fillings_of(store::Db& db, PlaceId place, Day from, Day last) {
  std::vector<Stand> out;
  auto q = db.query(
      "SELECT moment, until_moment, until_entry FROM filling WHERE place = ? AND moment BETWEEN ? "
      "AND ? ORDER BY number");
  q.bind(place.n).bind(log::first_moment(from)).bind(log::last_moment(last));
  while (q.step()) {
    Stand s{log::day_of_moment(q.num(0)), {}};
    if (q.num(2) != 0) s.until = log::day_of_moment(q.num(1));
    out.push_back(s);
  }
  return out;
}

// Whether something was in the container when the event began.
bool held_before(store::Db& db, PlaceId place, Day from) {
  auto q = db.query(
      "SELECT 1 FROM filling WHERE place = ?1 AND moment < ?2 AND (until_entry = 0 OR "
      "until_moment >= ?2) LIMIT 1");
  q.bind(place.n).bind(log::first_moment(from));
  return q.step();
}

// Where waste of the event went that is no container of it and no receiver.
std::optional<PlaceId> poured_elsewhere(store::Db& db, const Event& e, Day known) {
  for (const PlaceId p : e.spell.containers) {
    auto q = db.query(
        "SELECT f.target FROM leg l JOIN flow f ON f.entry = l.entry JOIN place t ON t.id = "
        "f.target WHERE l.place = ?1 AND l.moment BETWEEN ?2 AND ?3 AND f.source = ?1 AND "
        "f.best > 0 AND t.role = 4");
    q.bind(p.n).bind(log::first_moment(e.spell.day)).bind(log::last_moment(std::min(e.until, known)));
    while (q.step()) {
      if (!e.has(PlaceId{q.num(0)})) return PlaceId{q.num(0)};
    }
  }
  return std::nullopt;
}

// 40 CFR 262.232: what is not finished and sent off in its days counts.
std::string left_over(Office& office, const Event& e, Day known) {
  Book::Inside& in = office.in();
  if (const auto other = poured_elsewhere(in.db, e, known))
    return "waste of it was poured into " + place_name(in, *other) + ", which is none of its own";
  for (const PlaceId p : e.spell.containers) {
    if (known < e.spell.day) continue;
    if (held_before(in.db, p, e.spell.day))
      return place_name(in, p) + " was not empty when it began";
    if (known <= e.until) continue;
    for (const Stand& s : fillings_of(in.db, p, e.spell.day, e.last)) {
      if (!s.until || *s.until > e.until)
        return place_name(in, p) + " was not sent off by " + to_string(e.until);
    }
  }
  return {};
}

// One a year without a petition; a second one only by one, and of the other kind (262.233).
std::string too_many(const std::vector<Event>& before, const Event& e, const RuleValue& most) {
  int n = 0;
  bool same_kind = false;
  const auto year = [](Day d) { return to_string(d).substr(0, 4); };
  for (const Event& other : before) {
    if (year(other.spell.day) != year(e.spell.day)) continue;
    ++n;
    same_kind = same_kind || other.spell.planned == e.spell.planned;
  }
  if (n < most.n) return {};
  const std::string count = std::to_string(n + 1) + " events began in " + year(e.spell.day) +
                            ", " + most.text + " may without a petition";
  if (!e.spell.petitioned) return count;
  if (n > most.n) return count + ", and one more with it";
  return same_kind ? "the second event of a year is of the other kind, planned or unplanned"
                   : std::string();
}

std::string late_notice(const Event& e, Day known) {
  if (e.noticed ? *e.noticed <= e.notice_due : known <= e.notice_due) return {};
  return e.noticed ? "its notice was given on " + to_string(*e.noticed) + ", after " +
                         to_string(e.notice_due)
                   : "no notice of it is on record, due by " + to_string(e.notice_due);
}

void judge_event(Office& office, Event& e, const std::vector<Event>& before,
                 const std::vector<FilingRow>& filings, Day known) {
  const RuleSet* rules = office.rules_on(e.spell.day);
  const RuleValue* most = rules->value("episodic.per-year", e.spell.day);
  // 72 hours end on the third day after; without a time of day that whole day is left.
  const std::int64_t days = e.spell.planned ? -e.notice->n : (e.notice->n + 23) / 24;
  e.notice_due = Day{static_cast<std::int32_t>(e.spell.day.n + days)};
  if (const FilingRow* f = filed_about(filings, kEventNotice, e.spell.entry)) e.noticed = f->on;
  e.until = returns::last_permitted(*rules, e.spell.day, e.length->n);
  e.last = e.spell.ended ? std::min(*e.spell.ended, e.until) : e.until;
  if (most != nullptr) e.counts = too_many(before, e, *most);
  if (e.counts.empty()) e.counts = late_notice(e, known);
  if (e.counts.empty()) e.counts = left_over(office, e, known);
}

std::vector<Event> events_known(Office& office, std::int64_t moment, Day known) {
  std::vector<Event> out;
  std::vector<FilingRow> filings;
  bool read = false;
  for (Spell& s : spells_until(office.in().db, moment)) {
    if (s.what != What::event) continue;
    const RuleSet* rules = office.rules_on(s.day);
    if (rules == nullptr) continue;
    Event e;
    e.notice = rules->value(
        s.planned ? "episodic.notice-days" : "episodic.unplanned-notice-hours", s.day);
    e.length = rules->value("episodic.days", s.day);
    if (e.notice == nullptr || e.length == nullptr) continue;
    if (!read) filings = filings_until(office.in().db, moment);
    read = true;
    e.spell = std::move(s);
    judge_event(office, e, out, filings, known);
    out.push_back(std::move(e));
  }
  return out;
}

}  // namespace

bool Event::has(PlaceId place) const {
  return std::find(spell.containers.begin(), spell.containers.end(), place) !=
         spell.containers.end();
}

std::vector<Spell> spells_until(store::Db& db, std::int64_t moment) {
  std::vector<std::pair<EntryId, std::int64_t>> rows;
  {
    auto q = db.query(
        "SELECT entry, what FROM mark WHERE place = 0 AND moment <= ? ORDER BY moment, recorded, "
        "entry");
    q.bind(moment);
    while (q.step()) rows.emplace_back(EntryId{q.num(0)}, q.num(1));
  }
  std::vector<Spell> out;
  std::map<EntryId, Day> ends;
  for (const auto& [entry, what] : rows) {
    const log::Fact fact = log::read_fact(db, entry);
    if (what != 8) {
      out.push_back(read_spell(fact));
      continue;
    }
    const EntryId about{log::read_ref(fact.details.at("about"), fact.origin())};
    const Day day{static_cast<std::int32_t>(log::read_day_number(fact.details.str("day")))};
    ends.try_emplace(about, day);
  }
  for (Spell& s : out) {
    if (const auto it = ends.find(s.entry); it != ends.end()) s.ended = it->second;
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Spell& a, const Spell& b) { return a.day < b.day; });
  return out;
}

std::vector<Event> events_on(Office& office, Day day) {
  return events_known(office, log::last_moment(day), day);
}

Day known_day(store::Db& db) {
  constexpr std::int64_t day_ms = 86'400'000;
  auto q = db.query("SELECT recorded FROM entry ORDER BY id DESC LIMIT 1");
  return q.step() ? Day{static_cast<std::int32_t>(q.num(0) / day_ms)} : Day{};
}

const std::vector<Event>& Office::events() {
  if (!events_) {
    events_ = std::make_shared<std::vector<Event>>(
        events_known(*this, std::numeric_limits<std::int64_t>::max(), known_day(in_.db)));
  }
  return *events_;
}

bool of_event(Office& office, PlaceId place, Day day) {
  const auto& all = office.events();
  return std::any_of(all.begin(), all.end(), [&](const Event& e) {
    return e.counts.empty() && e.runs_on(day) && e.has(place);
  });
}

Stretched stretched(const std::vector<Spell>& spells, Day free) {
  Stretched out{free, {}};
  for (const Spell& s : spells) {
    // A period that was over when the action began is not begun again.
    if (s.what != What::hold || !out.free || s.day >= *out.free) continue;
    if (!s.ended) {
      out = {std::nullopt, s.entry};
    } else if (*s.ended >= *out.free) {
      out = {Day{s.ended->n + 1}, s.entry};
    }
  }
  return out;
}

}  // namespace baybook::book
