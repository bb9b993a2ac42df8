// What the writer is told: what was taken, every level that changed, what to take care of.
#include "book/choice.hpp"
#include "book/peers.hpp"
#include "book/inside.hpp"
#include "book/news.hpp"
#include "book/own_transport.hpp"
#include "book/signed.hpp"
#include "book/tolerance.hpp"
#include "book/views.hpp"

#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <set>

namespace baybook::book {

using log::Fact;
using log::Value;

namespace {

// Whether a place handled this class earlier on the same day: the person has been told then.
bool handled_today(Book::Inside& in, const Fact& fact, PlaceId place, std::int64_t of_class) {
  const Day day = log::day_of_moment(fact.effect.moment);
  auto q = in.db.query("SELECT f.fluid FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ? AND l.moment BETWEEN ? AND ? AND l.entry <> ?");
  q.bind(place.n).bind(log::first_moment(day)).bind(log::last_moment(day)).bind(fact.id().n);
  while (q.step()) {
    if (in.ledger.class_of(q.num(0)) == of_class) return true;
  }
  return false;
}

void add_cautions(Book::Inside& in, const Fact& fact, const std::vector<PlaceId>& places, std::vector<Caution>& out) {
  const Value* lines = fact.details.find("lines");
  if (lines == nullptr) return;
  std::vector<std::int64_t> classes;
  {
    auto q = in.db.query("SELECT DISTINCT fluid FROM flow WHERE entry = ?");
    q.bind(fact.id().n);
    while (q.step()) {
      const std::int64_t c = in.ledger.class_of(q.num(0));
      if (std::find(classes.begin(), classes.end(), c) == classes.end()) classes.push_back(c);
    }
  }
  for (const std::int64_t n : classes) {
    const FluidClass* c = find_class(FluidId{n});
    if (c == nullptr || c->caution.empty()) continue;
    const auto same = std::find_if(out.begin(), out.end(), [&](const Caution& x) { return x.text == c->caution; });
    if (same != out.end()) continue;
    const bool again = std::any_of(places.begin(), places.end(), [&](PlaceId p) { return handled_today(in, fact, p, n); });
    out.push_back({std::string(c->caution), again});
  }
  for (const Value& line : lines->as_array()) {
    if (log::read_place(line.at("to"), fact.origin()) == kGround) {
      out.push_back({"spilled: stop it, contain it, clean it up; whether it must be reported is for the local rules and authority to say", false});
      break;
    }
  }
}

// By what a place without a size is told when nothing is left in it: as it was told before, or by volume.
std::int64_t told_by(Book::Inside& in, PlaceId place, EntryId entry) {
  auto q = in.db.query("SELECT dimension FROM flow WHERE entry = ?1 AND (source = ?2 OR target = ?2) ORDER BY dimension LIMIT 1");
  q.bind(entry.n).bind(place.n);
  return q.step() ? q.num(0) : static_cast<std::int64_t>(Dimension::volume);
}

void add_levels(Book::Inside& in, EntryId entry, const std::vector<PlaceId>& places, std::vector<LevelAfter>& out) {
  for (const PlaceId p : places) {
    const fluids::PlaceInfo& info = in.ledger.info(p);
    const bool empty = info.size < 0 && in.ledger.level(p, 0).nothing() && in.ledger.level(p, 1).nothing() && in.ledger.level(p, 2).nothing();
    const std::int64_t by = empty ? told_by(in, p, entry) : -1;
    // A drum of 200 L with granules by weight is told by its weight alone, as in `levels`.
    bool by_another = false;
    for (std::int64_t d = 0; d < 3; ++d)
      by_another = by_another || (d != info.dimension && !in.ledger.level(p, d).nothing());
    for (std::int64_t d = 0; d < 3; ++d) {
      const fluids::Bounds b = in.ledger.level(p, d);
      const bool sized = info.size >= 0 && info.dimension == d;
      if (b.nothing() && (!sized || by_another) && d != by) continue;
      LevelAfter level{p, place_name(in, p), info.role, static_cast<Dimension>(d), b.low, b.best, b.high, {}};
      if (sized) level.size = info.size;
      out.push_back(std::move(level));
    }
  }
}

std::vector<service::Account> accounts_of_closed(Book::Inside& in, const service::JobRow& row) {
  const Day on = log::day_of_moment(row.closed_moment);
  return service::accounts_of(in.db, in.ledger, row.car, row.id,
                              [&] { return tolerance_on(in, on); });
}

// A job that closed with nothing open, and of which something is open now; "" when nothing is.
std::string account_open(Book::Inside& in, JobId job,
                         const std::set<std::pair<JobId, service::NetOf>>& asked_nothing) {
  const auto row = service::job_row(in.db, job);
  if (!row || row->closed <= 0) return "";
  const Fact closed = log::read_fact(in.db, EntryId{row->closed});
  if (closed.details.has("as-is")) return "";
  const std::vector<std::string> low = was_low(closed);
  std::string open;
  for (const service::Account& a : accounts_of_closed(in, *row)) {
    if (a.state == service::Account::State::agrees) continue;
    const bool said = a.state == service::Account::State::over && a.can_have_been_low() &&
                      std::find(low.begin(), low.end(), a.circuit().name) != low.end();
    if (said || asked_nothing.contains({job, a.of})) continue;
    open += (open.empty() ? "" : "; ") + service::told(a.of, a.net, in.settings.units);
  }
  if (open.empty()) return "";
  const std::string name = service::job_name(in.known, *row);
  const std::string closing = entry_name(in, EntryId{row->closed});
  return "job " + name + " is closed and its account no longer agrees: " + open +
         "; baybook job show " + name + ", and baybook correct " + closing +
         " --withdraw --why \"...\" to close it anew";
}

// "entry 10 (filtered 4 L ...); entry 11 (...)": the first of them, and how many more there are.
std::string listed(Book::Inside& in, const std::vector<std::pair<EntryId, std::string>>& entries, EntryId named_by) {
  constexpr std::size_t kMost = 12;
  std::string out;
  for (std::size_t i = 0; i < entries.size() && i < kMost; ++i) {
    out += (out.empty() ? "" : "; ") + std::string("entry ") + entry_name(in, entries[i].first) + (entries[i].second.empty() ? "" : " (" + entries[i].second + ")");
  }
  if (entries.size() > kMost) out += "; and " + std::to_string(entries.size() - kMost) + " more, baybook entry " + entry_name(in, named_by) + " --json names them";
  return out;
}

// What stood on the entry and went with it, so that it can be written again.
void add_withdrawn_with(Book::Inside& in, const Fact& correction, const Before& before, std::vector<std::string>& out) {
  const Value* found = correction.details.find("also");
  if (found == nullptr) return;
  std::vector<std::pair<EntryId, std::string>> with;
  for (const Value& ref : found->as_array()) {
    const EntryId id{log::read_ref(ref, correction.origin())};
    const auto said = before.also.find(id);
    with.emplace_back(id, said == before.also.end() ? std::string() : said->second);
  }
  if (!with.empty()) out.push_back("withdrawn with it: " + listed(in, with, correction.id()));
}

// What a correction had changed, and what it had withdrawn with it, holds again when it is withdrawn itself.
void add_holds_again(Book::Inside& in, EntryId corrected, std::vector<std::string>& out) {
  const auto fact = log::find_fact(in.db, corrected);
  if (!fact || fact->kind != log::Kind::correction || !fact->withdrawn) return;
  const Value body = log::parse_body(log::row_of(in.db, corrected).body);
  const Value& d = body.at("details");
  std::vector<std::pair<EntryId, std::string>> again;
  const auto add = [&](const Value& ref) {
    const EntryId id{log::read_ref(ref, corrected.origin())};
    const auto target = log::find_fact(in.db, id);
    if (target && !target->withdrawn) again.emplace_back(id, summarize(in, *target));
  };
  add(d.at("target"));
  if (const Value* also = d.find("also")) {
    for (const Value& ref : also->as_array()) add(ref);
  }
  if (!again.empty()) out.push_back("what holds again: " + listed(in, again, corrected));
}

// The jobs whose accounts a correction may have moved: of what it corrects, down to the entry that was corrected in the end, and of all that it
// withdraws with it.
std::set<JobId> jobs_of(Book::Inside& in, const Fact& correction, EntryId corrected) {
  std::vector<EntryId> targets{corrected};
  if (const Value* also = correction.details.find("also")) {
    for (const Value& ref : also->as_array()) targets.push_back(EntryId{log::read_ref(ref, correction.origin())});
  }
  std::set<JobId> out;
  for (std::size_t i = 0; i < targets.size(); ++i) {
    const auto target = log::find_fact(in.db, targets[i]);
    if (!target) continue;
    if (target->kind == log::Kind::correction) {
      const Value body = log::parse_body(log::row_of(in.db, targets[i]).body);
      targets.push_back(EntryId{log::read_ref(body.at("details").at("target"), targets[i].origin())});
      continue;
    }
    if (!log::moves(target->kind) && target->kind != log::Kind::job_close) continue;
    if (const JobId job = service::belongs_to(in.db, *target).job) out.insert(job);
  }
  return out;
}

// A pick-up that took all there was comes to another figure when something before it changes; its paper does not.
void add_pickups(Book::Inside& in, std::vector<std::string>& out) {
  for (const auto& [id, before] : in.ledger.moved_before()) {
    const Fact fact = log::read_fact(in.db, EntryId{id});
    if (fact.withdrawn || fact.kind != log::Kind::movement || fact.details.str("verb") != name_of(MoveVerb::pickup)) continue;
    const fluids::Ledger::Moved now = moves_now(in, EntryId{id});
    if (now != before) out.push_back(told_moved(in, fact, before, now));
  }
}

// Whether a correction or a choice is what decides of an entry now.
bool decides(Book::Inside& in, EntryId by, EntryId of) {
  auto q = in.db.query(
      "SELECT entry FROM correction WHERE target = ? AND withdrawn IN (0, 1, 8) ORDER BY moment "
      "DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(of.n);
  return q.step() && EntryId{q.num(0)} == by;
}

// Why what was written about these changes nothing: it waits for a word, or a later one holds.
std::string why_no_effect(Book::Inside& in, EntryId by, const std::vector<EntryId>& about) {
  for (const EntryId of : about) {
    if (decides(in, by, of)) return {};
  }
  const std::vector<Held> held = held_entries(in, 0, by);
  if (!held.empty())
    return "nothing changes until it is agreed to; " + how_to_agree(in, held.front());
  auto q = in.db.query(
      "SELECT entry, moment FROM correction WHERE target = ? AND withdrawn IN (0, 1, 8) ORDER BY "
      "moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(about.front().n);
  if (!q.step()) return "nothing changes: it has no effect on what it is about";
  return "nothing changes: entry " + entry_name(in, EntryId{q.num(0)}) + " of " +
         to_string(log::day_of_moment(q.num(1))) + " holds";
}

void add_no_effect(Book::Inside& in, const Fact& fact, const Before& before, Receipt& r) {
  if (before.corrected) {
    r.no_effect = why_no_effect(in, fact.id(), {*before.corrected});
  } else if (is_choice(fact)) {
    std::vector<EntryId> about = over_of(fact.details, fact.origin());
    about.push_back(EntryId{log::read_ref(fact.details.at("keep"), fact.origin())});
    r.no_effect = why_no_effect(in, fact.id(), about);
  }
}

}  // namespace

std::set<std::pair<JobId, service::NetOf>> never_asked(Book::Inside& in, const Fact& correction,
                                                       EntryId corrected) {
  std::set<std::pair<JobId, service::NetOf>> out;
  for (const JobId job : jobs_of(in, correction, corrected)) {
    const auto row = service::job_row(in.db, job);
    if (!row || row->closed <= 0) continue;
    const std::vector<std::string> low = was_low(log::read_fact(in.db, EntryId{row->closed}));
    for (const service::Account& a : accounts_of_closed(in, *row)) {
      const bool asked = std::find(low.begin(), low.end(), a.circuit().name) != low.end();
      if (a.state == service::Account::State::over && a.net.left == 0 && !asked)
        out.insert({job, a.of});
    }
  }
  return out;
}

std::string off_though_closed(Book::Inside& in, JobId job) { return account_open(in, job, {}); }

Said said(Book::Inside& in, EntryId entry) {
  Said out;
  const auto fact = log::find_fact(in.db, entry);
  if (!fact) return out;
  out.withdrawn = fact->withdrawn;
  if (fact->withdrawn) return out;
  out.summary = summarize(in, *fact);
  out.text = main_text(in, *fact);
  out.places = fluids::Ledger::places_of(*fact);
  return out;
}

void tell(Book::Inside& in, const Fact& fact, const Before& before, Receipt& r) {
  const std::optional<EntryId> corrected = before.corrected;
  const std::optional<Said>& was = before.was;
  r.summary = summarize(in, fact);
  std::vector<PlaceId> places = fluids::Ledger::places_of(fact);
  if (corrected && was) {
    const Said now = said(in, *corrected);
    const auto words = [](const Said& s) { return s.summary + (s.text.empty() ? "" : ": " + s.text); };
    r.was = was->withdrawn ? "withdrawn" : words(*was);
    r.now = now.withdrawn ? "withdrawn" : words(now);
    for (const Said* s : {&*was, &now}) {
      for (const PlaceId p : s->places) {
        if (std::find(places.begin(), places.end(), p) == places.end()) places.push_back(p);
      }
    }
  }
  if (log::moves(fact.kind)) {
    for (const std::string& w : in.ledger.warnings()) r.warnings.push_back(w);
    add_cautions(in, fact, places, r.cautions);
  }
  // "All" of a place, and what an earlier entry left in it, come to another figure when something before them changes.
  std::vector<PlaceId> further;
  for (const PlaceId p : before.moved) {
    if (std::find(places.begin(), places.end(), p) == places.end()) further.push_back(p);
  }
  std::sort(further.begin(), further.end(), [&](PlaceId a, PlaceId b) { return std::pair(place_name(in, a), a.n) < std::pair(place_name(in, b), b.n); });
  places.insert(places.end(), further.begin(), further.end());
  add_withdrawn_with(in, fact, before, r.warnings);
  if (corrected) {
    add_holds_again(in, *corrected, r.warnings);
    for (const JobId job : jobs_of(in, fact, *corrected)) {
      std::string open = account_open(in, job, before.asked_nothing);
      if (!open.empty()) r.warnings.push_back(std::move(open));
    }
  }
  if (!before.folded_anew) add_pickups(in, r.warnings);
  add_no_effect(in, fact, before, r);
  if (fact.details.has("own-vehicle")) {
    Office office(in);
    for (std::string& told : own_load(office, fact).told) r.warnings.push_back(std::move(told));
  }
  add_levels(in, fact.id(), places, r.levels);
  const service::Belongs belongs = service::belongs_to(in.db, fact);
  if (belongs.job) {
    if (const auto row = service::job_row(in.db, belongs.job)) r.job_number = row->number;
  }
}

}  // namespace baybook::book
