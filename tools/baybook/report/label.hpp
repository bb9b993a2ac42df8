// Labels for containers: one on a page, or a sheet of eight to cut.
#pragma once

#include "report.hpp"

#include <string>
#include <vector>

namespace baybook::tool::report {

struct Label {
  std::vector<std::string> words;      ///< the big lines that the rule demands: "HAZARDOUS WASTE", "Used Oil"
  std::string stream{};                ///< "Spent coolant, ethylene glycol"
  std::vector<std::string> hazards{};  ///< "Toxic", "Ignitable"
  std::string since{};                 ///< "2026-03-05"; empty: a line to write it on by hand
  std::string since_name = "accumulation start date";
  std::string place{};                 ///< "drum-3"
  std::string filling{};               ///< "drum-3/7"
  std::string site{};
  std::string payload{};               ///< "BAYBOOK:DRUM-3-7": goes into the QR and stands below it; empty: none
  std::vector<std::string> cautions{};
};
enum class Labels : std::uint8_t { one_on_a_page, eight_on_a_sheet };

/// Throws std::invalid_argument when a payload has not the form of conventions.md, Output 11. A label whose text does not fit a part
/// of the sheet in letters that can be read gets a page of its own; nothing is cut.
[[nodiscard]] std::string labels_pdf(const std::vector<Label>& labels, Paper paper, Labels how, const std::string& program);
[[nodiscard]] std::string labels_html(const std::vector<Label>& labels, Paper paper, Labels how);

}  // namespace baybook::tool::report
