#include "config.hpp"
#include "property.hpp"
#include "targets.hpp"

namespace baybook::fuzz {

void settings(std::string_view text) {
  const auto read = tool::parse_config(text, "config.toml");
  if (!read) {
    told_with_instead(read.refusal(), {});
    hold(read.refusal().what.starts_with("config.toml:"), "a fault of the file is told with its place: " + read.refusal().what);
    return;
  }
  hold(read->color.empty() || read->color == "auto" || read->color == "always" || read->color == "never", "color is one of its words");
}

}  // namespace baybook::fuzz
