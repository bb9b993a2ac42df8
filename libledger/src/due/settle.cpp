// What settles or moves what is due: a task done, something put off, what a recheck found, hours of the engine.
#include "due/build.hpp"

#include "due/items.hpp"
#include "log/references.hpp"
#include "service/build.hpp"
#include "service/reading.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <limits>

namespace baybook::due {

using log::Built;
using log::Desk;
using log::keep;
using log::Kind;
using log::refuse;

namespace {

// A figure that is said of a day lies between the readings before and after it.
Result<Done> fits_counter(const Desk& desk, service::Said said, Day when) {
  Desk then{
      desk.db,
      desk.known,
      desk.units,
      {std::min(desk.effect.moment, log::last_moment(when)), desk.effect.recorded, desk.effect.id},
      desk.today,
      desk.beyond_doubt,
      desk.dry_run};
  said.asks = false;
  auto fits = service::fits(then, said);
  if (fits.ok()) return Done{};
  Refusal r = std::move(fits).refusal();
  r.instead = said.counts == service::Counts::hours
                  ? "the hours again, or the day again (--when)"
                  : "the reading again, or the day again (--when)";
  return r;
}

}  // namespace

Result<Built> build(Desk& desk, const TaskDone& draft) {
  if (auto ok = alive(desk, draft.car, "what is due"); !ok.ok()) return std::move(ok).refusal();
  Built out;
  out.kind = Kind::task_done;
  out.details["car"] = log::write_ref(draft.car.n, desk.known);
  auto task = clean_code(draft.task, "task");
  if (!task.ok()) return std::move(task).refusal();
  const std::string plate = visible(service::plate_of(desk.db, draft.car));
  const std::vector<std::string> asked = tasks_of(desk.db, draft.car);
  if (std::find(asked.begin(), asked.end(), *task) == asked.end()) {
    const auto near = near_names(*task, asked);
    return refuse(Code::not_found, "no schedule asks for " + *task + " on " + plate, asked.empty() ? "the car has no schedule" : "its tasks: " + joined(asked),
                  near.empty() ? "baybook schedule set " + as_typed(plate) + " " + *task + " --every 12mo --source \"...\"" : near.front());
  }
  out.details["task"] = *task;
  if (draft.job) {
    auto row = service::open_job(desk, draft.job);
    if (!row.ok()) return std::move(row).refusal();
    if (row->car != draft.car) return refuse(Code::not_allowed, "job " + service::job_name(desk.known, *row) + " is about another car than " + plate, "a job is about one car (F6)", "the job of " + plate);
    out.details["job"] = log::write_ref(draft.job.n, desk.known);
  }
  const Day today = day_of(desk);
  const Day when = draft.when.value_or(today);
  if (when > today) return refuse(Code::in_future, to_string(when) + " is after " + to_string(today), "what was done has happened", "--when " + to_string(today));
  {
    const log::Fact car = log::read_fact(desk.db, EntryId{draft.car.n});
    // The model year may begin in the year before: common practice, no source.
    if (car.details.has("year")) {
      const auto first = read_day(std::to_string(car.details.num("year") - 1) + "-01-01");
      if (first && when < *first) return refuse(Code::not_allowed, to_string(when) + " is before " + plate + " existed: it is of the year " + std::to_string(car.details.num("year")), "", "a day on which the car was there");
    }
  }
  if (draft.when) out.details["when"] = to_string(when);
  if (draft.odometer) {
    service::Said said;
    said.car = draft.car;
    said.figure = draft.odometer->metres;
    said.typed = draft.odometer->typed;
    if (auto ok = fits_counter(desk, std::move(said), when); !ok.ok())
      return std::move(ok).refusal();
    out.details["odometer-m"] = draft.odometer->metres;
    out.details["odometer-typed"] = draft.odometer->typed;
  }
  if (draft.engine_minutes) {
    if (*draft.engine_minutes < 0) return refuse(Code::not_allowed, "hours below zero", "", "--hours 1250h");
    service::Said said;
    said.car = draft.car;
    said.counts = service::Counts::hours;
    said.figure = *draft.engine_minutes;
    said.typed = show_hours(*draft.engine_minutes);
    if (auto ok = fits_counter(desk, std::move(said), when); !ok.ok())
      return std::move(ok).refusal();
    out.details["minutes"] = *draft.engine_minutes;
  }
  if (auto ok = keep(out, "note", draft.note); !ok.ok()) return std::move(ok).refusal();
  return out;
}

namespace {

// A recheck of a closing: which car it is about, and that it is still to be looked at.
struct Watched {
  CarId car;
  std::string job;
};
Result<Watched> open_recheck(const Desk& desk, EntryId closing, int number) {
  const auto fact = log::find_fact(desk.db, closing);
  if (!fact || fact->withdrawn || fact->kind != Kind::job_close) return refuse(Code::not_found, "that job set no recheck", "a recheck is set when a job is closed", "baybook due");
  const service::Belongs belongs = service::belongs_to(desk.db, *fact);
  const auto row = service::job_row(desk.db, belongs.job);
  Watched out{belongs.car, row ? service::job_name(desk.known, *row) : std::string("?")};
  const std::int64_t count = fact->details.has("rechecks") ? static_cast<std::int64_t>(fact->details.list("rechecks").size()) : 0;
  if (number < 1 || number > count) {
    return refuse(Code::not_found, "job " + out.job + " set " + (count == 0 ? std::string("no recheck") : std::to_string(count) + (count == 1 ? " recheck" : " rechecks")) + ", not a number " + std::to_string(number), "", count == 0 ? "baybook due" : out.job + "/1");
  }
  auto q = desk.db.query("SELECT entry, moment FROM rechecked WHERE closing = ? AND n = ? LIMIT 1");
  q.bind(closing.n).bind(std::int64_t{number});
  if (q.step()) {
    const std::string entry = log::entry_name(desk.known, EntryId{q.num(0)});
    return refuse(Code::already_there, "recheck " + out.job + "/" + std::to_string(number) + " was settled on " + to_string(log::day_of_moment(q.num(1))) + ", entry " + entry, "", "baybook correct " + entry + " --withdraw --why \"...\"  # if that was wrong");
  }
  if (fact->effect.moment > desk.effect.moment && log::day_of_moment(fact->effect.moment) > day_of(desk)) {
    return refuse(Code::not_allowed,
                  to_string(day_of(desk)) + " is before job " + out.job + " was closed (" +
                      to_string(log::day_of_moment(fact->effect.moment)) + ")",
                  "a recheck comes after the job",
                  log::on_its_day(desk, fact->id(), log::day_of_moment(fact->effect.moment)));
  }
  return out;
}

}  // namespace

Result<Built> build(Desk& desk, const PutOff& draft) {
  Built out;
  out.kind = Kind::put_off;
  CarId car = draft.car;
  std::string item;
  if (draft.recheck != 0) {
    auto watched = open_recheck(desk, draft.closing, draft.recheck);
    if (!watched.ok()) return std::move(watched).refusal();
    if (car && log::goes_by(desk.db, car.n) != watched->car.n) return refuse(Code::not_allowed, "job " + watched->job + " set that recheck for another car than " + visible(service::plate_of(desk.db, car)), "a job is about one car (F6)", "the car of the job, or none: the recheck says which");
    car = watched->car;
    item = recheck_item(draft.closing, draft.recheck);
    out.details["closing"] = log::write_ref(draft.closing.n, desk.known);
    out.details["recheck"] = draft.recheck;
  } else {
    auto task = clean_code(draft.task, "task");
    if (!task.ok()) return std::move(task).refusal();
    item = task_item(*task);
    out.details["task"] = *task;
  }
  if (auto ok = alive(desk, car, "what is due"); !ok.ok()) return std::move(ok).refusal();
  out.details["car"] = log::write_ref(car.n, desk.known);
  if (draft.recheck == 0) {
    std::vector<std::string> asked;
    for (const Item& i : items_of(desk.db, car, std::numeric_limits<std::int64_t>::max())) {
      if (i.kind == Item::Kind::task) asked.push_back(i.item.substr(5));
    }
    const std::string task = item.substr(5);
    if (std::find(asked.begin(), asked.end(), task) == asked.end()) {
      const std::string plate = visible(service::plate_of(desk.db, car));
      const auto near = near_names(task, asked);
      return refuse(Code::not_found, "no schedule asks for " + task + " on " + plate, asked.empty() ? "the car has no schedule" : "its tasks: " + joined(asked), near.empty() ? "baybook due --car " + as_typed(plate) : near.front());
    }
  }
  if (draft.until <= day_of(desk)) return refuse(Code::not_allowed, to_string(draft.until) + " is not after " + to_string(day_of(desk)), "what is put off is put off to a later day", "--until " + to_string(Day{day_of(desk).n + 14}));
  if (draft.until.n > day_of(desk).n + log::most::kPutOffDays)
    return refuse(Code::not_allowed, to_string(draft.until) + " is more than ten years away",
                  "that is not putting off",
                  "a nearer day, or baybook correct of what asks for it");
  if (draft.why.empty()) return refuse(Code::wrong_usage, "putting off needs a reason", "whoever asks later must find it", "--why \"part on order\"");
  out.details["until"] = to_string(draft.until);
  if (auto ok = keep(out, "why", draft.why); !ok.ok()) return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, const RecheckDone& draft) {
  auto watched = open_recheck(desk, draft.closing, draft.number);
  if (!watched.ok()) return std::move(watched).refusal();
  if (auto ok = alive(desk, watched->car, "a recheck"); !ok.ok()) return std::move(ok).refusal();
  Built out;
  out.kind = Kind::recheck_done;
  out.details["car"] = log::write_ref(watched->car.n, desk.known);
  out.details["closing"] = log::write_ref(draft.closing.n, desk.known);
  out.details["recheck"] = draft.number;
  out.details["good"] = draft.good;
  if (draft.job) {
    auto row = service::open_job(desk, draft.job);
    if (!row.ok()) return std::move(row).refusal();
    if (row->car != watched->car) return refuse(Code::not_allowed, "job " + service::job_name(desk.known, *row) + " is about another car", "a job is about one car (F6)", "a job of " + visible(service::plate_of(desk.db, watched->car)));
    out.details["job"] = log::write_ref(draft.job.n, desk.known);
  }
  if (!draft.good && draft.note.empty()) return refuse(Code::wrong_usage, "what was found must be said", "a fault that is still there is the next job's complaint", "--found \"level down by a finger\"");
  if (auto ok = keep(out, "note", draft.note); !ok.ok()) return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, const EngineHours& draft) {
  if (auto ok = alive(desk, draft.car, "a reading"); !ok.ok()) return std::move(ok).refusal();
  Built out;
  out.kind = Kind::hours;
  out.details["car"] = log::write_ref(draft.car.n, desk.known);
  if (draft.job) {
    auto row = service::open_job(desk, draft.job);
    if (!row.ok()) return std::move(row).refusal();
    out.details["job"] = log::write_ref(draft.job.n, desk.known);
  }
  if (draft.minutes < 0 || draft.minutes > log::most::kMinutes)
    return refuse(Code::not_allowed, visible(draft.typed) + " is not a likely reading",
                  "between 0 and 1000000 hours", "1250h");
  service::Said said;
  said.car = draft.car;
  said.counts = service::Counts::hours;
  said.figure = draft.minutes;
  said.typed = show_hours(draft.minutes);
  said.dial = draft.dial;
  said.inherits = desk.inherits;
  auto jumps = service::fits(desk, said);
  if (!jumps.ok()) return std::move(jumps).refusal();
  service::write_jumps(out.details, service::Counts::hours, *jumps);
  out.details["minutes"] = draft.minutes;
  out.details["typed"] = draft.typed;
  if (auto ok = keep(out, "reason", draft.reason); !ok.ok()) return std::move(ok).refusal();
  return out;
}

}  // namespace baybook::due
