// Many entries at once, in and out: what a workshop brings along when it begins, and takes along when it leaves.
#pragma once

#include <baybook/book.hpp>
#include <baybook/reports.hpp>

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

struct Item {
  Draft draft;
  Stamp stamp;  ///< with a once-key the same item a second time changes nothing
  /// Leave out a reading that the book has of that car, day (Stamp::on) and figure, and a finished task of that car, day and readings, whoever wrote it down
  /// and in whatever words. What was withdrawn is not there: it is written again, once, although its once-key is known.
  bool if_not_there = false;
};
struct Batch {
  std::int64_t written = 0;
  std::int64_t known = 0;  ///< items whose once-key was known, and those left out because they are there
  std::optional<EntryRef> first{}, last{};
  std::vector<ClosedReach> closed_months{};  ///< closed before, that have other figures by these
  std::vector<std::string> closed_told{};    ///< the same in words
  ClockCheck clock{};      ///< how the clock stood before the first that was written
  std::string noted{};     ///< the end of the write failed at first, and a second look found all of it stored
};
/// Appends what `next` gives until it gives none, all of it or, when one is refused (by the book or
/// by `next` itself), none. `next` may look at the book: it sees what was appended before. Refuses
/// what Book::append refuses. `written` is told of each entry as soon as it is appended, with what
/// Book::append would warn of; nothing is stored before the end. What an item costs does not grow
/// with the readings or finished tasks that its car has.
[[nodiscard]] Result<Batch> append_all(Book& book,
                                       const std::function<Result<std::optional<Item>>()>& next,
                                       bool dry_run = false,
                                       const std::function<void(const Receipt&)>& written = {});

/// A car by its whole plate, worn now or once: a list is taken by the plate and nothing else, where
/// a person who sees the answer may type a part of it. Refuses not_found, with what is near;
/// ambiguous.
[[nodiscard]] Result<CarId> car_of_plate(const Book& book, std::string_view plate);

/// A car with what CarView leaves out.
struct CarRecord {
  CarView car;
  std::string contact;  ///< of the keeper (private)
};
/// An odometer or engine-hours reading as it was typed.
struct ReadingRecord {
  CarId car;
  Day day;
  std::string typed;    ///< "88210km", "1250h"
  std::string reason;   ///< what was told beside `dial` (private); empty when it goes on
  Dial dial = Dial::goes_on;
};
/// A task that somebody said was done.
struct TaskRecord {
  CarId car;
  std::string task;
  Day day;
  std::string odometer, hours;  ///< as typed; empty when not said
  std::string note;             ///< (private)
};
// All that hold, by car and in effect order.
[[nodiscard]] Result<std::vector<CarRecord>> car_records(const Book& book);
[[nodiscard]] Result<std::vector<ReadingRecord>> reading_records(const Book& book);
[[nodiscard]] Result<std::vector<TaskRecord>> task_records(const Book& book);

}  // namespace baybook
BAYBOOK_API_END
