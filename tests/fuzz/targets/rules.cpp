#include "property.hpp"
#include "targets.hpp"

#include <baybook/places.hpp>
#include <baybook/rules.hpp>

namespace baybook::fuzz {

void rules(std::string_view bytes) {
  Input in(bytes);
  const auto names = rule_set_names();
  const std::string_view set = names[in.choice(names.size())];
  const std::string_view text = in.rest();
  const auto read = read_rules(set, text, "shop.toml");
  if (!read) {
    told_with_instead(read.refusal(), {});
    hold(read.refusal().what.starts_with("shop.toml:"), "a fault of the file is told with its place: " + read.refusal().what);
    return;
  }
  hold(read->name == set && read->digest.size() == 64, "a shop's file stands on a set");
  for (const RuleValue& v : read->values) {
    hold(!meaning_of(v.key).empty() && !v.source.section.empty(), "every value has a meaning and a section");
    hold(v.n >= 0, "no value is below nothing");
    hold(!v.source.from || !v.source.until || *v.source.from <= *v.source.until, "no value ends before it begins");
  }
  for (const Stream& s : read->streams) {
    for (const std::string& c : s.classes) hold(find_class(c) != nullptr, "a stream is of known classes");
    hold(!s.density || (s.density->ppm_kg_per_l >= 400'000 && s.density->ppm_kg_per_l <= 20'000'000), "a stream has a possible density");
  }
  for (const Reportable& r : read->reportable) hold(r.quantity.n > 0, "a reportable quantity is more than nothing");
  const Day day{20'517};  // 2026-03-05
  for (const RuleValue& v : read->values) {
    const RuleValue* at = read->value(v.key, day);
    hold(at == nullptr || at->key == v.key, "a value is found under its key");
  }
}

}  // namespace baybook::fuzz
