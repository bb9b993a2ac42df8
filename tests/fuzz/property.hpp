// What every fuzz target asks of a reader, and how it says that it was not so.
#pragma once

#include <baybook/result.hpp>
#include <baybook/text.hpp>

#include <cstddef>
#include <stdexcept>
#include <string>
#include <string_view>

namespace baybook::fuzz {

/// A reader broke its word. Nobody catches it in a fuzzer, which then keeps the input; the replay test tells it as a failed check.
class Broken : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

inline void hold(bool so, std::string_view sentence) {
  if (!so) throw Broken(std::string(sentence));
}

/// A refusal goes to a terminal as it stands (render/refusal.cpp), so it has text, fits on a screen, and shows what it quotes.
inline void told(const Refusal& r) {
  hold(!r.what.empty(), "a refusal says what is wrong");
  hold(!name_of(r.code).empty(), "a refusal has a name");
  for (const std::string* text : {&r.what, &r.why, &r.instead}) {
    hold(text->size() <= 4000, "a refusal fits on a screen: " + text->substr(0, 80));
    hold(visible(*text) == *text, "a refusal is safe for a terminal: " + visible(*text));
  }
}

/// As `told`; and it says what to type instead, which is not what was typed.
inline void told_with_instead(const Refusal& r, std::string_view typed) {
  told(r);
  hold(!r.instead.empty(), "a refusal says what to type instead: " + r.what);
  hold(r.instead != typed, "what to type instead is not what was refused: " + r.what);
}

/// Input taken apart from its front: choices first, the rest is the text that is read.
class Input {
 public:
  explicit Input(std::string_view bytes) : rest_(bytes) {}
  /// 0 to n - 1; 0 when the input is used up.
  std::size_t choice(std::size_t n) {
    if (rest_.empty()) return 0;
    const auto byte = static_cast<unsigned char>(rest_.front());
    rest_.remove_prefix(1);
    return byte % n;
  }
  [[nodiscard]] std::string_view rest() const noexcept { return rest_; }
  /// Up to the next line feed, which no value of one line holds.
  std::string_view line() {
    const std::size_t end = rest_.find('\n');
    const std::string_view out = rest_.substr(0, end);
    rest_.remove_prefix(end == std::string_view::npos ? rest_.size() : end + 1);
    return out;
  }

 private:
  std::string_view rest_;
};

}  // namespace baybook::fuzz
