#include "service/parts.hpp"

#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::service {

using log::Desk;
using log::Fact;
using log::Kind;
using log::refuse;
using log::Value;

namespace {

// The rows of `part` by which a fit entry is found from what takes it out. A part's own number has
// a letter or digit, so that none of them looks like one.
constexpr std::string_view kTakenOut = "";

EntryId fit_of(const Value& item, const Fact& fact) {
  return EntryId{log::read_ref(item.at("fit"), fact.origin())};
}

std::vector<EntryId> entries_that_take(store::Db& db, EntryId fit) {
  std::vector<EntryId> out;
  auto q = db.query("SELECT entry FROM part WHERE number = ? AND lot = ?");
  q.bind(kTakenOut).bind(std::to_string(fit.n));
  while (q.step()) out.push_back(EntryId{q.num(0)});
  return out;
}

std::string day_of(const log::Effect& effect) {
  return to_string(log::day_of_moment(effect.moment));
}

}  // namespace

std::vector<Taking> takings_of(store::Db& db, EntryId fit) {
  std::vector<Taking> out;
  for (const EntryId by : entries_that_take(db, fit)) {
    const Fact fact = log::read_fact(db, by);
    const Value* list = fact.details.find("takes-out");
    if (fact.withdrawn || list == nullptr) continue;
    for (const Value& item : list->as_array()) {
      if (fit_of(item, fact) != fit) continue;
      Taking t{fact.effect, std::nullopt};
      if (const Value* amount = item.find("amount")) t.amount = log::read_amount(*amount);
      out.push_back(std::move(t));
    }
  }
  std::sort(out.begin(), out.end(),
            [](const Taking& a, const Taking& b) { return a.effect < b.effect; });
  return out;
}

std::int64_t still_in(const Amount& fitted, const std::vector<Taking>& takings) {
  std::int64_t in = fitted.best;
  // Two books may each have taken it out: it is out once.
  for (const Taking& t : takings)
    in = t.amount ? std::max<std::int64_t>(0, in - t.amount->best) : 0;
  return in;
}

std::vector<Fitting> fittings_of(store::Db& db, CarId car, std::int64_t until) {
  std::vector<EntryId> ids;
  {
    auto q = db.query(
        "SELECT entry FROM history WHERE car = ? AND kind = 13 AND moment <= ? ORDER BY moment, "
        "recorded, entry");
    q.bind(car.n).bind(until);
    while (q.step()) ids.push_back(EntryId{q.num(0)});
  }
  std::vector<Fitting> out;
  for (const EntryId id : ids) {
    const Fact fact = log::read_fact(db, id);
    if (fact.withdrawn) continue;
    out.push_back({fact.effect, belongs_to(db, fact).job, plate_key(fact.details.str("part"))});
  }
  return out;
}

const Fitting* fitted_again(const std::vector<Fitting>& all, const Fitting& fitted) {
  const auto again = std::find_if(all.begin(), all.end(), [&](const Fitting& f) {
    return fitted.effect < f.effect && f.job != fitted.job && f.key == fitted.key;
  });
  return again == all.end() ? nullptr : &*again;
}

namespace {

// Whether one part of the list can come off by this entry.
Result<Done> check(const Desk& desk, const TakenOut& out, CarId car, EntryId itself) {
  const std::string name = log::entry_name(desk.known, out.fit);
  const auto fact = log::find_fact(desk.db, out.fit);
  const std::string list = "baybook fitted PART  # names the entries";
  if (!fact) return refuse(Code::not_found, "there is no entry " + name, "", list);
  if (fact->kind != Kind::fit)
    return refuse(Code::not_allowed, "entry " + name + " fitted no part",
                  "what comes out is named by the entry that fitted it", list);
  if (fact->withdrawn)
    return refuse(Code::not_allowed, "entry " + name + " was withdrawn",
                  "what was never fitted does not come out", list);
  const std::string part = visible(fact->details.str("part"));
  const std::string fitted = part + " of entry " + name;
  if (const CarId on = belongs_to(desk.db, *fact).car; on != car)
    return refuse(Code::not_allowed,
                  fitted + " was fitted to " + visible(plate_of(desk.db, on)) + ", not to " +
                      visible(plate_of(desk.db, car)),
                  "a part comes off the car that it was fitted to", "a job of that car");
  if (!(fact->effect < desk.effect))
    return refuse(Code::not_allowed,
                  fitted + " was fitted on " + day_of(fact->effect) + ", after this",
                  "a part is fitted before it comes out",
                  log::on_its_day(desk, out.fit, log::day_of_moment(fact->effect.moment)));
  const Amount was = log::read_amount(fact->details.at("quantity"));
  std::vector<Taking> takings = takings_of(desk.db, out.fit);
  std::erase_if(takings, [&](const Taking& t) { return t.effect.id == itself; });
  const std::int64_t left = still_in(was, takings);
  if (left <= 0)
    return refuse(Code::already_there,
                  fitted + " came out already, by entry " +
                      log::entry_name(desk.known, takings.back().effect.id) + " on " +
                      day_of(takings.back().effect),
                  "", "baybook entry " + log::entry_name(desk.known, takings.back().effect.id));
  if (!out.amount) return Done{};
  if (out.amount->dimension != was.dimension)
    return refuse(Code::unclear, fitted + " was fitted as " + show(was, desk.units),
                  "litres, kilograms and pieces are never added up", "--takes-out " + name);
  if (out.amount->best <= 0)
    return refuse(Code::not_allowed, "nothing of " + fitted + " comes out", "",
                  "--takes-out " + name);
  if (out.amount->best > left) {
    const bool many = was.dimension == Dimension::count && left != 1;
    return refuse(Code::not_allowed,
                  show(out.amount->best, was.dimension, desk.units) + " of " + fitted +
                      " cannot come out: " + show(left, was.dimension, desk.units) + " of it " +
                      (many ? "are in" : "is in"),
                  "", "--takes-out " + name + ", for all that is in");
  }
  return Done{};
}

}  // namespace

