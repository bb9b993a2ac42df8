// A distance with what was typed beside it.
#include <baybook/quantity.hpp>
#include <baybook/text.hpp>

namespace baybook {

std::string show_distance(const Distance& distance, const Units& units) {
  std::string out = show_distance(distance.metres, units);
  if (distance.typed.empty()) return out;
  const bool miles = distance.typed.find("mi") != std::string::npos;
  if (miles != (units.distance == DistanceUnit::mile)) out += " (typed " + visible(distance.typed) + ")";
  return out;
}

}  // namespace baybook
