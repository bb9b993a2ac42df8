#include "due/schedule_read.hpp"

#include "due/build.hpp"

#include <baybook/places.hpp>
#include <baybook/text.hpp>
#include <baybook/toml.hpp>

#include <algorithm>
#include <array>
#include <span>

// Header-only as in returns/rules_read.cpp: Debian has this library as a shared object only.
#define TOML_HEADER_ONLY 1
#define TOML_EXCEPTIONS 0
#define TOML_ENABLE_FORMATTERS 0
// Values in values: no file here has more than three, and they are taken down by recursion.
#define TOML_MAX_NESTED_VALUES 16
#include <toml++/toml.h>

namespace baybook::due {

namespace {

constexpr std::array<std::string_view, 3> kTop = {"name", "reuse-days", "interval"};
constexpr std::array<std::string_view, 15> kKeys = {"task", "car", "make", "model", "engine", "from-year", "until-year", "specification", "circuit", "part", "months", "distance", "hours", "filtered-percent", "source"};

class Reader {
 public:
  Reader(std::string file, const Units& units, const std::function<Result<CarId>(std::string_view)>& find_car) : file_(std::move(file)), units_(units), find_car_(find_car) {}

  Result<Schedule> read(const toml::table& top) {
    Schedule out;
    if (!known(top, kTop)) return *refusal_;
    if (top.get("name") == nullptr) fail(top.source().begin, "the file has no name", "name = \"tern-service\", by which a later file takes this one's place");
    if (refusal_ || !words(top, "name", out.name) || !whole(top, "reuse-days", out.reuse_days, 3650)) return *refusal_;
    if (auto clean = clean_code(out.name, "name"); !clean.ok()) {
      fail(top.get("name")->source().begin, clean.refusal().what, clean.refusal().instead);
      return *refusal_;
    }
    const toml::node* list = top.get("interval");
    const toml::array* intervals = list != nullptr ? list->as_array() : nullptr;
    if (intervals == nullptr) {
      fail(list != nullptr ? list->source().begin : top.source().begin, "the file has no [[interval]]", "[[interval]] with task, its cars, its limits and its source");
      return *refusal_;
    }
    for (const toml::node& one : *intervals) {
      const toml::table* table = one.as_table();
      if (table == nullptr) {
        fail(one.source().begin, "interval is a list of tables", "[[interval]]");
        return *refusal_;
      }
      Interval i;
      if (!interval(*table, i)) return *refusal_;
      out.intervals.push_back(std::move(i));
    }
    return out;
  }

  Refusal at(toml::source_position where, const std::string& text, const std::string& instead) const {
    return Refusal{Code::unclear, file_ + ":" + std::to_string(where.line) + ":" + std::to_string(where.column) + ": " + visible(text), "the form of schedule files is told in docs/what-is-due.md", visible(instead), {}};
  }

 private:
  bool fail(toml::source_position where, const std::string& text, const std::string& instead) {
    refusal_ = at(where, text, instead);
    return false;
  }

  /// The first unknown key as the eye meets it: the table keeps its keys in the order of their names.
  bool known(const toml::table& table, std::span<const std::string_view> keys) {
    const toml::key* first = nullptr;
    for (const auto& [key, node] : table) {
      if (std::find(keys.begin(), keys.end(), key.str()) != keys.end()) continue;
      if (first == nullptr || key.source().begin < first->source().begin) first = &key;
    }
    if (first == nullptr) return true;
    std::string all;
    for (const std::string_view k : keys) all += (all.empty() ? "" : ", ") + std::string(k);
    const auto near = near_names(first->str(), std::vector<std::string>(keys.begin(), keys.end()));
    return fail(first->source().begin, "there is no key named " + visible(first->str().substr(0, 60)) + " here", near.empty() ? "one of: " + all : near.front());
  }

  bool words(const toml::table& table, const char* key, std::string& into) {
    const toml::node* node = table.get(key);
    if (node == nullptr) return true;
    const auto text = node->value_exact<std::string>();
    if (!text || text->empty()) return fail(node->source().begin, std::string(key) + " is a text in quotes", std::string(key) + " = \"...\"");
    auto clean = clean_text(*text, key, log::most::kInterval);
    if (!clean.ok()) return fail(node->source().begin, clean.refusal().what, clean.refusal().instead);
    into = std::move(*clean);
    return true;
  }

  bool whole(const toml::table& table, const char* key, int& into, std::int64_t most) {
    const toml::node* node = table.get(key);
    if (node == nullptr) return true;
    const auto n = node->value_exact<std::int64_t>();
    if (!n || *n < 1 || *n > most) return fail(node->source().begin, std::string(key) + " is a whole number, 1 to " + std::to_string(most), std::string(key) + " = 12");
    into = static_cast<int>(*n);
    return true;
  }

  bool parts(const toml::table& table, std::vector<std::string>& into) {
    const toml::node* node = table.get("part");
    if (node == nullptr) return true;
    const auto take = [&](const toml::node& one) {
      const auto text = one.value_exact<std::string>();
      if (!text || text->empty()) return fail(one.source().begin, "part is a number, or a list of numbers, in quotes", "part = [\"TB-4410\", \"TB-4411\"]");
      into.push_back(*text);
      return true;
    };
    if (const toml::array* list = node->as_array()) {
      if (list->empty()) return fail(node->source().begin, "part is an empty list", "part = [\"TB-4410\"]");
      return std::all_of(list->begin(), list->end(), take);
    }
    return take(*node);
  }

