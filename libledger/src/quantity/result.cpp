#include <baybook/result.hpp>

namespace baybook {

// These texts stand in JSON that other programs read: a name once given is fixed for ever.
std::string_view name_of(Code code) noexcept {
  switch (code) {
    case Code::wrong_usage: return "wrong_usage";
    case Code::unclear: return "unclear";
    case Code::not_text: return "not_text";
    case Code::not_found: return "not_found";
    case Code::ambiguous: return "ambiguous";
    case Code::already_there: return "already_there";
    case Code::not_allowed: return "not_allowed";
    case Code::runs_backwards: return "runs_backwards";
    case Code::in_future: return "in_future";
    case Code::would_overdraw: return "would_overdraw";
    case Code::would_overfill: return "would_overfill";
    case Code::has_dependants: return "has_dependants";
    case Code::does_not_close: return "does_not_close";
    case Code::unsound: return "unsound";
    case Code::busy: return "busy";
    case Code::unreadable: return "unreadable";
    case Code::unwritable: return "unwritable";
    case Code::unknown_outcome: return "unknown_outcome";
    case Code::callback_failed: return "callback_failed";
  }
  return "unknown_outcome";  // a value outside the list was cast in; nothing can be said about what happened
}

namespace {

std::shared_ptr<const std::string> words_of(const Refusal& r) {
  std::string out = std::string(name_of(r.code)) + ": " + r.what;
  if (!r.why.empty()) out += "; why: " + r.why;
  if (!r.instead.empty()) out += "; instead: " + r.instead;
  return std::make_shared<const std::string>(std::move(out));
}

}  // namespace

NoValue::NoValue(const Refusal& refusal) : words_(words_of(refusal)) {}
NoValue::NoValue()
    : words_(std::make_shared<const std::string>(
          "the refusal of a result that holds a value was asked for")) {}

}  // namespace baybook
