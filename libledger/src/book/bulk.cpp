#include "book/closed_months.hpp"
#include "book/from_caller.hpp"
#include "book/inside.hpp"
#include "book/once.hpp"
#include "book/outcome.hpp"

#include "due/build.hpp"
#include "log/describing.hpp"
#include "log/references.hpp"
#include "service/build.hpp"
#include "service/reading.hpp"

#include <baybook/bulk.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

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

// What the book has of a car's day, or of a task of a car, read once and kept up while the batch
// goes on: asked anew for each item, a day with many readings would be read through for each of
// them.
class There {
 public:
  explicit There(Book::Inside& in) : in_(in) {}

  bool has(const Draft& draft, std::optional<Day> on) {
    const auto item = item_of(draft, on);
    return item && figures_of(*item).contains(item->figures);
  }
  void add(const Draft& draft, std::optional<Day> on) {
    const auto item = item_of(draft, on);
    if (!item) {
      // Written on the day of the clock: which list it belongs to is not known here.
      if (!on) forget();
      return;
    }
    const auto known = lists_.find(item->list);
    if (known != lists_.end() && known->second.insert(item->figures).second) ++held_;
  }

 private:
  // Of which kind, of which car, on which day, which task.
  using List = std::tuple<std::size_t, std::int64_t, std::int64_t, std::string>;
  using Figures = std::tuple<std::int64_t, std::int64_t, std::int64_t>;
  struct ItemOf {
    List list;
    Figures figures;
  };
  // Some hundred megabytes at most; a list that goes on is sorted by day or by car, and begins
  // again with what it is at.
  static constexpr std::size_t kMost = 2'000'000;

  std::optional<ItemOf> item_of(const Draft& draft, std::optional<Day> on) {
    if (const auto* d = std::get_if<Odometer>(&draft); d != nullptr && on)
      return ItemOf{{draft.index(), goes_by(d->car), on->n, ""}, {d->reading.metres, 0, 0}};
    if (const auto* d = std::get_if<EngineHours>(&draft); d != nullptr && on)
      return ItemOf{{draft.index(), goes_by(d->car), on->n, ""}, {d->minutes, 0, 0}};
    if (const auto* d = std::get_if<TaskDone>(&draft); d != nullptr && d->when) {
      auto task = clean_code(d->task, "task");
      if (!task.ok()) return std::nullopt;
      return ItemOf{
          {draft.index(), goes_by(d->car), 0, std::move(task).value()},
          {d->when->n, d->odometer ? d->odometer->metres : -1, d->engine_minutes.value_or(-1)}};
    }
    return std::nullopt;
  }
  std::int64_t goes_by(CarId car) { return log::goes_by(in_.db, car.n); }

  std::set<Figures>& figures_of(const ItemOf& item) {
    if (const auto known = lists_.find(item.list); known != lists_.end()) return known->second;
    if (held_ > kMost) forget();
    std::set<Figures>& out = lists_[item.list];
    const auto& [kind, car, n, task] = item.list;
    if (task.empty()) {
      const Day on{static_cast<std::int32_t>(n)};
      const bool odometer = kind == Draft(Odometer{}).index();
      auto q =
          odometer
              ? in_.db.query("SELECT metres FROM reading WHERE car = ? AND moment BETWEEN ? AND ?")
              : in_.db.query("SELECT minutes FROM hours WHERE car = ? AND moment BETWEEN ? AND ?");
      q.bind(car).bind(log::first_moment(on)).bind(log::last_moment(on));
      while (q.step()) out.insert({q.num(0), 0, 0});
    } else {
      auto q =
          in_.db.query("SELECT day, metres, minutes FROM task_done WHERE car = ? AND task = ?");
      q.bind(car).bind(task);
      while (q.step()) out.insert({q.num(0), q.num(1), q.num(2)});
    }
    held_ += out.size();
    return out;
  }
  void forget() {
    lists_.clear();
    held_ = 0;
  }

