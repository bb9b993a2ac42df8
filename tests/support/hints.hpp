// What a hint may not be: somebody types it as it stands.
#pragma once

#include <algorithm>
#include <regex>
#include <string>
#include <utility>
#include <vector>

namespace baybook::test {

/// What is wrong with the hint of a refusal; empty: nothing that is looked for here. It takes
/// nothing away, sends nothing over a file, offers
/// --force and --yes only after something that is safe, and is no whole command that would write
/// what perhaps did not happen.
inline std::string harm_of(const std::string& hint) {
  const auto found = [&](const char* pattern) {
    return std::regex_search(hint, std::regex(pattern));
  };
  if (found("(^|[ ;|&])(rm|unlink|truncate|dd|shred) ")) return "it takes a file away";
  if (found("[^-]> ?[^ ]")) return "it sends something over a file";
  if (found("--force") && !found("^another .*, or --force$"))
    return "it offers --force, and not as the last thing";
  if (found("--yes") && !found("--dry-run.*--yes")) return "it offers --yes before --dry-run";
  if (found("--keep [0-9]")) return "it has backups removed that nobody asked to remove";
  const char* writes =
      "^baybook (place|fluid add|person add|car add|car change|job open|job "
      "close|code|work|fit|torque|odo|drain|filter|fill|spill|decant|receive|discard|gauge|pickup|"
      "firm add|inspect|determine|"
      "paper add|deadline add|deadline done|close|schedule set|due done|due "
      "put-off|recheck|correct|erase|settle|rules set|filing add|event|hold|extension add) ";
  const bool runs = found(writes) && !found("list$") && !found("\\.\\.\\.") &&
                    !found("[ =][A-Z]{3,}([ ,=]|$)") && !found("--dry-run") &&
                    !found("  # .*(if |once |then )");
  // What was erased once and is there again is erased again, and that is asked about first.
  const bool asks = found("^baybook erase (finish|entry [^ ]+ [^ ]+)$");
  return runs && !asks ? "it would write something" : "";
}

/// The hints in what a command said: what stands on a line behind "type: " or "or: ", refusals,
/// conflicts and what is due alike.
inline std::vector<std::string> hints_in(const std::string& said) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < said.size();) {
    const std::size_t end = std::min(said.find('\n', at), said.size());
    std::string line = said.substr(at, end - at);
    at = end + 1;
    line.erase(0, std::min(line.find_first_not_of(' '), line.size()));
    for (const std::string word : {"type: ", "or: "}) {
      if (!line.starts_with(word)) continue;
      const std::size_t text = line.find_first_not_of(' ', word.size());
      if (text != std::string::npos) out.push_back(line.substr(text));
    }
  }
  return out;
}

/// A command as a shell takes it apart, without its first word: quotes, backslashes, and a remark from
/// a # on. What the reader is to fill in ("...", N) is filled in. Empty where a quote is not closed.
inline std::vector<std::string> words_of_hint(const std::string& hint) {
  std::vector<std::string> words;
  std::string word;
  bool begun = false;
  char quote = 0;
  constexpr char kEscapes = 1;  // $'...'
  for (std::size_t i = 0; i < hint.size(); ++i) {
    const char c = hint[i];
    if (quote != 0) {
      if (c == quote || (c == '\'' && quote == kEscapes))
        quote = 0;
      else if (c == '\\' && quote != '\'' && i + 1 < hint.size())
        word += hint[++i];
      else
        word += c;
    } else if (c == '$' && i + 1 < hint.size() && hint[i + 1] == '\'') {
      quote = kEscapes;
      begun = true;
      ++i;
    } else if (c == '"' || c == '\'') {
      quote = c;
      begun = true;
    } else if (c == '\\' && i + 1 < hint.size()) {
      word += hint[++i];
      begun = true;
    } else if (c == ' ') {
      if (begun) words.push_back(std::exchange(word, {}));
      begun = false;
    } else if (c == '#' && !begun) {
      break;
    } else {
      word += c;
      begun = true;
    }
  }
  if (quote != 0) return {};
  if (begun) words.push_back(word);
  if (words.empty()) return words;
  words.erase(words.begin());
  for (std::string& w : words) {
    if (w == "...") w = "said so";
    if (w == "N") w = "1";
  }
  return words;
}

}  // namespace baybook::test
