// What the office writes: firms, rule sets, confirmed papers, inspections, determinations, papers on file, deadlines.
#pragma once

#include "fluids/ledger.hpp"
#include "log/built.hpp"

#include <baybook/drafts.hpp>

namespace baybook::returns {

[[nodiscard]] Result<log::Built> build(log::Desk& desk, const NewFirm& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const ConfirmPickup& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const ChooseRules& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const Inspection& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const Paper& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const Deadline& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, const DeadlineDone& draft);

/// Whether a text may be the name of a file in the folder of papers: it leads out of no folder and
/// hides from no listing.
[[nodiscard]] bool is_paper_name(std::string_view name) noexcept;
/// Whether a text may be the name of a rule file, or that of none.
[[nodiscard]] bool is_file_name(std::string_view name);

/// What a movement says for the office beside its lines: firms, where a spill got to, the machine; and that a pick-up's paper is not
/// another one's. `built` is what fluids made of the same draft.
[[nodiscard]] Result<Done> add_to(log::Desk& desk, const Movement& draft, log::Built& built);

/// What is said of a firm beside its names and numbers, into details: how far it is, what it is recognised as, whose waste goes to
/// it, when it was registered. Of a correction `draft` holds what is said anew and what the firm is.
[[nodiscard]] Result<Done> write_firm(log::Desk& desk, const NewFirm& draft, log::Value& details);
[[nodiscard]] Result<Done> write_haul(log::Value& details, const std::optional<Distance>& haul);

/// The derived rows of all these, and of pick-ups.
void fold(store::Db& db, const log::Fact& fact);
void unfold(store::Db& db, const log::Fact& fact);

using log::refuse;
using log::keep;
using log::open_text;
/// The day on which the new entry stands.
[[nodiscard]] inline Day day_of(const log::Desk& desk) { return log::day_of_moment(desk.effect.moment); }

}  // namespace baybook::returns
