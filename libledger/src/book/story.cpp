// Entries in words.
#include "book/choice.hpp"
#include "book/erase.hpp"
#include "book/inside.hpp"
#include "book/peers.hpp"
#include "book/views.hpp"

#include "due/build.hpp"
#include "fluids/build.hpp"
#include "fluids/ends.hpp"
#include "returns/determination.hpp"
#include "fluids/shares.hpp"
#include "service/build.hpp"
#include "service/parts.hpp"
#include "service/reading.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

using log::Fact;
using log::Kind;
using log::Value;

namespace {

std::string opt(const Value& d, std::string_view key) { return d.has(key) ? std::string(d.str(key)) : std::string(); }

std::string amount_of(Book::Inside& in, const Value& v) { return show(log::read_amount(v), in.settings.units); }

// A place as seen from within a job: its circuits need no plate.
std::string near_name(Book::Inside& in, PlaceId p, bool in_job) {
  if (is_circuit(p) && in_job) return "the " + std::string(log::circuit_at(p).name) + " circuit";
  return place_name(in, p);
}

std::string what_moved(Book::Inside& in, const Fact& fact, std::int64_t line, const Value& spec) {
  // What a line of an older version named and did not take alone left in proportion all the same.
  const bool says = spec.has("alone") ||
                    fluids::is_end(log::read_place(spec.at("from"), fact.origin()));
  if (const Value* f = spec.find("fluid"); f != nullptr && says)
    return fluid_name(in.db, log::read_fluid(*f, fact.origin()));
  std::string out;
  auto q = in.db.query("SELECT DISTINCT fluid FROM flow WHERE entry = ? AND line = ? AND source <> 1 ORDER BY fluid");
  q.bind(fact.id().n).bind(line);
  std::vector<std::int64_t> ids;
  while (q.step()) ids.push_back(q.num(0));
  for (const std::int64_t id : ids) out += (out.empty() ? "" : " + ") + fluid_name(in.db, FluidId{id});
  // What was withdrawn moves nothing any more; of a circuit it is known all the same what it takes.
  if (out.empty() && fact.withdrawn) {
    for (const char* end : {"from", "to"}) {
      const PlaceId p = log::read_place(spec.at(end), fact.origin());
      if (is_circuit(p)) return std::string(log::circuit_at(p).takes);
    }
  }
  return out;
}

// ", benzene 70%, toluene 20..30%": what it is made of.
std::string shares_told(const Value& d) {
  std::string out;
  for (const MassShare& s : fluids::read_shares(d))
    out += ", " + s.substance + " " +
           (s.typed.empty() ? std::to_string(s.best_ppm) + " ppm" : s.typed);
  return out;
}

std::string haul_told(const Value& d, const Units& u) {
  return show_distance(Distance{d.num("haul-m"), std::string(d.str("haul-typed"))}, u) + " away";
}

std::string firm_told(const Value& d, const Units& u) {
  std::string out;
  if (d.has("haul-m")) out += ", " + haul_told(d, u);
  if (d.has("receives-as"))
    out += d.str("receives-as") == "collection-centre" ? ", a recognised collection centre"
                                                       : ", the own aggregation point";
  if (const Value* streams = d.find("streams")) {
    std::string names;
    for (const Value& s : streams->as_array())
      names += (names.empty() ? ", for " : " and ") + s.as_string();
    out += names;
  }
  if (d.has("registered")) out += ", registered " + opt(d, "registered");
  return out;
}

std::string movement(Book::Inside& in, const Fact& fact) {
  const Value& d = fact.details;
  const auto verb = fluids::read_verb(d.str("verb"));
  std::string out;
  std::int64_t n = 0;
  const bool in_job = d.has("job");
  for (const Value& line : d.list("lines")) {
    ++n;
    const PlaceId from = log::read_place(line.at("from"), fact.origin());
    const PlaceId to = log::read_place(line.at("to"), fact.origin());
    const std::string amount = show(amount_moved(in, fact, n, line), in.settings.units);
    const std::string fluid = what_moved(in, fact, n, line);
    const std::string what = amount + (fluid.empty() ? "" : " " + fluid);
    if (!out.empty()) out += "; ";
    // An older version took in verbs that are none; what moved is to be read all the same.
    switch (verb.value_or(MoveVerb::decant)) {
      case MoveVerb::drain: out += "drained " + what + " into " + near_name(in, to, in_job); break;
      case MoveVerb::filter: out += "filtered " + what + " from " + near_name(in, from, in_job) + " into " + near_name(in, to, in_job); break;
      case MoveVerb::fill: {
        const fluids::PlaceInfo& info = in.ledger.info(from);
        out += (info.role == Role::reuse || info.role == Role::hold_catch ? "put back " : "filled new ") + what + " from " + near_name(in, from, in_job);
        break;
      }
      case MoveVerb::spill:
        out += from == kSupplier ? what + " used to soak it up, into " + near_name(in, to, in_job)
               : to == kGround   ? "spilled " + what + " from " + near_name(in, from, in_job)
                                 : "picked up " + what + " into " + near_name(in, to, in_job);
        break;
      case MoveVerb::decant: out += "moved " + what + " from " + near_name(in, from, in_job) + " to " + near_name(in, to, in_job); break;
      case MoveVerb::receive: out += "received " + what + " into " + near_name(in, to, in_job); break;
      case MoveVerb::discard: out += "discarded " + what + " into " + near_name(in, to, in_job); break;
      case MoveVerb::pickup: out += "picked up " + what + " from " + near_name(in, from, in_job) + (line.has("fate") ? ", " + std::string(line.str("fate")) : ""); break;
    }
    if (line.has("lot")) out += ", lot " + std::string(line.str("lot"));
    if (line.has("treatment")) out += " (" + std::string(line.str("treatment")) + ")";
  }
  if (d.has("machine")) out += ", with the machine " + std::string(d.str("machine"));
  if (d.has("reached")) {
    const std::string_view reached = d.str("reached");
    out += ", reached " + std::string(reached == "floor" ? "the floor" : reached == "drain" ? "a drain" : reached);
  }
  if (d.has("own-vehicle")) out += ", in the shop's own vehicle";
  if (d.has("haul-m")) out += ", " + haul_told(d, in.settings.units);
  out += shares_told(d);
  if (d.has("document")) out += ", paper " + std::string(d.str("document"));
  return out;
}

std::string choice_told(Book::Inside& in, const Fact& fact) {
  std::string others;
  const std::vector<EntryId> over = over_of(fact.details, fact.origin());
  for (const EntryId e : over) others += (others.empty() ? "" : ", ") + entry_name(in, e);
  return "entry " +
         entry_name(in, EntryId{log::read_ref(fact.details.at("keep"), fact.origin())}) +
         " holds, entr" + (over.size() == 1 ? "y " : "ies ") + others +
         (over.size() == 1 ? " does not" : " do not");
}

}  // namespace

