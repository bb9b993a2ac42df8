// Folding the log into the derived tables: one entry that is new, a correction, or everything.
//
// append and rebuild call the same folds. Definitions and service rows do not depend on the order of entries; what moves
// something does, and goes through the ledger in effect order.
#include "book/choice.hpp"
#include "book/erase.hpp"
#include "book/inside.hpp"
#include "book/knowing.hpp"
#include "book/peers.hpp"

#include "due/build.hpp"
#include "due/items.hpp"
#include "book/settle.hpp"
#include "book/twins.hpp"
#include "fluids/build.hpp"
#include "fluids/ends.hpp"
#include "log/references.hpp"
#include "log/sum.hpp"
#include "returns/build.hpp"
#include "service/build.hpp"
#include "store/schema.hpp"

#include <algorithm>
#include <limits>

namespace baybook::book {

using log::Fact;
using log::Kind;
using log::Value;

namespace {

bool defines(Kind k) { return k == Kind::place || k == Kind::fluid || k == Kind::car || k == Kind::car_change; }

// What can move what is due. A job counts once it is closed, so what is written on an open one moves nothing yet, but a reading. What a
// movement does to other entries is told by the ledger, which resolves them again.
void note_due(Book::Inside& in, const Fact& fact) {
  switch (fact.kind) {
    case Kind::schedule:
      in.due_moved_for_all = true;
      return;
    case Kind::job:
      if (!fact.details.has("odometer-m")) return;
      break;
    case Kind::fit:
    case Kind::movement: {
      const service::Belongs b = service::belongs_to(in.db, fact);
      const auto job = service::job_row(in.db, b.job);
      if (job && job->closed > 0) in.due_moved.insert(b.car);
      return;
    }
    case Kind::car:
    case Kind::car_change:
    case Kind::job_close:
    case Kind::odometer:
    case Kind::task_done:
    case Kind::put_off:
    case Kind::recheck_done:
    case Kind::hours:
      break;
    default:
      return;
  }
  const service::Belongs b = service::belongs_to(in.db, fact);
  if (b.car) in.due_moved.insert(b.car);
}

// What was settled to be another thing has no rows of its own; a car's entry counts as a change of the car that it is.
bool is_another(Book::Inside& in, const Fact& fact) {
  return fact.kind != Kind::car && log::goes_by(in.db, fact.id().n) != fact.id().n;
}

void fold_rows(Book::Inside& in, const Fact& fact) {
  if (is_another(in, fact)) return;
  if (fact.kind == Kind::settle) {
    fold_settlement(in, fact);
    return;
  }
  fluids::fold(in.db, fact);
  service::fold(in.db, fact);
  returns::fold(in.db, fact);
  due::fold(in.db, fact);
  note_due(in, fact);
  if (defines(fact.kind)) in.ledger.definitions_changed();
}

void unfold_rows(Book::Inside& in, const Fact& fact) {
  if (is_another(in, fact)) return;
  if (fact.kind == Kind::settle) {
    unfold_settlement(in, fact);
    return;
  }
  fluids::unfold(in.db, fact);
  service::unfold(in.db, fact);
  returns::unfold(in.db, fact);
  due::unfold(in.db, fact);
  note_due(in, fact);
  if (defines(fact.kind)) in.ledger.definitions_changed();
}

}  // namespace

bool never_corrected(store::Db& db, EntryId entry) {
  auto q = db.query("SELECT kind FROM entry WHERE id = ?");
  q.bind(entry.n);
  if (!q.step()) return false;
  const auto kind = static_cast<Kind>(q.num(0));
  return kind == Kind::opening || kind == Kind::erasure || kind == Kind::peer;
}

namespace {

// A correction lists itself at each of its targets; whether it holds is decided by
// recompute_amended. One of another installation may wait.
void list_correction(store::Db& db, const Words& words, const Fact& correction,
                     const Value& details) {
  bool first = true;
  for (const EntryId target : targets_of(details, correction.effect.id.origin())) {
    const bool withdraws = !first || details.str("action") == "withdraw";
    first = false;
    if (never_corrected(db, target)) continue;
    const bool held = !words.acts(correction.id(), target);
    auto q = db.query("INSERT OR REPLACE INTO correction(target, moment, recorded, entry, withdrawn) VALUES(?, ?, ?, ?, ?)");
    q.bind(target.n).bind(correction.effect.moment).bind(correction.effect.recorded).bind(correction.id().n);
    q.bind(std::int64_t{withdraws} + (held ? kHeld : 0)).run();
  }
}

}  // namespace

std::vector<EntryId> targets_of(const Value& details, std::int64_t origin) {
  std::vector<EntryId> out{EntryId{log::read_ref(details.at("target"), origin)}};
  if (const Value* also = details.find("also")) {
    for (const Value& v : also->as_array()) out.push_back(EntryId{log::read_ref(v, origin)});
  }
  return out;
}

namespace {

// Of the rows in effect order: what replaced the details last, and who withdrew it, when nobody had
// it hold again since.
struct Standing {
  EntryId replaced, gone;
  void read(EntryId by, std::int64_t what) {
    if (what == 0) replaced = by;
    gone = what == 1 ? by : EntryId{};
  }
};

Standing standing_of(store::Db& db, EntryId target) {
  std::vector<std::pair<EntryId, std::int64_t>> all;
  {
    auto q = db.query(
        "SELECT entry, withdrawn FROM correction WHERE target = ? AND withdrawn IN (0, 1, 8) ORDER "
        "BY moment, recorded, entry");
    q.bind(target.n);
    while (q.step()) all.emplace_back(EntryId{q.num(0)}, q.num(1));
  }
  Standing out;
  for (const auto& [by, what] : all) {
    if (!withdrawn_by(db, by)) out.read(by, what);
  }
  return out;
}

}  // namespace

void recompute_amended(store::Db& db, EntryId target) {
  const Standing now = standing_of(db, target);
  {
    auto q = db.query("DELETE FROM amended WHERE target = ?");
    q.bind(target.n).run();
  }
  const bool withdrawn = now.gone.n != 0;
  if (!withdrawn && now.replaced.n == 0) return;
  auto q = db.query("INSERT INTO amended(target, entry, withdrawn) VALUES(?, ?, ?)");
  q.bind(target.n).bind(withdrawn ? now.gone.n : now.replaced.n).bind(std::int64_t{withdrawn}).run();
}

namespace {
void fold_choice(Book::Inside& in, const Fact& choice);
}

void fold_new(Book::Inside& in, const Fact& fact) {
  if (fact.kind == Kind::correction) {
    fold_correction(in, fact, fact.details);
    return;
  }
  if (is_choice(fact)) {
    fold_choice(in, fact);
    return;
  }
  if (fact.kind == Kind::erasure) {
    erase_texts(in, fact);
    return;
  }
  if (fact.kind == Kind::peer) {
    fold_word(in, fact);
    return;
  }
  fold_rows(in, fact);
  if (log::moves(fact.kind)) in.ledger.place_in_order(fact.effect, nullptr, &fact);
}

namespace {

// What a correction or a choice is about.
std::vector<EntryId> reached_by(const Value& details, std::int64_t origin) {
  if (!is_choice(details)) return targets_of(details, origin);
  std::vector<EntryId> out = over_of(details, origin);
  out.push_back(EntryId{log::read_ref(details.at("keep"), origin)});
  return out;
}

// `target` says something else from now on (amended was not yet recomputed for it).
void retell(Book::Inside& in, EntryId target) {
  const auto before = log::find_fact(in.db, target);
  if (!before) return;
  if (before->kind == Kind::correction || is_choice(*before)) {
    // A correction that is withdrawn (or comes back) changes what it corrected.
    recompute_amended(in.db, target);
    const Value body = log::parse_body(log::row_of(in.db, target).body);
    for (const EntryId t : reached_by(body.at("details"), target.origin())) retell(in, t);
    return;
  }
  // Whether a filling was new fluid or put back is told by the role of the place that it came from.
  if (before->kind == Kind::place) in.due_moved_for_all = true;
  unfold_rows(in, *before);
  recompute_amended(in.db, target);
  const Fact after = log::read_fact(in.db, target);
  fold_rows(in, after);
  if (log::moves(before->kind)) in.ledger.place_in_order(before->effect, before->withdrawn ? nullptr : &*before, after.withdrawn ? nullptr : &after);
}

// What does not hold any more goes first: both never stand together.
void fold_choice(Book::Inside& in, const Fact& choice) {
  const Words words(in.db);
  list_choice(in.db, words, choice);
  for (const EntryId t : reached_by(choice.details, choice.effect.id.origin())) {
    if (!never_corrected(in.db, t) && words.acts(choice.id(), t)) retell(in, t);
  }
}

}  // namespace

void fold_correction(Book::Inside& in, const Fact& correction, const Value& details) {
  const Words words(in.db);
  list_correction(in.db, words, correction, details);
  std::vector<EntryId> targets = targets_of(details, correction.effect.id.origin());
  std::erase_if(targets,
                [&](EntryId t) { return never_corrected(in.db, t) || !words.acts(correction.id(), t); });
  // The latest first, so that withdrawing several together never passes through a state in which one of them stands alone.
  std::sort(targets.begin(), targets.end(), [](EntryId a, EntryId b) { return a > b; });
  for (const EntryId t : targets) retell(in, t);
}

void refresh_due(Book::Inside& in) {
  if (in.due_moved_for_all) {
    auto q = in.db.query("SELECT id FROM car");
    while (q.step()) in.due_moved.insert(CarId{q.num(0)});
  }
  for (const CarId car : in.ledger.take_cars()) in.due_moved.insert(car);
  due::refresh(in.db, in.due_moved);
  in.due_moved.clear();
  in.due_moved_for_all = false;
}

namespace {

std::vector<EntryId> ids_where(store::Db& db, const char* sql) {
  std::vector<EntryId> ids;
  auto q = db.query(sql);
  while (q.step()) ids.push_back(EntryId{q.num(0)});
  return ids;
}

// Corrections: what every other entry says depends on them, and they may correct each other; the
// later in effect order is decided first: a correction is only corrected by one that came later.
void correct_all(store::Db& db, const Words& words) {
  const std::vector<EntryId> corrections =
      ids_where(db, "SELECT id FROM entry WHERE kind = 17 ORDER BY id");
  for (const EntryId id : corrections) {
    const log::Row row = log::row_of(db, id);
    Fact f;
    f.effect = {row.moment, row.recorded, row.id};
    f.kind = Kind::correction;
    f.source = id;
    const Value body = log::parse_body(row.body);
    list_correction(db, words, f, body.at("details"));
  }
  bool any = !corrections.empty();
  for (const EntryId id : ids_where(db, "SELECT id FROM entry WHERE kind = 32 ORDER BY id")) {
    const Fact f = log::read_fact(db, id);
    if (!is_choice(f)) continue;
    list_choice(db, words, f);
    any = true;
  }
  if (!any) return;
  const std::vector<EntryId> on_corrections =
      ids_where(db,
                "SELECT DISTINCT target FROM correction WHERE target IN (SELECT id FROM entry "
                "WHERE kind IN (17, 32)) ORDER BY target DESC");
  // A chain of corrections of corrections is as deep as people are stubborn; each round settles
  // one level.
  for (std::size_t round = 0; round < on_corrections.size(); ++round) {
    for (const EntryId t : on_corrections) recompute_amended(db, t);
  }
  for (const EntryId t :
       ids_where(db,
                 "SELECT DISTINCT target FROM correction WHERE target NOT IN (SELECT id FROM entry "
                 "WHERE kind IN (17, 32))")) {
    recompute_amended(db, t);
  }
}

}  // namespace

void rebuild_all(Book::Inside& in, const Progress& progress) {
  store::Db& db = in.db;
  in.ledger.forget();
  for (const char* const* name = store::kDerivedNames; *name != nullptr; ++name) {
    db.exec(("DELETE FROM " + std::string(*name)).c_str());
  }
  // What is kept of it in memory goes with the table, also when no settlement is left to fold.
  db.settled_changed();
  list_all_seen(db);
  // Words first: whose corrections, settlements and erasures take effect depends on them.
  for (const EntryId id : ids_where(db, "SELECT id FROM entry WHERE kind = 34 ORDER BY id"))
    list_word(db, log::row_of(db, id));
  const Words words(db);
  // Erasures then: whether a text is missing or erased decides what is derived from it.
  for (const EntryId id : ids_where(db, "SELECT id FROM entry WHERE kind = 33 ORDER BY id"))
    list_erased(db, words, log::row_of(db, id));
  correct_all(db, words);
  // Settlements before what they make one.
  for (const EntryId id : ids_where(db, "SELECT id FROM entry WHERE kind = 32 ORDER BY id")) {
    const Fact f = log::read_fact(db, id);
    if (!f.withdrawn && !is_choice(f)) fold_settlement(in, f);
  }
  // Definitions and service rows: cars before what is written on them, in the order of kinds, then of ids.
  const std::vector<EntryId> rest = ids_where(
      db,
      "SELECT id FROM entry WHERE kind NOT IN (1, 17, 32, 33, 34) ORDER BY CASE WHEN kind <= 8 "
      "THEN kind ELSE 9 END, id");
  std::int64_t folded = 0;
  for (const EntryId id : rest) {
    if (progress && folded++ % 1000 == 0) progress("derived rows", folded - 1, std::ssize(rest));
    fold_rows(in, log::read_fact(db, id));
  }
  // What moves something, in effect order.
  std::int64_t done = 0;
  const std::vector<EntryId> moving = ids_where(
      db, "SELECT id FROM entry WHERE kind IN (9, 13, 15, 16) ORDER BY moment, recorded, id");
  for (const EntryId id : moving) {
    if (progress && done % 1000 == 0) progress("movements", done, std::ssize(moving));
    in.ledger.apply(log::read_fact(db, id));
    if (++done % 50000 == 0) in.ledger.flush();
  }
  in.ledger.flush();
  in.due_moved_for_all = true;
  refresh_due(in);
  in.ledger.forget();
  in.settlements_moved = false;
}

namespace {

// The command that makes a second place of that kind; a waste place has to say what goes in.
std::string add_one_like(const fluids::PlaceInfo& place) {
  std::string takes;
  for (const std::int64_t n : place.role == Role::waste ? place.takes : std::vector<std::int64_t>()) {
    if (const FluidClass* c = find_class(FluidId{n})) takes += " --takes " + std::string(c->name);
  }
  return "baybook place add " + place.code + "-2 --role " + std::string(name_of(place.role)) + takes + " --size ...";
}

// Another place of the same role and class of content: the one with the most room, or the one that holds the most.
struct Elsewhere {
  std::string code;
  std::int64_t amount = 0;
};
// The entry that is refused has been folded to be judged, so the places that it touches itself are left out.
std::optional<Elsewhere> elsewhere(Book::Inside& in, PlaceId than, EntryId refused, std::int64_t dimension, std::int64_t at_least, bool room) {
  const fluids::PlaceInfo full = in.ledger.info(than);
  if (!holds(full.role)) return std::nullopt;
  const auto fact = log::find_fact(in.db, refused);
  const std::vector<PlaceId> touched = fact ? fluids::Ledger::places_of(*fact) : std::vector<PlaceId>();
  std::vector<std::int64_t> ids;
  {
    auto q = in.db.query("SELECT id FROM place WHERE role = ? AND id <> ? ORDER BY code");
    q.bind(static_cast<std::int64_t>(full.role)).bind(than.n);
    while (q.step()) ids.push_back(q.num(0));
  }
  std::optional<Elsewhere> best;
  for (const std::int64_t id : ids) {
    if (std::find(touched.begin(), touched.end(), PlaceId{id}) != touched.end()) continue;
    const fluids::PlaceInfo info = in.ledger.info(PlaceId{id});
    if (info.takes != full.takes || info.size < 0 || info.dimension != dimension) continue;
    const fluids::Marks marks = fluids::marks_of(in.db, PlaceId{id}, std::numeric_limits<std::int64_t>::max());
    if (marks.sealed || marks.retired) continue;
    const std::int64_t level = in.ledger.level(PlaceId{id}, dimension).best;
    const std::int64_t has = room ? info.size - level : level;
    if (has >= at_least && (!best || has > best->amount)) best = Elsewhere{info.code, has};
  }
  return best;
}

}  // namespace

namespace {

// "can-2, which holds 12 L of it": another stock place with as much of the product as was asked for.
std::string holding(Book::Inside& in, const fluids::Breach& b) {
  std::optional<Elsewhere> best;
  auto q = in.db.query("SELECT id FROM place WHERE role = 3 AND id <> ? ORDER BY code, id");
  q.bind(b.place.n);
  while (q.step()) {
    const PlaceId place{q.num(0)};
    std::int64_t there = 0;
    for (const auto& [what, sum] : in.ledger.contents(place)) {
      if (what.fluid == b.fluid && what.dimension == b.dimension) log::add_to(there, 1, sum.best);
    }
    if (there >= b.asked && (!best || there > best->amount))
      best = Elsewhere{in.ledger.info(place).code, there};
  }
  if (!best) return {};
  return best->code + ", which holds " +
         show(best->amount, static_cast<Dimension>(b.dimension), in.settings.units) + " of it";
}

// Where an entry was written twice, a reading would make up what the second one took away: it is not
// what is said first.
void blame_what_is_doubled(Book::Inside& in, PlaceId place, Refusal& r) {
  const auto doubled = AllTwins(in).at(place);
  if (!doubled) return;
  const std::string first = entry_name(in, doubled->first);
  r.why += "; entries " + first + " and " + entry_name(in, doubled->second) +
           " read alike, and neither was written knowing of the other";
  r.others.insert(r.others.begin(), "baybook settle list");
  r.instead = end_of(in, *doubled);
}

}  // namespace

std::optional<Refusal> refusal_for(Book::Inside& in, EntryId new_entry, bool correction, std::vector<EntryId>* broken) {
  const auto worse = in.ledger.worse();
  if (worse.empty()) return std::nullopt;
  const Units& u = in.settings.units;
  std::vector<fluids::Breach> mine;
  std::vector<fluids::Breach> others;
  for (const auto& c : worse) (c.breach.entry == new_entry ? mine : others).push_back(c.breach);
  if (broken) {
    for (const auto& b : others) broken->push_back(b.entry);
  }
  const bool own = !mine.empty();
  const fluids::Breach b = own ? mine.front() : others.front();
  const auto dimension = static_cast<Dimension>(b.dimension);
  const std::string place = place_name(in, b.place);
  Refusal r;
  const fluids::PlaceInfo& info = in.ledger.info(b.place);
  // All that the entry brought into the place, not only what is too much.
  const auto whole = [&] {
    auto q = in.db.query("SELECT coalesce(sum(best), 0) FROM flow WHERE entry = ? AND target = ? AND dimension = ?");
    q.bind(b.entry.n).bind(b.place.n).bind(b.dimension);
    return std::max(b.excess, q.step_num());
  };
  switch (b.rule) {
    case fluids::Rule::overdraw:
      r.code = Code::would_overdraw;
      r.what = [&] {
        const std::int64_t had = std::max<std::int64_t>(0, b.had);
        // Rounded alike they would contradict each other.
        const bool exact = show(had, dimension, u) == show(b.asked, dimension, u);
        const std::string of = b.fluid == 0 ? "" : " of " + fluid_name(in.db, FluidId{b.fluid});
        return place + " holds " + show(had, dimension, u, exact) + of + " by the book; " + show(b.asked, dimension, u, exact) + " is " + show(b.excess, dimension, u, true) + " more than that";
      }();
      if (b.all && b.fluid != 0)
        r.what = place + " holds no " + fluid_name(in.db, FluidId{b.fluid}) +
                 " then, and this takes all of it: " + show(b.asked, dimension, u) +
                 " when it was written";
      else if (b.all) r.what = place + " is empty then, and this takes all that is there: " + show(b.asked, dimension, u) + " when it was written";
      r.why = "no place gives more than it holds (F3)";
      r.instead = "the amount again, or what the place really holds: baybook gauge " + info.code + " ..." + (b.fluid == 0 ? "" : " --fluid " + fluid_name(in.db, FluidId{b.fluid})) + " --reason \"...\"";
      // A drum that is kept in litres holds no kilograms, and is not empty.
      if (const std::int64_t kept = info.dimension; b.had <= 0 && kept != b.dimension && in.ledger.level(b.place, kept).best > 0) {
        const auto unit = static_cast<Dimension>(kept);
        const std::string asked = show(b.asked, dimension, u);
        r.what = place + " holds " + show(in.ledger.level(b.place, kept).best, unit, u) + " by the book; " + asked + " is another kind of quantity";
        r.why = "litres, kilograms and pieces are never added up";
        r.instead = "the amount in the unit of the place" + std::string(info.role == Role::waste ? ", and what the carrier weighed beside it: --measured " + as_typed(asked) : "");
        break;
      }
      // On a shelf it is asked where the product stands, not where there is much of anything.
      if (b.fluid != 0) {
        if (const std::string other = holding(in, b); !other.empty())
          r.instead = other + ", if it came from there; or " + r.instead;
      } else if (const auto other = elsewhere(in, b.place, b.entry, b.dimension, b.asked, false)) r.instead = other->code + ", which holds " + show(other->amount, dimension, u) + ", if it came from there; or " + r.instead;
      r.figures = {{"holds_" + std::string(base_unit(dimension)), std::to_string(b.had)}, {"asked_" + std::string(base_unit(dimension)), std::to_string(b.asked)}};
      break;
    case fluids::Rule::overfill:
      r.code = Code::would_overfill;
      r.what = place + " would hold " + show(b.had, dimension, u) + ", " + show(b.excess, dimension, u, true) + " over its size of " + show(info.size, dimension, u);
      r.why = "no place holds more than its size (F4)";
      r.instead = "another place: " + add_one_like(info);
      if (const auto other = elsewhere(in, b.place, b.entry, b.dimension, whole(), true)) r.instead = other->code + ", which has room for " + show(other->amount, dimension, u) + "; or " + r.instead;
      r.figures = {{"would_hold_" + std::string(base_unit(dimension)), std::to_string(b.had)}, {"size_" + std::string(base_unit(dimension)), std::to_string(info.size)}};
      break;
    case fluids::Rule::wrong_fluid: {
      const FluidClass* came = find_class(FluidId{b.asked});
      const FluidClass* there = find_class(FluidId{b.had});
      r.code = Code::not_allowed;
      const bool fixed = !info.takes.empty();
      r.what = place + (fixed ? " takes " : " holds ") + std::string(there ? there->name : "something else") + ", not " + std::string(came ? came->name : "this");
      r.why = "mixing spoils both for pick-up and for putting back (F5)";
      r.instead = fixed && info.role == Role::circuit ? "the circuit it belongs to" : "another place";
      // Only the verbs of movements ask for a reason.
      if (!(fixed && info.role == Role::circuit) && log::read_fact(in.db, b.entry).kind == log::Kind::movement) {
        r.instead += correction ? "; if it has happened already, --withdraw, and write it again with --mixing-reason \"...\"" : ", or --mixing-reason \"...\" if it has happened already";
      }
      break;
    }
  }
  if (b.rule != fluids::Rule::wrong_fluid) blame_what_is_doubled(in, b.place, r);
  if (own) return r;
  // The entry itself is fine; one that comes later no longer is.
  const std::string later = entry_name(in, b.entry);
  const Fact fact = log::read_fact(in.db, b.entry);
  r.what = std::string(correction ? "with this correction" : "with this entry") + " a later one no longer holds: entry " + later + " of " + to_string(log::day_of_moment(fact.effect.moment)) + (b.all ? "" : " (" + summarize(in, fact) + ")") + ": " + r.what;
  if (correction) {
    r.code = Code::has_dependants;
    r.instead = b.all ? "repeat with --with-dependants, which withdraws it as well, and write it again from where it was taken" : "correct entry " + later + " first, or repeat with --with-dependants to withdraw what stands on it as well";
  } else {
    r.instead = "the date or the amount again, or correct entry " + later + " first";
    // A reading of a place of which nothing was known yet does not say what is in it.
    const FluidClass* came = b.rule == fluids::Rule::wrong_fluid ? find_class(FluidId{b.asked}) : nullptr;
    if (came && b.had == fluids::kUnknownClass && log::read_fact(in.db, new_entry).kind == log::Kind::gauge) r.instead = "--fluid " + std::string(came->name) + ", if that is what it was; or " + r.instead;
  }
  r.figures.push_back({"entries", [&] {
                         std::string list;
                         for (const auto& o : others) {
                           const std::string n = entry_name(in, o.entry);
                           if ((" " + list + " ").find(" " + n + " ") == std::string::npos) list += (list.empty() ? "" : " ") + n;
                         }
                         return list;
                       }()});
  return r;
}

}  // namespace baybook::book
