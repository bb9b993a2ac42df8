#include "refusal.hpp"

#include "text.hpp"

namespace baybook::tool::render {

std::string refusal_text(const Refusal& r) {
  std::string out = "baybook: " + r.what + "\n";
  for (const std::string& line : r.lines) out += "  - " + line + "\n";
  if (!r.why.empty()) out += "why:  " + r.why + "\n";
  if (!r.instead.empty()) out += "type: " + r.instead + "\n";
  for (const std::string& other : r.others) out += "  or: " + other + "\n";
  return out;
}

std::string check_text(const Refusal& r) {
  std::string out = wrapped("check: ", r.what);
  for (const std::string& line : r.lines) out += "       - " + line + "\n";
  if (!r.why.empty()) out += wrapped("why:   ", r.why);
  if (!r.instead.empty()) out += to_be_typed("type: ", r.instead);
  for (const std::string& other : r.others) out += to_be_typed("  or: ", other);
  return out;
}

void refusal_members(Json& j, const Refusal& r) {
  j.member("code", name_of(r.code));
  j.member("message", r.what);
  j.member("why", r.why);
  j.member("instead", r.instead);
  if (!r.others.empty()) j.strings("others", r.others);
  if (!r.lines.empty()) j.strings("lines", r.lines);
  j.key("figures").begin_object();
  for (const Figure& f : r.figures) j.member(f.name, f.value);
  j.end_object();
}

std::string refusal_json(const Refusal& r) {
  Json j;
  j.begin_object();
  j.key("v").number(1);
  j.key("ok").boolean(false);
  j.key("error").begin_object();
  refusal_members(j, r);
  j.end_object();
  j.end_object();
  return j.text() + "\n";
}

int status_of(Code code) noexcept {
  switch (code) {
    case Code::wrong_usage: return 2;
    case Code::unsound:
    case Code::unreadable:
    case Code::unwritable:
    case Code::unknown_outcome:
    case Code::callback_failed: return 3;
    case Code::busy: return 4;
    default: return 1;
  }
}

}  // namespace baybook::tool::render