  Book::Inside& in_;
  std::map<List, std::set<Figures>> lists_;
  std::size_t held_ = 0;
};

bool moves_figures(const Draft& draft) {
  return std::visit(
      []<class D>(const D&) {
        return std::is_same_v<D, Movement> || std::is_same_v<D, Gauge> || std::is_same_v<D, Fit> ||
               std::is_same_v<D, CloseJob> || std::is_same_v<D, Correction> ||
               std::is_same_v<D, Settle> || std::is_same_v<D, Choice> ||
               std::is_same_v<D, ChooseRules> ||
               std::is_same_v<D, Determination> || std::is_same_v<D, PeerWord>;
      },
      draft);
}

book::ReachesBack everything() {
  book::ReachesBack out;
  out.all = true;
  return out;
}

}  // namespace

Result<Batch> append_all(Book& book, const std::function<Result<std::optional<Item>>()>& next,
                         bool dry_run, const std::function<void(const Receipt&)>& written) {
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
    std::optional<book::ClosedMonths> closed;
    There there(in);
    for (;;) {
      auto item = book::from_caller("the function that gives the next item", next);
      if (!item.ok()) return std::move(item).refusal();
      if (!*item) break;
      if ((*item)->if_not_there) {
        if (there.has((*item)->draft, (*item)->stamp.on)) {
          ++out.known;
          continue;
        }
        if (!(*item)->stamp.once.empty()) (*item)->stamp.once = book::key_after_withdrawn(in, std::move((*item)->stamp.once));
      }
      // Before the first of them that moves something: what came earlier moved nothing.
      if (!closed && moves_figures((*item)->draft)) closed.emplace(in, everything());
      auto receipt = book.append((*item)->draft, (*item)->stamp);
      if (!receipt.ok()) return std::move(receipt).refusal();
      if (receipt->repeated) {
        ++out.known;
        continue;
      }
      there.add((*item)->draft, (*item)->stamp.on);
      if (written)
        book::from_caller("the function that is told of each entry", [&] { written(*receipt); });
      ++out.written;
      if (!out.first) {
        out.first = receipt->entry;
        out.clock = std::move(receipt->clock);
      }
      out.last = receipt->entry;
    }
    in.ledger.flush();
    book::refresh_due(in);
    if (closed) out.closed_months = closed->since(book);
    out.closed_told = book::told(in, out.closed_months);
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

Result<CarId> car_of_plate(const Book& book, std::string_view plate) {
  auto found = book.find_car(plate, Match::near);
  if (!found.ok()) {
    Refusal r = std::move(found).refusal();
    // Several of which the plate is a part: none of them is meant by it.
    if (r.code == Code::ambiguous && r.why.starts_with("they are"))
      return Refusal{Code::not_found,
                     "there is no car with plate " + visible(plate),
                     r.why,
                     "the whole plate",
                     {}};
    return r;
  }
  return book::guarded<CarId>([&]() -> Result<CarId> {
    auto q = book.inside().db.query("SELECT key FROM plate WHERE car = ?");
    q.bind(found->n);
    const std::string key = plate_key(plate);
    while (q.step()) {
      if (q.text(0) == key) return *found;
    }
    const std::string near = visible(book.plate_of(*found));
    return Refusal{Code::not_found,
                   "there is no car with plate " + visible(plate),
                   "near it: " + near,
                   near + ", or baybook import cars first",
                   {}};
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
      for (const EntryId e : log::describing(in.db, r.car.id)) {
        std::string contact = log::private_text(in.db, e, "keeper-contact");
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
      r.dial = service::dial_of(f.details);
      if (r.dial != Dial::goes_on) r.reason = log::private_text(in.db, f, "reason");
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
    for (const Fact& f : facts(in.db, "SELECT entry FROM task_done WHERE car <> 0 ORDER BY car, task, moment, recorded, entry")) {
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
