#include "book/correct_office.hpp"

#include "book/spills.hpp"
#include "book/streams_known.hpp"

#include "fluids/shares.hpp"
#include "returns/build.hpp"

namespace baybook::book {

using log::Built;
using log::Desk;
using log::Fact;
using log::Kind;
using log::refuse;
using log::Value;

namespace {

bool is_move(const Fact& fact, std::string_view verb) {
  return fact.kind == Kind::movement && fact.details.str("verb") == verb;
}

Refusal no_field(Book::Inside& in, const Fact& old, const char* what) {
  const std::string entry = entry_name(in, old.id());
  return refuse(Code::not_allowed,
                "entry " + entry + " (" + std::string(log::name_of(old.kind)) + ") has no " + what +
                    " to correct",
                "", "baybook entry " + entry + "  # or --withdraw and write it again");
}

Value without(const Value& details, std::string_view key) {
  Value out;
  for (const auto& [k, v] : details.as_object()) {
    if (k != key) out[k] = v;
  }
  return out;
}

}  // namespace

bool patches_office(const Patch& p) {
  return p.shares || p.haul || p.receives_as || p.streams || p.registered;
}

Result<Done> patch_office(Book::Inside& in, Desk& desk, const Fact& old, const Patch& patch,
                          Built& out, Value& details) {
  if (patch.shares) {
    if (old.kind != Kind::fluid && !is_move(old, "spill")) return no_field(in, old, "share");
    const Day on = log::day_of_moment(old.effect.moment);
    if (auto bad = refuse_substances(in, on, *patch.shares, out.warnings)) return *std::move(bad);
    auto shares = fluids::write_shares(*patch.shares);
    if (!shares.ok()) return std::move(shares).refusal();
    details = without(details, "shares");
    if (!patch.shares->empty()) details["shares"] = std::move(*shares);
  }
  const bool firm = old.kind == Kind::firm;
  if (patch.haul && !firm && !is_move(old, "pickup"))
    return no_field(in, old, "distance to a receiver");
  if (patch.receives_as && !firm) return no_field(in, old, "kind of receiver");
  if (patch.streams && !firm) return no_field(in, old, "stream");
  if (patch.registered && !firm) return no_field(in, old, "registration");
  if (!firm) return returns::write_haul(details, patch.haul);
  NewFirm said;
  said.code = details.str("code");
  said.carries = details.has("carries");
  said.receives = details.has("receives");
  said.haul = patch.haul;
  said.receives_as = patch.receives_as.value_or(ReceivesAs::not_said);
  if (patch.receives_as) details = without(details, "receives-as");
  if (patch.streams) {
    if (auto bad = refuse_streams(in, desk.today, *patch.streams, StreamOf::firm))
      return *std::move(bad);
    said.streams = *patch.streams;
    details = without(details, "streams");
  }
  said.registered = patch.registered;
  return returns::write_firm(desk, said, details);
}

}  // namespace baybook::book
