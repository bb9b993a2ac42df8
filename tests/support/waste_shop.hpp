// A shop with waste containers that goes by one rule set, for what the rules make of its waste.
#pragma once

#include "support/test_book.hpp"

#include <baybook/returns.hpp>

#include <algorithm>
#include <string>
#include <vector>

namespace baybook::test {

inline constexpr std::int64_t kKg = 1'000'000'000;  ///< micrograms

struct WasteShop {
  TestBook b{"bay", 5, "2026-01-02T09:00:00.000Z"};

  explicit WasteShop(const std::string& set) {
    ChooseRules rules;
    rules.set = set;
    rules.from = day("2026-01-01");
    b.write(rules);
  }
  void on(const char* date) { b.now = instant((std::string(date) + "T10:00:00.000Z").c_str()); }
  /// A container for one class, or for two, of which the first names its stream.
  PlaceId drum(const std::string& code, const std::string& takes, const std::string& also = {}) {
    NewPlace p;
    p.code = code;
    p.role = Role::waste;
    p.size = litres("5000L");
    p.takes = {takes};
    if (!also.empty()) p.takes.push_back(also);
    p.area = "yard";
    return PlaceId{b.write(p).entry.id.n};
  }
  static FluidId class_of(const std::string& name) { return FluidId{find_class(name)->number}; }
  /// Waste of the shop itself straight into a container.
  Receipt put(PlaceId into, const std::string& of, const std::string& amount, const std::string& mixing = {}) {
    Movement m = TestBook::move(MoveVerb::discard, kSupplier, into, amount, {}, class_of(of));
    m.mixing_reason = mixing;
    return b.write(m);
  }
  Receipt pour(PlaceId from, PlaceId into, const std::string& amount, const std::string& mixing = {}) {
    Movement m = TestBook::move(MoveVerb::decant, from, into, amount);
    m.mixing_reason = mixing;
    return b.write(m);
  }
  static Determination says(const std::string& stream, bool hazardous, PlaceId place = {}) {
    Determination d;
    d.stream = stream;
    d.hazardous = hazardous;
    d.place = place;
    d.reason = "sheet 4471";
    return d;
  }
  Judgement judged(const char* month) {
    const auto j = judge(b.book(), month_of(day(std::string(month) + "-01")));
    REQUIRE_MESSAGE(j.ok(), why(j));
    return *j;
  }
  Limits limits_on(const char* date) {
    const auto l = limits(b.book(), day(date));
    REQUIRE_MESSAGE(l.ok(), why(l));
    return *l;
  }
  LabelFacts label_of(PlaceId place, const char* date) {
    const auto l = label(b.book(), place, day(date));
    REQUIRE_MESSAGE(l.ok(), why(l));
    return *l;
  }
  bool sound() {
    const auto proof = prove(b.book());
    REQUIRE(proof.ok());
    for (const Finding& f : proof->findings) MESSAGE(f.what);
    return proof->findings.empty() && proof->tables_compared;
  }
  std::vector<RegisterRow> register_rows(const char* from, const char* until) {
    const auto rows = waste_register(b.book(), day(from), day(until));
    REQUIRE_MESSAGE(rows.ok(), why(rows));
    return *rows;
  }
};

[[nodiscard]] inline bool carries(const std::vector<std::string>& words, const std::string& word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}
[[nodiscard]] inline const LimitLine* clock_of(const Limits& l, const std::string& container) {
  for (const LimitLine& x : l.lines) {
    if (x.group == "clock" && x.what.starts_with(container)) return &x;
  }
  return nullptr;
}

}  // namespace baybook::test
