// Schedules: read from a file, and as they hold.
#include "book/views.hpp"

#include "due/build.hpp"
#include "due/schedule_read.hpp"
#include "service/build.hpp"

#include <baybook/due.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>

namespace baybook {

namespace {

Refusal unclear(std::string_view text, const char* why) { return Refusal{Code::unclear, visible(text) + " is not clear", why, "12mo, 2y, 15000km or 250h", {}}; }

// The whole number before a unit, with or without a blank between: "12mo", "12 months".
std::optional<int> number_before(std::string_view text, std::string_view unit) {
  if (!text.ends_with(unit)) return std::nullopt;
  text.remove_suffix(unit.size());
  if (text.ends_with(' ')) text.remove_suffix(1);
  int n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return n;
}

std::string scope(Book::Inside& in, const Interval& i) {
  if (i.car) return service::plate_of(in.db, i.car);
  if (!i.specification.empty()) return "specification " + i.specification;
  std::string out = i.make + " " + i.model;
  if (!i.engine.empty()) out += ", engine " + i.engine;
  if (i.from_year != 0) out += ", from " + std::to_string(i.from_year);
  if (i.until_year != 0) out += ", until " + std::to_string(i.until_year);
  return out;
}

}  // namespace

Result<std::int64_t> parse_hours(std::string_view typed) {
  std::string_view text = typed;
  for (const std::string_view unit : {"hours", "hour", "h"}) {
    if (!text.ends_with(unit)) continue;
    text.remove_suffix(unit.size());
    if (text.ends_with(' ')) text.remove_suffix(1);
    std::int64_t whole = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), whole);
    if (error != std::errc() || whole < 0 || whole > 1'000'000) break;
    std::string_view rest(end, static_cast<std::size_t>(text.data() + text.size() - end));
    if (rest.empty()) return whole * 60;
    // Counters show tenths of an hour, six minutes.
    if (rest.size() == 2 && (rest[0] == '.' || rest[0] == ',') && rest[1] >= '0' && rest[1] <= '9') return whole * 60 + (rest[1] - '0') * 6;
    break;
  }
  return Refusal{Code::unclear, visible(typed) + " is no reading of an hour counter", "hours, with a tenth at most", "1250h, or 1250.5h", {}};
}

Result<Done> add_limit(Interval& i, std::string_view text, const Units& units) {
  const auto twice = [&](const char* what) { return Refusal{Code::wrong_usage, "two limits by " + std::string(what) + ": " + visible(text), "one of each at most", "12mo, 15000km and 250h together", {}}; };
  std::optional<int> months;
  for (const std::string_view unit : {"months", "month", "mo"}) {
    if (!months) months = number_before(text, unit);
  }
  if (!months) {
    for (const std::string_view unit : {"years", "year", "y"}) {
      if (months) continue;
      if (const auto years = number_before(text, unit)) months = std::clamp(*years, 0, 101) * 12;
    }
  }
  if (months) {
    if (i.months != 0) return twice("time");
    if (*months > 1200) return Refusal{Code::not_allowed, visible(text) + " is not likely", "an interval has at most 100 years", "12mo", {}};
    if (*months <= 0) return Refusal{Code::not_allowed, visible(text) + " is an interval of nothing", "it would be due for ever", "12mo", {}};
    i.months = *months;
    return Done{};
  }
  for (const std::string_view unit : {"hours", "hour", "h"}) {
    const auto hours = number_before(text, unit);
    if (!hours) continue;
    if (i.hours != 0) return twice("engine hours");
    if (*hours <= 0) return Refusal{Code::not_allowed, visible(text) + " is an interval of nothing", "it would be due for ever", "250h", {}};
    i.hours = *hours;
    return Done{};
  }
  auto distance = parse_distance(text, units);
  if (!distance.ok()) return unclear(text, "an interval is some months or years, some distance, or some hours of the engine");
  if (i.distance) return twice("distance");
  if (distance->metres == 0) return Refusal{Code::not_allowed, visible(text) + " is an interval of nothing", "it would be due for ever", "15000km", {}};
  i.distance = std::move(*distance);
  return Done{};
}

Result<Schedule> read_schedule(const Book& book, std::string_view text, std::string_view file_name) {
  return due::read_schedule(text, file_name, book.settings().units, [&](std::string_view plate) -> Result<CarId> {
    auto found = book.find_car(plate, Match::near);
    if (!found.ok()) return found;
    // Nobody looks on while a file is loaded: part of a plate, or one a slip away, names no car in it.
    auto known = car(book, *found);
    if (!known.ok()) return std::move(known).refusal();
    const std::string key = plate_key(plate);
    const auto same = [&](const std::string& worn) { return plate_key(worn) == key; };
    if (same(known->plate) || std::any_of(known->earlier_plates.begin(), known->earlier_plates.end(), same)) return found;
    return Refusal{Code::not_found, "there is no car with the plate " + visible(plate), "near it: " + visible(known->plate), "car = \"" + visible(known->plate) + "\"", {}};
  });
}

Result<std::vector<ScheduleView>> schedules(const Book& b, std::optional<CarId> car) {
  return book::guarded<std::vector<ScheduleView>>([&]() -> Result<std::vector<ScheduleView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<std::int64_t> entries;
    if (car) {
      auto q = in.db.query("SELECT DISTINCT source FROM due_item WHERE car = ? AND kind = 1 ORDER BY source");
      q.bind(car->n);
      while (q.step()) entries.push_back(q.num(0));
    } else {
      auto q = in.db.query("SELECT DISTINCT s.entry FROM schedule s JOIN interval i ON i.schedule = s.entry ORDER BY s.name, s.moment, s.recorded, s.entry");
      while (q.step()) entries.push_back(q.num(0));
    }
    std::vector<ScheduleView> out;
    for (const std::int64_t id : entries) {
      ScheduleView v;
      v.entry = book::ref_of(in, EntryId{id});
      const log::Fact fact = log::read_fact(in.db, EntryId{id});
      if (fact.details.has("name")) v.name = fact.details.str("name");
      std::set<std::int64_t> mine;
      if (car) {
        auto q = in.db.query("SELECT n FROM due_item WHERE car = ? AND source = ?");
        q.bind(car->n).bind(id);
        while (q.step()) mine.insert(q.num(0));
      }
      std::int64_t n = 0;
      for (Interval& i : due::read_intervals(in.db, EntryId{id})) {
        ++n;
        if (car && !mine.contains(n)) continue;
        v.limits.push_back(due::told(i.months, i.distance, std::int64_t{i.hours} * 60, in.settings.units));
        v.scopes.push_back(scope(in, i));
        if (v.name.empty() && i.car) v.about = v.scopes.back();
        v.intervals.push_back(std::move(i));
      }
      {
        auto q = in.db.query("SELECT count(DISTINCT car) FROM due_item WHERE source = ?");
        q.bind(id);
        v.cars = car ? 1 : q.step_num();
      }
      out.push_back(std::move(v));
    }
    return out;
  });
}

}  // namespace baybook
