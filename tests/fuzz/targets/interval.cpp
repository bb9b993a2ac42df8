#include "property.hpp"
#include "targets.hpp"

#include <baybook/book.hpp>
#include <baybook/due.hpp>

namespace baybook::fuzz {

namespace {

void hours(std::string_view text) {
  const auto read = parse_hours(text);
  if (!read) return told_with_instead(read.refusal(), text);
  hold(*read >= 0 && *read <= 60'000'060, "a counter shows 0 to a million hours");
  const std::string shown = std::to_string(*read / 60) + "." + std::to_string(*read % 60 / 6) + "h";
  const auto again = parse_hours(shown);
  hold(again.ok() && *again == *read, "hours with a tenth go round");
}

}  // namespace

void interval(std::string_view bytes) {
  Input in(bytes);
  Units units;
  const std::size_t what = in.choice(3);
  if (what == 0) return hours(in.rest());
  if (what == 2) units.distance = DistanceUnit::mile;
  Interval i;
  for (int limits = 0; limits < 4 && !in.rest().empty(); ++limits) {
    const std::string_view text = in.line();
    const auto done = add_limit(i, text, units);
    if (!done) told_with_instead(done.refusal(), text);
  }
  hold(i.months >= 0 && i.months <= 1200, "an interval has at most 100 years");
  hold(i.hours >= 0 && (!i.distance || i.distance->metres > 0), "an interval is never of nothing");
}

}  // namespace baybook::fuzz
