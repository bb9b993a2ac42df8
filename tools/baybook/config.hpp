// The person's own settings: $XDG_CONFIG_HOME/baybook/config.toml. An option on the command line and a variable come before it.
#pragma once

#include <baybook/result.hpp>

#include <string>
#include <string_view>

namespace baybook::tool {

struct Config {
  std::string book, by, color, pager;  ///< empty: not said
};

/// Where the file is looked for; empty when there is no home. A relative XDG_CONFIG_HOME is passed over, as its specification asks.
[[nodiscard]] std::string config_path();
/// What a text says; `path` names it in refusals. Refuses with wrong_usage: `config.toml:line:column: text`.
[[nodiscard]] Result<Config> parse_config(std::string_view text, const std::string& path);
/// What the file says; nothing when there is none. Refuses as parse_config does, and with unreadable.
[[nodiscard]] Result<Config> read_config(const std::string& path);

}  // namespace baybook::tool
