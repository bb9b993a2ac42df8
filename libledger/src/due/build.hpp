// What is written about what is due: schedules, tasks done, what is put off, what a recheck found, hours of the engine.
#pragma once

#include "log/built.hpp"

#include <baybook/drafts.hpp>

namespace baybook::due {

[[nodiscard]] Result<log::Built> build(log::Desk& desk, const Schedule& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const TaskDone& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const PutOff& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const RecheckDone& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const EngineHours& draft);

/// The rows as written: schedules and their intervals, settlements, hours. They do not depend on the order of entries.
void fold(store::Db& db, const log::Fact& fact);
void unfold(store::Db& db, const log::Fact& fact);

/// The intervals of a schedule's entry, as written.
[[nodiscard]] std::vector<Interval> read_intervals(store::Db& db, EntryId schedule);

/// The car of an entry is in the book and not scrapped; `what` begins the sentence that says why that matters.
[[nodiscard]] Result<Done> alive(const log::Desk& desk, CarId car, const char* what);
[[nodiscard]] std::string joined(const std::vector<std::string>& names);
/// The day on which the new entry stands.
[[nodiscard]] inline Day day_of(const log::Desk& desk) { return log::day_of_moment(desk.effect.moment); }

/// How an item is known in rows and entries: a task of a car, or a recheck by its closing.
[[nodiscard]] std::string task_item(std::string_view task);
[[nodiscard]] std::string recheck_item(EntryId closing, int number);
/// "every 12 months, 15000 km or 250 h": the limits of an interval for people.
[[nodiscard]] std::string told(std::int64_t months, const std::optional<Distance>& distance, std::int64_t minutes, const Units& units);
[[nodiscard]] std::string show_hours(std::int64_t minutes);

}  // namespace baybook::due
