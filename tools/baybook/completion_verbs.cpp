// Completion: three short scripts, and one hidden verb that does the thinking for all shells.
#include "context.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/places.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <functional>
#include <cstdlib>

namespace baybook::tool {

namespace {

constexpr std::string_view kBash = R"sh(# bash completion for baybook: source it, or put it into bash-completion's folder.
_baybook() {
  local IFS=$'\n' word
  COMPREPLY=()
  while IFS= read -r word; do
    if [[ $word == :files ]]; then
      compopt -o default 2>/dev/null
      return
    fi
    COMPREPLY+=("$(printf '%q' "$word")")
  done < <(baybook suggest -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null)
}
complete -F _baybook baybook
)sh";

constexpr std::string_view kZsh = R"sh(#compdef baybook
# zsh completion for baybook: put it into a folder of $fpath as _baybook.
_baybook() {
  local -a found
  found=("${(@f)$(baybook suggest -- "${(@Q)words[2,CURRENT]}" 2>/dev/null)}")
  found=(${found:#})
  if [[ ${found[1]-} == :files ]]; then
    _files
  else
    compadd -- $found
  fi
}
if [[ ${funcstack[1]-} == _baybook ]]; then
  _baybook "$@"
else
  compdef _baybook baybook
fi
)sh";

constexpr std::string_view kFish = R"sh(# fish completion for baybook: put it into ~/.config/fish/completions/baybook.fish.
function __baybook_words
    set -l typed (commandline -opc) (commandline -ct)
    baybook suggest -- $typed[2..-1] 2>/dev/null | string match -v ':files'
end
complete -c baybook -f -a '(__baybook_words)'
complete -c baybook -l book -r -F
)sh";

// What a value or an operand can be, by the name it has in help.
// `car`: what stands in the place of the car before it.
std::vector<std::string> values_of(std::string_view name, std::string_view option, const std::string& car, const std::function<std::vector<std::string>(std::string_view)>& live) {
  std::vector<std::string> out;
  const auto add = [&](std::vector<std::string> more) { out.insert(out.end(), more.begin(), more.end()); };
  if (option == "by" && name == "NAME") return live("people");
  if (option == "role") return {"catch", "reuse", "stock", "waste"};
  if (option == "fate") return {"recycle", "dispose"};
  if (option == "receives-as") return {"collection-centre", "aggregation-point"};
  if (option == "color") return {"auto", "always", "never"};
  if (option == "class" || option == "takes" || option == "old-class") {
    for (const FluidClass& c : fluid_classes()) out.emplace_back(c.name);
    return out;
  }
  if (option == "book" || name == "FILE") return {":files"};
  // "JOB CIRCUIT|PLACE", "CAR|JOB", "CLASS|FLUID": each of them.
  for (std::size_t at = 0; at < name.size();) {
    const std::size_t end = std::min(name.find_first_of("| ", at), name.size());
    const std::string_view one = name.substr(at, end - at);
    at = end + 1;
    if (one == "CAR") add(live("cars"));
    else if (one == "PLACE") add(live("places"));
    else if (one == "FLUID" || one == "new:FLUID") add(live("fluids"));
    else if (one == "CLASS") for (const FluidClass& c : fluid_classes()) out.emplace_back(c.name);
    else if (one == "CIRCUIT") for (const Circuit& c : circuits()) out.emplace_back(c.name);
    else if (one == "ENTRY") out.emplace_back("last");
    else if (one == "DATE") add({"today", "yesterday"});
    else if (one == "MONTH") add({"this-month", "last-month"});
    else if (one == "TASK") add(live("tasks " + car));
    else if (one == "RECHECK") add(live("rechecks"));
    else if (one == "ITEM") {
      add(live("cars"));
      add(live("rechecks"));
    } else if (one == "GROUP") add({"cars", "rechecks", "containers", "papers"});
    else if (one == "SHELL") add({"bash", "zsh", "fish"});
    else if (one == "JOB") {
      add(live("jobs"));
      add(live("cars"));
    } else if (one.find_first_of("ABCDEFGHIJKLMNOPQRSTUVWXYZ") == std::string_view::npos && !one.empty()) {
      out.emplace_back(one);  // the help lists the words themselves: us|imperial
    }
  }
  return out;
}

}  // namespace

