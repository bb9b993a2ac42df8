#include "property.hpp"
#include "targets.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::fuzz {

namespace {

void stored(std::string_view text, std::size_t most) {
  const auto clean = clean_text(text, "complaint", most);
  if (!clean) return told_with_instead(clean.refusal(), text);
  hold(!clean->empty() && clean->size() <= most, "a text is not empty and not too long");
  const auto again = clean_text(*clean, "complaint", most);
  hold(again.ok() && *again == *clean, "a clean text is clean");
}

void code(std::string_view text) {
  const auto clean = clean_code(text, "place");
  if (!clean) {
    told_with_instead(clean.refusal(), text);
    const auto instead = clean_code(clean.refusal().instead, "place");
    hold(instead.ok() && *instead == clean.refusal().instead, "what to type instead is a code: " + clean.refusal().instead);
    return;
  }
  hold(!clean->empty() && clean->size() <= 40 && clean->find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string::npos, "a code is of a-z, 0-9 and -");
  hold(clean->front() != '-' && clean->back() != '-', "a code begins and ends with a letter or digit");
  const auto again = clean_code(*clean, "place");
  hold(again.ok() && *again == *clean, "a clean code is clean");
}

void shown(std::string_view text) {
  const std::string seen = visible(text);
  for (const char c : seen) hold(static_cast<unsigned char>(c) >= 0x20 && c != '\x7f', "nothing shown moves the cursor");
  hold(visible(seen) == seen, "what is visible is visible");
  hold(seen.find("\xE2\x80\xAE") == std::string::npos && seen.find("\xE2\x81\xA6") == std::string::npos, "nothing shown turns the line around");
  hold(display_width(text) == display_width(seen) && display_width(seen) >= 0, "what is visible is as wide as it is shown");
  hold(seen.size() <= text.size() * 4, "one byte is shown as four at most");
}

void plate(std::string_view text) {
  const std::string key = plate_key(text);
  hold(plate_key(key) == key, "the key of a key is the key");
  hold(key.find_first_of(" -./") == std::string::npos, "a key has no blanks and no separators");
}

void near(Input in) {
  std::vector<std::string> known;
  const std::string typed(in.line());
  while (!in.rest().empty() && known.size() < 20) known.emplace_back(in.line());
  const auto names = near_names(typed, known);
  hold(names.size() <= 3, "never more than three near names");
  for (const std::string& n : names) {
    hold(std::find(known.begin(), known.end(), n) != known.end(), "a near name is a known one");
  }
  hold(near_names(typed, known, 1).size() <= 1, "no more near names than were asked for");
  hold(edit_distance(typed, typed) == 0, "a text is no edit away from itself");
  if (!known.empty()) {
    const int there = edit_distance(typed, known.front());
    hold(there == edit_distance(known.front(), typed), "as far there as back");
    hold(there >= 0 && static_cast<std::size_t>(there) <= 12 * std::max(typed.size(), known.front().size()), "no farther than to write it anew");
  }
}

}  // namespace

void text(std::string_view bytes) {
  Input in(bytes);
  switch (in.choice(5)) {
    case 0: {
      const std::size_t most = in.choice(2) == 0 ? 4000 : 60;
      return stored(in.rest(), most);
    }
    case 1: return code(in.rest());
    case 2: return shown(in.rest());
    case 3: return plate(in.rest());
    default: return near(in);
  }
}

}  // namespace baybook::fuzz
