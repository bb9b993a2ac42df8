// Corrections: an entry is never edited; a later one withdraws it or replaces its details.
#include "book/come_back.hpp"
#include "book/correct_office.hpp"
#include "book/correct_product.hpp"
#include "book/inside.hpp"
#include "book/unfit.hpp"
#include "book/unfit_prove.hpp"

#include "fluids/build.hpp"
#include "log/canonical.hpp"
#include "log/private_fields.hpp"
#include "log/references.hpp"
#include "service/build.hpp"
#include "service/parts.hpp"
#include "service/reading.hpp"

#include <baybook/text.hpp>
#include <baybook/vin.hpp>

#include <algorithm>

namespace baybook::book {

using log::Built;
using log::Desk;
using log::Fact;
using log::Kind;
using log::refuse;
using log::Value;

namespace {

// Details that hold, as they stand in the log: settlements are not in them, so that what rests on them is what was written whatever becomes
// of a settlement.
Fact as_stored(store::Db& db, EntryId id) {
  Fact fact = log::read_fact(db, id);
  const Value body = log::parse_body(log::row_of(db, fact.source).body);
  fact.details = fact.source == id ? body.at("details") : body.at("details").at("details");
  return fact;
}

// The place under which a settlement has it known.
PlaceId known_as(store::Db& db, PlaceId place) {
  if (!is_circuit(place)) return PlaceId{log::goes_by(db, place.n)};
  return circuit_of(CarId{log::goes_by(db, car_of(place).n)}, log::circuit_at(place));
}

// References in details that another installation wrote, written anew as seen from this one.
Value rebase(const Value& v, std::int64_t origin, const log::Installations& known, std::string_view key = {}) {
  if (v.is_object()) {
    if (v.has("car") && v.has("circuit")) return log::write_place(log::read_place(v, origin), known);
    Value out;
    for (const auto& [k, member] : v.as_object()) out[k] = rebase(member, origin, known, k);
    return out;
  }
  if (v.is_array()) {
    std::vector<Value> out;
    for (const Value& item : v.as_array()) out.push_back(rebase(item, origin, known, key));
    return Value(std::move(out));
  }
  const bool reference = log::names_an_entry(key);
  if (!reference) return v;
  // An end of the world, a class, a day.
  if (v.is_string() && v.as_string().find(':') == std::string::npos) return v;
  return log::write_ref(log::read_ref(v, origin), known);
}

// Whether an entry, as it was written, names another: without the settlements, which have it read otherwise.
bool names_itself(store::Db& db, EntryId entry, EntryId named) {
  const Fact fact = as_stored(db, entry);
  const std::vector<log::Reference> all = log::references_in(fact.details, fact.origin());
  return std::any_of(all.begin(), all.end(), [&](const log::Reference& r) { return r.entry == named; });
}

}  // namespace

// Entries that would name something that is not there. What goes by another has its rows under that one; of those, what names it stands on it.
std::vector<EntryId> dependants(store::Db& db, const Fact& f) {
  std::vector<EntryId> out;
  const std::int64_t id = log::goes_by(db, f.id().n);
  const auto collect = [&](const char* sql) {
    std::vector<std::int64_t> found;
    {
      auto q = db.query(sql);
      q.bind(id);
      while (q.step()) found.push_back(q.num(0));
    }
    for (const std::int64_t entry : found) {
      if (entry != f.id().n && (id == f.id().n || names_itself(db, EntryId{entry}, f.id()))) out.push_back(EntryId{entry});
    }
  };
  // A reading of a shelf that agreed with the book moved nothing, and names its product.
  const auto named_by_gauges = [&] {
    std::vector<std::int64_t> found;
    {
      auto q = db.query(
          "SELECT id FROM entry WHERE kind = 16 AND id NOT IN (SELECT target FROM amended WHERE "
          "withdrawn = 1)");
      while (q.step()) found.push_back(q.num(0));
    }
    for (const std::int64_t entry : found) {
      if (names_itself(db, EntryId{entry}, f.id())) out.push_back(EntryId{entry});
    }
  };
  switch (f.kind) {
    case Kind::place:
      collect("SELECT entry FROM leg WHERE place = ?");
      collect("SELECT entry FROM mark WHERE place = ?");
      collect("SELECT entry FROM determined WHERE place = ?");
      break;
    case Kind::fluid:
      collect("SELECT DISTINCT entry FROM flow WHERE fluid = ?");
      named_by_gauges();
      break;
    case Kind::car:
      collect("SELECT entry FROM history WHERE car = ?");
      break;
    case Kind::job: {
      const std::int64_t car = log::read_ref(f.details.at("car"), f.origin());
      auto q = db.query("SELECT entry FROM history WHERE car = ? AND job = ? AND entry <> ?");
      q.bind(car).bind(f.id().n).bind(f.id().n);
      while (q.step()) out.push_back(EntryId{q.num(0)});
      break;
    }
    case Kind::person: {
      // The column is as it was written: of everybody who goes by this one.
      auto q = db.query("SELECT id FROM entry WHERE (who = ?1 OR who IN (SELECT id FROM settled WHERE goes_by = ?1)) AND id NOT IN (SELECT target FROM amended WHERE withdrawn = 1) LIMIT 100");
      q.bind(f.id().n);
      while (q.step()) out.push_back(EntryId{q.num(0)});
      break;
    }
    case Kind::firm:
      collect("SELECT entry FROM pickup WHERE carrier = ?1 OR receiver = ?1");
      collect("SELECT entry FROM task_done WHERE car = 0 AND metres = ?1");
      break;
    case Kind::fit:
      collect("SELECT entry FROM part WHERE number = '' AND lot = CAST(? AS TEXT)");
      break;
    case Kind::movement:
      collect("SELECT entry FROM confirmed WHERE pickup = ?");
      collect("SELECT entry FROM paper WHERE about = ?");
      collect("SELECT entry FROM task_done WHERE car = 0 AND metres = ?");
      break;
    case Kind::job_close:
      collect("SELECT entry FROM rechecked WHERE closing = ?");
      collect("SELECT entry FROM put_off WHERE item GLOB 'recheck ' || ? || '/*'");
      break;
    case Kind::deadline:
      collect("SELECT entry FROM deadline_done WHERE deadline = ?");
      break;
    case Kind::filing:
      collect("SELECT entry FROM paper WHERE about = ?");
      break;
    case Kind::circumstance: {
      collect("SELECT entry FROM paper WHERE about = ?");
      collect("SELECT entry FROM task_done WHERE car = 0 AND metres = ?");
      std::vector<std::int64_t> ends;
      {
        auto q = db.query("SELECT entry FROM mark WHERE place = 0 AND what = 8");
        while (q.step()) ends.push_back(q.num(0));
      }
      for (const std::int64_t entry : ends) {
        if (names_itself(db, EntryId{entry}, f.id())) out.push_back(EntryId{entry});
      }
      break;
    }
    default:
      break;
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

std::optional<EntryId> withdrawn_by(store::Db& db, EntryId entry) {
  auto q = db.query("SELECT entry FROM amended WHERE target = ? AND withdrawn = 1");
  q.bind(entry.n);
  return q.step() ? std::optional(EntryId{q.num(0)}) : std::nullopt;
}

namespace {

// What the shop names by a short code of its own.
bool named_by_code(Kind kind) { return kind == Kind::place || kind == Kind::fluid || kind == Kind::firm || kind == Kind::deadline; }

// Another code for it, free among those it must not be taken for.
Result<std::string> new_code(Book::Inside& in, const Fact& old, const std::string& typed) {
  auto code = clean_code(typed, log::name_of(old.kind));
  if (!code.ok()) return code;
  if (const auto other = code_taken(in.db, old.kind, *code, old.id())) return refuse(Code::already_there, *code + " is a name already, given by entry " + entry_name(in, *other), "names are for people: each means one thing", "another name, for example " + *code + "-2");
  if ((old.kind == Kind::place || old.kind == Kind::fluid) && find_class(std::string_view(*code)) != nullptr) return refuse(Code::already_there, *code + " is the name of a class of fluid", "a place or product needs a name of its own", "for example " + *code + "-1");
  return code;
}

// Less than came off of it cannot have been fitted.
Result<Done> not_less_than_came_out(Book::Inside& in, const Fact& fit, const Amount& now) {
  const std::vector<service::Taking> takings = service::takings_of(in.db, fit.id());
  std::int64_t out = 0;
  for (const service::Taking& t : takings) {
    if (t.amount) out += t.amount->best;
  }
  if (out <= now.best) return Done{};
  return refuse(Code::has_dependants,
                show(out, now.dimension, in.settings.units) +
                    " of it came out by the book, last by entry " +
                    entry_name(in, takings.back().effect.id),
                "what came out was in",
                "baybook correct " + entry_name(in, takings.back().effect.id) +
                    " --takes-out " + entry_name(in, fit.id()) +
                    " --why \"...\"  # first, for all of it");
}

// All that the entry takes out, at its own place in time.
Result<Done> patch_takes_out(Book::Inside& in, const Desk& desk, const Fact& old,
                             const std::vector<TakenOut>& list, Value& details) {
  Value fresh;
  for (const auto& [k, v] : details.as_object()) {
    if (k != "takes-out") fresh[k] = v;
  }
  details = std::move(fresh);
  Desk there = desk;
  there.effect = old.effect;
  const CarId car = service::belongs_to(in.db, old).car;
  return service::write_takes_out(there, details, list, car, old.id());
}

// The figure of a reading, and what it says of its instrument.
Result<Done> patch_reading(Book::Inside& in, Desk& desk, const Fact& old, const Patch& patch,
                           Built& out, Value& details) {
  const std::string name = entry_name(in, old.id());
  const bool hours = old.kind == Kind::hours;
  const bool reads = hours || old.kind == Kind::odometer || old.kind == Kind::job;
  if ((patch.odometer && (hours || (!reads && !details.has("odometer-m")))) ||
      (patch.dial && !reads) || (!patch.odometer && !hours && !details.has("odometer-m")))
    return refuse(Code::not_allowed,
                  "entry " + name + " (" + std::string(log::name_of(old.kind)) +
                      ") has no odometer reading to correct",
                  "", "baybook entry " + name + "  # or --withdraw and write it again");
  if (patch.dial == Dial::misread)
    return refuse(
        Code::wrong_usage, "which reading was misread?",
        "that one is corrected or withdrawn, and not the one after it",
        "baybook correct ENTRY --odo READING --why \"...\"  # with the entry that was misread");
  Desk there = desk;
  there.effect = old.effect;
  service::Said said;
  said.car = CarId{log::goes_by(in.db, log::read_ref(details.at("car"), desk.known.own().origin))};
  said.counts = hours ? service::Counts::hours : service::Counts::distance;
  said.figure = patch.odometer ? patch.odometer->metres
                : hours        ? details.num("minutes")
                               : details.num("odometer-m");
  said.typed = patch.odometer ? patch.odometer->typed
                              : std::string(details.str(hours ? "typed" : "odometer-typed"));
  said.itself = old.id();
  said.dial = patch.dial.value_or(Dial::goes_on);
  // What it said of its instrument stays while it still shows less than the one before it.
  const std::int64_t jumps = service::jumps_of(details);
  if (!patch.dial && jumps != service::kGoesOn) {
    if (service::goes_back(there, said)) said.inherits = jumps;
    else if (jumps == service::kReplaced)
      out.warnings.push_back(
          "it is not said any more that this is the first reading of another instrument, for it "
          "shows no less than the one before; if it is: baybook correct " +
          name + " --replaced --why \"...\"");
  }
  auto fits = service::fits(there, said);
  if (!fits.ok()) {
    Refusal r = std::move(fits).refusal();
    // The day is the entry's own.
    if (r.code == Code::runs_backwards) {
      r.instead = reads ? "the reading again; the same with --replaced, if it is another "
                          "instrument, or with --rolled-over, if it began again at 0; if the day "
                          "is wrong, --withdraw and write it again"
                        : "the reading again; if the day is wrong, --withdraw and write it again";
    }
    return r;
  }
  details = service::without_jumps(details);
  if (patch.odometer) {
    details["odometer-m"] = patch.odometer->metres;
    details["odometer-typed"] = patch.odometer->typed;
  }
  service::write_jumps(details, said.counts, *fits);
  if (*fits == service::kGoesOn && patch.odometer)
    service::say_if_far(there, said.car, *patch.odometer, old.id(), out.warnings);
  return Done{};
}

Result<Done> apply_patch(Book::Inside& in, Desk& desk, const Fact& old, const Patch& patch, Built& out, Value& details) {
  bool any = false;
  const auto no_field = [&](const char* what) {
    return refuse(Code::not_allowed, "entry " + entry_name(in, old.id()) + " (" + std::string(log::name_of(old.kind)) + ") has no " + what + " to correct", "", "baybook entry " + entry_name(in, old.id()) + "  # or --withdraw and write it again");
  };
  const auto same_kind = [&](const Amount& was, const Amount& now) -> Result<Done> {
    if (was.dimension == now.dimension) return Done{};
    return refuse(Code::unclear, "entry " + entry_name(in, old.id()) + " says " + show(was, desk.units) + ", another kind of quantity than " + show(now, desk.units), "litres, kilograms and pieces are never added up", "--withdraw, and write it again");
  };
  if (patch.amount || patch.from || patch.into || patch.fluid) {
    any = true;
    if (old.kind == Kind::gauge) {
      if (patch.from || patch.into) return no_field("source or target");
      const Amount was = log::read_amount(details.at("level"));
      if (patch.amount) {
        if (auto ok = same_kind(was, *patch.amount); !ok.ok()) return ok;
        Value fresh;
        for (const auto& [k, v] : details.as_object()) {
          if (k != "gross" && k != "tare" && k != "density" && k != "level") fresh[k] = v;
        }
        fresh["level"] = log::write_amount(*patch.amount);
        details = fresh;
      }
      if (patch.fluid) {
        if (auto ok = patch_gauged(in, desk, old, *patch.fluid, details); !ok.ok()) return ok;
      }
    } else if (old.kind == Kind::fit && patch.fluid) {
      return no_field("product");
    } else if (old.kind == Kind::fit && patch.amount && !patch.from && !patch.into) {
      if (auto ok = same_kind(log::read_amount(details.at("quantity")), *patch.amount); !ok.ok()) return ok;
      if (auto ok = not_less_than_came_out(in, old, *patch.amount); !ok.ok()) return ok;
      details["quantity"] = log::write_amount(*patch.amount);
    } else if (old.kind == Kind::movement || (old.kind == Kind::fit && details.has("lines"))) {
      std::vector<Value> lines = details.list("lines");
      if (patch.line < 1 || static_cast<std::size_t>(patch.line) > lines.size()) return refuse(Code::not_found, "entry " + entry_name(in, old.id()) + " has " + std::to_string(lines.size()) + " line" + (lines.size() == 1 ? "" : "s"), "", "--line 1");
      Value& line = lines[static_cast<std::size_t>(patch.line - 1)];
      // What is checked are the places that are meant now; what is written again stays as it was written.
      const PlaceId was_from = log::read_place(line.at("from"), desk.known.own().origin);
      const PlaceId was_to = log::read_place(line.at("to"), desk.known.own().origin);
      const PlaceId from = patch.from.value_or(known_as(in.db, was_from));
      const PlaceId to = patch.into.value_or(known_as(in.db, was_to));
      if (patch.amount) {
        if (auto ok = same_kind(log::read_amount(line.at("amount")), *patch.amount); !ok.ok()) return ok;
      }
      for (const PlaceId p : {from, to}) {
        const bool changed = (patch.from && p == from) || (patch.into && p == to);
        if (!changed || !holds(in.ledger.info(p).role)) continue;
        if (withdrawn_by(in.db, EntryId{p.n})) return refuse(Code::not_found, in.ledger.info(p).code + " was withdrawn", "nothing goes through a place that is not there", "a place from `baybook levels`");
        const fluids::Marks m = fluids::marks_of(in.db, p, old.effect.moment);
        if (m.retired || (m.sealed && p == to)) return refuse(Code::not_allowed, in.ledger.info(p).code + (m.retired ? " was retired" : " was sealed") + " when this happened", "nothing goes into it then (F6)", "another place");
      }
      if (old.kind == Kind::fit && (in.ledger.info(to).role != Role::waste || from != kBefore)) return refuse(Code::not_allowed, "an old part goes into a waste place", "F6", "--into bin-parts");
      if (old.kind == Kind::movement) {
        const auto verb = fluids::read_verb(details.str("verb"));
        if (!verb)
          return refuse(
              Code::not_allowed,
              "entry " + entry_name(in, old.id()) + " says \"" + visible(details.str("verb")) +
                  "\", which is no movement",
              "only what a movement can be is put right",
              "baybook correct " + entry_name(in, old.id()) + " --withdraw --why \"...\"");
        if (auto way = fluids::check_way(in.ledger, *verb, from, to); !way.ok()) return way;
        if (patch.amount) {
          if (auto clear = fluids::check_amount(in.ledger, *verb, from, to, *patch.amount, desk.units, out.warnings); !clear.ok()) return clear;
        }
        if (details.has("job")) {
          const auto row = service::job_row(in.db, JobId{log::read_ref(details.at("job"), desk.known.own().origin)});
          for (const PlaceId p : {from, to}) {
            if (is_circuit(p) && row && car_of(p) != row->car) return refuse(Code::not_allowed, "that circuit belongs to another car than the job", "a job is about one car (F6)", "the circuit of the same car");
          }
        }
      }
      Value fresh;
      for (const auto& [k, v] : line.as_object()) {
        if (!(k == "all" && patch.amount)) fresh[k] = v;
      }
      if (patch.amount) fresh["amount"] = log::write_amount(*patch.amount);
      fresh["from"] = log::write_place(patch.from.value_or(was_from), desk.known);
      fresh["to"] = log::write_place(patch.into.value_or(was_to), desk.known);
      if (old.kind == Kind::movement) {
        const auto verb = fluids::read_verb(details.str("verb")).value_or(MoveVerb::decant);
        const PatchedLine of{old, patch, details, verb, from, to};
        if (auto ok = patch_product(in, desk, of, fresh); !ok.ok()) return ok;
      }
      line = std::move(fresh);
      details["lines"] = Value(std::move(lines));
    } else {
      return no_field("amount or place");
    }
  }
  if (patch.no_odometer) {
    any = true;
    if (old.kind != Kind::job || !details.has("odometer-m"))
      return no_field("odometer reading that can be left out");
    if (patch.odometer || patch.dial)
      return refuse(Code::wrong_usage, "a reading is left out, or another one is right", "",
                    "one of the two");
    Value fresh;
    const Value plain = service::without_jumps(details);
    for (const auto& [k, v] : plain.as_object()) {
      if (!k.starts_with("odometer-")) fresh[k] = v;
    }
    details = fresh;
  }
  if (patch.odometer || patch.dial) {
    any = true;
    if (auto ok = patch_reading(in, desk, old, patch, out, details); !ok.ok()) return ok;
  }
  if (patch.code) {
    any = true;
    if (old.kind == Kind::code) {
      auto code = read_fault_code(*patch.code);
      if (!code.ok()) return std::move(code).refusal();
      details["code"] = code->text;
    } else if (named_by_code(old.kind)) {
      auto code = new_code(in, old, *patch.code);
      if (!code.ok()) return std::move(code).refusal();
      details["code"] = *code;
    } else {
      return no_field("code");
    }
  }
  const auto open_field = [&](const std::optional<std::string>& value, const char* key, bool fits) -> Result<Done> {
    if (!value) return Done{};
    any = true;
    if (!fits) return no_field(key);
    const std::string_view name(key);
    auto clean = name == "part"       ? service::clean_part(*value)
                 : name == "document" ? fluids::open_token(*value, "document number")
                                      : clean_text(*value, key, log::most::kPart);
    if (!clean.ok()) return std::move(clean).refusal();
    details[key] = *clean;
    return Done{};
  };
  if (auto ok = open_field(patch.part, "part", old.kind == Kind::fit); !ok.ok()) return ok;
  if (auto ok = open_field(patch.lot, "lot", old.kind == Kind::fit); !ok.ok()) return ok;
  if (patch.document && old.kind == Kind::movement && details.str("verb") == "pickup") {
    auto q = in.db.query("SELECT entry FROM pickup WHERE document = ? AND entry <> ? LIMIT 1");
    q.bind(*patch.document).bind(old.id().n);
    if (q.step()) return refuse(Code::already_there, "paper " + visible(*patch.document) + " is that of pick-up " + entry_name(in, EntryId{q.num(0)}) + " already", "one paper, one pick-up", "the number on this paper");
  }
  if (auto ok = open_field(patch.document, "document", old.kind == Kind::movement); !ok.ok()) return ok;
  if (patch.torque) {
    any = true;
    if (old.kind != Kind::torque) return no_field("torque");
    details["torque-mnm"] = patch.torque->millinewton_metres;
    details["torque-typed"] = patch.torque->typed;
  }
  if (patch.takes_out) {
    any = true;
    if (old.kind != Kind::work && old.kind != Kind::fit) return no_field("part that comes out");
    if (auto ok = patch_takes_out(in, desk, old, *patch.takes_out, details); !ok.ok()) return ok;
  }
  if (patch.text) {
    any = true;
    const std::string_view field = main_field(old.kind);
    if (field.empty()) return no_field("text");
    // A correction has a "why" of its own, and an entry has one text of a name.
    if (field == "why") return refuse(Code::not_allowed, "entry " + entry_name(in, old.id()) + " (" + std::string(log::name_of(old.kind)) + ") says why, and that is not replaced", "its text is its reason, and a correction has a reason of its own", "baybook correct " + entry_name(in, old.id()) + " --withdraw --why \"...\"  # then write it again");
    auto clean = old.kind == Kind::car ? service::clean_plate(*patch.text)
                 : old.kind == Kind::person
                     ? service::clean_person(desk, *patch.text, old.id())
                     : clean_text(*patch.text, field, log::most_private(old.kind, field));
    if (!clean.ok()) return std::move(clean).refusal();
    // A plate that it wore once may be another's now.
    const bool worn = old.kind == Kind::car && plate_key(service::plate_of(in.db, CarId{old.id().n})) == plate_key(log::surviving_text(in.db, old, "plate"));
    if (worn) {
      if (auto ok = service::plate_is_free(desk, *clean, CarId{old.id().n}); !ok.ok()) return std::move(ok).refusal();
    }
    out.keep_private(std::string(field), *clean);
  }
  if (patches_office(patch)) {
    any = true;
    if (auto ok = patch_office(in, desk, old, patch, out, details); !ok.ok()) return ok;
  }
  if (!any)
    return refuse(
        Code::wrong_usage, "the correction changes nothing", "",
        "--amount, --from, --into, --fluid, --odo, --replaced, --rolled-over, --no-odo, --text, "
        "--code, --part, --lot, --doc, --torque, --takes-out, --share, --distance, or --withdraw");
  return Done{};
}

// Of several corrections of an entry the last in effect order holds, so one before another would be
// written and change nothing.
std::optional<Refusal> corrected_later(Book::Inside& in, const Desk& desk, EntryId target) {
  auto q = in.db.query(
      "SELECT c.entry, c.moment FROM correction c WHERE c.target = ?1 AND (c.moment, c.recorded, c.entry) > (?2, ?3, ?4) "
      "AND NOT EXISTS (SELECT 1 FROM amended a WHERE a.target = c.entry AND a.withdrawn = 1) "
      "ORDER BY c.moment DESC, c.recorded DESC, c.entry DESC LIMIT 1");
  q.bind(target.n).bind(desk.effect.moment).bind(desk.effect.recorded).bind(desk.effect.id.n);
  if (!q.step()) return std::nullopt;
  const EntryId by{q.num(0)};
  const Day day = log::day_of_moment(q.num(1));
  const bool typed_earlier = day <= desk.today && by.origin() == desk.effect.id.origin();
  return refuse(Code::not_allowed,
                "entry " + entry_name(in, target) + " was corrected by entry " +
                    entry_name(in, by) + " of " + to_string(day) +
                    ", and this would stand before that",
                "of several corrections the last one holds",
                typed_earlier ? "without --on and --at"
                              : "baybook correct " + entry_name(in, by) +
                                    " --withdraw --why \"...\"  # then the same again");
}

}  // namespace

Result<Built> build_correction(Book::Inside& in, Desk& desk, const Correction& draft) {
  const auto row = log::read_row(in.db, draft.target);
  if (!row) return refuse(Code::not_found, "there is no such entry", "", "baybook entries");
  const Fact old = log::read_fact(in.db, *row);
  const std::string target = entry_name(in, draft.target);
  if (old.kind == Kind::opening) return refuse(Code::not_allowed, "the opening of a book is not corrected", "every digest after it stands on it", "a new book");
  if (old.kind == Kind::erasure) return refuse(Code::not_allowed, "entry " + target + " is an erasure", "what was erased does not come back", "baybook entry " + target);
  if (old.kind == Kind::peer)
    return refuse(
        Code::not_allowed, "entry " + target + " is a word about another installation",
        "what it brought into effect may not be undone; a single correction can",
        "baybook correct ENTRY --withdraw --why \"...\"  # for an entry that takes effect by it");
  auto why = clean_text(draft.why, "why");
  if (!why.ok() && why.refusal().code == Code::not_text) return std::move(why).refusal();
  if (!why.ok()) return refuse(Code::wrong_usage, "a correction says why", "a reader must be able to follow it", "--why \"misread the bucket\"");
  // What a clock dated that was ahead is put right today, before the day that it bears.
  const Day on = log::day_of_moment(desk.effect.moment);
  if (on < log::day_of_moment(row->moment) && on < desk.today && !before_its_day(*row)) {
    return refuse(Code::not_allowed, "a correction cannot happen before what it corrects (" + to_string(log::day_of_moment(row->moment)) + ")", "", "without --on");
  }
  if (auto later = corrected_later(in, desk, draft.target)) return std::move(*later);
  Built out;
  out.kind = Kind::correction;
  out.keep_private("why", *why);
  out.details["target"] = log::write_ref(draft.target.n, desk.known);
  if (draft.withdraw && old.withdrawn) return refuse(Code::already_there, "entry " + target + " is withdrawn already", "", "baybook entry " + target);
  if (!draft.withdraw && old.withdrawn) return refuse(Code::not_allowed, "entry " + target + " is withdrawn", "only what holds can be replaced", "write it again, or withdraw the correction that withdrew it");
  if (!draft.withdraw && old.kind == Kind::correction) return refuse(Code::not_allowed, "entry " + target + " is itself a correction", "a correction is withdrawn, not replaced", "baybook correct " + target + " --withdraw --why \"...\"  # then correct the entry again");

  if (!draft.withdraw) {
    out.details["action"] = "replace";
    const Value written = as_stored(in.db, draft.target).details;
    Value details = old.origin() == desk.known.own().origin ? written : rebase(written, old.origin(), desk.known);
    if (auto ok = apply_patch(in, desk, old, draft.patch, out, details); !ok.ok()) return std::move(ok).refusal();
    // Private texts that an earlier correction brought in stay in force.
    if (old.source != old.id()) {
      const std::string_view field = main_field(old.kind);
      if (!field.empty() && !draft.patch.text) {
        const std::string text = log::surviving_text(in.db, old, field);
        if (!text.empty()) out.keep_private(std::string(field), text);
      }
    }
    out.details["details"] = std::move(details);
    if (!draft.with_dependants) return out;
  } else {
    out.details["action"] = "withdraw";
  }

  // A withdrawal that is taken back: what it took out holds again, among what was written since.
  if (draft.withdraw && old.kind == Kind::correction) {
    const Value body = log::parse_body(row->body);
    const Value& details = body.at("details");
    const bool withdrew = details.str("action") == "withdraw";
    for (const EntryId entry : targets_of(details, draft.target.origin())) {
      if (auto refused = unfit_to_come_back(in, entry)) return std::move(*refused);
      if (!withdrew) continue;
      if (auto refused = cannot_come_back(in, desk, entry)) return std::move(*refused);
    }
  }

  // What stands on it: by name, and (found by trying) by level.
  std::vector<EntryId> also;
  if (draft.withdraw) {
    also = dependants(in.db, old);
    if (old.kind == Kind::person && !also.empty()) return refuse(Code::has_dependants, visible(service::person_name(in.db, old.id())) + " has written entries", "who wrote an entry is part of it", "the name put right: baybook correct " + target + " --text \"...\" --why \"...\"");
    if (!also.empty() && !draft.with_dependants) {
      std::string list;
      for (std::size_t i = 0; i < also.size() && i < 12; ++i) list += (i ? ", " : "") + entry_name(in, also[i]);
      if (also.size() > 12) list += " and " + std::to_string(also.size() - 12) + " more";
      return Refusal{Code::has_dependants, std::to_string(also.size()) + " later entr" + (also.size() == 1 ? "y stands" : "ies stand") + " on entry " + target + ": " + list, "withdrawing it would leave them naming something that is not there", "correct those first, or add --with-dependants", {{"entries", list}}};
    }
    // Dependants of dependants: a car's jobs, a job's movements.
    for (std::size_t i = 0; i < also.size(); ++i) {
      for (const EntryId d : dependants(in.db, log::read_fact(in.db, also[i]))) {
        if (std::find(also.begin(), also.end(), d) == also.end()) also.push_back(d);
      }
    }
  }
  if (draft.with_dependants) {
    const auto write_also = [&] {
      std::vector<Value> refs;
      for (const EntryId e : also) refs.push_back(log::write_ref(e.n, desk.known));
      if (!refs.empty()) out.details["also"] = Value(std::move(refs));
    };
    for (int round = 0; round < 10000; ++round) {
      write_also();
      // Tried inside a savepoint, and taken back whatever comes of it.
      in.db.exec("SAVEPOINT trial");
      Fact trial;
      trial.effect = desk.effect;
      trial.kind = Kind::correction;
      trial.details = out.details;
      trial.source = desk.effect.id;
      std::vector<EntryId> broken;
      {
        // The trial's row must be there for what reads corrections back.
        Value body;
        body["details"] = out.details;
        auto q = in.db.query("INSERT INTO entry(id, recorded, moment, kind, who, body, digest) VALUES(?, ?, ?, 17, 0, ?, x'00')");
        q.bind(desk.effect.id.n).bind(desk.effect.recorded).bind(desk.effect.moment).bind(log::canonical(body)).run();
      }
      in.ledger.clear_changes();
      bool failed = false;
      fold_new(in, trial);
      failed = refusal_for(in, draft.target, true, &broken).has_value();
      in.ledger.forget();
      in.db.exec("ROLLBACK TO trial");
      in.db.exec("RELEASE trial");
      if (!failed || broken.empty()) break;
      // Only the earliest: what comes after it may hold again without it. What names it goes with it.
      std::optional<std::pair<log::Effect, EntryId>> first;
      for (const EntryId e : broken) {
        if (e == draft.target || std::find(also.begin(), also.end(), e) != also.end()) continue;
        const log::Row at = log::row_of(in.db, e);
        const std::pair next(log::Effect{at.moment, at.recorded, e}, e);
        if (!first || next.first < first->first) first = next;
      }
      if (!first) break;
      std::vector<EntryId> more{first->second};
      for (std::size_t i = 0; i < more.size(); ++i) {
        if (more[i] == draft.target || std::find(also.begin(), also.end(), more[i]) != also.end()) continue;
        also.push_back(more[i]);
        for (const EntryId d : dependants(in.db, log::read_fact(in.db, more[i]))) more.push_back(d);
      }
    }
    std::sort(also.begin(), also.end());
    write_also();
    for (const EntryId e : also) {
      if (auto later = corrected_later(in, desk, e)) return std::move(*later);
    }
  }
  return out;
}

}  // namespace baybook::book
