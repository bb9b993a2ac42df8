#include "log/built.hpp"

#include "log/private_fields.hpp"

#include <baybook/text.hpp>

namespace baybook::log {

Result<Done> keep(Built& out, const char* field, const std::string& text) {
  if (text.empty()) return Done{};
  auto clean = clean_text(text, field, most_private(out.kind, field));
  if (!clean.ok()) return std::move(clean).refusal();
  out.keep_private(field, *clean);
  return Done{};
}

Result<Done> open_text(Value& details, const char* field, const std::string& text, std::size_t most) {
  if (text.empty()) return Done{};
  auto clean = clean_text(text, field, most);
  if (!clean.ok()) return std::move(clean).refusal();
  details[field] = *clean;
  return Done{};
}

std::string entry_name(const Installations& known, EntryId id) {
  const std::string number = std::to_string(id.number());
  return id.origin() == known.own().origin ? number : number + "@" + std::string(known.tag_of(id.origin()));
}

std::string on_its_day(const Desk& desk, EntryId earlier, Day day) {
  if (day <= desk.today) return "--on " + to_string(day);
  return "baybook correct " + entry_name(desk.known, earlier) +
         " --withdraw --with-dependants --why \"the clock was ahead\"  # then it again on its day";
}

}  // namespace baybook::log
