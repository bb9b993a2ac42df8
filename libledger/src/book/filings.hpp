// Reports, notices and returns on record: what may be filed, for which period, and how long it is
// kept.
#pragma once

#include "book/office.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::book {

/// What a filing is called that a line of the limits asks for.
inline constexpr std::string_view kBiennialReport = "biennial-report";
inline constexpr std::string_view kReNotification = "re-notification";
inline constexpr std::string_view kExceptionReport = "exception-report";
inline constexpr std::string_view kEventNotice = "event-notice";
inline constexpr std::string_view kReturnReceived = "return-received";

/// A year, or a quarter of one.
struct Period {
  int year = 0;
  int quarter = 0;  ///< 1 to 4; 0: the year
};
/// "2025", "2026-q1"; none for anything else.
[[nodiscard]] std::optional<Period> read_period(std::string_view text);
[[nodiscard]] std::string to_string(const Period& period);

/// Checks the draft by the rules of its day: nothing is on record that no line looks at.
[[nodiscard]] Result<log::Built> build_filing(Book::Inside& in, log::Desk& desk,
                                              const Filing& draft);

struct FilingRow {
  EntryId entry;
  std::string what, period;
  Day on;
  EntryId about{};
  bool by_paper = false;
};
/// What was on record by that moment, in the order of what and period.
[[nodiscard]] std::vector<FilingRow> filings_until(store::Db& db, std::int64_t moment);
/// The first filing of that name for a period, or about an entry; nullptr when there is none.
[[nodiscard]] const FilingRow* filed_for(const std::vector<FilingRow>& all, std::string_view what,
                                         std::string_view period);
[[nodiscard]] const FilingRow* filed_about(const std::vector<FilingRow>& all,
                                           std::string_view what, EntryId about);

/// Whether a report filed on that day in that way is filed at all: where the rules name one way
/// (`paper.report-way`), paper is none.
[[nodiscard]] bool way_counts(Office& office, const FilingRow& filing);

/// The day of the year in that year, as a rule names it: 301 is 1 March.
[[nodiscard]] Day day_in_year(std::int64_t day_of_year, int year);

/// The rule by which a filing is kept, and the day from which its months run; none where no rule
/// keeps it.
struct KeptFiling {
  const RuleValue* rule = nullptr;
  Day start;
};
[[nodiscard]] std::optional<KeptFiling> kept_filing(Office& office, const FilingRow& filing);

/// The category whose days hold for the paper of a pick-up: that of its month or, if it is larger,
/// of a month in which the waste that it took was generated.
[[nodiscard]] int category_of_pickup(Office& office, EntryId pickup, Day day,
                                     const std::function<int(Month)>& category);

}  // namespace baybook::book
