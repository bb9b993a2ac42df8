#include "property.hpp"
#include "targets.hpp"

#include <baybook/vin.hpp>

namespace baybook::fuzz {

void fault_code(std::string_view text) {
  const auto read = read_fault_code(text);
  if (!read) {
    told_with_instead(read.refusal(), text);
    hold(read_fault_code(read.refusal().instead).ok(), "what to type instead is a fault code: " + read.refusal().instead);
    return;
  }
  hold(read->text.size() == 5 || read->text.size() == 8, "a fault code has 5 characters, 8 with its failure type");
  hold(read->text.find_first_not_of("0123456789ABCDEFPU-") == std::string::npos, "a fault code is of letters and digits");
  hold(!read->system.empty(), "a fault code belongs to a system");
  const auto again = read_fault_code(read->text);
  hold(again.ok() && again->text == read->text && again->system == read->system && again->standardised == read->standardised, "a fault code goes round");
}

}  // namespace baybook::fuzz
