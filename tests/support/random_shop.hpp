// A workshop that does random things: valid ones mostly, some that must be refused, late-dated ones and corrections among them.
#pragma once

#include "support/test_book.hpp"

#include <algorithm>
#include <chrono>
#include <random>

namespace baybook::test {

/// The seed of a run: BAYBOOK_SEED, or the clock. Printed by whoever uses it, so that a failure can be repeated.
inline std::uint64_t seed_of_run() {
  if (const char* given = std::getenv("BAYBOOK_SEED")) return std::strtoull(given, nullptr, 10);
  return static_cast<std::uint64_t>(std::chrono::system_clock::now().time_since_epoch().count());
}

class RandomShop {
 public:
  RandomShop(TestBook& book, std::uint64_t seed, std::string prefix = {}) : b_(book), rng_(seed), prefix_(std::move(prefix)) {
    products_ = {b_.fluid(prefix_ + "oat-violet", "coolant"), b_.fluid(prefix_ + "hoat-amber", "coolant"), b_.fluid(prefix_ + "oil-5w30", "engine-oil")};
    pans_ = {b_.place(prefix_ + "pan-1", Role::hold_catch, "25L"), b_.place(prefix_ + "pan-2", Role::hold_catch, "25L")};
    keeps_ = {b_.place(prefix_ + "keep-1", Role::reuse, "40L")};
    stocks_ = {b_.place(prefix_ + "can-1", Role::stock, "200L", {"coolant"}), b_.place(prefix_ + "can-2", Role::stock, "200L", {"engine-oil"})};
    drums_ = {b_.place(prefix_ + "drum-1", Role::waste, "180L", {"coolant"}), b_.place(prefix_ + "drum-2", Role::waste, "180L", {"engine-oil", "gear-oil"})};
    for (int i = 0; i < 4; ++i) cars_.push_back(b_.car(prefix_ + "MARSH-" + std::to_string(10 + i)));
  }

  /// Works on the places, cars and jobs of a shop whose entries have been brought into this book.
  RandomShop(TestBook& book, std::uint64_t seed, const RandomShop& other)
      : b_(book), rng_(seed), prefix_("x"), products_(other.products_), pans_(other.pans_), keeps_(other.keeps_), stocks_(other.stocks_), drums_(other.drums_), cars_(other.cars_), jobs_(other.jobs_), ids_(other.ids_), closings_(other.closings_),
        fits_(other.fits_) {}

  /// One random action; whether the book took it.
  bool act() {
    const int what = pick(100);
    auto r = what < 10   ? open()
             : what < 14 ? close()
             : what < 20 ? receive()
             : what < 32 ? drain()
             : what < 42 ? filter()
             : what < 55 ? fill()
             : what < 62 ? spill()
             : what < 72 ? decant()
             : what < 77 ? gauge()
             : what < 80 ? pickup()
             : what < 82 ? fit()
             : what < 83 ? take_off()
             : what < 86 ? odometer()
             : what < 88 ? mark()
             : what < 90 ? change()
             : what < 91 ? schedule()
             : what < 93 ? settle()
             : what < 94 ? hours()
             : what < 95 ? erase()
                         : correct();
    if (r.ok()) ids_.push_back(r->entry.id);
    else refused_.push_back(r.refusal().code);
    return r.ok();
  }

  [[nodiscard]] const std::vector<Code>& refused() const { return refused_; }

 private:
  int pick(int n) { return static_cast<int>(rng_() % static_cast<std::uint64_t>(n)); }
  template <class T>
  T one(const std::vector<T>& from) {
    return from[static_cast<std::size_t>(pick(static_cast<int>(from.size())))];
  }
  std::string amount(int most_dl) {
    const int dl = 1 + pick(most_dl);
    const std::string n = std::to_string(dl / 10) + "." + std::to_string(dl % 10);
    switch (pick(6)) {
      case 0: return "~" + n + "L";
      case 1: return n + ".." + std::to_string(dl / 10 + 1) + "." + std::to_string(dl % 10) + "L";
      case 2: return std::to_string(dl) + "floz";
      default: return n + "L";
    }
  }
  Stamp stamp() {
    b_.now.ms += 60000 + pick(3600000);
    Stamp s;
    s.now = b_.now;
    if (pick(4) == 0) s.on = Day{b_.book().today(b_.now).value().n - pick(10)};
    if (s.on && pick(2) == 0) s.at = Minute{static_cast<std::int16_t>(pick(400))};
    return s;
  }
  Result<Receipt> put(const Draft& d) { return b_.book().append(d, stamp()); }
  Result<Receipt> move(MoveVerb v, PlaceId from, PlaceId to, const std::string& much, JobId job = {}, FluidId f = {}) {
    Movement m = TestBook::move(v, from, to, "1L", job, f);
    Units u;
    u.gallon = VolumeUnit::us_gallon;
    if (much == "all") m.lines.front().amount.reset();
    else m.lines.front().amount = parse_amount(much, u).value();
    if (v == MoveVerb::pickup) m.lines.front().fate = pick(2) == 0 ? Fate::recycled : Fate::disposed;
    return put(m);
  }
  JobId a_job() {
    if (jobs_.empty()) return JobId{};
    return one(jobs_);
  }
  CarId car_of_job(JobId j) { return b_.book().car_of_job(j).value(); }
  PlaceId circuit(JobId j) { return pick(2) == 0 ? b_.coolant(car_of_job(j)) : b_.oil(car_of_job(j)); }
  Result<Receipt> nothing() { return Refusal{Code::wrong_usage, "nothing to do", "", "", {}}; }

