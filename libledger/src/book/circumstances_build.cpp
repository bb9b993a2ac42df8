// What may be put on record of an event, a hold, an extension, and of their end.
#include "book/circumstances.hpp"
#include "book/inside.hpp"
#include "book/limits.hpp"
#include "log/most.hpp"
#include "log/references.hpp"

#include "fluids/build.hpp"

#include <baybook/clock.hpp>

#include <algorithm>

namespace baybook::book {

using log::Built;
using log::Desk;
using log::Kind;
using log::refuse;
using What = Circumstance::What;

namespace {

Day today_of(const Desk& desk) { return log::day_of_moment(desk.effect.moment); }

std::string_view name_of(What what) {
  return what == What::event ? "event" : what == What::hold ? "hold" : "extension";
}

std::optional<Refusal> refuse_day(const Desk& desk, const Circumstance& d) {
  const Day today = today_of(desk);
  const bool ahead = d.what == What::event && d.planned;
  if (d.day > today && !ahead)
    return refuse(Code::not_allowed,
                  to_string(d.day) + " is after the day of the entry, " + to_string(today),
                  "only what has happened is put on record; a planned event alone may lie ahead",
                  "the day that it was");
  if (d.day > add_months(today, 24))
    return refuse(Code::not_allowed, to_string(d.day) + " is more than two years ahead",
                  "such a day is a slip (common practice, no source)", "the day that it will be");
  if (d.day >= add_months(today, -12 * kYearsBack)) return std::nullopt;
  return refuse(Code::not_allowed,
                to_string(d.day) + " is more than " + std::to_string(kYearsBack) +
                    " years before the day of the entry",
                "a day so long past was not filled in, or is a slip (common practice, no source)",
                "the day that it was");
}

std::optional<Refusal> refuse_containers(Book::Inside& in, const Desk& desk,
                                         const Circumstance& d) {
  if (d.containers.empty())
    return refuse(Code::wrong_usage, "no container is named",
                  d.what == What::event
                      ? "waste of an event is told apart by the containers that hold nothing else"
                      : "an extension is granted for one container",
                  "the containers from `baybook levels`");
  if (d.what == What::extension && d.containers.size() != 1)
    return refuse(Code::wrong_usage, "an extension is for one container", "",
                  "one extension for each");
  if (d.containers.size() > log::most::kContainers)
    return refuse(Code::not_allowed,
                  std::to_string(d.containers.size()) + " containers are more than " +
                      std::to_string(log::most::kContainers),
                  "", "the containers of the event alone");
  for (std::size_t i = 0; i < d.containers.size(); ++i) {
    const PlaceId p{log::goes_by(in.db, d.containers[i].n)};
    const std::string code = place_name(in, p);
    if (is_circuit(p) || in.ledger.info(p).role != Role::waste)
      return refuse(Code::not_allowed, code + " is not a waste place",
                    "waste stands in waste places", "a waste place from `baybook levels`");
    for (std::size_t j = 0; j < i; ++j) {
      if (log::goes_by(in.db, d.containers[j].n) == p.n)
        return refuse(Code::wrong_usage, code + " is named twice", "", "each container once");
    }
    if (fluids::marks_of(in.db, p, desk.effect.moment).retired)
      return refuse(Code::not_allowed, code + " is retired", "nothing goes into it",
                    "another container");
  }
  return std::nullopt;
}

// What stands in a container at the end of a day; "" for nothing.
std::string stands_in(Book::Inside& in, PlaceId place, std::int64_t until) {
  auto q = in.db.query(
      "SELECT moment FROM filling WHERE place = ?1 AND moment <= ?2 AND (until_entry = 0 OR "
      "until_moment > ?2) LIMIT 1");
  q.bind(place.n).bind(until);
  return q.step() ? to_string(log::day_of_moment(q.num(0))) : std::string();
}

std::optional<Refusal> refuse_event(Book::Inside& in, Office& office, const Desk& desk,
                                    const Circumstance& d) {
  const RuleSet* rules = office.rules_on(d.day);
  const RuleValue* length = rules != nullptr ? rules->value("episodic.days", d.day) : nullptr;
  if (length == nullptr)
    return refuse(Code::not_allowed,
                  "the rules of " + to_string(d.day) + " know no episodic event",
                  rules != nullptr ? rules->name + " has no days for one"
                                   : "the book goes by no rule set on that day",
                  "baybook rules show");
  for (const PlaceId named : d.containers) {
    const PlaceId p{log::goes_by(in.db, named.n)};
    const std::string code = place_name(in, p);
    const bool begun = d.day <= today_of(desk);
    const std::string since =
        begun ? stands_in(in, p, log::first_moment(d.day) - 1) : std::string();
    if (!since.empty())
      return refuse(Code::not_allowed,
                    code + " was not empty on " + to_string(d.day) + ": it stands since " + since,
                    "what was in it could not be told from the waste of the event",
                    "a container that was empty when the event began");
    for (const Event& e : events_on(office, today_of(desk))) {
      const Day last = returns::last_permitted(*rules, d.day, length->n);
      if (e.has(p) && e.spell.day <= last && d.day <= e.last)
        return refuse(Code::already_there,
                      code + " is a container of the event of entry " +
                          entry_name(in, e.spell.entry) + ", which runs until " + to_string(e.last),
                      "one container, one event", "another container");
    }
  }
  return std::nullopt;
}

// Days that were granted for the filling that stands there.
int granted_before(Book::Inside& in, PlaceId place, Day since, std::int64_t moment) {
  int days = 0;
  for (const Spell& s : spells_until(in.db, moment)) {
    if (s.what == What::extension && s.day >= since && s.containers.front() == place)
      days += s.days;
  }
  return days;
}

std::optional<Refusal> refuse_extension(Book::Inside& in, const Desk& desk,
                                        const Circumstance& d) {
  const PlaceId place{log::goes_by(in.db, d.containers.front().n)};
  const std::string code = place_name(in, place);
  LimitSheet sheet(in, today_of(desk));
  const RuleValue* most =
      sheet.rules != nullptr ? sheet.value("clock.extension.days") : nullptr;
  if (most == nullptr)
    return refuse(Code::not_allowed, "the rules of that day know no extension of a clock", "",
                  "baybook rules show");
  read_on_hand(sheet);
  const auto h = std::find_if(sheet.on_hand.begin(), sheet.on_hand.end(),
                              [&](const OnHand& x) { return x.place->id == place; });
  if (h == sheet.on_hand.end())
    return refuse(Code::not_allowed, code + " is empty", "an extension is for what stands there",
                  "a container from `baybook limits`");
  if (generator_clock(sheet, *h).rule == nullptr)
    return refuse(Code::not_allowed, "no generator's clock runs on " + code,
                  "days are added to the days of a small or a large quantity generator (" +
                      most->source.section + ")",
                  "a container with such a clock in `baybook limits`");
  if (d.day < h->filled)
    return refuse(Code::not_allowed,
                  code + " was granted more days on " + to_string(d.day) +
                      ", and what stands in it began on " + to_string(h->filled),
                  "an extension is for what stands there", "the day on which it was granted");
  const int before = granted_before(in, place, h->filled, desk.effect.moment);
  if (d.days < 1 || before + d.days > most->n)
    return refuse(Code::not_allowed,
                  std::to_string(d.days) + " days for " + code +
                      (before > 0 ? ", with " + std::to_string(before) + " granted before" : "") +
                      ", are not between 1 and " + most->text,
                  "that is the most an authority adds (" + most->source.section + ")",
                  "the days that were granted");
  return std::nullopt;
}

Result<Spell> ending(Book::Inside& in, const Desk& desk, const Circumstance& d) {
  const auto all = spells_until(in.db, desk.effect.moment);
  const auto it =
      std::find_if(all.begin(), all.end(), [&](const Spell& s) { return s.entry == d.about; });
  const std::string name = "entry " + entry_name(in, d.about);
  if (it == all.end() || it->what == What::extension)
    return refuse(Code::not_allowed, name + " is no event and no enforcement hold",
                  "only those are ended", "the entry from `baybook limits`");
  if (it->ended)
    return refuse(Code::already_there, name + " ended on " + to_string(*it->ended) + " already",
                  "", "baybook entry " + entry_name(in, d.about));
  if (d.day < it->day)
    return refuse(Code::not_allowed,
                  name + " began on " + to_string(it->day) + ", after " + to_string(d.day), "",
                  "the day on which it ended");
  if (it->what == What::event) {
    for (const PlaceId p : it->containers) {
      const std::string since = stands_in(in, p, log::last_moment(d.day));
      if (!since.empty())
        return refuse(Code::not_allowed,
                      place_name(in, p) + " is not empty at the end of " + to_string(d.day),
                      "an event is over when its waste was sent off",
                      "the day on which it was empty, after its pick-up");
    }
  }
  return *it;
}

}  // namespace

Result<Built> build_circumstance(Book::Inside& in, Desk& desk, const Circumstance& d) {
  if (auto no = refuse_day(desk, d)) return std::move(*no);
  Office office(in);
  Built out;
  out.kind = Kind::circumstance;
  out.details["day"] = to_string(d.day);
  if (d.what == What::event || d.what == What::extension) {
    if (auto no = refuse_containers(in, desk, d)) return std::move(*no);
    std::vector<log::Value> containers;
    for (const PlaceId p : d.containers) {
      log::Value c;
      c["place"] = log::write_place(p, desk.known);
      containers.push_back(std::move(c));
    }
    out.details["containers"] = log::Value(std::move(containers));
  }
  if (d.what == What::event) {
    if (auto no = refuse_event(in, office, desk, d)) return std::move(*no);
    if (d.planned) out.details["planned"] = true;
    if (d.petitioned) out.details["petitioned"] = true;
  } else if (d.what == What::extension) {
    if (auto no = refuse_extension(in, desk, d)) return std::move(*no);
    out.details["days"] = std::int64_t{d.days};
  } else if (d.what == What::end) {
    auto ends = ending(in, desk, d);
    if (!ends.ok()) return std::move(ends).refusal();
    out.details["about"] = log::write_ref(d.about.n, desk.known);
    out.details["of"] = name_of(ends->what);
  }
  out.details["what"] = d.what == What::end ? std::string_view("end") : name_of(d.what);
  if (auto ok = log::keep(out, "note", d.note); !ok.ok()) return std::move(ok).refusal();
  return out;
}

}  // namespace baybook::book
