#include "book/correct_product.hpp"

#include "fluids/shelf.hpp"

namespace baybook::book {

using log::Desk;
using log::Fact;
using log::refuse;
using log::Value;

namespace {

// A shelf is looked at as it stood when the entry happened.
Desk then(const Desk& desk, const Fact& old) {
  Desk out = desk;
  out.effect = old.effect;
  return out;
}

Result<Done> is_there(Book::Inside& in, Desk& desk, FluidId fluid, Dimension dimension) {
  if (fluid.n >= 1000 && withdrawn_by(in.db, EntryId{fluid.n}))
    return refuse(Code::not_found, "that product was withdrawn", "what an entry names is there",
                  "a fluid from `baybook fluid list`");
  return fluids::in_its_unit(desk, fluid, dimension);
}

// The hint of a refusal is a command that was never typed here.
Refusal in_a_correction(Refusal r) {
  const std::size_t one_of = r.instead.find("one of ");
  if (r.code == Code::ambiguous && one_of != std::string::npos)
    r.instead = "the same again with --fluid PRODUCT, " + r.instead.substr(one_of);
  else if (r.code == Code::not_allowed)
    r.instead = "--withdraw, and write it again as it was";
  return r;
}

// What a line takes from a shelf that it did not take from, or of which another product is meant.
Result<FluidId> from_shelf(Book::Inside& in, Desk& desk, const PatchedLine& of, const Value& line,
                           FluidId was) {
  const Amount amount = log::read_amount(line.at("amount"));
  fluids::Taking t;
  t.verb = of.verb;
  t.from = of.from;
  t.to = of.to;
  t.amount = amount;
  t.mixing = of.details.has("mixing");
  t.said = of.patch.fluid.value_or(FluidId{});
  const auto dimension = static_cast<std::int64_t>(amount.dimension);
  const bool stands_there =
      was && fluids::held_before(in.ledger, of.from, dimension, was, of.old.effect).best > 0;
  if (!t.said && stands_there) t.said = was;
  auto taken = fluids::taken_from_shelf(desk, in.ledger, t);
  if (!taken.ok()) return in_a_correction(std::move(taken).refusal());
  // Nothing stood there then: what it took before is what is too much now (F3).
  return *taken ? *taken : was;
}

}  // namespace

Result<Done> patch_product(Book::Inside& in, Desk& desk, const PatchedLine& of, Value& line) {
  const Patch& patch = of.patch;
  Desk day = then(desk, of.old);
  const std::int64_t moment = of.old.effect.moment;
  const Value* named = line.find("fluid");
  FluidId fluid =
      named != nullptr ? log::read_fluid(*named, desk.known.own().origin) : FluidId{};
  bool alone = line.has("alone");
  bool beside = line.has("beside");
  const bool as_it_was = !patch.fluid && !patch.from;
  if (as_it_was && !patch.into) return Done{};
  if (as_it_was) {
    if (alone && of.verb == MoveVerb::fill && !of.details.has("mixing")) {
      if (auto other = fluids::other_class(day, in.ledger, of.to, fluid))
        return in_a_correction(std::move(*other));
    }
  } else if (fluids::is_shelf(in.db, in.ledger, of.from, moment)) {
    auto taken = from_shelf(in, day, of, line, alone || of.patch.from ? fluid : FluidId{});
    if (!taken.ok()) return std::move(taken).refusal();
    fluid = *taken;
    alone = static_cast<bool>(fluid);
  } else {
    alone = false;
    if (of.from == kSupplier) {
      fluid = patch.fluid.value_or(fluid);
      if (!fluid)
        return refuse(Code::wrong_usage, "what came from the supplier is not said", "",
                      "--fluid as well, from `baybook fluid list`");
    } else if (patch.fluid) {
      return refuse(Code::not_allowed,
                    in.ledger.info(of.from).code + " is no shelf: nothing is taken out of it by "
                                                   "itself",
                    "what leaves a mix leaves in proportion (F3a)", "the same without --fluid");
    } else {
      fluid = {};
    }
  }
  beside = fluids::is_shelf(in.db, in.ledger, of.to, moment);
  if (fluid) {
    const Dimension dimension = log::read_amount(line.at("amount")).dimension;
    if (auto ok = is_there(in, desk, fluid, dimension); !ok.ok()) return ok;
  }
  Value fresh;
  for (const auto& [key, v] : line.as_object()) {
    if (key != "fluid" && key != "alone" && key != "beside") fresh[key] = v;
  }
  if (fluid) fresh["fluid"] = log::write_fluid(fluid, desk.known);
  if (alone) fresh["alone"] = true;
  if (beside) fresh["beside"] = true;
  line = std::move(fresh);
  return Done{};
}

Result<Done> patch_gauged(Book::Inside& in, Desk& desk, const Fact& old, FluidId fluid,
                          Value& details) {
  const Amount level = log::read_amount(details.at("level"));
  const PlaceId place = log::read_place(old.details.at("place"), old.origin());
  if (auto ok = is_there(in, desk, fluid, level.dimension); !ok.ok()) return ok;
  if (fluids::is_shelf(in.db, in.ledger, place, old.effect.moment)) {
    Desk day = then(desk, old);
    auto of = fluids::gauged_on_shelf(day, in.ledger, place, level, fluid);
    if (!of.ok()) return in_a_correction(std::move(of).refusal());
    fluid = *of;
    details["alone"] = true;
  }
  details["fluid"] = log::write_fluid(fluid, desk.known);
  return Done{};
}

}  // namespace baybook::book