  Result<Receipt> open() {
    OpenJob j;
    j.car = one(cars_);
    j.complaint = "noise " + std::to_string(pick(100));
    auto r = put(j);
    if (r.ok()) jobs_.push_back(JobId{r->entry.id.n});
    return r;
  }
  Result<Receipt> close() {
    if (jobs_.empty()) return nothing();
    CloseJob c;
    c.job = a_job();
    const int said = pick(4);
    c.book_missing = said < 2;
    c.was_low = said == 2;
    if (pick(2) == 0) c.as_is = "was low";
    for (int n = pick(3); n > 0; --n) {
      Recheck r;
      r.what = "look";
      if (pick(2) == 0) r.after_days = 1 + pick(30);
      if (pick(2) == 0) r.after_distance = Distance{1000LL * (1 + pick(300)), "1km"};
      c.rechecks.push_back(r);
    }
    auto closed = put(c);
    if (closed.ok()) closings_.push_back(closed->entry.id);
    return closed;
  }
  Result<Receipt> schedule() {
    Schedule s;
    Interval i;
    i.task = pick(2) == 0 ? "engine-oil" : "coolant";
    i.months = 1 + pick(24);
    if (pick(2) == 0) i.distance = Distance{1'000'000LL * (1 + pick(20)), std::to_string(1) + "km"};
    if (pick(3) == 0) i.hours = 1 + pick(300);
    i.source = "invented";
    if (pick(2) == 0) {
      i.car = one(cars_);
    } else {
      i.make = "Corvane";
      i.model = "Tern";
      s.name = prefix_ + "plan";
    }
    s.intervals.push_back(i);
    return put(s);
  }
  Result<Receipt> settle() {
    if (pick(2) == 0) {
      TaskDone d;
      d.car = one(cars_);
      d.task = pick(2) == 0 ? "engine-oil" : "coolant";
      return put(d);
    }
    if (closings_.empty()) return nothing();
    if (pick(3) == 0) {
      PutOff p;
      p.closing = one(closings_);
      p.recheck = 1 + pick(2);
      p.until = Day{b_.book().today(b_.now).value().n + 5 + pick(20)};
      p.why = "later";
      return put(p);
    }
    RecheckDone d;
    d.closing = one(closings_);
    d.number = 1 + pick(2);
    return put(d);
  }
  Result<Receipt> hours() {
    EngineHours h;
    h.car = one(cars_);
    h.minutes = pick(60000);
    h.typed = "x";
    if (pick(2) == 0) {
      h.reason = "new counter";
      h.dial = a_dial();
    }
    return put(h);
  }
  Result<Receipt> receive() {
    const int which = pick(3);
    return move(MoveVerb::receive, kSupplier, which == 2 ? stocks_[1] : stocks_[0], amount(400), {}, products_[static_cast<std::size_t>(which)]);
  }
  Result<Receipt> drain() {
    const JobId j = a_job();
    return j ? move(MoveVerb::drain, circuit(j), pick(5) == 0 ? one(drums_) : one(pans_), amount(60), j) : nothing();
  }
  Result<Receipt> filter() { return move(MoveVerb::filter, one(pans_), one(keeps_), pick(4) == 0 ? "all" : amount(50)); }
  Result<Receipt> fill() {
    const JobId j = a_job();
    if (!j) return nothing();
    if (pick(2) == 0) {
      const PlaceId shelf = one(stocks_);
      return move(MoveVerb::fill, shelf, circuit(j), amount(50), j, some_product());
    }
    const PlaceId from = pick(2) == 0 ? one(keeps_) : one(pans_);
    return move(MoveVerb::fill, from, circuit(j), amount(50), j);
  }
  Result<Receipt> spill() {
    const JobId j = a_job();
    return pick(2) == 0 || !j ? move(MoveVerb::spill, pick(2) == 0 ? one(pans_) : one(drums_), kGround, amount(15)) : move(MoveVerb::spill, circuit(j), kGround, amount(15), j);
  }
  // Which product of a shelf is meant: said or not, there or not.
  FluidId some_product() { return pick(3) == 0 ? FluidId{} : one(products_); }
  Result<Receipt> mark() {
    return put(PlaceMark{pick(3) == 0 ? PlaceMark::What::bulk : PlaceMark::What::shelf, one(stocks_), ""});
  }
  Result<Receipt> decant() {
    if (pick(6) == 0)
      return move(MoveVerb::decant, one(stocks_), one(drums_), pick(3) == 0 ? "all" : amount(80), {}, some_product());
    return move(MoveVerb::decant, pick(3) == 0 ? one(keeps_) : one(pans_), one(drums_), pick(3) == 0 ? "all" : amount(80));
  }
  Result<Receipt> gauge() {
    Gauge g;
    g.place = pick(2) == 0 ? one(pans_) : pick(2) == 0 ? one(drums_) : one(stocks_);
    g.level = parse_level(std::to_string(pick(20)) + "." + std::to_string(pick(10)) + "L", Units{}).value();
    if (std::find(stocks_.begin(), stocks_.end(), g.place) != stocks_.end()) g.fluid = some_product();
    g.reason = "looked";
    return put(g);
  }
  Result<Receipt> pickup() { return move(MoveVerb::pickup, one(drums_), kReceiver, pick(2) == 0 ? "all" : amount(1000)); }
  Result<Receipt> fit() {
    const JobId j = a_job();
    if (!j) return nothing();
    Fit f;
    f.job = j;
    f.part = "WP-" + std::to_string(pick(20));
    f.quantity = parse_amount("1pcs", Units{}).value();
    if (pick(3) == 0) f.takes_out = some_of(car_of_job(j));
    auto r = put(f);
    if (r.ok()) fits_[car_of_job(j)].push_back(r->entry.id);
    return r;
  }
  Result<Receipt> take_off() {
    const JobId j = a_job();
    if (!j) return nothing();
    Work w;
    w.job = j;
    w.text = "off";
    w.takes_out = some_of(car_of_job(j));
    return put(w);
  }
  // Some are out already, or were withdrawn, and are refused.
  std::vector<TakenOut> some_of(CarId car) {
    const std::vector<EntryId>& all = fits_[car];
    if (all.empty()) return {};
    return {TakenOut{all[static_cast<std::size_t>(pick(static_cast<int>(all.size())))], {}}};
  }
  Result<Receipt> odometer() {
    Odometer o;
    o.car = one(cars_);
    km_ += pick(50);
    o.reading = parse_distance(std::to_string(km_) + "km", Units{}).value();
    if (pick(10) == 0) {
      o.reason = "cluster replaced";
      o.dial = a_dial();
      if (pick(2) == 0) o.reading = parse_distance(std::to_string(pick(100'000)) + "km", Units{}).value();
    }
    return put(o);
  }
  Dial a_dial() {
    const int n = pick(4);
    return n == 0 ? Dial::rolled_over : n == 1 ? Dial::misread : Dial::replaced;
  }
  Result<Receipt> change() {
    CarChange c;
    c.car = one(cars_);
    c.plate = prefix_ + "MARSH-" + std::to_string(10 + pick(90));
    return put(c);
  }
  Result<Receipt> erase() {
    Erasure e;
    const int what = pick(4);
    if (what == 0 && !ids_.empty()) {
      e.entry = one(ids_);
    } else {
      e.car = one(cars_);
      e.plate = what == 1;
      e.texts = what != 1;
    }
    return put(e);
  }
  Result<Receipt> correct() {
    if (ids_.empty()) return nothing();
    Correction c;
    c.target = pick(2) == 0 ? ids_.back() : one(ids_);
    c.why = "slip";
    c.with_dependants = pick(3) == 0;
    if (pick(2) == 0) c.withdraw = true;
    else if (pick(6) == 0) c.patch.fluid = one(products_);
    else if (pick(3) == 0) c.patch.into = pick(2) == 0 ? one(pans_) : one(drums_);
    else c.patch.amount = parse_amount(std::to_string(1 + pick(8)) + "L", Units{}).value();
    return put(c);
  }

  TestBook& b_;
  std::mt19937_64 rng_;
  std::string prefix_;
  std::vector<FluidId> products_;
  std::vector<PlaceId> pans_, keeps_, stocks_, drums_;
  std::vector<CarId> cars_;
  std::vector<JobId> jobs_;
  std::vector<EntryId> ids_;
  std::vector<EntryId> closings_;
  std::map<CarId, std::vector<EntryId>> fits_;
  std::vector<Code> refused_;
  int km_ = 1000;
};

}  // namespace baybook::test
