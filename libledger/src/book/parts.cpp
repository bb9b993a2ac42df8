// Parts for reading: which cars carry one, and what became of it.
#include "book/views.hpp"

#include "service/build.hpp"
#include "service/parts.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <map>

namespace baybook {

using log::Fact;
using log::Kind;

namespace book {

namespace {

// What is known of one fitted part at the end of a day.
struct Whereabouts {
  Amount fitted;
  std::vector<service::Taking> takings;
  std::int64_t left = 0;
  std::optional<log::Effect> again;  ///< the first that fitted it once more, while some is in
};

// The fittings of each car are read once.
class Parts {
 public:
  Parts(Book::Inside& in, AsOf as_of) : in_(in), until_(last_moment(as_of)) {}

  Whereabouts of(const Fact& fit, const service::Belongs& belongs) {
    Whereabouts out;
    out.fitted = log::read_amount(fit.details.at("quantity"));
    out.takings = service::takings_of(in_.db, fit.id());
    std::erase_if(out.takings, [&](const service::Taking& t) { return t.effect.moment > until_; });
    out.left = service::still_in(out.fitted, out.takings);
    if (out.left <= 0 || !belongs.car) return out;
    const auto known = of_car_.find(belongs.car);
    const std::vector<service::Fitting>& all =
        known != of_car_.end()
            ? known->second
            : of_car_[belongs.car] = service::fittings_of(in_.db, belongs.car, until_);
    const service::Fitting itself{fit.effect, belongs.job, plate_key(fit.details.str("part"))};
    if (const service::Fitting* again = service::fitted_again(all, itself))
      out.again = again->effect;
    return out;
  }

