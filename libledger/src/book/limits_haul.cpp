// How far the waste of a container goes, which decides the days of a small generator (40 CFR
// 262.16(c)).
#include "book/limits.hpp"

#include <algorithm>
#include <optional>

namespace baybook::book {

namespace {

using log::Value;

struct Haul {
  std::int64_t metres = 0;
  std::string told;  ///< "to fen-works 210 mi"
};

std::optional<Haul> said_in(LimitSheet& sheet, const Value& details, const std::string& of) {
  if (!details.has("haul-m")) return std::nullopt;
  const std::int64_t metres = details.num("haul-m");
  return Haul{metres, of + " " +
                          show_distance(Distance{metres, std::string(details.str("haul-typed"))},
                                        sheet.in.settings.units)};
}

std::optional<Haul> of_firm(LimitSheet& sheet, EntryId firm) {
  const auto fact = log::find_fact(sheet.in.db, firm);
  if (!fact || fact->withdrawn || fact->kind != log::Kind::firm) return std::nullopt;
  return said_in(sheet, fact->details, "to " + std::string(fact->details.str("code")));
}

/// The newest load of that stream up to the day.
std::optional<EntryId> last_load(LimitSheet& sheet, const OnHand& waste) {
  std::optional<log::Effect> newest;
  for (const Office::WastePlace& p : sheet.office.waste_places()) {
    if (sheet.office.stream_for(p.stream, sheet.day) != waste.stream) continue;
    auto q = sheet.in.db.query(
        "SELECT l.moment, l.recorded, l.entry FROM leg l JOIN flow f ON f.entry = l.entry WHERE "
        "l.place = ?1 AND f.source = ?1 AND f.target = 4 AND l.moment <= ?2 "
        "ORDER BY l.moment DESC, l.recorded DESC, l.entry DESC LIMIT 1");
    q.bind(p.id.n).bind(log::last_moment(sheet.day));
    if (!q.step()) continue;
    const log::Effect at{q.num(0), q.num(1), EntryId{q.num(2)}};
    if (!newest || *newest < at) newest = at;
  }
  return newest ? std::optional(newest->id) : std::nullopt;
}

// A firm of which it is said that this waste goes to it.
std::optional<Haul> of_named_firm(LimitSheet& sheet, const OnHand& waste) {
  std::vector<std::int64_t> ids;
  {
    auto q = sheet.in.db.query("SELECT id FROM firm WHERE receives <> 0 ORDER BY code, id");
    while (q.step()) ids.push_back(q.num(0));
  }
  std::optional<Haul> out;
  for (const std::int64_t id : ids) {
    const log::Fact fact = log::read_fact(sheet.in.db, EntryId{id});
    const Value* streams = fact.details.find("streams");
    if (streams == nullptr || log::day_of_moment(fact.effect.moment) > sheet.day) continue;
    const bool named =
        std::any_of(streams->as_array().begin(), streams->as_array().end(), [&](const Value& s) {
          return sheet.office.stream_for(s.as_string(), sheet.day) == waste.stream;
        });
    const auto haul = named ? of_firm(sheet, EntryId{id}) : std::nullopt;
    // Of several the nearest one: it is not known to which it will go, and the shorter time holds.
    if (haul && (!out || haul->metres < out->metres)) out = haul;
  }
  return out;
}

std::optional<Haul> haul_of(LimitSheet& sheet, const OnHand& waste) {
  if (waste.stream == nullptr) return std::nullopt;
  if (const auto load = last_load(sheet, waste)) {
    const log::Fact fact = log::read_fact(sheet.in.db, *load);
    if (auto own = said_in(sheet, fact.details, "with entry " + entry_name(sheet.in, *load)))
      return own;
    if (const Value* firm = fact.details.find("receiver-firm")) {
      if (auto haul = of_firm(sheet, EntryId{log::read_ref(*firm, fact.origin())})) return haul;
    }
  }
  return of_named_firm(sheet, waste);
}

/// Why the waste goes far; none when it does not, or nobody knows.
std::optional<std::string> goes_far(LimitSheet& sheet, const OnHand& waste) {
  const RuleValue* far = sheet.value("clock.long-haul.distance");
  if (const auto haul = haul_of(sheet, waste); haul && far != nullptr) {
    if (haul->metres < far->n) return std::nullopt;
    return "it goes " + haul->told + ", " + far->text + " or more (" + far->source.section +
           (far->source.sure == Sure::confirmed ? ""
                                                : ", " + std::string(words_for(far->source.sure))) +
           ")";
  }
  const RuleValue* site = sheet.value("site.long-haul");
  if (site == nullptr || site->n == 0) return std::nullopt;
  return "no distance to its receiver is on record, so by site.long-haul of " + site->source.file;
}

}  // namespace

const RuleValue* clock_days(LimitSheet& sheet, const RuleValue* ordinary,
                            const std::vector<const OnHand*>& waste) {
  const RuleValue* days = sheet.value("clock.long-haul.days");
  if (days == nullptr || waste.empty()) return ordinary;
  const bool all = std::all_of(waste.begin(), waste.end(),
                               [&](const OnHand* h) { return goes_far(sheet, *h).has_value(); });
  return all ? days : ordinary;
}

std::string haul_told(LimitSheet& sheet, const OnHand& waste, const RuleValue* days) {
  if (days == nullptr || days->key != "clock.long-haul.days") return "";
  const auto why = goes_far(sheet, waste);
  return why ? "; " + *why : "";
}

}  // namespace baybook::book