  bool interval(const toml::table& table, Interval& i) {
    if (!known(table, kKeys)) return false;
    const auto where = table.source().begin;
    i.at = at(where, "", "").what;
    if (table.get("task") == nullptr) return fail(where, "an interval has no task", "task = \"engine-oil\"");
    std::string car;
    std::string distance;
    if (!words(table, "task", i.task) || !words(table, "car", car) ||
        !words(table, "make", i.make) || !words(table, "model", i.model) ||
        !words(table, "engine", i.engine) || !words(table, "specification", i.specification) ||
        !words(table, "circuit", i.circuit) || !words(table, "source", i.source) ||
        !words(table, "distance", distance) || !parts(table, i.parts) ||
        !whole(table, "from-year", i.from_year, log::most::kLastYear) ||
        !whole(table, "until-year", i.until_year, log::most::kLastYear) ||
        !whole(table, "months", i.months, log::most::kMonths) ||
        !whole(table, "hours", i.hours, log::most::kHours) ||
        !whole(table, "filtered-percent", i.filtered_percent, 100)) {
      return false;
    }
    const auto at_key = [&](const char* key) { return table.get(key)->source().begin; };
    if (auto clean = clean_code(i.task, "task"); !clean.ok()) return fail(at_key("task"), clean.refusal().what, "task = \"" + clean.refusal().instead + "\"");
    if (!i.circuit.empty() && find_circuit(std::string_view(i.circuit)) == nullptr) {
      std::vector<std::string> names;
      for (const Circuit& c : circuits()) names.emplace_back(c.name);
      const auto near = near_names(i.circuit, names);
      return fail(at_key("circuit"), "no car has a circuit named " + i.circuit, "circuit = \"" + (near.empty() ? std::string("engine-oil") : near.front()) + "\"");
    }
    if (!i.make.empty() && i.model.empty()) return fail(at_key("make"), i.task + " names a make without a model", "model = \"...\" beside it");
    if (i.make.empty() && !i.model.empty()) return fail(at_key("model"), i.task + " names a model without its make", "make = \"...\" beside it");
    if (i.from_year != 0 && i.until_year != 0 && i.until_year < i.from_year) return fail(at_key("until-year"), i.task + " is for the years " + std::to_string(i.from_year) + " to " + std::to_string(i.until_year), "the years in order");
    if (!i.specification.empty() && !i.make.empty()) return fail(at_key("specification"), i.task + " is for more than one sort of cars", "a make and model, a specification or a car: one of the three");
    if (!car.empty() && (!i.make.empty() || !i.specification.empty())) return fail(at_key("car"), i.task + " is for more than one sort of cars", "a make and model, a specification or a car: one of the three");
    if (i.source.empty()) return fail(where, i.task + " has no source", "source = \"workshop booklet, page 12\"");
    if (!car.empty()) {
      auto found = find_car_(car);
      if (!found.ok()) return fail(table.get("car")->source().begin, found.refusal().what, found.refusal().instead);
      i.car = *found;
    }
    if (!distance.empty()) {
      auto d = parse_distance(distance, units_);
      if (!d.ok()) return fail(table.get("distance")->source().begin, d.refusal().what, d.refusal().instead);
      if (d->metres == 0) return fail(table.get("distance")->source().begin, i.task + " every " + distance + " is an interval of nothing", "distance = \"15000 km\"");
      i.distance = std::move(*d);
    }
    if (i.months == 0 && i.hours == 0 && !i.distance) return fail(where, i.task + " has an interval of nothing", "months = 12, distance = \"15000 km\" or hours = 250");
    if (i.car.n == 0 && i.make.empty() && i.model.empty() && i.specification.empty()) return fail(where, i.task + " is for no car", "make and model, specification, or car");
    return true;
  }

  std::string file_;
  const Units& units_;
  const std::function<Result<CarId>(std::string_view)>& find_car_;
  std::optional<Refusal> refusal_;
};

}  // namespace

Result<Schedule> read_schedule(std::string_view text, std::string_view file, const Units& units, const std::function<Result<CarId>(std::string_view)>& find_car) {
  Reader reader(visible(file), units, find_car);
  constexpr std::size_t most = 512 * 1024;
  if (text.size() > most) return Refusal{Code::not_allowed, visible(file) + " has " + std::to_string(text.size()) + " bytes", "a schedule file has at most " + std::to_string(most), "several files, each with a name of its own", {}};
  constexpr std::string_view form = "the form of TOML: key = 12, key = \"text\", [[interval]]";
  if (const auto unfit = unfit_toml(text)) return reader.at({static_cast<toml::source_index>(unfit->line), static_cast<toml::source_index>(unfit->column)}, unfit->what, std::string(form));
  const toml::parse_result parsed = toml::parse(text);
  if (!parsed) return reader.at(parsed.error().source().begin, visible(parsed.error().description()), std::string(form));
  return reader.read(parsed.table());
}

}  // namespace baybook::due
