#include "book/unfit_kinds.hpp"

#include "log/most.hpp"
#include "log/private_fields.hpp"
#include "quantity/most.hpp"
#include "service/build.hpp"

#include <baybook/vin.hpp>

#include <algorithm>

namespace baybook::book {

using log::Value;
namespace most = log::most;

namespace {

constexpr auto kAlways = Need::always;
constexpr auto kIfSaid = Need::if_said;

void circuits_of_car(Fields& f) {
  std::vector<std::string_view> names;
  f.objects("circuits", kIfSaid, circuits().size(), [&](Fields& c) {
    c.amount("capacity", kIfSaid, {});
    c.text("specification", kIfSaid, most::kText);
    const Value* name = c.any("circuit", kAlways);
    if (name == nullptr) return;
    if (!name->is_string() || find_circuit(std::string_view(name->as_string())) == nullptr)
      return c.wrong("circuit", "is " + shown(*name) + ", which no car has", word_sort(*name));
    if (std::find(names.begin(), names.end(), name->as_string()) != names.end())
      c.wrong("circuit", "is " + shown(*name) + " for the second time");
    names.emplace_back(name->as_string());
  });
}

}  // namespace

void jumps_of_reading(Fields& f, service::Counts counts, bool said) {
  const bool replaced = f.yes("reset");
  const bool rolled_over =
      counts == service::Counts::hours
          ? f.word("rolled-over", kIfSaid, {service::kInHours}).has_value()
          : f.word("rolled-over", kIfSaid, {service::kInKilometres, service::kInMiles}).has_value();
  if (replaced && !said) f.wrong("reset", "is said without a reading");
  if (rolled_over && !said) f.wrong("rolled-over", "is said without a reading");
  if (replaced && rolled_over)
    f.wrong("rolled-over", "is said of an instrument that is another one");
}

namespace {

void reading_of(Fields& f, Need need) {
  const bool said = f.any("odometer-m", Need::if_said) != nullptr;
  f.distance("odometer-m", "odometer-typed", need);
  jumps_of_reading(f, service::Counts::distance, said);
}

// A part's number has something in it to be found by.
void part(Fields& f) {
  const auto number = f.text("part", kAlways, most::kPart);
  if (number && !service::clean_part(std::string(*number)).ok())
    f.wrong("part", "is " + shown(Value(*number)) + ", without a letter or digit");
}

}  // namespace

void car(Fields& f) {
  f.text("make", kIfSaid, most::kText);
  f.text("model", kIfSaid, most::kText);
  f.text("engine", kIfSaid, most::kText);
  f.whole("year", kIfSaid, most::kFirstYear, service::last_model_year(f.reading().happened()));
  circuits_of_car(f);
}

void car_change(Fields& f) {
  f.ref("car", kAlways);
  circuits_of_car(f);
  const bool scrapped = f.yes("scrapped");
  const bool said = scrapped || f.any("circuits", kIfSaid) != nullptr ||
                    f.reading().of_correction || f.reading().privates != nullptr;
  if (!said) f.wrong("changes nothing");
}

void job(Fields& f) {
  f.ref("car", kAlways);
  // As many jobs as an installation can have entries: a copy that goes on counts on.
  f.whole("number", kAlways, 1, (std::int64_t{1} << 40) - 1);
  reading_of(f, kIfSaid);
}

namespace {

// Of which circuits a closing says that they were low when the car came.
void low_circuits(Fields& f) {
  std::vector<std::string_view> names;
  f.items("was-low", kIfSaid, circuits().size(), [&](const Value& item, const Path& path) {
    if (!item.is_string() || find_circuit(std::string_view(item.as_string())) == nullptr)
      return f.reading().add(path, "is " + shown(item) + ", which no car has", word_sort(item));
    if (std::find(names.begin(), names.end(), item.as_string()) != names.end())
      return f.reading().add(path, "is " + shown(item) + " for the second time");
    names.emplace_back(item.as_string());
  });
}

}  // namespace

void job_close(Fields& f) {
  f.ref("job", kAlways);
  std::size_t rechecks = 0;
  f.objects("rechecks", kIfSaid, most::kRechecks, [&](Fields& r) {
    ++rechecks;
    r.whole("after-days", kIfSaid, 1, most::kRecheckDays);
    r.distance("after-m", "after-typed", kIfSaid);
  });
  for (std::size_t n = 1; n <= rechecks; ++n) {
    if (!f.reading().has_private("recheck-" + std::to_string(n)))
      f.wrong("rechecks", "has no text that says what the " + std::to_string(n) + ". is about");
  }
  if (f.yes("as-is") && !f.reading().has_private("as-is"))
    f.wrong("as-is", "is true, and no text says why");
  low_circuits(f);
  f.objects("lines", kIfSaid, most::kLines, [](Fields& line) {
    line.amount("amount", kAlways, {.computed = true});
    line.place("from", kAlways);
    line.place("to", kAlways);
    const Value* from = line.any("from", kIfSaid);
    const Value* to = line.any("to", kIfSaid);
    if (from != nullptr && !from->is_object())
      line.wrong("from", "is no circuit: what is booked at closing left the car");
    // An older program booked on the ground what was missing.
    if (to != nullptr && *to != Value("missing") && *to != Value("ground"))
      line.wrong("to",
                 "is neither missing nor the ground: what is booked at closing is nowhere else");
  });
}

void odometer(Fields& f) {
  f.ref("car", kAlways);
  f.ref("job", kIfSaid);
  reading_of(f, kAlways);
}

void code(Fields& f) {
  f.ref("job", kAlways);
  const Value* fault = f.any("code", kAlways);
  if (fault != nullptr) {
    const auto read =
        fault->is_string() ? read_fault_code(fault->as_string()) : Result<FaultCode>(Refusal{});
    if (!read.ok() || read->text != fault->as_string())
      f.wrong("code", "is " + shown(*fault) + ", which is no fault code (SAE J2012 / ISO 15031-6)",
              fault->is_string() ? Unfit::Sort::value : Unfit::Sort::form);
  }
  f.word("what", kAlways, {"read", "cleared", "returned"});
}

namespace {

// The parts that came off, each once.
void takes_out(Fields& f) {
  std::vector<Value> named;
  f.objects("takes-out", kIfSaid, most::kTakenOut, [&](Fields& item) {
    item.amount("amount", kIfSaid, {});
    if (!item.ref("fit", kAlways)) return;
    const Value& fit = *item.any("fit", kAlways);
    if (std::find(named.begin(), named.end(), fit) != named.end())
      item.wrong("fit", "is " + shown(fit) + " for the second time");
    named.push_back(fit);
  });
}

}  // namespace

void work(Fields& f) {
  f.ref("job", kAlways);
  f.code("kind", kIfSaid);
  takes_out(f);
}

void fit(Fields& f) {
  f.ref("job", kAlways);
  part(f);
  f.text("lot", kIfSaid, most::kPart);
  f.amount("quantity", kAlways, {});
  f.whole("warranty-months", kIfSaid, 1, most::kMonths);
  f.whole("warranty-m", kIfSaid, 0, quantity::kMostMetres);
  takes_out(f);
  const auto old = f.word("old", kIfSaid, {"none", "core", "customer", "waste"});
  const bool waste = old && *old == "waste";
  if (!waste && f.any("lines", kIfSaid) != nullptr)
    f.wrong("lines", "is said of an old part that did not go to waste");
  // One line: the old part, from the car into a place for waste.
  f.objects("lines", waste ? kAlways : kIfSaid, 1, [](Fields& line) {
    line.amount("amount", kAlways, {});
    line.fluid_class("fluid", kAlways);
    line.place("from", kAlways);
    const Value* from = line.any("from", kIfSaid);
    if (from != nullptr && *from != Value("before"))
      line.wrong("from", "is not \"before\": an old part was in the car");
    line.ref("to", kAlways);
  });
}

void torque(Fields& f) {
  f.ref("job", kAlways);
  f.whole("torque-mnm", kAlways, 1, quantity::kMostMillinewtonMetres);
  f.typed("torque-typed", kAlways);
}

}  // namespace baybook::book
