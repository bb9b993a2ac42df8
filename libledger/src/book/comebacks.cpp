// Codes that came back after a job had cleared them, and what that job had done about them.
#include "book/views.hpp"

#include "due/counter.hpp"
#include "service/build.hpp"

#include <baybook/due.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook {

namespace {

using log::Fact;
using log::Kind;

struct Cleared {
  std::string code, job;
  JobId id;
  log::Effect at;
};

// Driven between two moments, by the readings that fit; none when no reading stands between, or when they count backwards.
std::optional<std::int64_t> driven(const due::Counter& counter, std::int64_t from,
                                   std::int64_t until) {
  const auto sum = counter.driven(from, until);
  return sum && *sum >= 0 ? sum : std::nullopt;
}

void tell_of_job(Book::Inside& in, CarId car, JobId job, Comeback& c) {
  std::vector<std::int64_t> ids;
  {
    auto q = in.db.query("SELECT entry FROM history WHERE car = ? AND job = ? AND kind IN (12, 13) ORDER BY moment, recorded, entry");
    q.bind(car.n).bind(job.n);
    while (q.step()) ids.push_back(q.num(0));
  }
  for (const std::int64_t id : ids) {
    const Fact f = log::read_fact(in.db, EntryId{id});
    if (f.withdrawn) continue;
    if (f.kind == Kind::fit) {
      c.parts.emplace_back(f.details.str("part"));
    } else {
      std::string kind = f.details.has("kind") ? std::string(f.details.str("kind")) : log::private_text(in.db, f, "text");
      if (!kind.empty() && std::find(c.kinds.begin(), c.kinds.end(), kind) == c.kinds.end()) c.kinds.push_back(std::move(kind));
    }
  }
}

void of_car(Book::Inside& in, CarId car, std::int64_t until, std::vector<Comeback>& out) {
  std::vector<std::int64_t> ids;
  {
    auto q = in.db.query("SELECT entry FROM history WHERE car = ? AND kind = 11 AND moment <= ? ORDER BY moment, recorded, entry");
    q.bind(car.n).bind(until);
    while (q.step()) ids.push_back(q.num(0));
  }
  std::vector<Cleared> cleared;
  std::optional<due::Counter> counter;
  for (const std::int64_t id : ids) {
    const Fact fact = log::read_fact(in.db, EntryId{id});
    if (fact.withdrawn) continue;
    const auto row = service::job_row(in.db, service::belongs_to(in.db, fact).job);
    if (!row) continue;
    const std::string job = service::job_name(in.known, *row);
    const std::string code(fact.details.str("code"));
    if (fact.details.str("what") == "cleared") {
      std::erase_if(cleared, [&](const Cleared& c) { return c.code == code; });
      cleared.push_back({code, job, row->id, fact.effect});
      continue;
    }
    const auto same = std::find_if(cleared.begin(), cleared.end(), [&](const Cleared& c) { return c.code == code && c.job != job; });
    if (same == cleared.end()) continue;
    Comeback c;
    c.car = car;
    c.plate = service::plate_of(in.db, car);
    c.code = code;
    c.entry = book::ref_of(in, fact.id());
    c.job = job;
    c.day = log::day_of_moment(fact.effect.moment);
    c.cleared = book::ref_of(in, same->at.id);
    c.cleared_job = same->job;
    c.cleared_day = log::day_of_moment(same->at.moment);
    if (!counter) {
      counter = due::odometer(in.db, car, until);
      counter->weigh();
    }
    c.metres = driven(*counter, same->at.moment, fact.effect.moment);
    tell_of_job(in, car, same->id, c);
    // Told once for each time it was cleared: a second reading of the same fault is no second comeback.
    cleared.erase(same);
    out.push_back(std::move(c));
  }
}

}  // namespace

Result<std::vector<Comeback>> comebacks(const Book& b, std::optional<CarId> car, AsOf as_of) {
  return book::guarded<std::vector<Comeback>>([&]() -> Result<std::vector<Comeback>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<CarId> cars;
    if (car) {
      cars.push_back(*car);
    } else {
      auto q = in.db.query("SELECT DISTINCT car FROM history WHERE kind = 11 ORDER BY car");
      while (q.step()) cars.push_back(CarId{q.num(0)});
    }
    std::vector<Comeback> out;
    for (const CarId c : cars) of_car(in, c, book::last_moment(as_of), out);
    std::sort(out.begin(), out.end(), [](const Comeback& a, const Comeback& c) { return std::tuple(a.day, a.plate, a.entry.id) < std::tuple(c.day, c.plate, c.entry.id); });
    return out;
  });
}

}  // namespace baybook