Amount amount_moved(Book::Inside& in, const Fact& fact, std::int64_t line, const Value& spec) {
  const Amount written = log::read_amount(spec.at("amount"));
  if (!spec.has("all") || fact.withdrawn) return written;
  {
    // Words that a correction has replaced say what they said.
    auto q = in.db.query("SELECT entry FROM amended WHERE target = ?");
    q.bind(fact.id().n);
    if (EntryId{q.step() ? q.num(0) : fact.id().n} != fact.source) return written;
  }
  fluids::Bounds sum;
  auto q = in.db.query("SELECT low, best, high FROM flow WHERE entry = ? AND line = ? AND source <> 1");
  q.bind(fact.id().n).bind(line);
  while (q.step()) sum += fluids::Bounds{q.num(0), q.num(1), q.num(2)};
  return Amount{written.dimension, std::max<std::int64_t>(0, sum.low), sum.best, sum.high, sum.low != sum.high, "all"};
}

EntryRef ref_of(const Book::Inside& in, EntryId id) { return EntryRef{id, std::string(in.known.tag_of(id.origin()))}; }

std::string fluid_name(store::Db& db, FluidId fluid) {
  if (const FluidClass* c = find_class(fluid)) return std::string(c->name);
  auto q = db.query("SELECT code FROM fluid WHERE id = ?");
  q.bind(fluid.n);
  return q.step() ? q.text(0) : std::string("a fluid that was withdrawn");
}

std::string place_name(Book::Inside& in, PlaceId place) {
  if (is_circuit(place)) return service::plate_of(in.db, car_of(place)) + " " + std::string(log::circuit_at(place).name);
  const std::string& code = in.ledger.info(place).code;
  // Another installation may have a place of that name, until somebody settles it.
  if (in.known.all.size() > 1 && EntryId{place.n}.origin() != in.known.own().origin && !fluids::is_end(place)) {
    auto q = in.db.query("SELECT 1 FROM place WHERE code = ? AND id <> ? AND role <> 0");
    q.bind(code).bind(place.n);
    if (q.step()) return code + "@" + std::string(in.known.tag_of(EntryId{place.n}.origin()));
  }
  return code;
}

