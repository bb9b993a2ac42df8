#include "property.hpp"
#include "targets.hpp"

#include <baybook/vin.hpp>

namespace baybook::fuzz {

void vin(std::string_view text) {
  const auto read = read_vin(text);
  if (!read) {
    told_with_instead(read.refusal(), text);
    const auto instead = read_vin(read.refusal().instead);
    hold(instead.ok() ? !instead->north_american || instead->check_digit_ok : read.refusal().instead.starts_with("the VIN again"), "what to type instead can be a VIN, or is words: " + read.refusal().instead);
    return;
  }
  hold(read->text.size() == 17 && read->text.find_first_not_of("0123456789ABCDEFGHJKLMNPRSTUVWXYZ") == std::string::npos, "a VIN is 17 of its characters");
  const auto again = read_vin(read->text);
  hold(again.ok() && again->text == read->text && again->warnings == read->warnings, "a VIN goes round");
  const auto check = vin_check_digit(read->text);
  hold(check && check->digit == read->check_digit && check->sum >= 0 && check->sum <= 9 * 89, "the check digit is that of the text");
  hold(read->check_digit_ok == (read->text[8] == read->check_digit), "the check digit is in position 9");
  hold(read->check_digit_ok || !read->north_american || !read->warnings.empty(), "a wrong check digit is warned of where it is compulsory");
  hold(vin_model_years(*read).size() <= 2 && vin_year_note(*read, 0).empty(), "two model years at most, and no note without a year");
  for (const std::string& w : read->warnings) hold(!w.empty() && visible(w) == w, "a warning is safe for a terminal");
  std::string right = read->text;
  right[8] = read->check_digit;
  const auto put_right = read_vin(right);
  hold(put_right.ok() && put_right->check_digit_ok, "with its check digit put in, a VIN is right");
}

}  // namespace baybook::fuzz
