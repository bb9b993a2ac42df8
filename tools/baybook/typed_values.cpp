#include "typed_values.hpp"

#include "context.hpp"
#include "given_file.hpp"

#include <baybook/text.hpp>

#include <charconv>

namespace baybook::tool {

bool meant_as_hours(const std::string& typed) {
  const std::size_t unit = typed.find_first_not_of("+-0123456789., ");
  return unit != std::string::npos && unit > 0 && (typed[unit] == 'h' || typed[unit] == 'H');
}

int whole(const std::string& text, const char* what, const char* like) {
  int n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size() || n < 1) refuse(Code::wrong_usage, std::string(what) + " " + visible(text) + " is no whole number", "", like);
  return n;
}

std::optional<int> number_before(std::string_view text, std::string_view unit) {
  if (text.size() <= unit.size() || !text.ends_with(unit)) return std::nullopt;
  text.remove_suffix(unit.size());
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  int n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size() || text.empty()) return std::nullopt;
  return n;
}

Dial dial_option(const Typed& t) {
  const int said = t.has("replaced") + t.has("rolled-over") + t.has("misread");
  if (said > 1)
    refuse(Code::wrong_usage,
           "an odometer rolled over, was replaced, or the reading before was misread",
           "each has its own arithmetic, and one reading has one of them",
           "one of --rolled-over, --replaced and --misread");
  return t.has("replaced")      ? Dial::replaced
         : t.has("rolled-over") ? Dial::rolled_over
         : t.has("misread")     ? Dial::misread
                                : Dial::goes_on;
}

std::string read_file(const Context& c, const std::string& path, std::size_t most) {
  GivenFile file = need(GivenFile::open(path, c.book_if_said()));
  std::string out;
  for (std::string piece = need(file.next()); !piece.empty(); piece = need(file.next())) {
    out += piece;
    if (out.size() > most)
      refuse(Code::not_allowed, visible(path) + " has more than " + std::to_string(most) + " bytes",
             "at most so many are taken", "a smaller file");
  }
  return out;
}

CircuitDraft circuit_draft(Context& c, const std::string& text) {
  // NAME[=CAPACITY][:SPECIFICATION]
  CircuitDraft d;
  const std::size_t end = text.find_first_of("=:");
  d.circuit = text.substr(0, end);
  if (end == std::string::npos) return d;
  std::size_t colon = end;
  if (text[end] == '=') {
    colon = text.find(':', end);
    d.capacity = c.amount(text.substr(end + 1, colon == std::string::npos ? colon : colon - end - 1));
  }
  if (colon != std::string::npos) d.specification = text.substr(colon + 1);
  return d;
}

std::vector<MassShare> shares_option(Context& c) {
  std::vector<MassShare> out;
  for (const std::string& text : c.typed().all("share")) out.push_back(need(parse_share(text)));
  return out;
}

ReceivesAs receives_as_option(Context& c) {
  if (!c.typed().has("receives-as")) return ReceivesAs::not_said;
  const std::string word = c.typed().text("receives-as");
  if (word == "collection-centre") return ReceivesAs::collection_centre;
  if (word == "aggregation-point") return ReceivesAs::aggregation_point;
  refuse(Code::wrong_usage, "--receives-as " + visible(word) + " is not known",
         "it is one of: collection-centre, aggregation-point", "--receives-as collection-centre");
}

std::string file_name(const std::string& path) { return path.substr(path.rfind('/') == std::string::npos ? 0 : path.rfind('/') + 1); }

}  // namespace baybook::tool
