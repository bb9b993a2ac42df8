#include "book/streams_known.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

constexpr std::string_view kWaste = "waste-";

// The names that may be typed: those of the rules on that day, and of each class that becomes waste
// the class's own.
std::vector<std::string> known_on(const RuleSet* rules, Day day) {
  std::vector<std::string> out;
  if (rules != nullptr) {
    for (const Stream& s : rules->streams) {
      if (rules->stream(s.name, day) == &s) out.push_back(s.name);
    }
  }
  for (const FluidClass& c : fluid_classes()) {
    if (rules == nullptr || rules->stream_of(c.name, day) != nullptr)
      out.push_back(std::string(kWaste) + std::string(c.name));
  }
  return out;
}

std::string listed(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& n : names) out += (out.empty() ? "" : ", ") + n;
  return out;
}

Refusal unknown(const RuleSet* rules, Day day, const std::string& code, StreamOf of) {
  const std::vector<std::string> known = known_on(rules, day);
  std::vector<std::string> near = near_names(code, known);
  // The class itself is what comes to mind: its waste has a name of its own.
  const std::string of_class = std::string(kWaste) + code;
  if (near.empty() && std::find(known.begin(), known.end(), of_class) != known.end())
    near.push_back(of_class);
  const std::string option = of == StreamOf::firm ? "--for " : "--stream ";
  if (rules == nullptr)
    return log::refuse(
        Code::not_found, "no rules are in force that know a stream named " + visible(code),
        (near.empty() ? "" : "near it: " + listed(near) + "; ") +
            std::string("without rules it is the waste of a class, waste-coolant for one"),
        !near.empty()          ? option + near.front()
        : of == StreamOf::firm ? "no --for, or one of a class; or rules set first"
                               : "no --stream, so that the first --takes says it; or rules set first");
  return log::refuse(
      Code::not_found, "rule set " + rules->name + " has no stream named " + visible(code),
      near.empty() ? "nothing would be judged of what is in it: no code, no clock, no label"
                   : "near it: " + listed(near),
      near.empty() ? "a stream that baybook rules show lists, or a file of the shop's own with it: "
                     "baybook rules set " + rules->name + " --file FILE"
                   : option + near.front());
}

}  // namespace

std::optional<Refusal> refuse_streams(Book::Inside& in, Day day,
                                      std::span<const std::string> streams, StreamOf of) {
  // Too many are refused as that, where they are written down.
  if (streams.empty() || streams.size() > log::most::kFirmStreams) return std::nullopt;
  Office office(in);
  const RuleSet* rules = office.rules_on(day);
  for (const std::string& stream : streams) {
    if (stream.empty() && of == StreamOf::place) continue;
    const auto code = clean_code(stream, "stream");
    if (!code.ok()) return code.refusal();
    const bool class_of_its_own =
        code->starts_with(kWaste) && find_class(std::string_view(*code).substr(kWaste.size())) != nullptr;
    if (rules == nullptr ? class_of_its_own : office.stream_for(*code, day) != nullptr) continue;
    return unknown(rules, day, *code, of);
  }
  return std::nullopt;
}

}  // namespace baybook::book
