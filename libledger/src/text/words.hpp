// Words looked for in texts, whatever their case and accents.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace baybook::text {

/// `text` as it is compared: case folded and without marks (Unicode, Default Case Folding; UAX #15). Bytes that are no UTF-8 stay.
[[nodiscard]] std::string compared(std::string_view text);

/// What somebody typed to look for: words between blanks. A word is found inside of a longer one.
class Words {
 public:
  explicit Words(std::string_view typed);
  [[nodiscard]] bool empty() const { return words_.empty(); }
  /// The rarest by its length: a text without it is not looked at further.
  [[nodiscard]] const std::string& longest() const { return words_.at(longest_); }
  /// Whether all of them occur in one of the texts, each in any.
  [[nodiscard]] bool all_in(const std::vector<std::string>& texts) const;

 private:
  std::vector<std::string> words_;  ///< as compared
  std::size_t longest_ = 0;
};

/// Whether a word (as compared) occurs in a text (as written).
[[nodiscard]] bool occurs(std::string_view text, std::string_view word);

}  // namespace baybook::text
