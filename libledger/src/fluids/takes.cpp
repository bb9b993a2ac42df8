#include "fluids/takes.hpp"

#include "fluids/shelf.hpp"

#include <algorithm>
#include <limits>

namespace baybook::fluids {

using log::Desk;
using log::refuse;

namespace {

// Fluid that was mixed in a pan goes into a car as it is; that there is another class in it is told.
void say_what_else(Ledger& ledger, const Desk& desk, const MoveLine& line,
                   std::vector<std::string>& warnings) {
  const std::vector<std::int64_t>& takes = ledger.info(line.to).takes;
  for (const auto& [what, sum] : ledger.contents_before(line.from, desk.effect)) {
    const std::int64_t c = ledger.class_of(what.fluid);
    if (sum.best <= 0 || takes.empty() || c == takes.front() || find_class(FluidId{c}) == nullptr)
      continue;
    warnings.push_back(ledger.info(line.from).code + " is a mix, and " +
                       std::string(find_class(FluidId{c})->name) +
                       " is in it: what goes in holds its share of that");
    return;
  }
}

}  // namespace

Result<Takes> what_it_takes(Desk& desk, Ledger& ledger, const Movement& draft,
                            const MoveLine& line, std::vector<std::string>& warnings) {
  Takes out;
  out.fluid = line.fluid;
  out.beside = is_shelf(desk.db, ledger, line.to, desk.effect.moment);
  if (is_shelf(desk.db, ledger, line.from, desk.effect.moment)) {
    // All of a shelf onto another one: every product whole, and none meets another on the way.
    if (out.beside && !line.amount && !line.fluid) return out;
    auto taken = taken_from_shelf(desk, ledger,
                                  {draft.verb, line.from, line.to, line.fluid, line.amount,
                                   draft.job, !draft.mixing_reason.empty()});
    if (!taken.ok()) return std::move(taken).refusal();
    out.fluid = *taken;
    out.alone = static_cast<bool>(out.fluid);
    return out;
  }
  const bool fill = draft.verb == MoveVerb::fill;
  if (line.from == kSupplier) {
    if (fill && line.fluid && draft.mixing_reason.empty()) {
      if (auto other = other_class(desk, ledger, line.to, line.fluid))
        warnings.push_back(other->what + "; " + other->why);
    }
    return out;
  }
  if (line.fluid)
    return refuse(Code::wrong_usage,
                  ledger.info(line.from).code + " is no shelf: " +
                      fluid_code(desk.db, line.fluid) + " is not taken out of it by itself",
                  "what leaves a mix leaves in proportion (F3a)", "the same without the fluid");
  if (fill && ledger.info(line.from).role != Role::stock)
    say_what_else(ledger, desk, line, warnings);
  return out;
}

Result<Amount> all_there(Desk& desk, Ledger& ledger, const MoveLine& line, FluidId only) {
  if (line.from.n < 1000 || is_circuit(line.from))
    return refuse(Code::unclear, "\"all\" needs a place of the shop to take from",
                  "how much a circuit held is not known",
                  "the amount that was measured, for example 5.4L");
  const std::string from = ledger.info(line.from).code;
  Amount out;
  int dimensions = 0;
  for (int d = 0; d < 3; ++d) {
    const Bounds b = held_before(ledger, line.from, d, only, desk.effect);
    if (b.best <= 0) continue;
    ++dimensions;
    out = Amount{static_cast<Dimension>(d),
                 std::clamp<std::int64_t>(b.low, 0, b.best),
                 b.best,
                 std::max(b.best, b.high),
                 b.low != b.high,
                 "all"};
  }
  if (dimensions == 1) return out;
  if (dimensions > 1)
    return refuse(Code::unclear, from + " holds more than one kind of quantity",
                  "litres, kilograms and pieces are never added up",
                  "the amount of each, one after the other");
  const log::Effect last{std::numeric_limits<std::int64_t>::max(),
                         std::numeric_limits<std::int64_t>::max(), desk.effect.id};
  bool now = false;
  for (int d = 0; d < 3; ++d) now = now || held_before(ledger, line.from, d, only, last).best > 0;
  const std::string empty = only ? " held no " + fluid_code(desk.db, only) : " was empty";
  const std::string is_empty = only ? " holds no " + fluid_code(desk.db, only) : " is empty";
  return refuse(
      Code::would_overdraw,
      from + (now ? empty + " by the book on " + to_string(log::day_of_moment(desk.effect.moment))
                  : is_empty + " by the book"),
      "there is nothing to take (F3)", now ? "the day on which it held something" : "baybook levels");
}

}  // namespace baybook::fluids