 private:
  Book::Inside& in_;
  std::int64_t until_;
  std::map<CarId, std::vector<service::Fitting>> of_car_;
};

std::string day_of(const log::Effect& effect) {
  return to_string(log::day_of_moment(effect.moment));
}

// How much each of them took out: the one that says no amount, what was left before it.
std::vector<std::int64_t> amounts(const Whereabouts& w) {
  std::vector<std::int64_t> out;
  std::int64_t in = w.fitted.best;
  for (const service::Taking& t : w.takings) {
    out.push_back(std::min(in, t.amount ? t.amount->best : in));
    in -= out.back();
  }
  return out;
}

std::string told(Book::Inside& in, const Whereabouts& w) {
  std::string out;
  const std::vector<std::int64_t> taken = amounts(w);
  for (std::size_t i = 0; i < w.takings.size(); ++i) {
    if (taken[i] == 0) continue;  // out already, by another book
    const bool part = taken[i] != w.fitted.best;
    out += out.empty() ? "" : ", ";
    if (part) out += show(taken[i], w.fitted.dimension, in.settings.units) + " of it ";
    out += "taken out by entry ";
    out += entry_name(in, w.takings[i].effect.id) + " on " + day_of(w.takings[i].effect);
  }
  if (w.again)
    out += (out.empty() ? "" : ", ") + std::string("may be out: fitted again by entry ") +
           entry_name(in, w.again->id) + " on " + day_of(*w.again);
  return out;
}

}  // namespace

void note_what_came_off(Book::Inside& in, std::vector<EntryView>& lines, AsOf as_of) {
  Parts parts(in, as_of);
  for (EntryView& v : lines) {
    if (v.kind != log::name_of(Kind::fit) || v.withdrawn) continue;
    const Fact fit = log::read_fact(in.db, v.ref.id);
    v.came_off = told(in, parts.of(fit, service::belongs_to(in.db, fit)));
  }
}

namespace {

FittedRow row_of(Book::Inside& in, Parts& parts, const Fact& fact) {
  const service::Belongs belongs = service::belongs_to(in.db, fact);
  FittedRow r;
  r.car = belongs.car;
  r.plate = service::plate_of(in.db, belongs.car);
  r.part = fact.details.str("part");
  if (fact.details.has("lot")) r.lot = fact.details.str("lot");
  r.description = log::private_text(in.db, fact, "description");
  if (const auto job = service::job_row(in.db, belongs.job))
    r.job = service::job_name(in.known, *job);
  r.day = log::day_of_moment(fact.effect.moment);
  r.entry = ref_of(in, fact.id());
  r.odometer_metres = odometer_at(in, belongs.car, fact.effect.moment);
  const Whereabouts w = parts.of(fact, belongs);
  r.quantity = show(w.fitted, in.settings.units);
  const std::vector<std::int64_t> taken = amounts(w);
  for (std::size_t i = 0; i < w.takings.size(); ++i) {
    const log::Effect& at = w.takings[i].effect;
    if (taken[i] == 0) continue;
    FittedRow::Out out{ref_of(in, at.id), log::day_of_moment(at.moment), {}, {}};
    const service::Belongs by = service::belongs_to(in.db, log::read_fact(in.db, at.id));
    if (const auto job = service::job_row(in.db, by.job))
      out.job = service::job_name(in.known, *job);
    out.quantity = show(taken[i], w.fitted.dimension, in.settings.units);
    r.came_off.push_back(std::move(out));
  }
  // What came off is exact; of an estimate the bounds go with what is left.
  r.left =
      w.takings.empty() ? w.fitted : Amount{w.fitted.dimension, w.left, w.left, w.left, false, {}};
  r.state = w.left <= 0 ? FittedRow::State::out
            : w.again   ? FittedRow::State::unsure
                        : FittedRow::State::in;
  if (w.again) {
    r.again = ref_of(in, w.again->id);
    r.again_on = log::day_of_moment(w.again->moment);
  }
  return r;
}

// A car that one book withdrew while another fitted a part to it has no row.
bool is_scrapped(Book::Inside& in, CarId car, AsOf as_of) {
  {
    auto q = in.db.query("SELECT scrapped FROM car WHERE id = ?");
    q.bind(car.n);
    if (!q.step() || q.num(0) == 0) return false;
  }
  return car_view(in, car, as_of).scrapped;
}

}  // namespace

}  // namespace book

std::string_view name_of(FittedRow::State state) noexcept {
  switch (state) {
    case FittedRow::State::in: return "in";
    case FittedRow::State::unsure: return "unsure";
    case FittedRow::State::out: return "out";
  }
  return "";
}

Result<std::vector<FittedRow>> fitted(const Book& b, std::string_view part, std::string_view lot,
                                      AsOf as_of) {
  return book::guarded<std::vector<FittedRow>>([&]() -> Result<std::vector<FittedRow>> {
    Book::Inside& in = b.inside();
    store::Db& db = in.db;
    store::Snapshot snapshot(db);
    std::vector<std::int64_t> ids;
    const std::string key = plate_key(part);
    if (!key.empty()) {
      auto q = db.query("SELECT entry FROM part WHERE number = ? AND (? = '' OR lot = ?)");
      const std::string lot_key = plate_key(lot);
      q.bind(key).bind(lot_key).bind(lot_key);
      while (q.step()) ids.push_back(q.num(0));
    }
    book::Parts parts(in, as_of);
    std::map<CarId, bool> scrapped;
    std::vector<std::pair<log::Effect, FittedRow>> rows;
    for (const std::int64_t id : ids) {
      const Fact fact = log::read_fact(db, EntryId{id});
      if (fact.withdrawn || fact.effect.moment > book::last_moment(as_of)) continue;
      FittedRow r = book::row_of(in, parts, fact);
      const auto known = scrapped.find(r.car);
      r.scrapped = known != scrapped.end()
                       ? known->second
                       : (scrapped[r.car] = book::is_scrapped(in, r.car, as_of));
      rows.emplace_back(fact.effect, std::move(r));
    }
    std::sort(rows.begin(), rows.end(),
              [](const auto& x, const auto& y) { return x.first < y.first; });
    std::vector<FittedRow> out;
    for (auto& [effect, row] : rows) out.push_back(std::move(row));
    return out;
  });
}

}  // namespace baybook