Result<Done> write_takes_out(const Desk& desk, Value& details, const std::vector<TakenOut>& list,
                             CarId car, EntryId itself) {
  if (list.empty()) return Done{};
  if (list.size() > log::most::kTakenOut)
    return refuse(Code::not_allowed,
                  "more than " + std::to_string(log::most::kTakenOut) + " parts come out at once",
                  "", "several entries");
  std::vector<Value> items;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const TakenOut& out = list[i];
    for (std::size_t before = 0; before < i; ++before) {
      if (list[before].fit == out.fit)
        return refuse(Code::already_there,
                      "entry " + log::entry_name(desk.known, out.fit) + " is named twice", "",
                      "each part once");
    }
    if (auto ok = check(desk, out, car, itself); !ok.ok()) return ok;
    Value item;
    if (out.amount) item["amount"] = log::write_amount(*out.amount);
    item["fit"] = log::write_ref(out.fit.n, desk.known);
    items.push_back(std::move(item));
  }
  details["takes-out"] = Value(std::move(items));
  return Done{};
}

void say_if_fitted_before(const Desk& desk, const Fit& draft, std::string_view part, CarId car,
                          std::vector<std::string>& warnings) {
  // Whoever says where the old part went has said that one came off.
  if (draft.old != Fit::Old::not_said || desk.of_a_list) return;
  const auto named = [&](EntryId fit) {
    return std::any_of(draft.takes_out.begin(), draft.takes_out.end(),
                       [&](const TakenOut& t) { return t.fit == fit; });
  };
  const std::string key = plate_key(part);
  const std::vector<Fitting> before = fittings_of(desk.db, car, desk.effect.moment);
  for (auto f = before.rbegin(); f != before.rend(); ++f) {
    const bool other_place = f->job == draft.job || f->key != key || named(f->effect.id);
    if (other_place || !(f->effect < desk.effect)) continue;
    const Fact fact = log::read_fact(desk.db, f->effect.id);
    if (still_in(log::read_amount(fact.details.at("quantity")),
                 takings_of(desk.db, f->effect.id)) <= 0)
      continue;
    const std::string name = log::entry_name(desk.known, f->effect.id);
    warnings.push_back(visible(part) + " was fitted to this car by entry " + name + " on " +
                       day_of(f->effect) + " too, and nothing says that it came off; if it did: " +
                       (desk.dry_run
                            ? std::string("--takes-out ") + name
                            : "baybook correct " + log::entry_name(desk.known, desk.effect.id) +
                                  " --takes-out " + name + " --why \"...\""));
    return;
  }
}

std::vector<std::string> told_of_takes_out(store::Db& db, const log::Installations& known,
                                           const Units& units, const Fact& fact) {
  std::vector<std::string> out;
  const Value* list = fact.details.find("takes-out");
  if (list == nullptr) return out;
  for (const Value& item : list->as_array()) {
    const EntryId fit = fit_of(item, fact);
    const auto fitted = log::find_fact(db, fit);
    const std::string part = fitted && fitted->kind == Kind::fit
                                 ? std::string(fitted->details.str("part"))
                                 : std::string("a part");
    std::string text = "took out ";
    if (const Value* amount = item.find("amount"))
      text += show(log::read_amount(*amount), units) + " of ";
    out.push_back(text + part + " (entry " + log::entry_name(known, fit) + ")");
  }
  return out;
}

void fold_takes_out(store::Db& db, const Fact& fact) {
  const Value* list = fact.details.find("takes-out");
  if (list == nullptr) return;
  for (const Value& item : list->as_array()) {
    auto q = db.query("INSERT OR REPLACE INTO part(number, lot, entry) VALUES(?, ?, ?)");
    q.bind(kTakenOut).bind(std::to_string(fit_of(item, fact).n)).bind(fact.id().n).run();
  }
}

void unfold_takes_out(store::Db& db, const Fact& fact) {
  const Value* list = fact.details.find("takes-out");
  if (list == nullptr) return;
  for (const Value& item : list->as_array()) {
    auto q = db.query("DELETE FROM part WHERE number = ? AND lot = ? AND entry = ?");
    q.bind(kTakenOut).bind(std::to_string(fit_of(item, fact).n)).bind(fact.id().n).run();
  }
}

}  // namespace baybook::service
