#include "options.hpp"

#include "verbs.hpp"

#include <baybook/text.hpp>

#include <CLI/CLI.hpp>

#include <algorithm>

namespace baybook::tool {

namespace {

// Every operand and value goes to the parser behind this byte, so that nothing a person types (`-3d`, `[a]`, an empty text) can be
// taken for something else. It is taken off again afterwards.
constexpr char kMark = '\x01';

bool is_number_like(std::string_view arg) {
  return arg.size() >= 2 && arg[0] == '-' && ((arg[1] >= '0' && arg[1] <= '9') || arg[1] == '.' || arg[1] == ',');
}

bool is_option_like(std::string_view arg) { return arg.size() >= 2 && arg[0] == '-' && !is_number_like(arg); }

const Option* find_option(const Verb& verb, std::string_view name) {
  const Option* found = nullptr;
  for_each_option(verb, [&](const Option& o) {
    if (o.name == name) found = &o;
  });
  return found;
}

const Option* find_letter(const Verb& verb, char letter) {
  const Option* found = nullptr;
  for_each_option(verb, [&](const Option& o) {
    if (o.letter == letter) found = &o;
  });
  return found;
}

Refusal usage(std::string what, std::string why, std::string instead) { return Refusal{Code::wrong_usage, std::move(what), std::move(why), std::move(instead), {}}; }

Refusal no_option(const Verb& verb, std::string_view typed) {
  std::vector<std::string> names;
  for_each_option(verb, [&](const Option& o) { names.emplace_back(o.name); });
  std::string near;
  const std::string_view bare = typed.substr(std::min(typed.find_first_not_of('-'), typed.size()));
  for (const std::string& n : near_names(bare, names)) near += (near.empty() ? "--" : ", --") + n;
  return usage(std::string(verb.name) + " has no option " + visible(typed), near.empty() ? "options are never shortened" : "near it: " + near,
               "baybook help " + std::string(verb.name));
}

}  // namespace

bool Typed::has(std::string_view name) const { return get(name) != nullptr; }

const std::string* Typed::get(std::string_view name) const {
  for (const auto& [n, value] : options) {
    if (n == name) return &value;
  }
  return nullptr;
}

std::vector<std::string> Typed::all(std::string_view name) const {
  std::vector<std::string> out;
  for (const auto& [n, value] : options) {
    if (n == name) out.push_back(value);
  }
  return out;
}

std::string Typed::text(std::string_view name) const {
  const std::string* value = get(name);
  return value ? *value : std::string();
}

bool asks_for(const std::vector<std::string>& args, std::string_view name, char letter) {
  for (const std::string& a : args) {
    if (a == "--") return false;
    if (a.size() == name.size() + 2 && a.starts_with("--") && a.ends_with(name)) return true;
    if (letter != 0 && a.size() == 2 && a[0] == '-' && a[1] == letter) return true;
  }
  return false;
}

namespace {

// Whether the next word is the value of this one: of an option that verbs have in common, typed
// without a =. Of one that a verb has by itself nobody knows before the verb is known.
bool common_with_value(std::string_view arg) {
  for (const Does does : {Does::write, Does::read, Does::neither}) {
    for (const Option& o : common_options(does)) {
      if (o.value.empty() || o.optional_value) continue;
      if (arg.starts_with("--") && arg.substr(2) == o.name) return true;
      if (o.letter != 0 && arg.size() == 2 && arg[0] == '-' && arg[1] == o.letter) return true;
    }
  }
  return false;
}

}  // namespace

Found find_verb(const std::vector<std::string>& args) {
  Found out;
  out.rest = args;
  // The first operand is the verb; where it leads a family (job, car, place, ...) the next one belongs to it. Before the verb only
  // options that every verb has can be told from their values.
  std::string first;
  for (std::size_t i = 0; i < out.rest.size();) {
    const std::string& a = out.rest[i];
    if (a == "--") break;
    if (is_option_like(a)) {
      i += common_with_value(a) ? 2U : 1U;
      continue;
    }
    const std::string word = a;
    out.rest.erase(out.rest.begin() + static_cast<std::ptrdiff_t>(i));
    if (first.empty()) {
      first = word;
      out.word = word;
      if (is_family(first)) {
        // A verb that leads a family of its own (pickup, pickup confirm): the next word belongs to it only when it makes a verb with it.
        const Verb* alone = find(first);
        if (alone == nullptr) continue;
        const bool follows = i < out.rest.size() && find(first + " " + out.rest[i]) != nullptr;
        if (follows) continue;
        out.verb = alone;
        break;
      }
      out.verb = find(word);
      break;
    }
    out.word = first + " " + word;
    out.verb = find(out.word);
    break;
  }
  return out;
}

Result<Typed> parse(const Verb& verb, const std::vector<std::string>& args) {
  std::vector<std::string> given;
  bool only_operands = false;
  for (std::size_t i = 0; i < args.size(); ++i) {
    const std::string& a = args[i];
    // The remark of a hint that was pasted into a shell which hands it on.
    if (!only_operands && a == "#" && i + 1 < args.size()) break;
    if (only_operands || !is_option_like(a)) {
      given.push_back(kMark + a);
      continue;
    }
    if (a == "--") {
      only_operands = true;
      continue;
    }
    const std::size_t equals = a.find('=');
    const bool is_long = a.starts_with("--");
    const std::string name = is_long ? a.substr(2, equals == std::string::npos ? equals : equals - 2) : std::string();
    const Option* o = is_long ? find_option(verb, name) : a.size() == 2 ? find_letter(verb, a[1]) : nullptr;
    if (o == nullptr) return no_option(verb, a.substr(0, is_long ? equals : std::string::npos));
    given.push_back("--" + std::string(o->name));
    const bool has_value = is_long && equals != std::string::npos;
    if (o->optional_value) {
      given.push_back(kMark + (has_value ? a.substr(equals + 1) : std::string("1")));
    } else if (o->value.empty()) {
      if (has_value) return usage("--" + name + " takes no value", "", "--" + name);
    } else if (has_value) {
      given.push_back(kMark + a.substr(equals + 1));
    } else {
      const std::string shown = "--" + std::string(o->name) + " " + std::string(o->value);
      if (i + 1 >= args.size()) return usage("--" + std::string(o->name) + " needs a value", std::string(o->help), shown);
      if (is_option_like(args[i + 1])) {
        return usage("--" + std::string(o->name) + " needs a value, and " + visible(args[i + 1]) + " is an option",
                     "a value that begins with - is joined with =", "--" + std::string(o->name) + "=" + visible(args[i + 1]) + ", or " + shown);
      }
      given.push_back(kMark + args[++i]);
    }
  }

  Typed out;
  try {
    CLI::App app;
    app.set_help_flag();
    std::vector<std::pair<CLI::Option*, const Option*>> made;
    for_each_option(verb, [&](const Option& o) {
      const std::string flag = "--" + std::string(o.name);
      CLI::Option* made_option = o.value.empty() ? app.add_flag(flag) : app.add_option(flag);
      made_option->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
      made.emplace_back(made_option, &o);
    });
    app.add_option("operand", out.operands);
    std::reverse(given.begin(), given.end());
    app.parse(given);
    std::vector<std::size_t> taken(made.size(), 0);
    for (const CLI::Option* o : app.parse_order()) {
      for (std::size_t i = 0; i < made.size(); ++i) {
        if (made[i].first != o) continue;
        const Option& spec = *made[i].second;
        const std::string value = spec.value.empty() ? "" : o->results().at(taken[i]).substr(1);
        if (++taken[i] > 1 && !spec.many && !spec.value.empty()) {
          return usage("--" + std::string(spec.name) + " is given twice", "", "--" + std::string(spec.name) + " once");
        }
        if (value.empty() && (spec.value == "FILE" || spec.value == "FOLDER")) {
          return usage("--" + std::string(spec.name) + " needs the name of a " +
                           (spec.value == "FILE" ? "file" : "folder"),
                       std::string(spec.help),
                       "--" + std::string(spec.name) + " " + std::string(spec.value));
        }
        if (value == "..." || value == "\u2026") {
          return usage("--" + std::string(spec.name) + " " + value + " says nothing",
                       "the dots of a hint stand for your own words",
                       "--" + std::string(spec.name) + " " + std::string(spec.value));
        }
        out.options.emplace_back(spec.name, value);
      }
    }
  } catch (const CLI::ParseError& e) {
    return usage(std::string(verb.name) + ": " + e.what(), "", "baybook help " + std::string(verb.name));
  }
  for (std::string& o : out.operands) o.erase(0, 1);
  for (std::size_t i = 0; i < out.operands.size() && i < verb.operands.size(); ++i) {
    const Operand& o = verb.operands[i];
    if (out.operands[i].empty() && o.name == "FILE")
      return usage(std::string(verb.name) + " needs the name of a file: " + std::string(o.help),
                   usage_line(verb), to_type(verb));
  }

  std::size_t least = 0;
  std::size_t most = 0;
  for (const Operand& o : verb.operands) {
    if (o.rest) most = out.operands.size();
    else ++most;
    if (!o.optional) ++least;
  }
  if (out.operands.size() < least) {
    const Operand& missing = verb.operands[out.operands.size()];
    return usage(std::string(verb.name) + " needs " + std::string(missing.name) + ": " +
                     std::string(missing.help),
                 usage_line(verb), to_type(verb));
  }
  if (out.operands.size() > most) {
    return usage("\"" + visible(out.operands[most]) + "\" is one word too many",
                 "a text with blanks stands in quotes; " + usage_line(verb), to_type(verb));
  }
  return out;
}

}  // namespace baybook::tool
