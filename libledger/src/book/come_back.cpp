#include "book/come_back.hpp"

#include "due/build.hpp"
#include "service/build.hpp"
#include "service/parts.hpp"
#include "service/reading.hpp"

#include <baybook/text.hpp>

namespace baybook::book {

using log::Fact;
using log::Kind;

namespace {

Refusal taken_by(Book::Inside& in, const Fact& back, const std::string& what, const char* why, EntryId other) {
  const std::string name = entry_name(in, other);
  return {Code::already_there, "entry " + entry_name(in, back.id()) + " would hold again, and " + what + " by entry " + name + " meanwhile", why, "baybook correct " + name + " --withdraw --why \"...\"  # first, or leave it as it is", {}};
}

std::optional<Refusal> name_taken(Book::Inside& in, const Fact& back) {
  const auto other = [&](const char* sql, const std::string& name) -> std::optional<EntryId> {
    auto q = in.db.query(sql);
    q.bind(name).bind(back.id().n);
    return q.step() ? std::optional(EntryId{q.num(0)}) : std::nullopt;
  };
  std::string name;
  std::optional<EntryId> of;
  if (back.kind == Kind::car) {
    name = log::surviving_text(in.db, back, "plate");
    if (!name.empty()) of = other("SELECT id FROM car WHERE scrapped = 0 AND id IN (SELECT car FROM plate WHERE key = ?1) AND key = ?1 AND id <> ?2", plate_key(name));
  } else if (back.kind == Kind::person) {
    name = log::surviving_text(in.db, back, "name");
    if (!name.empty()) of = other("SELECT id FROM person WHERE name = ?1 AND id <> ?2", name);
  } else {
    name = back.details.str("code");
    of = code_taken(in.db, back.kind, name, back.id());
  }
  if (!of) return std::nullopt;
  return taken_by(in, back, visible(name) + " was given", "names are for people: each means one thing", *of);
}

std::optional<Refusal> reading_backwards(Book::Inside& in, const log::Desk& desk, const Fact& back) {
  const bool hours = back.kind == Kind::hours;
  if (!hours && !back.details.has("odometer-m")) return std::nullopt;
  const CarId car = service::belongs_to(in.db, back).car;
  if (!car) return std::nullopt;
  const log::Desk then{desk.db,    desk.known,        desk.units,  back.effect,
                       desk.today, desk.beyond_doubt, desk.dry_run};
  service::Said said;
  said.car = car;
  said.itself = back.id();
  if (hours) {
    said.counts = service::Counts::hours;
    said.figure = back.details.num("minutes");
    said.typed = due::show_hours(said.figure);
  } else {
    said.figure = back.details.num("odometer-m");
    said.typed = show_distance(said.figure, desk.units);
  }
  if (const std::int64_t jumps = service::jumps_of(back.details); jumps != service::kGoesOn)
    said.inherits = jumps;
  auto fits = service::fits(then, said);
  if (fits.ok()) return std::nullopt;
  Refusal r = std::move(fits).refusal();
  r.what = "entry " + entry_name(in, back.id()) + " would hold again: " + r.what;
  if (log::day_of_moment(back.effect.moment) > desk.today) r.instead = "leave it as it is";
  else
    r.instead = "leave it as it is; or, if both are right, baybook odo " +
                as_typed(service::plate_of(in.db, car)) + " " + as_typed(said.typed) + " --on " +
                to_string(log::day_of_moment(back.effect.moment)) +
                " with --replaced or --rolled-over, whichever it was";
  return r;
}

// A part comes out once.
std::optional<Refusal> taken_out_meanwhile(Book::Inside& in, const Fact& back) {
  const log::Value* list = back.details.find("takes-out");
  if (list == nullptr) return std::nullopt;
  for (const log::Value& item : list->as_array()) {
    const EntryId fit{log::read_ref(item.at("fit"), back.origin())};
    const auto fitted = log::find_fact(in.db, fit);
    if (!fitted || fitted->kind != Kind::fit) continue;
    const auto takings = service::takings_of(in.db, fit);
    const Amount was = log::read_amount(fitted->details.at("quantity"));
    const std::int64_t left = service::still_in(was, takings);
    const log::Value* amount = item.find("amount");
    if (left > 0 && (amount == nullptr || log::read_amount(*amount).best <= left)) continue;
    return taken_by(in, back, visible(fitted->details.str("part")) + " was taken out",
                    "a part comes out once", takings.back().effect.id);
  }
  return std::nullopt;
}

}  // namespace

std::optional<EntryId> code_taken(store::Db& db, Kind kind, const std::string& code, EntryId except) {
  auto q = db.query(kind == Kind::firm       ? "SELECT id FROM firm WHERE code = ?1 AND id <> ?2"
                    : kind == Kind::deadline ? "SELECT id FROM deadline WHERE code = ?1 AND id <> ?2"
                                             : "SELECT id FROM place WHERE code = ?1 AND role <> 0 AND id <> ?2 UNION ALL SELECT id FROM fluid WHERE code = ?1 AND id <> ?2");
  q.bind(code).bind(except.n);
  return q.step() ? std::optional(EntryId{q.num(0)}) : std::nullopt;
}

std::optional<Refusal> cannot_come_back(Book::Inside& in, const log::Desk& desk, EntryId entry) {
  const auto back = log::find_fact(in.db, entry);
  if (!back || !back->withdrawn) return std::nullopt;
  switch (back->kind) {
    case Kind::car:
    case Kind::place:
    case Kind::fluid:
    case Kind::person:
    case Kind::firm:
    case Kind::deadline:
      return name_taken(in, *back);
    case Kind::job_close: {
      const auto job = service::job_row(in.db, JobId{log::read_ref(back->details.at("job"), back->origin())});
      if (job && job->closed > 0) return taken_by(in, *back, "job " + service::job_name(in.known, *job) + " was closed again", "a job has one closing", EntryId{job->closed});
      return reading_backwards(in, desk, *back);
    }
    case Kind::work:
    case Kind::fit:
      return taken_out_meanwhile(in, *back);
    case Kind::recheck_done: {
      auto q = in.db.query("SELECT entry FROM rechecked WHERE closing = ? AND n = ? LIMIT 1");
      q.bind(log::read_ref(back->details.at("closing"), back->origin())).bind(back->details.num("recheck"));
      if (q.step()) return taken_by(in, *back, "its recheck was settled", "a recheck has one outcome", EntryId{q.num(0)});
      return std::nullopt;
    }
    default:
      return reading_backwards(in, desk, *back);
  }
}

}  // namespace baybook::book
