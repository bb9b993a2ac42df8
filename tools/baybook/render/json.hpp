// JSON as it goes out: one document, keys in the order they are written, exact amounts as text.
#pragma once

#include <baybook/calendar.hpp>
#include <baybook/quantity.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool {

class Json {
 public:
  Json& key(std::string_view name);
  Json& begin_object() { return open('{'); }
  Json& end_object() { return close('}'); }
  Json& begin_array() { return open('['); }
  Json& end_array() { return close(']'); }
  Json& string(std::string_view text);
  Json& number(std::int64_t n);
  Json& boolean(bool b);
  Json& null();

  Json& member(std::string_view name, std::string_view text) { return key(name).string(text); }
  Json& strings(std::string_view name, const std::vector<std::string>& list);
  /// {"nl":"5200000000"}: base units as text, exact in every reader.
  Json& exact(std::int64_t n, Dimension d);
  /// The same, with {"low":...,"best":...,"high":...} in it when the bounds differ.
  Json& bounded(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d);
  Json& amount(const Amount& a);

  Json& day(std::string_view name, const std::optional<Day>& day);
  /// "name":[{...},...]: `put` writes the members of one.
  template <class List, class Put>
  Json& objects(std::string_view name, const List& list, Put put) {
    key(name).begin_array();
    for (const auto& x : list) {
      begin_object();
      put(x);
      end_object();
    }
    return end_array();
  }

  [[nodiscard]] const std::string& text() const { return out_; }

 private:
  Json& open(char c);
  Json& close(char c);
  void separate();
  std::string out_;
  bool first_ = true;
};

}  // namespace baybook::tool
