// A circuit's account in a job, held against what may be off without a question (F7).
#pragma once

#include "fluids/ledger.hpp"
#include "service/net.hpp"

#include <functional>
#include <optional>

namespace baybook::service {

/// How far what went in and what came out may be apart: a jug, a dipstick and a sump that never
/// drains dry are no better. Common practice, no source; a shop's own figures come with its rule
/// file (job.tolerance.*), which is an entry and travels, so that two books judge alike.
struct Tolerance {
  std::int64_t percent = 5;                  ///< of what the circuit holds
  std::int64_t least_nl = 200'000'000;       ///< and 0.2 L at least (what is weighed: as water)
  std::int64_t refrigerant_ug = 30'000'000;  ///< of refrigerant 30 g at least: it is weighed
};
/// Asked for only when an account is off at all.
using ToleranceOf = std::function<Tolerance()>;

struct Account {
  enum class State : std::uint8_t { agrees, over, short_of };
  NetOf of;
  Net net;
  State state = State::agrees;
  std::int64_t within = 0;      ///< what it may be off, base units
  std::int64_t capacity = -1;   ///< of the circuit in this kind of quantity, -1: not known
  std::int64_t left_short = 0;  ///< by how much the job before left it short, where that was asked
  std::int64_t swing = 0;       ///< between the most and the least that it held in the job
  [[nodiscard]] const Circuit& circuit() const { return log::circuit_at(PlaceId{of.first}); }
  /// Whether a circuit of that size can have been low by what is over: no level in between needs
  /// more than it holds.
  [[nodiscard]] bool can_have_been_low() const;
  /// Whether what is over can have left unseen: something left it at all, and no more is over than
  /// it holds.
  [[nodiscard]] bool can_be_missing() const;
};
/// The accounts of all circuits that a job touched, by circuit and dimension.
[[nodiscard]] std::vector<Account> accounts_of(store::Db& db, fluids::Ledger& ledger, CarId car,
                                               JobId job, const ToleranceOf& tolerance);

/// The line that makes an account look like a slip.
struct Suspect {
  enum class Why : std::uint8_t { power_of_ten, more_than_it_holds, nothing_drained };
  Why why = Why::power_of_ten;
  Net::Line line;
  std::int64_t times = 1;  ///< of a power of ten: so many times too much; below 0: too little
};
/// Of an account that does not agree; none when no line stands out.
[[nodiscard]] std::optional<Suspect> suspect_in(const Account& account);

}  // namespace baybook::service
