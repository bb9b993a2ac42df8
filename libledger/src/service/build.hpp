// Cars, people, jobs and what is written on them: checks before the log sees it, and the derived rows.
#pragma once

#include "log/built.hpp"
#include "service/account.hpp"

#include <baybook/drafts.hpp>

namespace baybook::service {

[[nodiscard]] Result<log::Built> build(log::Desk& desk, const NewPerson& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const NewCar& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const CarChange& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const OpenJob& draft);
/// `tolerance`: of the day of the entry; asked for when an account is off.
[[nodiscard]] Result<log::Built> build(log::Desk& desk, fluids::Ledger& ledger,
                                       const ToleranceOf& tolerance, const CloseJob& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const Odometer& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const CodeNote& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const Work& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const Fit& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const TorqueNote& draft);

/// A job as its row says.
struct JobRow {
  JobId id;
  std::int64_t number = 0;
  CarId car;
  std::int64_t moment = 0;
  std::int64_t closed = 0;  ///< the closing entry; 0: open; -1: the job's opening was withdrawn
  std::int64_t closed_moment = 0;
};
[[nodiscard]] std::optional<JobRow> job_row(store::Db& db, JobId id);
/// "17", or "17@office" for another installation's.
[[nodiscard]] std::string job_name(const log::Installations& known, const JobRow& job);
/// Refuses when the job is closed, or when the entry happened before it was opened.
[[nodiscard]] Result<JobRow> open_job(const log::Desk& desk, JobId id);
/// A plate as it may be given to a car, and whether no other car wears it.
[[nodiscard]] Result<std::string> clean_plate(const std::string& typed);
[[nodiscard]] Result<Done> plate_is_free(const log::Desk& desk, const std::string& plate, CarId except);
/// A part's number as it is kept: refuses one without a letter or digit to find it by.
[[nodiscard]] Result<std::string> clean_part(const std::string& typed);
/// The latest model year of a car that is entered on that day.
[[nodiscard]] int last_model_year(Day day);
/// Whether a text may be a person's name: "person:5" is how one is named whose name was erased.
[[nodiscard]] bool person_can_be_named(std::string_view name) noexcept;
/// A name as it may be given to a person: nobody else in the book has it.
[[nodiscard]] Result<std::string> clean_person(const log::Desk& desk, const std::string& typed, EntryId except);
/// The plate, or "car:6" when it was erased: find_car takes either.
[[nodiscard]] std::string plate_of(store::Db& db, CarId car);
/// "car:6", "car:6@office": a thing by the number of the entry that made it.
[[nodiscard]] std::string by_number(store::Db& db, std::string_view what, EntryId entry);
/// The name, or "person:5 (erased)".
[[nodiscard]] std::string person_name(store::Db& db, EntryId person);

/// The derived rows. `fold` of a withdrawn job keeps its number, so that no other job takes it.
void fold(store::Db& db, const log::Fact& fact);
void unfold(store::Db& db, const log::Fact& fact);
/// A car's row, plates and circuits from its entry and its changes, in effect order.
void recompute_car(store::Db& db, CarId car);
/// The car and job an entry belongs to, as its details say.
struct Belongs {
  CarId car;
  JobId job;
};
[[nodiscard]] Belongs belongs_to(store::Db& db, const log::Fact& fact);

}  // namespace baybook::service
