#include "book/inside.hpp"
#include "book/once.hpp"
#include "book/outcome.hpp"

#include "due/build.hpp"
#include "log/references.hpp"
#include "service/build.hpp"

#include <baybook/bulk.hpp>

#include <algorithm>

namespace baybook {

using log::Fact;
using log::Value;

namespace {

std::string text(const Value& v, const char* key) { return v.has(key) ? std::string(v.str(key)) : std::string(); }

std::vector<Fact> facts(store::Db& db, const char* sql) {
  std::vector<std::int64_t> ids;
  {
    auto q = db.query(sql);
    while (q.step()) ids.push_back(q.num(0));
  }
  std::vector<Fact> out;
  for (const std::int64_t id : ids) out.push_back(log::read_fact(db, EntryId{id}));
  return out;
}

bool is_there(Book::Inside& in, const Draft& draft, std::optional<Day> on) {
  const auto found = [&](const char* sql, CarId car, std::int64_t n) {
    if (!on) return false;
    auto q = in.db.query(sql);
    q.bind(log::goes_by(in.db, car.n)).bind(n).bind(log::first_moment(*on)).bind(log::last_moment(*on));
    return q.step();
  };
  if (const auto* d = std::get_if<Odometer>(&draft)) return found("SELECT 1 FROM reading WHERE car = ?1 AND metres = ?2 AND moment BETWEEN ?3 AND ?4 LIMIT 1", d->car, d->reading.metres);
  if (const auto* d = std::get_if<EngineHours>(&draft)) return found("SELECT 1 FROM hours WHERE car = ?1 AND minutes = ?2 AND moment BETWEEN ?3 AND ?4 LIMIT 1", d->car, d->minutes);
  if (const auto* d = std::get_if<TaskDone>(&draft); d != nullptr && d->when) {
    const auto task = clean_code(d->task, "task");
    if (!task.ok()) return false;
    auto q = in.db.query("SELECT 1 FROM task_done WHERE car = ? AND task = ? AND day = ? AND metres = ? AND minutes = ? LIMIT 1");
    q.bind(log::goes_by(in.db, d->car.n)).bind(*task).bind(std::int64_t{d->when->n}).bind(d->odometer ? d->odometer->metres : -1).bind(d->engine_minutes.value_or(-1));
    return q.step();
  }
  return false;
}

}  // namespace

Result<Batch> append_all(Book& book, const std::function<Result<std::optional<Item>>()>& next, bool dry_run) {
  Book::Inside& in = book.inside();
  struct Batched {
    Book::Inside& in;
    bool done = false;
    explicit Batched(Book::Inside& i) : in(i) {
      in.ledger.forget();
      in.in_batch = true;
    }
    Batched(const Batched&) = delete;
    Batched& operator=(const Batched&) = delete;
    ~Batched() {
      in.in_batch = false;
      in.ledger.forget();
      if (done) return;
      in.due_moved.clear();
      in.due_moved_for_all = in.settlements_moved = false;
      in.zone_window_stored = false;
    }
  };
  return book::guarded<Batch>([&]() -> Result<Batch> {
    store::Transaction transaction(in.db);
    Batched batched(in);
    Batch out;
    for (;;) {
      auto item = next();
      if (!item.ok()) return std::move(item).refusal();
      if (!*item) break;
      if ((*item)->if_not_there) {
        if (is_there(in, (*item)->draft, (*item)->stamp.on)) {
          ++out.known;
          continue;
        }
        if (!(*item)->stamp.once.empty()) (*item)->stamp.once = book::key_after_withdrawn(in, std::move((*item)->stamp.once));
      }
      auto receipt = book.append((*item)->draft, (*item)->stamp);
      if (!receipt.ok()) return std::move(receipt).refusal();
      if (receipt->repeated) {
        ++out.known;
        continue;
      }
      ++out.written;
      if (!out.first) {
        out.first = receipt->entry;
        out.clock = std::move(receipt->clock);
      }
      out.last = receipt->entry;
    }
    in.ledger.flush();
    book::refresh_due(in);
    if (dry_run) return out;
    if (out.last) {
      const log::Row row = log::row_of(in.db, out.last->id);
      log::Digest digest{};
      std::copy_n(row.digest.begin(), std::min(row.digest.size(), digest.size()), digest.begin());
      if (auto refusal = book::commit_or_look(in, out.last->id, digest, out.noted)) return std::move(*refusal);
    } else {
      transaction.commit();
    }
    batched.done = true;
    return out;
  });
}

Result<std::vector<CarRecord>> car_records(const Book& book) {
  return book::guarded<std::vector<CarRecord>>([&]() -> Result<std::vector<CarRecord>> {
    Book::Inside& in = book.inside();
    store::Snapshot snapshot(in.db);
    auto all = cars(book);
    if (!all.ok()) return std::move(all).refusal();
    std::vector<CarRecord> out;
    for (CarView& v : *all) {
      CarRecord r{std::move(v), {}};
      auto q = in.db.query("SELECT entry FROM history WHERE car = ? AND kind IN (6, 7) ORDER BY moment, recorded, entry");
      q.bind(r.car.id.n);
      while (q.step()) {
        std::string contact = log::private_text(in.db, EntryId{q.num(0)}, "keeper-contact");
        if (!contact.empty()) r.contact = std::move(contact);
      }
      out.push_back(std::move(r));
    }
    return out;
  });
}

Result<std::vector<ReadingRecord>> reading_records(const Book& book) {
  return book::guarded<std::vector<ReadingRecord>>([&]() -> Result<std::vector<ReadingRecord>> {
    Book::Inside& in = book.inside();
    store::Snapshot snapshot(in.db);
    std::vector<ReadingRecord> out;
    for (const Fact& f : facts(in.db, "SELECT entry FROM (SELECT car, moment, recorded, entry FROM reading UNION ALL SELECT car, moment, recorded, entry FROM hours) ORDER BY car, moment, recorded, entry")) {
      ReadingRecord r;
      r.day = log::day_of_moment(f.effect.moment);
      r.car = service::belongs_to(in.db, f).car;
      r.typed = f.kind == log::Kind::hours ? text(f.details, "typed") : text(f.details, "odometer-typed");
      if (f.details.has("reset")) r.reason = log::private_text(in.db, f, "reason");
      out.push_back(std::move(r));
    }
    return out;
  });
}

Result<std::vector<TaskRecord>> task_records(const Book& book) {
  return book::guarded<std::vector<TaskRecord>>([&]() -> Result<std::vector<TaskRecord>> {
    Book::Inside& in = book.inside();
    store::Snapshot snapshot(in.db);
    std::vector<TaskRecord> out;
    for (const Fact& f : facts(in.db, "SELECT entry FROM task_done ORDER BY car, task, moment, recorded, entry")) {
      TaskRecord r;
      r.car = CarId{log::read_ref(f.details.at("car"), f.origin())};
      r.task = text(f.details, "task");
      r.day = f.details.has("when") ? Day{static_cast<std::int32_t>(log::read_day_number(f.details.str("when")))} : log::day_of_moment(f.effect.moment);
      r.odometer = text(f.details, "odometer-typed");
      if (f.details.has("minutes")) r.hours = due::show_hours(f.details.num("minutes"));
      r.note = log::private_text(in.db, f, "note");
      out.push_back(std::move(r));
    }
    return out;
  });
}

}  // namespace baybook
