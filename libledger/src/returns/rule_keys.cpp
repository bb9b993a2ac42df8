#include "returns/rule_keys.hpp"

#include <algorithm>
#include <array>

namespace baybook::returns {

namespace {

using enum RuleValue::Type;

constexpr auto kKeys = std::to_array<RuleKey>({
    // How much in a month: the US generator categories.
    {"category.very-small.max-non-acute", mass, "a month is very small while its non-acute waste is at most this"},
    {"category.very-small.max-acute", mass, "a month is very small or small while its acute waste is at most this"},
    {"category.very-small.max-residue", mass, "a month is very small or small while its acute-spill residue is at most this"},
    {"category.large.min-non-acute", mass, "a month is large from this much non-acute waste on"},
    {"category.very-small.title", word, "the rule's words for the very small category"},
    {"category.small.title", word, "the rule's words for the small category"},
    {"category.large.title", word, "the rule's words for the large category"},
    {"category.very-small.exemption", word, "whether the exemption of a very small generator holds in full or in part", "full|partly"},
    {"category.very-small.pounds", mass, "the very small limit as the rule rounds it in pounds"},
    {"category.large.pounds", mass, "the large limit as the rule rounds it in pounds"},
    {"category.rounding", word, "what the pounds printed beside the kilograms are worth"},
    // How much and how long on the site.
    {"limit.very-small.trigger", mass, "from this much on the site a very small generator's clock runs and a small one's conditions hold"},
    {"limit.very-small.max-on-site", mass, "most that a very small generator may have on the site"},
    {"limit.small.max-on-site", mass, "most that a small generator may have on the site"},
    {"clock.very-small.days", days, "days from the day on which the trigger was reached"},
    {"clock.very-small-acute.days", days, "days from the day on which a very small generator passed an acute limit on the site"},
    {"clock.small.days", days, "days that a small generator's container may stand"},
    {"clock.large.days", days, "days that a large generator's container may stand"},
    {"clock.long-haul.days", days, "the same for a small generator whose waste goes far"},
    {"clock.long-haul.distance", distance, "far is this or more"},
    {"clock.extension.days", days, "days that the authority may add for an unforeseen delay"},
    {"clock.day-zero", word, "start: the last permitted day is the start and N days; first: the start is day one, so one day less", "start|first"},
    {"site.long-haul", yes, "whether this site's waste goes far enough for the longer clock"},
    {"satellite.max-volume", volume, "most non-acute waste in one satellite area"},
    {"satellite.max-acute-liquid", volume, "most liquid acute waste in one satellite area"},
    {"satellite.max-acute-solid", mass, "most solid acute waste in one satellite area"},
    {"satellite.max-extremely-hazardous", volume, "most extremely hazardous waste in one satellite area"},
    {"satellite.excess-days", days, "consecutive calendar days in which what is over the limit must be moved"},
    {"clock.universal-waste.months", months, "months that universal waste may stand"},
    {"universal-waste.small-handler.max-mass", mass, "a small handler has less than this on the site"},
    {"clock.wipes.days", days, "days that a container of solvent wipes may stand from its first wipe"},
    {"clock.airbags.days", days, "days that airbag waste may stand"},
    {"airbags.max-count", number, "most airbag modules and inflators on the site"},
    // What is counted, and when.
    {"counting.date", word, "decided: counted when it is moved into a waste place; drained: counted when it was drained", "decided|drained"},
    {"counting.filtered-after-storage", yes, "whether a fluid that was stored, then filtered on the site and used again, is counted"},
    {"counting.filtered-without-storage", yes, "whether a fluid that went straight into an on-site process without storage is counted"},
    {"counting.reused", word, "once-a-month: what was put back and drained again in one month counts once; each-time: whenever it is drained", "once-a-month|each-time"},
    {"codes.acute", word, "what the codes of acute waste begin with"},
    {"codes.listed", word, "what the codes of listed waste begin with"},
    // Waste of one stream poured into another.
    {"mixing.rule", word, "what the rules say of mixing; printed where a mixture is refused"},
    {"mixing.listed", word, "what listed waste makes of used oil"},
    {"mixing.characteristic", word, "what waste that is hazardous by a characteristic makes of used oil"},
    {"mixing.very-small", word, "what a very small generator's waste makes of used oil"},
    {"mixing.other", word, "what hazardous waste makes of any other stream"},
    {"catch.undecided-days", days, "days that a drained pan may stand before it is decided what becomes of it"},
    // Papers of a pick-up.
    {"paper.name", word, "the rule's words for the paper that goes with a pick-up"},
    {"paper.large.ask-days", days, "a large generator without the signed copy asks after so many days from acceptance"},
    {"paper.large.report-days", days, "a large generator without the signed copy reports after so many days from acceptance"},
    {"paper.small.report-days", days, "a small generator without the signed copy reports after so many days from acceptance"},
    {"paper.report-way", word, "how such a report is filed"},
    {"consignee.return.months", months, "how often the receiver of hazardous waste sends its return"},
    {"consignee.return.due", word, "when that return must have arrived"},
    {"carrier.upper-tier.renew-months", months, "how often an upper-tier carrier renews its registration"},
    {"registration.wales.mass", mass, "hazardous waste in a year from which premises in Wales are registered"},
    // Closing a job: the shop's own word, common practice without one.
    {"job.tolerance.percent", number,
     "a job's account may be off by this many percent of what the circuit holds (without it 5)"},
    {"job.tolerance.least", volume, "and by this much of any circuit (without it 0.2 L)"},
    {"job.tolerance.refrigerant", mass, "and by this much of refrigerant (without it 30 g)"},
    // Looking at containers.
    {"inspection.small.every-days", days, "days between two looks at the containers of a small generator"},
    {"inspection.large.every-days", days, "days between two looks at the containers of a large generator"},
    {"inspection.every-days", days, "days between two looks at the containers where the rules name none"},
    {"container.closed", word, "how a container is kept"},
    {"label.adds", word, "what else stands on a label"},
    // How long papers are kept.
    {"retention.pickup.months", months, "months to keep the signed paper of a pick-up"},
    {"retention.report.months", months, "months to keep a report, from its due date"},
    {"retention.determination.months", months, "months to keep a waste determination, from when the waste was last sent off"},
    {"retention.event-approval.months", months, "months to keep the approval of a second episodic event, from its end"},
    {"retention.register.months", months, "months to keep the register of hazardous waste"},
    {"retention.carrier.months", months, "months that a carrier keeps its records"},
    {"retention.consignee.months", months, "months that a receiver other than a landfill keeps its notes"},
    {"retention.transfer-note.months", months, "months to keep the transfer note of waste that is not hazardous"},
    {"retention.vehicle.months", months, "months to keep the maintenance record of an operator's vehicle"},
    {"retention.vehicle.after-leaving.months", months, "months to keep it after the vehicle left the operator's control"},
    {"retention.defect-report.months", months, "months to keep a driver's defect report"},
    {"retention.annual-inspection.months", months, "months to keep the report of a yearly inspection"},
    {"retention.invoice.months", months, "months to keep invoices, estimates and work orders"},
    {"retention.refrigerant.months", months, "months to keep refrigerant records"},
    // Notices and reports on a day of the year.
    {"renewal.small.day", day_of_year, "day by which a small generator notifies again"},
    {"renewal.small.first-year", number, "first year of that notice"},
    {"renewal.small.every-years", number, "years between two such notices"},
    {"renewal.large.day", day_of_year, "day by which a large generator notifies again"},
    {"renewal.large.every-years", number, "years between two such notices"},
    {"report.large.day", day_of_year, "day on which a large generator's report is due"},
    {"report.large.first-year", number, "first year of that report"},
    {"report.large.every-years", number, "years between two such reports"},
    {"episodic.per-year", number, "episodic events in a calendar year without a petition"},
    {"episodic.notice-days", days, "days of notice before a planned event"},
    {"episodic.unplanned-notice-hours", hours, "hours in which an unplanned event is told"},
    {"episodic.days", days, "days from its start in which an event is finished and its waste sent off"},
    // Oil.
    {"oil-plan.limit", volume, "above-ground oil capacity that decides whether an oil plan is needed"},
    {"oil-plan.comparison", word, "more-than: a plan is needed above the limit; at-least: from the limit on", "more-than|at-least"},
    {"oil-plan.only-near-water", yes, "whether the plan is needed only where oil could reach navigable water"},
    {"oil-plan.min-container", volume, "containers from this size on are counted"},
    {"oil-storage.min-container", volume, "containers over this size come under the oil-storage rules"},
    {"oil-storage.bund.percent", number, "the bund holds this many percent of the only or largest container"},
    {"oil-storage.bund.total-percent", number, "or this many percent of all of them, whichever is more"},
    {"used-oil.halogens.ppm", number, "total halogens above which used oil is presumed to be mixed with hazardous waste"},
    {"used-oil.self-haul.max-volume", volume, "most used oil that a shop may carry in its own vehicle at any time"},
    {"used-oil.heater.max-btu-per-hour", number, "greatest heater that may burn a shop's own used oil"},
    {"used-oil.fuel.arsenic.max-ppm", number, "most arsenic in used oil that meets the specification"},
    {"used-oil.fuel.cadmium.max-ppm", number, "most cadmium in it"},
    {"used-oil.fuel.chromium.max-ppm", number, "most chromium in it"},
    {"used-oil.fuel.lead.max-ppm", number, "most lead in it"},
    {"used-oil.fuel.halogens.max-ppm", number, "most total halogens in it"},
    {"used-oil.fuel.pcb.max-ppm", number, "most PCB in it"},
    {"used-oil.fuel.min-flash-point-f", number, "lowest flash point of it, degrees Fahrenheit"},
    {"filters.crushed.max-mass", mass, "most crushed oil filters that may be stored under the exemption"},
    {"filters.hot-drain.hours", hours, "hours to drain a filter hot"},
    // Spills.
    {"spill.call", word, "whom to call"},
    {"spill.oil.report-when", word, "when a discharge of oil is reported"},
});

}  // namespace

std::span<const RuleKey> rule_keys() noexcept {
  static const auto keys = [] {
    auto out = kKeys;
    for (RuleKey& k : out) {
      for (const RuleReader& r : rule_readers()) {
        if (r.key != k.key) continue;
        k.read_by = r.read_by;
        k.only_told = r.only_told;
      }
    }
    return out;
  }();
  return keys;
}

const RuleKey* find_rule_key(std::string_view key) noexcept {
  const auto keys = rule_keys();
  const auto at =
      std::find_if(keys.begin(), keys.end(), [&](const RuleKey& k) { return k.key == key; });
  return at == keys.end() ? nullptr : &*at;
}

std::string_view type_name(RuleValue::Type type) noexcept {
  constexpr std::array<std::string_view, 10> kNames = {"mass", "volume", "distance", "days", "hours", "months", "number", "yes or no", "words", "day of the year"};
  return kNames[static_cast<std::size_t>(type)];
}

std::string_view example_of(RuleValue::Type type) noexcept {
  constexpr std::array<std::string_view, 10> kExamples = {"\"100 kg\"", "\"55 usgal\"", "\"200 mi\"", "\"180 d\"", "\"72 h\"", "\"36 mo\"", "250", "true", "\"some words\"", "\"09-01\""};
  return kExamples[static_cast<std::size_t>(type)];
}

}  // namespace baybook::returns
