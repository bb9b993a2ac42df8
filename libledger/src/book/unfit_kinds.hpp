// What the details of each kind of entry may say, one function a kind (docs/format.md, "Kinds and
// their details").
#pragma once

#include "book/unfit_fields.hpp"

#include "service/reading.hpp"

namespace baybook::book {

/// The details of a kind; adds to the reading what does not fit.
void read_details(log::Kind kind, Fields& details);

/// Hexadecimal digits of a digest, and of an installation's identity.
inline constexpr std::size_t kDigest = 64;
inline constexpr std::size_t kIdentity = 32;

/// A book's tag.
void tag(Fields& f, std::string_view key);

// The shop and its office.
void opening(Fields& f);
void place(Fields& f);
void place_mark(Fields& f);
void fluid(Fields& f);
void firm(Fields& f);
void rules(Fields& f);
void confirm(Fields& f);
void inspection(Fields& f);
void determination(Fields& f);
void paper(Fields& f);
void deadline(Fields& f);
void deadline_done(Fields& f);
void close(Fields& f);
void filing(Fields& f);
void circumstance(Fields& f);

/// What a reading says of its instrument; `said`: there is a reading.
void jumps_of_reading(Fields& f, service::Counts counts, bool said);

// Cars and jobs.
void car(Fields& f);
void car_change(Fields& f);
void job(Fields& f);
void job_close(Fields& f);
void odometer(Fields& f);
void code(Fields& f);
void work(Fields& f);
void fit(Fields& f);
void torque(Fields& f);

/// What a product is made of, or what was in a spill.
void shares(Fields& f);
/// How far waste goes.
void haul(Fields& f);

// What moves.
void movement(Fields& f);
void gauge(Fields& f);

// What is due.
void schedule(Fields& f);
void task_done(Fields& f);
void put_off(Fields& f);
void recheck_done(Fields& f);
void hours(Fields& f);

// What is said of other entries. A replacement's own details are read against the kind of its
// target, in unfit_named.
void correction(Fields& f);
void settle(Fields& f);
void erasure(Fields& f);
void peer(Fields& f);

}  // namespace baybook::book
