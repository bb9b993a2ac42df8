// What a hint may not be: somebody types it as it stands.
#pragma once

#include <regex>
#include <string>
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
                    !found(", | if | once ");
  return runs && !found("^baybook erase finish$") ? "it would write something" : "";
}

/// The hints in what a command said: what stands behind "type: ".
inline std::vector<std::string> hints_in(const std::string& said) {
  std::vector<std::string> out;
  for (std::size_t at = said.find("type: "); at != std::string::npos;
       at = said.find("type: ", at + 1)) {
    if (at != 0 && said[at - 1] != '\n') continue;
    out.push_back(said.substr(at + 6, said.find('\n', at) - at - 6));
  }
  return out;
}

}  // namespace baybook::test