std::string place_to_type(Book::Inside& in, PlaceId place) {
  std::string name = place_name(in, place);
  if (is_circuit(place) || in.known.all.size() < 2 || name.find('@') != std::string::npos) return name;
  auto q = in.db.query("SELECT 1 FROM place WHERE code = ? AND id <> ? AND role <> 0");
  q.bind(name).bind(place.n);
  return q.step() ? name + "@" + std::string(in.known.tag_of(EntryId{place.n}.origin())) : name;
}

// ", took out WP-4471 (entry 15)" for each part that came off by this.
std::string took_out(Book::Inside& in, const Fact& fact) {
  std::string out;
  for (const std::string& told :
       service::told_of_takes_out(in.db, in.known, in.settings.units, fact))
    out += ", " + told;
  return out;
}

// A reading in the book's unit, with what was typed beside it when that was in another one.
std::string distance_text(const Value& d, const char* metres, const char* typed, const Units& u) {
  return show_distance(Distance{d.num(metres), d.has(typed) ? std::string(d.str(typed)) : std::string()}, u);
}

// What a closing booked: an older program had one end for what ran out and what nobody saw.
std::string lost_as(const Value& line, std::int64_t origin) {
  const PlaceId from = log::read_place(line.at("from"), origin);
  const std::string circuit = is_circuit(from) ? " " + std::string(log::circuit_at(from).name) : "";
  const bool missing = log::read_place(line.at("to"), origin) == kMissing;
  return missing ? circuit + " missing" : " booked as lost";
}

// ", job 17" of an entry that belongs to one.
std::string details_of_determination(const Value& d) {
  const returns::Said said = returns::read_determination(d);
  std::string out;
  if (!said.codes.empty()) out += ", " + returns::listed(said.codes);
  for (const returns::Finding& f : said.found) out += ", " + f.what + " " + f.typed;
  if (said.ground == "mixed") out += ", mixed with hazardous waste";
  if (said.ground == "halogens") out += ", its halogens not rebutted";
  if (said.ground == "disposal") out += ", to be disposed of";
  if (said.ground == "conditions") out += ", the conditions of its exclusion not kept";
  return out + (said.rebuts ? ", the presumption rebutted" : "");
}

std::string job_of(Book::Inside& in, const Fact& fact) {
  const auto row = service::job_row(in.db, service::belongs_to(in.db, fact).job);
  return row ? ", job " + service::job_name(in.known, *row) : std::string();
}

namespace {

// "event add", "event end", "hold add": an end is that of what it ends.
std::string verb_of_circumstance(const Value& d) {
  if (d.str("what") != "end") return std::string(d.str("what")) + " add";
  return (d.has("of") ? std::string(d.str("of")) : std::string("event")) + " end";
}

// "biennial-report 2025 filed on 2026-02-20"
std::string filed(Book::Inside& in, const Fact& fact) {
  const Value& d = fact.details;
  std::string out(d.str("what"));
  if (d.has("period")) out += " " + opt(d, "period");
  if (d.has("about"))
    out += " about entry " +
           entry_name(in, EntryId{log::read_ref(d.at("about"), fact.origin())});
  out += " filed on " + opt(d, "filed");
  if (d.has("way")) out += d.str("way") == "paper" ? ", on paper" : ", electronically";
  return out;
}

std::string circumstance(Book::Inside& in, const Fact& fact) {
  const Value& d = fact.details;
  const std::string_view what = d.str("what");
  std::string places;
  if (d.has("containers")) {
    for (const Value& c : d.list("containers"))
      places += (places.empty() ? "" : ", ") +
                place_name(in, log::read_place(c.at("place"), fact.origin()));
  }
  if (what == "event")
    return std::string(d.has("planned") ? "planned" : "unplanned") + " episodic event from " +
           opt(d, "day") + ", in " + places + (d.has("petitioned") ? ", by a petition" : "");
  if (what == "hold") return "enforcement hold from " + opt(d, "day");
  if (what == "extension")
    return "extension of " + std::to_string(d.num("days")) + " days for " + places +
           ", granted on " + opt(d, "day");
  return (d.has("of") ? opt(d, "of") : std::string("event")) + " of entry " +
         entry_name(in, EntryId{log::read_ref(d.at("about"), fact.origin())}) + " ended on " +
         opt(d, "day");
}

}  // namespace

