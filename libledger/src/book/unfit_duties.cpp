// What the details of a filing and of a circumstance may say.
#include "book/unfit_kinds.hpp"

#include "book/filings.hpp"
#include "log/most.hpp"

namespace baybook::book {

using log::Value;
namespace most = log::most;

namespace {

constexpr auto kAlways = Need::always;
constexpr auto kIfSaid = Need::if_said;

void containers(Fields& f, Need need) {
  f.objects("containers", need, most::kContainers, [](Fields& c) { c.ref("place", kAlways); });
}

// Nothing has happened on a day that has not come.
void past_day(Fields& f, std::string_view key) {
  const auto day = f.day(key, kAlways);
  if (day && *day > f.reading().happened())
    f.wrong(key, "is " + to_string(*day) + ", after the day of the entry");
}

}  // namespace

void filing(Fields& f) {
  f.code("what", kAlways);
  const auto period = f.text("period", kIfSaid, most::kToken);
  if (period && !read_period(*period))
    f.wrong("period", "is " + shown(Value(*period)) + ", neither a year nor a quarter");
  past_day(f, "filed");
  f.ref("about", kIfSaid);
  f.word("way", kIfSaid, {"electronic", "paper"});
}

void circumstance(Fields& f) {
  const auto what = f.word("what", kAlways, {"event", "hold", "extension", "end"});
  if (!what) return;
  const bool planned = f.yes("planned");
  const bool petitioned = f.yes("petitioned");
  if ((planned || petitioned) && *what != "event")
    f.wrong(planned ? "planned" : "petitioned", "is said of what is no event");
  if (planned) f.day("day", kAlways);
  else past_day(f, "day");
  const bool of_containers = *what == "event" || *what == "extension";
  if (of_containers) containers(f, kAlways);
  const Value* days = f.any("days", *what == "extension" ? kAlways : kIfSaid);
  if (days != nullptr && *what != "extension") f.wrong("days", "is said of what is no extension");
  if (*what == "extension") f.whole("days", kAlways, 1, most::kGrantedDays);
  if (*what != "end") return;
  f.ref("about", kAlways);
  f.word("of", kAlways, {"event", "hold"});
}

}  // namespace baybook::book
