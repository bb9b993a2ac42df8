#include "config.hpp"

#include "given_file.hpp"

#include <baybook/text.hpp>
#include <baybook/toml.hpp>

#include <cerrno>
#include <cstdlib>
#include <sys/stat.h>
#include <vector>

// Debian has this library as a shared object only, and the command is linked statically: this one file compiles it.
#define TOML_HEADER_ONLY 1
#define TOML_EXCEPTIONS 0
#define TOML_ENABLE_FORMATTERS 0
// Values in values: no file here has more than three, and they are taken down by recursion.
#define TOML_MAX_NESTED_VALUES 16
#include <toml++/toml.h>

namespace baybook::tool {

namespace {

constexpr const char* kExample = "book = \"/home/me/marsh.baybook\"";
constexpr std::size_t kMostSettings = 64 * 1024;

Refusal at(const std::string& path, const toml::source_position& where, const std::string& text, const std::string& instead) {
  return Refusal{Code::wrong_usage, path + ":" + std::to_string(where.line) + ":" + std::to_string(where.column) + ": " + visible(text), "the settings are those of docs/command-line.md", visible(instead), {}};
}

}  // namespace

std::string config_path() {
  const char* xdg = std::getenv("XDG_CONFIG_HOME");
  if (xdg != nullptr && *xdg == '/') return std::string(xdg) + "/baybook/config.toml";
  const char* home = std::getenv("HOME");
  return home != nullptr && *home == '/' ? std::string(home) + "/.config/baybook/config.toml" : std::string();
}

Result<Config> parse_config(std::string_view text, const std::string& path) {
  Config out;
  if (text.size() > kMostSettings) return Refusal{Code::wrong_usage, path + ": has " + std::to_string(text.size()) + " bytes or more", "the settings take at most " + std::to_string(kMostSettings), kExample, {}};
  if (const auto unfit = unfit_toml(text)) return at(path, {static_cast<toml::source_index>(unfit->line), static_cast<toml::source_index>(unfit->column)}, unfit->what, kExample);
  const toml::parse_result read = toml::parse(text, path);
  if (!read) return at(path, read.error().source().begin, visible(read.error().description()), kExample);
  const std::vector<std::pair<std::string_view, std::string*>> known = {{"book", &out.book}, {"by", &out.by}, {"color", &out.color}, {"pager", &out.pager}};
  for (const auto& [key, node] : read.table()) {
    std::string* into = nullptr;
    std::vector<std::string> names;
    for (const auto& [name, value] : known) {
      names.emplace_back(name);
      if (key.str() == name) into = value;
    }
    if (into == nullptr) {
      const std::vector<std::string> near = near_names(key.str(), names);
      return at(path, key.source().begin, "there is no setting named " + visible(key.str().substr(0, 60)), near.empty() ? kExample : near.front() + " = \"...\"");
    }
    const auto value = node.value_exact<std::string>();
    if (!value) return at(path, node.source().begin, std::string(key.str()) + " is a text in quotes", std::string(key.str()) + " = \"...\"");
    *into = *value;
  }
  if (const auto* book = read.table().get("book"); book != nullptr && out.book.empty()) {
    return at(path, book->source().begin, "book names no file", kExample);
  }
  if (!out.color.empty() && out.color != "auto" && out.color != "always" && out.color != "never") {
    return at(path, read.table().find("color")->second.source().begin, "color is auto, always or never", "color = \"auto\"");
  }
  return out;
}

Result<Config> read_config(const std::string& path) {
  if (path.empty()) return Config{};
  struct stat st {};
  if (::stat(path.c_str(), &st) != 0 && (errno == ENOENT || errno == ENOTDIR)) return Config{};
  auto file = GivenFile::open(path, "");
  if (!file.ok()) {
    return Refusal{Code::unreadable,
                   visible(path) + ": the settings cannot be read",
                   file.refusal().why,
                   "a file that you may read, or none",
                   {}};
  }
  std::string text;
  for (;;) {
    auto piece = file->next();
    if (!piece.ok()) return std::move(piece).refusal();
    text += *piece;
    if (piece->empty() || text.size() > kMostSettings) break;
  }
  return parse_config(text, path);
}

}  // namespace baybook::tool
