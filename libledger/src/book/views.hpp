// Helpers that several reports share.
#pragma once

#include "book/inside.hpp"

#include <baybook/reports.hpp>

namespace baybook::book {

/// The last moment that counts: the end of the day, or for ever.
[[nodiscard]] std::int64_t last_moment(AsOf as_of);
[[nodiscard]] EntryView view_of(Book::Inside& in, const log::Row& row, bool whole);
/// In the order of `ids`.
[[nodiscard]] std::vector<EntryView> views_of(Book::Inside& in, const std::vector<std::int64_t>& ids, bool with_withdrawn);
/// The latest reading at that moment or before it.
[[nodiscard]] std::optional<std::int64_t> odometer_at(Book::Inside& in, CarId car, std::int64_t moment);
[[nodiscard]] CarView car_view(Book::Inside& in, CarId id, AsOf as_of);
/// `whole`: every line and the accounts; else work, parts, codes and torques.
[[nodiscard]] JobView job_view(Book::Inside& in, JobId id, AsOf as_of, bool whole);
/// The circuits of which a closing says that they were low when the car came.
[[nodiscard]] std::vector<std::string> was_low(const log::Fact& closing);
void read_rechecks(Book::Inside& in, const log::Fact& close, std::vector<Recheck>& out);
/// Marks the codes among the car's entries that came back after they had been cleared on an earlier job.
void note_comebacks(Book::Inside& in, CarId car, std::vector<EntryView>& lines);

/// Says of the spills among the entries what they come near to by the rules.
void note_spills(Book::Inside& in, std::vector<EntryView>& lines);
/// Says of the parts fitted among the entries what came off by that day, or may have.
void note_what_came_off(Book::Inside& in, std::vector<EntryView>& lines, AsOf as_of);

}  // namespace baybook::book
