#include "book/unfit_kinds.hpp"

#include "log/most.hpp"
#include "quantity/most.hpp"
#include "service/build.hpp"

namespace baybook::book {

using log::Value;
namespace most = log::most;

namespace {

constexpr auto kAlways = Need::always;
constexpr auto kIfSaid = Need::if_said;
constexpr std::int64_t kMostRecheck = static_cast<std::int64_t>(most::kRechecks);

void circuit(Fields& f) {
  const Value* name = f.any("circuit", kIfSaid);
  if (name == nullptr) return;
  if (!name->is_string() || find_circuit(std::string_view(name->as_string())) == nullptr)
    f.wrong("circuit", "is " + shown(*name) + ", which no car has", word_sort(*name));
}

// For a car, for a make and model, or for a specification: one of the three.
void scope(Fields& i, bool by_hand) {
  const bool car = i.ref("car", by_hand ? kAlways : kIfSaid);
  const bool make = i.text("make", kIfSaid, most::kInterval).has_value();
  const bool model = i.text("model", kIfSaid, most::kInterval).has_value();
  const bool engine = i.text("engine", kIfSaid, most::kInterval).has_value();
  const bool specification = i.text("specification", kIfSaid, most::kInterval).has_value();
  const auto from = i.whole("from-year", kIfSaid, 1, most::kLastYear);
  const auto until = i.whole("until-year", kIfSaid, 1, most::kLastYear);
  circuit(i);
  const int scopes = (car ? 1 : 0) + (make || model ? 1 : 0) + (specification ? 1 : 0);
  if (scopes != 1) i.wrong(scopes == 0 ? "is for no car" : "is for more than one sort of cars");
  if (make != model)
    i.wrong(make ? "names a make without a model" : "names a model without its make");
  if (!make && (engine || from || until))
    i.wrong("names an engine or years without a make and model");
  if (from && until && *until < *from) i.wrong("until-year", "is before the first year");
  if (specification && i.any("circuit", kIfSaid) == nullptr)
    i.wrong("is for a specification, but of no circuit");
}

void interval(Fields& i, bool by_hand) {
  i.code("task", kAlways);
  i.text("source", kAlways, most::kInterval);
  scope(i, by_hand);
  i.items("parts", kIfSaid, most::kParts, [&](const Value& item, const Path& path) {
    if (!item.is_string())
      return i.reading().add(path, "is " + shown(item) + ", not a text", Unfit::Sort::form);
    if (std::string fault = text_fault(item.as_string(), most::kPart); !fault.empty())
      i.reading().add(path, std::move(fault));
    else if (!service::clean_part(item.as_string()).ok())
      i.reading().add(path, "is " + shown(item) + ", without a letter or digit");
  });
  const auto months = i.whole("months", kIfSaid, 1, most::kMonths);
  const auto hours = i.whole("hours", kIfSaid, 1, most::kHours);
  i.distance("distance-m", "distance-typed", kIfSaid, 1);
  if (!months && !hours && i.any("distance-m", kIfSaid) == nullptr)
    i.wrong("has none of months, distance and hours: it would never be due");
  const auto filtered = i.whole("filtered-percent", kIfSaid, 1, 100);
  if (filtered && i.any("circuit", kIfSaid) == nullptr)
    i.wrong("filtered-percent", "is said of no circuit");
}

}  // namespace

void schedule(Fields& f) {
  const auto name = f.code("name", kIfSaid);
  const bool by_hand = f.any("name", kIfSaid) == nullptr;
  // A later file of the same name without an interval takes back what the one before asked for.
  f.objects(
      "intervals", kAlways, by_hand ? 1 : most::kIntervals,
      [&](Fields& i) { interval(i, by_hand); }, name.has_value());
  f.whole("reuse-days", kIfSaid, 1, most::kReuseDays);
}

void task_done(Fields& f) {
  f.ref("car", kAlways);
  f.code("task", kAlways);
  f.ref("job", kIfSaid);
  const auto when = f.day("when", kIfSaid);
  if (when && *when > f.reading().happened())
    f.wrong("when", "is " + to_string(*when) + ", after the day of the entry");
  f.distance("odometer-m", "odometer-typed", kIfSaid);
  f.whole("minutes", kIfSaid, 0, most::kMinutes);
  // A correction of the reading says so where it runs backwards.
  if (f.reading().of_correction) f.yes("reset");
}

void put_off(Fields& f) {
  f.ref("car", kAlways);
  const bool task = f.code("task", kIfSaid).has_value();
  const bool closing = f.ref("closing", kIfSaid);
  const bool recheck = f.whole("recheck", closing ? kAlways : kIfSaid, 1, kMostRecheck).has_value();
  if (task == (closing || recheck)) f.wrong("puts off a task or a recheck: one of the two");
  if (recheck && !closing) f.wrong("recheck", "is said without the closing that set it");
  const auto until = f.day("until", kAlways);
  if (!until) return;
  const Day day = f.reading().happened();
  if (*until <= day)
    f.wrong("until", "is " + to_string(*until) + ", not after the day of the entry");
  if (until->n > day.n + most::kPutOffDays)
    f.wrong("until", "is " + to_string(*until) + ", more than ten years away");
}

void recheck_done(Fields& f) {
  f.ref("car", kAlways);
  f.ref("closing", kAlways);
  f.whole("recheck", kAlways, 1, kMostRecheck);
  f.ref("job", kIfSaid);
  const auto good = f.flag("good", kAlways);
  if (good && !*good && !f.reading().has_private("note"))
    f.wrong("good", "is false, and no text says what was found");
}

void hours(Fields& f) {
  f.ref("car", kAlways);
  f.ref("job", kIfSaid);
  f.whole("minutes", kAlways, 0, most::kMinutes);
  f.typed("typed", kAlways);
  jumps_of_reading(f, service::Counts::hours, true);
}

}  // namespace baybook::book