std::string_view main_field(Kind kind) {
  switch (kind) {
    case Kind::place_mark:
    case Kind::car_change:
    case Kind::code:
    case Kind::movement: return "note";
    case Kind::person: return "name";
    case Kind::car: return "plate";
    case Kind::job: return "complaint";
    case Kind::job_close: return "result";
    case Kind::odometer:
    case Kind::gauge: return "reason";
    case Kind::work: return "text";
    case Kind::fit: return "description";
    case Kind::torque: return "fastener";
    case Kind::correction: return "why";
    case Kind::firm: return "name";
    case Kind::confirm:
    case Kind::deadline_done:
    case Kind::filing:
    case Kind::circumstance:
    case Kind::close: return "note";
    case Kind::inspection: return "findings";
    case Kind::determination: return "reason";
    case Kind::paper: return "title";
    case Kind::deadline: return "what";
    case Kind::task_done:
    case Kind::recheck_done: return "note";
    case Kind::put_off:
    case Kind::settle: return "why";
    case Kind::hours: return "reason";
    case Kind::schedule:
    case Kind::erasure:
    case Kind::peer:
    case Kind::opening:
    case Kind::place:
    case Kind::fluid:
    case Kind::rules: break;
  }
  return "";
}

std::string main_text(Book::Inside& in, const Fact& fact) {
  const std::string_view field = main_field(fact.kind);
  std::string out = field.empty() ? std::string() : log::private_text(in.db, fact, field);
  if (fact.kind == Kind::movement) {
    const std::string cleaned = log::private_text(in.db, fact, "cleaned");
    if (!cleaned.empty()) out += (out.empty() ? "cleaned up: " : "; cleaned up: ") + cleaned;
  }
  // Why an account was left open is what the next reader of the job looks for.
  if (fact.kind == Kind::job_close) {
    const std::string left = log::private_text(in.db, fact, "as-is");
    if (!left.empty()) out += (out.empty() ? "left as it is: " : "; left as it is: ") + left;
  }
  return out;
}

std::string verb_of(const Fact& fact) {
  const Value& d = fact.details;
  switch (fact.kind) {
    case Kind::settle: return "settle " + std::string(d.str("action"));
    case Kind::opening: return "start";
    case Kind::place: return "place add";
    case Kind::place_mark: return "place " + std::string(d.str("what"));
    case Kind::fluid: return "fluid add";
    case Kind::person: return "person add";
    case Kind::car: return "car add";
    case Kind::car_change: return "car change";
    case Kind::job: return "job open";
    case Kind::job_close: return "job close";
    case Kind::odometer: return "odo";
    case Kind::code: return "code " + std::string(d.str("what"));
    case Kind::work: return "work";
    case Kind::fit: return "fit";
    case Kind::torque: return "torque";
    case Kind::movement: return std::string(d.str("verb"));
    case Kind::gauge: return "gauge";
    case Kind::correction: return "correct";
    case Kind::firm: return "firm add";
    case Kind::rules: return "rules set";
    case Kind::confirm: return "pickup confirm";
    case Kind::inspection: return "inspect";
    case Kind::determination: return "determine";
    case Kind::paper: return "paper add";
    case Kind::deadline: return "deadline add";
    case Kind::deadline_done: return "deadline done";
    case Kind::close: return "close";
    case Kind::filing: return "filing add";
    case Kind::circumstance: return verb_of_circumstance(d);
    case Kind::schedule: return d.has("name") ? "schedule load" : "schedule set";
    case Kind::task_done: return "due done";
    case Kind::put_off: return "due put-off";
    case Kind::recheck_done: return "recheck";
    case Kind::hours: return "odo";
    case Kind::erasure: return "erase";
    case Kind::peer:
      return d.str("what") == "met" ? "exchange in" : "exchange " + std::string(d.str("what"));
  }
  return "";
}

std::string entry_name(const Book::Inside& in, EntryId id) {
  const EntryRef ref = ref_of(in, id);
  return std::to_string(ref.number()) + (ref.tag == in.settings.tag ? "" : "@" + ref.tag);
}