int run_completion(Context& c) {
  const std::string& shell = c.operand(0);
  if (shell == "bash") c.out().text(kBash);
  else if (shell == "zsh") c.out().text(kZsh);
  else if (shell == "fish") c.out().text(kFish);
  else refuse(Code::wrong_usage, "there is no completion for " + visible(shell), "there is one for bash, zsh and fish", "baybook completion bash");
  return 0;
}

// Never a word of complaint: a shell asks while somebody is typing.
int run_suggest(Context& c) {
  std::vector<std::string> words;
  for (std::size_t i = 0; i < c.operands(); ++i) words.push_back(c.operand(i));
  const std::string last = words.empty() ? std::string() : words.back();
  if (!words.empty()) words.pop_back();
  std::vector<std::string> found;
  const auto live = [&](std::string_view what) -> std::vector<std::string> {
    std::string path;
    for (std::size_t i = 0; i + 1 < words.size(); ++i) {
      if (words[i] == "--book") path = words[i + 1];
    }
    try {
      if (path.empty()) path = c.book_path();
      auto book = Book::open(path, Access::read, system_random);
      return book.ok() ? book->names(what) : std::vector<std::string>();
    } catch (const Refused&) {
      return {};
    }
  };
  const Found at = find_verb(words);
  if (at.verb == nullptr) {
    const bool family = is_family(at.word);
    if (at.word.empty() || family) {
      for (const Verb& v : verbs()) {
        if (v.hidden()) continue;
        const std::size_t blank = v.name.find(' ');
        if (!family) found.emplace_back(v.name.substr(0, blank));
        else if (v.name.size() > at.word.size() && v.name.starts_with(at.word) && v.name[at.word.size()] == ' ') found.emplace_back(v.name.substr(at.word.size() + 1));
      }
      if (!family) found.emplace_back("help");
    }
  } else if (last.starts_with("-")) {
    for_each_option(*at.verb, [&](const Option& o) { found.push_back("--" + std::string(o.name)); });
  } else {
    // `due` and `pickup` are verbs and lead a family as well.
    if (at.rest.empty()) {
      for (const Verb& v : verbs()) {
        if (v.name.starts_with(at.verb->name) && v.name.size() > at.verb->name.size() && v.name[at.verb->name.size()] == ' ') found.emplace_back(v.name.substr(at.verb->name.size() + 1));
      }
    }
    const Option* open = nullptr;
    std::size_t operands = 0;
    std::string car;
    for (std::size_t i = 0; i < at.rest.size(); ++i) {
      open = nullptr;
      if (!at.rest[i].starts_with("--")) {
        if (operands++ == 0) car = at.rest[i];
        continue;
      }
      for_each_option(*at.verb, [&](const Option& o) {
        if (at.rest[i] == "--" + std::string(o.name) && !o.value.empty() && !o.optional_value) open = &o;
      });
      if (open != nullptr && ++i < at.rest.size()) open = nullptr;
    }
    // A task that is new to a car is often named like one of its circuits.
    const bool task = open == nullptr && operands < at.verb->operands.size() && at.verb->operands[operands].name == "TASK";
    if (task && at.verb->name == "schedule set") for (const Circuit& known : circuits()) found.emplace_back(known.name);
    // A thing is put off to a day to come: the words for days that have passed do not fit.
    const bool to_come = open != nullptr && open->name == "until" && at.verb->name == "due put-off";
    if (open != nullptr && !to_come) found = values_of(open->value, open->name, car, live);
    else if (open == nullptr && operands < at.verb->operands.size()) {
      const auto more = values_of(at.verb->operands[operands].name, "", car, live);
      found.insert(found.end(), more.begin(), more.end());
    }
  }
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  for (const std::string& f : found) {
    // What would act on the terminal is no suggestion.
    if (f == ":files" || (f.starts_with(last) && visible(f) == f)) c.out().line(f);
  }
  return 0;
}

}  // namespace baybook::tool