namespace {

// "17/2": the second recheck that the closing of job 17 set.
std::string recheck_name(Book::Inside& in, const Fact& fact) {
  const EntryId closing{log::read_ref(fact.details.at("closing"), fact.origin())};
  std::string job = "?";
  if (const auto closed = log::find_fact(in.db, closing)) {
    if (const auto row = service::job_row(in.db, service::belongs_to(in.db, *closed).job)) job = service::job_name(in.known, *row);
  }
  return job + "/" + std::to_string(fact.details.num("recheck"));
}

}  // namespace

std::string summarize(Book::Inside& in, const Fact& fact) {
  const Value& d = fact.details;
  const Units& u = in.settings.units;
  const auto number_of = [&](const char* key) { return entry_name(in, EntryId{log::read_ref(d.at(key), fact.origin())}); };
  switch (fact.kind) {
    case Kind::opening: return "book opened at " + opt(d, "site");
    case Kind::place: return "place " + opt(d, "code") + ", " + opt(d, "role") + (d.has("bulk") ? ", bulk tank" : "") + (d.has("size") ? ", " + amount_of(in, d.at("size")) : "");
    case Kind::place_mark: {
      const std::string place = place_name(in, log::read_place(d.at("place"), fact.origin()));
      const std::string what = opt(d, "what");
      if (what == "bulk") return place + " is a bulk tank from now on: what is in it is one mix";
      if (what == "shelf") return place + " is a shelf from now on: products are kept apart";
      return what + " " + place;
    }
    case Kind::fluid:
      return "fluid " + opt(d, "code") + ", " + opt(d, "class") +
             (d.has("product") ? ", " + opt(d, "product") : "") + shares_told(d);
    case Kind::person: return "person";
    case Kind::car: {
      std::string out = "car registered";
      for (const char* key : {"make", "model"}) {
        if (d.has(key)) out += (out == "car registered" ? ": " : " ") + opt(d, key);
      }
      if (d.has("year")) out += ", " + std::to_string(d.num("year"));
      return out;
    }
    case Kind::car_change: {
      std::string out = "car changed";
      const std::string plate = log::private_text(in.db, fact, "plate");
      if (!plate.empty()) out += ", plate " + plate;
      if (!log::private_text(in.db, fact, "keeper").empty()) out += ", new keeper";
      if (d.has("scrapped")) out += ", scrapped";
      return out;
    }
    case Kind::job: {
      const auto row = service::job_row(in.db, JobId{fact.id().n});
      return "job " + (row ? service::job_name(in.known, *row) : std::to_string(d.num("number"))) + " opened" + (d.has("odometer-m") ? " at " + distance_text(d, "odometer-m", "odometer-typed", u) + service::told_jumps(d) : "");
    }
    case Kind::job_close: {
      std::string out = "job closed";
      if (d.has("lines")) {
        for (const Value& line : d.list("lines"))
          out += ", " + amount_of(in, line.at("amount")) + lost_as(line, fact.origin());
      }
      for (const std::string& circuit : was_low(fact))
        out += ", " + circuit + " was low when it came";
      if (d.has("as-is")) out += ", account left as it is";
      if (d.has("rechecks")) out += ", " + std::to_string(d.list("rechecks").size()) + " to watch";
      return out;
    }
    case Kind::odometer: return "odometer " + distance_text(d, "odometer-m", "odometer-typed", u) + service::told_jumps(d) + job_of(in, fact);
    case Kind::code: return opt(d, "code") + " " + opt(d, "what");
    case Kind::work:
      return (d.has("kind") ? "work done, " + opt(d, "kind") : "work done") + took_out(in, fact);
    case Kind::fit: {
      std::string out = "fitted " + amount_of(in, d.at("quantity")) + " " + opt(d, "part");
      if (d.has("lot")) out += ", lot " + opt(d, "lot");
      if (d.has("warranty-months")) out += ", warranty " + std::to_string(d.num("warranty-months")) + " months";
      if (d.has("warranty-m")) out += (d.has("warranty-months") ? " or " : ", warranty ") + show_distance(d.num("warranty-m"), u);
      if (d.has("old")) {
        const std::string old = opt(d, "old");
        if (old == "waste") out += ", old part into " + place_name(in, log::read_place(d.list("lines").at(0).at("to"), fact.origin()));
        else out += old == "core" ? ", old part returned as core" : old == "customer" ? ", old part to the customer" : ", no old part";
      }
      return out + took_out(in, fact);
    }
    case Kind::torque: return "torque " + show_torque(d.num("torque-mnm"), u);
    case Kind::movement: return movement(in, fact);
    case Kind::gauge: {
      std::string out = "gauged " + place_name(in, log::read_place(d.at("place"), fact.origin())) + ": " + amount_of(in, d.at("level"));
      if (d.has("alone"))
        out += " " + fluid_name(in.db, log::read_fluid(d.at("fluid"), fact.origin()));
      auto q = in.db.query("SELECT dimension, sum(best) FROM flow WHERE entry = ? GROUP BY dimension");
      q.bind(fact.id().n);
      if (q.step() && q.num(1) != 0) out += ", " + show(q.num(1) < 0 ? -q.num(1) : q.num(1), static_cast<Dimension>(q.num(0)), u, true) + (q.num(1) < 0 ? " less" : " more") + " than the book said";
      return out;
    }
    case Kind::correction: {
      const EntryId target{log::read_ref(d.at("target"), fact.id().origin())};
      std::string out = (d.str("action") == "withdraw" ? "withdrew entry " : "corrected entry ") + entry_name(in, target);
      if (d.has("also")) out += " and " + std::to_string(d.list("also").size()) + " that stood on it";
      return out;
    }
    case Kind::firm:
      return "firm " + opt(d, "code") +
             (d.has("carries")
                  ? (d.has("receives") ? ", carries and receives waste" : ", carries waste")
                  : ", receives waste") +
             firm_told(d, u);
    case Kind::rules: return "rules " + opt(d, "set") + " from " + opt(d, "from") + (d.has("file") ? ", with the shop's file " + opt(d, "file-name") : "");
    case Kind::confirm: return "pick-up " + number_of("pickup") + " confirmed, signed " + opt(d, "signed");
    case Kind::inspection: return "inspected " + opt(d, "area") + (d.has("faults") ? ", something to put right" : ", nothing found") + (d.has("next") ? ", next " + opt(d, "next") : "");
    case Kind::determination:
      return opt(d, "stream") + (d.has("place") ? " in " + place_name(in, log::read_place(d.at("place"), fact.origin())) : "") + (d.flag("hazardous") ? " is hazardous" : " is not hazardous") +
             (opt(d, "basis") == "test" ? ", by test" : ", by what is known") + details_of_determination(d);
    case Kind::paper: return "paper " + opt(d, "file") + " kept with entry " + number_of("about");
    case Kind::deadline: return "deadline " + opt(d, "code") + " on " + opt(d, "due") + (d.has("months") ? ", every " + std::to_string(d.num("months")) + " months" : "");
    case Kind::deadline_done: return "deadline settled" + (d.has("next") ? ", next on " + opt(d, "next") : std::string());
    case Kind::filing: return filed(in, fact);
    case Kind::circumstance: return circumstance(in, fact);
    case Kind::close: return "month " + opt(d, "month") + " closed";
    case Kind::settle:
      if (is_choice(fact)) return choice_told(in, fact);
      return "entry " + number_of("other") + (opt(d, "action") == "join" ? " is the same as entry " + number_of("keep") + " and goes by it" : " and entry " + number_of("keep") + " are two");
    case Kind::schedule: {
      const auto& list = d.list("intervals");
      if (d.has("name")) return "schedule " + opt(d, "name") + " with " + std::to_string(list.size()) + (list.size() == 1 ? " interval" : " intervals");
      const std::vector<Interval> all = due::read_intervals(in.db, fact.id());
      if (all.empty()) throw log::Malformed("a schedule without an interval");
      const Interval& one = all.front();
      return one.task + " of " + service::plate_of(in.db, one.car) + " due " + due::told(one.months, one.distance, std::int64_t{one.hours} * 60, u);
    }
    case Kind::task_done: return opt(d, "task") + " done" + (d.has("when") ? " on " + opt(d, "when") : std::string()) + (d.has("odometer-m") ? " at " + distance_text(d, "odometer-m", "odometer-typed", u) : std::string()) + job_of(in, fact);
    case Kind::put_off: {
      const std::string what = d.has("task") ? opt(d, "task") : "recheck " + recheck_name(in, fact);
      return what + " put off until " + opt(d, "until");
    }
    case Kind::recheck_done: return "recheck " + recheck_name(in, fact) + (d.flag("good") ? ": good" : ": still there") + job_of(in, fact);
    case Kind::erasure: return summary_of_erasure(in, fact);
    case Kind::peer: return summary_of_word(in, fact);
    case Kind::hours: return "engine hours " + due::show_hours(d.num("minutes")) + service::told_jumps(d) + job_of(in, fact);
  }
  return "";
}

}  // namespace baybook::book
