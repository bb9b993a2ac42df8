// Reading rule files: which value holds on a day, what a shop's own file changes, and where a faulty file is refused.
#include <baybook/places.hpp>
#include <baybook/rules.hpp>

#include "log/sha256.hpp"
#include "returns/rule_files.hpp"
#include "returns/rule_keys.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <string>
#include <string_view>
#include <vector>

using namespace baybook;

namespace {

Day on(std::string_view iso) { return *read_day(iso); }
const Day kToday = on("2026-03-05");

RuleSet set_of(std::string_view name, std::string_view shop = {}) {
  auto read = read_rules(name, shop, "shop.toml");
  REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.refusal().what));
  return *std::move(read);
}

std::string is(const RuleSet& set, std::string_view key, Day day = kToday) {
  const RuleValue* v = set.value(key, day);
  return v == nullptr ? "nothing" : v->text;
}

std::string section(const RuleSet& set, std::string_view key, Day day = kToday) {
  const RuleValue* v = set.value(key, day);
  return v == nullptr ? "nothing" : v->source.section;
}

std::string code(const RuleSet& set, std::string_view fluid_class, Day day = kToday) {
  const Stream* s = set.stream_of(fluid_class, day);
  return s == nullptr ? "no stream" : s->mirror.empty() ? s->code : s->code + " or " + s->mirror;
}

/// What a shop's file on us-federal is refused with: the place and the sentence.
std::string refused(std::string_view shop) {
  const auto read = read_rules("us-federal", shop, "shop.toml");
  if (read.ok()) return "read";
  CHECK(read.refusal().code == Code::unclear);
  return read.refusal().what;
}

std::string value_text(std::string_view rest) { return "[[value]]\nkey = \"clock.small.days\"\n" + std::string(rest); }

}  // namespace

TEST_SUITE("returns/rules") {
  TEST_CASE("each rule set that comes with the program reads, and is called what its file is called") {
    const std::vector<std::string_view> names(rule_set_names().begin(), rule_set_names().end());
    CHECK(names == std::vector<std::string_view>{"eu", "uk", "us-california", "us-federal"});
    for (const std::string_view name : names) {
      CAPTURE(name);
      const RuleSet set = set_of(name);
      CHECK(set.name == name);
      CHECK_FALSE(set.title.empty());
      CHECK(set.scheme == (name.starts_with("us-") ? "us" : "list-of-waste"));
      CHECK(set.files.back() == std::string(name) + ".toml");
      CHECK(set.digest.size() == 64);
    }
  }

  TEST_CASE("California stands on the federal rules, the European Union and the United Kingdom stand alone") {
    CHECK(set_of("us-california").files == std::vector<std::string>{"us-federal.toml", "us-california.toml"});
    CHECK(set_of("eu").files == std::vector<std::string>{"eu.toml"});
    CHECK(set_of("uk").files == std::vector<std::string>{"uk.toml"});
  }

  TEST_CASE("every value, stream and reportable names its section, and where it was seen when it says that it was") {
    for (const std::string_view name : rule_set_names()) {
      CAPTURE(name);
      const RuleSet set = set_of(name);
      const auto sourced = [](const Source& s) {
        CHECK_FALSE(s.section.empty());
        CHECK_FALSE(s.file.empty());
        CHECK(s.sure != Sure::shop);
        if (s.sure == Sure::confirmed || s.sure == Sure::secondary) CHECK_FALSE(s.seen.empty());
      };
      for (const RuleValue& v : set.values) {
        CAPTURE(v.key);
        sourced(v.source);
      }
      for (const Stream& s : set.streams) {
        CAPTURE(s.name);
        sourced(s.source);
        CHECK_FALSE(s.title.empty());
        CHECK_FALSE(s.why.empty());
        CHECK(s.density.has_value() == !s.density_source.empty());
      }
      for (const Reportable& r : set.reportable) sourced(r.source);
    }
  }

  TEST_CASE("every screen can say that it is an aid and defers to the authority, local codes and licensed practice") {
    for (const std::string_view name : rule_set_names()) {
      const std::string aid = set_of(name).aid;
      for (const std::string_view word : {"aid", "authority", "local codes", "licensed practice"}) CHECK(aid.find(word) != std::string::npos);
    }
  }

  TEST_CASE("every class of fluid becomes one stream in every set, on both sides of a change") {
    for (const std::string_view name : rule_set_names()) {
      const RuleSet set = set_of(name);
      for (const FluidClass& c : fluid_classes()) {
        CAPTURE(name);
        CAPTURE(c.name);
        for (const std::string_view iso : {"2020-01-01", "2026-11-08", "2026-11-09"}) CHECK(set.stream_of(c.name, on(iso)) != nullptr);
      }
    }
  }

  TEST_CASE("what the reference does not know says so and is determined batch by batch") {
    for (const std::string_view name : rule_set_names()) {
      const RuleSet set = set_of(name);
      const Stream* s = set.stream_of("unknown", kToday);
      REQUIRE(s != nullptr);
      CHECK(s->name == "other-waste");
      CHECK(s->code.empty());
      CHECK(s->hazardous == YesNo::by_determination);
      CHECK(s->source.sure == Sure::memory);
      CHECK(s->note.find("reference has no") != std::string::npos);
    }
  }

  TEST_CASE("every key has one line of meaning, one type, and stands once in the table of keys") {
    std::map<std::string_view, int> seen;
    for (const returns::RuleKey& k : returns::rule_keys()) {
      CAPTURE(k.key);
      CHECK(++seen[k.key] == 1);
      CHECK_FALSE(k.meaning.empty());
      CHECK(meaning_of(k.key) == k.meaning);
    }
    CHECK(meaning_of("clock.smal.days").empty());
  }

  TEST_CASE("every key is used by a set: none is there that nothing tells") {
    std::vector<std::string> used;
    for (const std::string_view name : rule_set_names()) {
      for (const RuleValue& v : set_of(name).values) used.push_back(v.key);
    }
    for (const returns::RuleKey& k : returns::rule_keys()) {
      CAPTURE(k.key);
      // No law says how far a jug may be off: only a shop's own file does.
      if (k.key.starts_with("job.tolerance.")) continue;
      CHECK(std::find(used.begin(), used.end(), k.key) != used.end());
    }
  }

  TEST_CASE("amounts are held in base units, days and months as numbers, a day of the year as month and day") {
    const RuleSet set = set_of("us-federal");
    const auto n = [&](std::string_view key) { return set.value(key, kToday)->n; };
    CHECK(n("category.very-small.max-non-acute") == 100'000'000'000);      // ug
    CHECK(n("oil-plan.min-container") == 208'197'648'120);                  // 55 US gal in nl: NIST Handbook 44, Appendix C
    CHECK(n("clock.long-haul.distance") == 321'869);                        // 200 mi in m, 1 mi = 1609.344 m (NIST SP 811)
    CHECK(n("clock.small.days") == 180);
    CHECK(n("episodic.unplanned-notice-hours") == 72);
    CHECK(n("retention.pickup.months") == 36);
    CHECK(n("airbags.max-count") == 250);
    CHECK(n("site.long-haul") == 0);
    CHECK(n("counting.filtered-after-storage") == 1);
    CHECK(n("renewal.small.day") == 901);
    CHECK(set.value("site.long-haul", kToday)->text == "no");
  }

  TEST_CASE("the days of the exception report change on 2025-01-22 and not a day before") {
    const RuleSet set = set_of("us-federal");
    CHECK(is(set, "paper.large.ask-days", on("2025-01-21")) == "35 d");
    CHECK(is(set, "paper.large.report-days", on("2025-01-21")) == "45 d");
    CHECK(is(set, "paper.large.ask-days", on("2025-01-22")) == "45 d");
    CHECK(is(set, "paper.large.report-days", on("2025-01-22")) == "60 d");
    CHECK(set.value("paper.large.ask-days", on("2025-01-22"))->source.sure == Sure::secondary);
    CHECK(is(set, "paper.report-way", on("2025-11-30")) == "nothing");
    CHECK(is(set, "paper.report-way", on("2025-12-01")) != "nothing");
  }

  TEST_CASE("in the European Union alkaline batteries become hazardous on 2026-11-09, without a code that was not seen, not so in the UK") {
    const RuleSet eu = set_of("eu");
    const Stream* before = eu.stream("other-batteries", on("2026-11-08"));
    const Stream* after = eu.stream("other-batteries", on("2026-11-09"));
    REQUIRE(before != nullptr);
    REQUIRE(after != nullptr);
    CHECK(before->code == "16 06 04");
    CHECK(before->hazardous == YesNo::no);
    CHECK(after->code.empty());
    CHECK(after->hazardous == YesNo::yes);
    CHECK(after->note.find("codes were not seen") != std::string::npos);
    const RuleSet uk = set_of("uk");
    CHECK(uk.stream("other-batteries", on("2026-11-09"))->code == "16 06 04");
  }

  TEST_CASE("what is not in a set is null, and so is a day outside") {
    CHECK(set_of("eu").value("clock.small.days", kToday) == nullptr);
    CHECK(set_of("eu").stream("nothing", kToday) == nullptr);
    CHECK(set_of("eu").stream_of("nothing", kToday) == nullptr);
    CHECK(set_of("us-federal").value("clock.airbags.days", on("2018-11-29")) == nullptr);
    CHECK(set_of("us-federal").value("clock.airbags.days", on("2018-11-30")) != nullptr);
  }

  TEST_CASE("55 gal of used oil weigh 412.5 lb, as the county sheet has it, within what three decimals of a density round") {
    const RuleSet set = set_of("us-federal");
    const Stream* oil = set.stream_of("engine-oil", kToday);
    REQUIRE(oil != nullptr);
    REQUIRE(oil->density.has_value());
    CHECK(oil->density_sure == Sure::confirmed);
    const Amount drum = *parse_amount("55 usgal", Units{});
    const Amount sheet = *parse_amount("412.5 lb", Units{});
    const std::int64_t difference = mass_of(Volume{drum.best}, *oil->density).n - sheet.best;
    // 0.0005 kg/L over 208.2 L is 0.104 kg.
    CHECK(std::abs(difference) <= 104'100'000);
    CHECK(std::abs(difference) > 0);
  }

  TEST_CASE("a class without a density in the reference has none") {
    for (const std::string_view name : rule_set_names()) {
      const RuleSet set = set_of(name);
      for (const std::string_view c : {"refrigerant", "grease", "absorbent", "oil-filters", "batteries", "tyres", "airbags", "packaging", "unknown"}) {
        CAPTURE(c);
        CHECK_FALSE(set.stream_of(c, kToday)->density.has_value());
      }
    }
  }

  TEST_CASE("a set that is not there is not found, with the near names") {
    const auto read = read_rules("us-federl");
    REQUIRE_FALSE(read.ok());
    CHECK(read.refusal().code == Code::not_found);
    CHECK(read.refusal().instead == "us-federal");
  }

  TEST_CASE("name_of names every degree of sureness") {
    CHECK(name_of(Sure::confirmed) == "confirmed");
    CHECK(name_of(Sure::secondary) == "secondary");
    CHECK(name_of(Sure::memory) == "memory");
    CHECK(name_of(Sure::practice) == "practice");
    CHECK(name_of(Sure::derived) == "derived");
    CHECK(name_of(Sure::shop) == "shop");
    CHECK(words_for(Sure::confirmed) == "confirmed");
    CHECK(words_for(Sure::memory) == "from memory");
    CHECK(words_for(Sure::practice) == "common practice, no source");
    CHECK(with_words("40 CFR 262.42(b)", Sure::memory) == "40 CFR 262.42(b) (from memory)");
    CHECK(with_words("40 CFR 262.42(b)", Sure::confirmed) == "40 CFR 262.42(b)");
    CHECK(with_words("our own", Sure::shop) == "our own");
    CHECK(with_words("common practice, no source", Sure::practice) == "common practice, no source");
  }
}

TEST_SUITE("returns/rules digest") {
  TEST_CASE("it is the SHA-256 of the texts in their order, so that anyone can compute it") {
    std::string federal, california;
    for (const returns::RuleFile& f : returns::rule_files()) {
      if (f.name == "us-federal") federal = f.text;
      if (f.name == "us-california") california = f.text;
    }
    CHECK(set_of("us-federal").digest == log::hex(log::sha256(federal)));
    CHECK(set_of("us-california").digest == log::hex(log::sha256(federal + california)));
    const std::string shop = value_text("is = \"90 d\"\nsection = \"house rule\"\n");
    CHECK(set_of("us-federal", shop).digest == log::hex(log::sha256(federal + shop)));
  }

  TEST_CASE("it is the same each time and another with every letter of the shop's file") {
    const std::string shop = value_text("is = \"90 d\"\nsection = \"house rule\"\n");
    CHECK(set_of("uk").digest == set_of("uk").digest);
    CHECK(set_of("us-federal", shop).digest == set_of("us-federal", shop).digest);
    CHECK(set_of("us-federal", shop).digest != set_of("us-federal").digest);
    CHECK(set_of("us-federal", shop + "#").digest != set_of("us-federal", shop).digest);
  }
}

TEST_SUITE("returns/rules against the reference") {
  TEST_CASE("US generator categories: 40 CFR 260.10 and 262.13 Table 1") {
    const RuleSet set = set_of("us-federal");
    CHECK(is(set, "category.very-small.max-non-acute") == "100 kg");
    CHECK(is(set, "category.very-small.max-acute") == "1 kg");
    CHECK(is(set, "category.very-small.max-residue") == "100 kg");
    CHECK(is(set, "category.large.min-non-acute") == "1000 kg");
    CHECK(section(set, "category.large.min-non-acute") == "40 CFR 260.10; 262.13 Table 1");
    CHECK(set.value("category.large.min-non-acute", kToday)->source.sure == Sure::confirmed);
    CHECK(is(set, "category.small.title") == "small quantity generator (SQG)");
  }

  TEST_CASE("US accumulation limits: 40 CFR 262.14 to 262.17") {
    const RuleSet set = set_of("us-federal");
    CHECK(is(set, "limit.very-small.trigger") == "1000 kg");
    CHECK(is(set, "limit.small.max-on-site") == "6000 kg");
    CHECK(section(set, "limit.small.max-on-site") == "40 CFR 262.16(b)(1)");
    CHECK(is(set, "clock.very-small.days") == "180 d");
    CHECK(is(set, "clock.small.days") == "180 d");
    CHECK(is(set, "clock.large.days") == "90 d");
    CHECK(is(set, "clock.long-haul.days") == "270 d");
    CHECK(is(set, "clock.extension.days") == "30 d");
    CHECK(is(set, "satellite.max-volume") == "55 usgal");
    CHECK(is(set, "satellite.excess-days") == "3 d");
    CHECK(section(set, "satellite.excess-days") == "40 CFR 262.15(a)(6)");
    CHECK(is(set, "inspection.small.every-days") == "7 d");
    CHECK(set.value("inspection.large.every-days", kToday)->source.sure == Sure::memory);
  }

  TEST_CASE("US papers, notices and retention: 40 CFR 262.18, 262.40 to 262.42") {
    const RuleSet set = set_of("us-federal");
    CHECK(is(set, "paper.small.report-days") == "60 d");
    CHECK(section(set, "paper.small.report-days") == "40 CFR 262.42(b)");
    CHECK(is(set, "retention.pickup.months") == "36 mo");
    CHECK(section(set, "retention.pickup.months") == "40 CFR 262.40(a)");
    CHECK(set.value("retention.determination.months", kToday)->source.sure == Sure::memory);
    CHECK(is(set, "renewal.small.day") == "09-01");
    CHECK(is(set, "renewal.small.first-year") == "2021");
    CHECK(is(set, "renewal.small.every-years") == "4");
    CHECK(is(set, "report.large.day") == "03-01");
    CHECK(is(set, "report.large.every-years") == "2");
  }

  TEST_CASE("US oil: 40 CFR 112.1, 279.10, 279.11, 279.24") {
    const RuleSet set = set_of("us-federal");
    CHECK(is(set, "oil-plan.limit") == "1320 usgal");
    CHECK(is(set, "oil-plan.comparison") == "more-than");
    CHECK(is(set, "used-oil.halogens.ppm") == "1000");
    CHECK(is(set, "used-oil.fuel.lead.max-ppm") == "100");
    CHECK(is(set, "used-oil.fuel.halogens.max-ppm") == "4000");
    CHECK(is(set, "used-oil.self-haul.max-volume") == "55 usgal");
    const Stream* oil = set.stream("used-oil", kToday);
    CHECK(oil->label == std::vector<std::string>{"Used Oil"});
    CHECK(oil->counted == YesNo::no);
    CHECK(oil->group == "used-oil");
  }

  TEST_CASE("US streams: airbags 261.4(j), wipes 261.4(a)(26), lead-acid batteries 266.80, antifreeze 63 FR 20187") {
    const RuleSet set = set_of("us-federal");
    CHECK(set.stream_of("airbags", kToday)->label == std::vector<std::string>{"Airbag Waste-Do Not Reuse"});
    CHECK(set.stream("wipes", kToday)->label == std::vector<std::string>{"Excluded Solvent-Contaminated Wipes"});
    CHECK(set.stream_of("batteries", kToday)->counted == YesNo::no);
    CHECK(set.stream_of("coolant", kToday)->hazardous == YesNo::by_determination);
    CHECK(set.stream_of("coolant", kToday)->counted == YesNo::by_determination);
    CHECK(set.stream_of("petrol", kToday)->label == std::vector<std::string>{"Hazardous Waste"});
    CHECK(set.stream_of("brake-fluid", kToday)->name == "brake-fluid");
    CHECK(set.stream_of("brake-fluid", kToday)->note.starts_with("conflict"));
  }

  TEST_CASE("US reportable quantities: ethylene glycol 5,000 lb is from memory and says so") {
    const RuleSet set = set_of("us-federal");
    const auto glycol = std::find_if(set.reportable.begin(), set.reportable.end(), [](const Reportable& r) { return r.substance == "ethylene glycol"; });
    REQUIRE(glycol != set.reportable.end());
    CHECK(glycol->classes == "coolant");
    CHECK(glycol->quantity.n == 5000 * 453'592'370LL);  // 1 lb = 0.45359237 kg: NIST Handbook 44
    CHECK(glycol->source.sure == Sure::memory);
    CHECK(glycol->window == "within any 24-hour period");
  }

  TEST_CASE("California: used oil is hazardous and counted until it meets the specification, the notice comes in 2024, the oil act begins at 1,320 gal, the rest is federal") {
    const RuleSet set = set_of("us-california");
    const Stream* oil = set.stream_of("gear-oil", kToday);
    REQUIRE(oil != nullptr);
    CHECK(oil->name == "used-oil");
    CHECK(oil->hazardous == YesNo::by_determination);
    CHECK(oil->until_determined);
    CHECK(oil->counted == YesNo::by_determination);
    CHECK(oil->managed.empty());
    CHECK(oil->group == "hazardous-waste");
    CHECK(oil->label == std::vector<std::string>{"Used Oil"});
    CHECK(oil->density->ppm_kg_per_l == 899'000);
    CHECK(oil->source.file == "us-california.toml");
    CHECK(oil->source.note.find("as in us-federal.toml (40 CFR 279.1, 279.10, 279.22(c))") != std::string::npos);
    CHECK(is(set, "renewal.small.first-year") == "2024");
    CHECK(section(set, "renewal.small.first-year") == "22 CCR 66262.18");
    CHECK(is(set, "oil-plan.comparison") == "at-least");
    CHECK(is(set, "used-oil.fuel.lead.max-ppm") == "50");
    CHECK(is(set, "used-oil.fuel.halogens.max-ppm") == "3000");
    CHECK(is(set, "clock.large.days") == "90 d");
    CHECK(set.value("clock.large.days", kToday)->source.file == "us-federal.toml");
  }

  TEST_CASE("List of Waste codes: Decision 2000/532/EC, in the EU and in the UK") {
    for (const std::string_view name : {"eu", "uk"}) {
      CAPTURE(name);
      const RuleSet set = set_of(name);
      CHECK(code(set, "engine-oil") == "13 02 08*");
      CHECK(code(set, "hydraulic-oil") == "13 01 13*");
      CHECK(code(set, "coolant") == "16 01 14* or 16 01 15");
      CHECK(code(set, "brake-fluid") == "16 01 13*");
      CHECK(code(set, "oil-filters") == "16 01 07*");
      CHECK(code(set, "petrol") == "13 07 02*");
      CHECK(code(set, "diesel") == "13 07 01*");
      CHECK(code(set, "refrigerant") == "14 06 01*");
      CHECK(code(set, "solvent") == "14 06 03*");
      CHECK(code(set, "absorbent") == "15 02 02* or 15 02 03");
      CHECK(code(set, "batteries") == "16 06 01*");
      CHECK(code(set, "tyres") == "16 01 03");
      CHECK(code(set, "airbags") == "16 01 10*");
      CHECK(code(set, "old-parts") == "16 01 21* or 16 01 22");
      CHECK(code(set, "wash-water") == "16 10 01* or 16 10 02");
      CHECK(code(set, "packaging") == "15 01 10*");
      CHECK(code(set, "grease") == "12 01 12*");
      CHECK(code(set, "washer-fluid").empty());
      for (const Stream& s : set.streams) {
        CAPTURE(s.name);
        CHECK(s.counted == YesNo::no);
        // The asterisk and the word agree.
        if (s.code.ends_with('*')) CHECK(s.hazardous != YesNo::no);
        else if (!s.code.empty()) CHECK(s.hazardous == YesNo::no);
      }
    }
  }

  TEST_CASE("a code that UK guidance was not seen to carry is from memory in the UK and confirmed in the EU") {
    CHECK(set_of("uk").stream_of("coolant", kToday)->source.sure == Sure::confirmed);
    CHECK(set_of("uk").stream_of("airbags", kToday)->source.sure == Sure::memory);
    CHECK(set_of("eu").stream_of("airbags", kToday)->source.sure == Sure::confirmed);
  }

  TEST_CASE("UK: consignee returns, registers, carriers, crushed filters, oil storage") {
    const RuleSet set = set_of("uk");
    CHECK(is(set, "consignee.return.months") == "3 mo");
    CHECK(section(set, "consignee.return.months") == "SI 2005/894 reg 53(4)");
    CHECK(is(set, "retention.register.months") == "36 mo");
    CHECK(is(set, "retention.vehicle.months") == "15 mo");
    CHECK(is(set, "carrier.upper-tier.renew-months") == "36 mo");
    CHECK(is(set, "filters.crushed.max-mass") == "1000 kg");
    CHECK(is(set, "oil-storage.min-container") == "200 L");
    CHECK(is(set, "oil-storage.bund.percent") == "110");
    CHECK(is(set_of("eu"), "retention.register.months") == "36 mo");
  }

  TEST_CASE("no list-of-waste set carries a category by weight") {
    for (const std::string_view name : {"eu", "uk"}) {
      for (const RuleValue& v : set_of(name).values) CHECK_FALSE(v.key.starts_with("category."));
    }
  }
}

TEST_SUITE("returns/rules of a shop") {
  TEST_CASE("a shop's value stands above the set's and says that it is the shop's") {
    const RuleSet set = set_of("us-california", value_text("is = \"90 d\"\nsection = \"house rule\"\n"));
    const RuleValue* v = set.value("clock.small.days", kToday);
    CHECK(v->n == 90);
    CHECK(v->source.sure == Sure::shop);
    CHECK(v->source.file == "shop.toml");
    CHECK(v->source.section == "house rule");
    CHECK(set.files == std::vector<std::string>{"us-federal.toml", "us-california.toml", "shop.toml"});
    CHECK(set.title == set_of("us-california").title);
  }

  TEST_CASE("a shop's value for some days leaves the set's on the others") {
    const RuleSet set = set_of("us-federal", value_text("is = \"90 d\"\nsection = \"house rule\"\nfrom = 2026-02-01\nuntil = \"2026-02-28\"\n"));
    CHECK(is(set, "clock.small.days", on("2026-01-31")) == "180 d");
    CHECK(is(set, "clock.small.days", on("2026-02-01")) == "90 d");
    CHECK(is(set, "clock.small.days", on("2026-02-28")) == "90 d");
    CHECK(is(set, "clock.small.days", on("2026-03-01")) == "180 d");
  }

  TEST_CASE("a shop's file called like a file of the program is still the shop's") {
    const auto read = read_rules("us-federal", value_text("is = \"90 d\"\nsection = \"house rule\"\n"), "us-federal.toml");
    REQUIRE(read.ok());
    CHECK(is(*read, "clock.small.days") == "90 d");
  }

  TEST_CASE("a shop's density needs no more than its source, and the rest of the stream keeps its own") {
    const RuleSet set = set_of("us-federal", "[[stream]]\nname = \"used-oil\"\ndensity = \"7.4 lb/usgal\"\ndensity-source = \"weighed, invented\"\n");
    const Stream* oil = set.stream_of("steering-fluid", kToday);
    CHECK(oil->density->typed == "7.4 lb/usgal");
    CHECK(oil->density_source == "weighed, invented");
    CHECK(oil->density_sure == Sure::shop);
    CHECK(oil->source.section == "40 CFR 279.1, 279.10, 279.22(c)");
    CHECK(oil->source.sure == Sure::secondary);
    CHECK(oil->label == std::vector<std::string>{"Used Oil"});
  }

  TEST_CASE("a shop lays a word over a stream and keeps the rest") {
    const RuleSet set = set_of("us-california", "[[stream]]\nname = \"coolant\"\nhazardous = \"yes\"\nsection = \"laboratory report, invented\"\n");
    const Stream* s = set.stream_of("coolant", kToday);
    CHECK(s->hazardous == YesNo::yes);
    CHECK(s->counted == YesNo::by_determination);
    CHECK(s->title == "Used antifreeze");
    CHECK(s->source.sure == Sure::shop);
    CHECK(s->source.note.find("as in us-federal.toml") != std::string::npos);
    CHECK_FALSE(s->note.empty());
  }

  TEST_CASE("a shop's row over a stream that changes on a day keeps the change") {
    const RuleSet set = set_of("eu", "[[stream]]\nname = \"other-batteries\"\ntitle = \"Dry cells\"\nsection = \"house word\"\n");
    CHECK(set.stream("other-batteries", on("2026-11-08"))->title == "Dry cells");
    CHECK(set.stream("other-batteries", on("2026-11-08"))->hazardous == YesNo::no);
    CHECK(set.stream("other-batteries", on("2026-11-09"))->title == "Dry cells");
    CHECK(set.stream("other-batteries", on("2026-11-09"))->hazardous == YesNo::yes);
  }

  TEST_CASE("a shop adds a stream and moves a class into it, the old stream keeps its other classes") {
    const RuleSet set = set_of("us-federal",
                               "[[stream]]\nname = \"spent-grease\"\ntitle = \"Spent grease\"\nclasses = [\"grease\"]\nhazardous = \"no\"\ncounted = \"no\"\ngroup = \"other\"\nnever-with = [\"used-oil\"]\nsection = "
                               "\"house rule\"\n[[stream]]\nname = \"other-waste\"\ntitle = \"Everything else\"\nsection = \"house word\"\n");
    CHECK(set.stream_of("grease", kToday)->name == "spent-grease");
    CHECK(set.stream_of("unknown", kToday)->title == "Everything else");
  }

  TEST_CASE("a shop's reportable quantity takes the place of the set's") {
    const RuleSet set = set_of("us-federal", "[[reportable]]\nclasses = \"coolant\"\nsubstance = \"ethylene glycol\"\nquantity = \"25 lb\"\nwindow = \"within a day\"\nsection = \"county order, invented\"\n");
    int found = 0;
    for (const Reportable* r : set.reportable_on(kToday)) {
      if (r->substance != "ethylene glycol") continue;
      ++found;
      CHECK(r->quantity.n == 25 * 453'592'370LL);
    }
    CHECK(found == 1);
    CHECK(set.reportable_on(kToday).size() == set_of("us-federal").reportable_on(kToday).size());
  }

  TEST_CASE("a shop's reportable quantity of some days leaves the others as they were") {
    const RuleSet set = set_of("us-federal",
                               "[[reportable]]\nclasses = \"coolant\"\nsubstance = \"Ethylene "
                               "Glycol\"\nquantity = \"25 lb\"\nwindow = \"within a day\"\nsection "
                               "= \"county order, invented\"\nfrom = 2026-07-01\n");
    const auto of = [&](const char* day) {
      for (const Reportable* r : set.reportable_on(on(day))) {
        if (r->classes == "coolant") return r->typed;
      }
      return std::string();
    };
    CHECK(of("2026-06-30") == "5000 lb");
    CHECK(of("2026-07-01") == "25 lb");
  }

  TEST_CASE(
      "rows of one key are shown together, what holds first, and what they replaced with the file "
      "that did") {
    const RuleSet set = set_of("us-california",
                               "[[value]]\nkey = \"renewal.small.first-year\"\nis = 2026\nsection "
                               "= \"ours\"\n[[value]]\nkey = \"clock.small.days\"\nis = \"100 "
                               "d\"\nsection = \"ours\"\nfrom = 2026-07-01\n");
    std::vector<std::string> years, days;
    for (const RuleRow& row : value_rows(set)) {
      const RuleValue& v = set.values[row.index];
      const std::string told =
          v.text + " " + std::string(name_of(row.is)) + (row.by.empty() ? "" : " by " + row.by);
      if (v.key == "renewal.small.first-year") years.push_back(told);
      if (v.key == "clock.small.days") days.push_back(told);
    }
    CHECK(years == std::vector<std::string>{"2026 holds", "2024 replaced by shop.toml",
                                            "2021 replaced by us-california.toml"});
    CHECK(days == std::vector<std::string>{"100 d holds", "180 d holds in part by shop.toml"});
    CHECK(value_rows(set).size() == set.values.size());
    CHECK(stream_rows(set).size() == set.streams.size());
  }
}

TEST_SUITE("returns/rules refused") {
  TEST_CASE("an unknown key is told where it stands, with the near one, and the first in the file before the others") {
    CHECK(refused("color = 1\n") == "shop.toml:1:1: there is no key named color here");
    CHECK(refused("title = \"x\"\n") == "shop.toml:1:1: there is no key named title here");
    CHECK(refused("[[value]]\nzz = 1\naa = 2\n") == "shop.toml:2:1: there is no key named zz here");
    CHECK(refused("[[stream]]\nname = \"used-oil\"\n  lable = []\n") == "shop.toml:3:3: there is no key named lable here");
    CHECK(refused("[[reportable]]\nclass = \"coolant\"\n") == "shop.toml:2:1: there is no key named class here");
    CHECK(refused("[[value]]\nkey = \"clock.smal.days\"\nis = \"90 d\"\nsection = \"x\"\n") == "shop.toml:2:7: there is no value named clock.smal.days");
    CHECK(read_rules("us-federal", "[[value]]\nkey = \"clock.smal.days\"\n").refusal().instead == "key = \"clock.small.days\"");
  }

  TEST_CASE("a value, a stream or a reportable without a section is refused, also with an empty one") {
    CHECK(refused("# a shop's file\n" + value_text("is = \"90 d\"\n")) == "shop.toml:2:1: clock.small.days has no section");
    CHECK(refused(value_text("is = \"90 d\"\nsection = \"\"\n")) == "shop.toml:4:11: section is empty");
    CHECK(refused("[[stream]]\nname = \"used-oil\"\ntitle = \"Oil\"\n") == "shop.toml:1:1: the stream used-oil has no section");
    CHECK(refused("[[reportable]]\nclasses = \"coolant\"\nsubstance = \"glycol\"\nquantity = \"1 lb\"\nwindow = \"a day\"\n") == "shop.toml:1:1: glycol has no section");
  }

  TEST_CASE("a status that claims to have been seen names where, and only the known ones are read") {
    CHECK(refused(value_text("is = \"90 d\"\nsection = \"x\"\nstatus = \"C\"\n")) == "shop.toml:5:10: clock.small.days has no source: its status says that it was seen, and seen does not say where");
    CHECK(refused(value_text("is = \"90 d\"\nsection = \"x\"\nstatus = \"C2\"\n")).starts_with("shop.toml:5:10: "));
    CHECK(refused(value_text("is = \"90 d\"\nsection = \"x\"\nstatus = \"C\"\nseen = \"the order on the wall\"\n")) == "read");
    CHECK(refused(value_text("is = \"90 d\"\nsection = \"x\"\nstatus = \"sure\"\n")) == "shop.toml:5:10: status is C, C2, M, P, D or S, not \"sure\"");
  }

  TEST_CASE("a value without is, or of a wrong type, is refused with an example of the right one") {
    CHECK(refused(value_text("section = \"x\"\n")) == "shop.toml:1:1: clock.small.days has no is");
    CHECK(refused(value_text("is = 90\nsection = \"x\"\n")) == "shop.toml:3:6: clock.small.days is of the type days");
    CHECK(refused(value_text("is = \"90\"\nsection = \"x\"\n")) == "shop.toml:3:6: clock.small.days is in days, 1 to 36500, not \"90\"");
    CHECK(refused(value_text("is = \"0 d\"\nsection = \"x\"\n")).starts_with("shop.toml:3:6: "));
    CHECK(refused(value_text("is = \"3 mo\"\nsection = \"x\"\n")).starts_with("shop.toml:3:6: "));
    const auto of = [](std::string_view key, std::string_view is) { return refused("[[value]]\nkey = \"" + std::string(key) + "\"\nis = " + std::string(is) + "\nsection = \"x\"\n"); };
    CHECK(of("limit.small.max-on-site", "\"6000\"") == "shop.toml:3:6: amount \"6000\" has no unit");
    CHECK(of("limit.small.max-on-site", "\"6000 L\"") == "shop.toml:3:6: 6000 L is not one measured mass");
    CHECK(of("limit.small.max-on-site", "\"~6000 kg\"") == "shop.toml:3:6: ~6000 kg is not one measured mass");
    CHECK(of("satellite.max-volume", "\"55 gal\"").starts_with("shop.toml:3:6: amount \"55 gal\" is "));
    CHECK(of("clock.long-haul.distance", "\"200\"").starts_with("shop.toml:3:6: "));
    CHECK(of("site.long-haul", "\"yes\"") == "shop.toml:3:6: site.long-haul is of the type yes or no");
    CHECK(of("airbags.max-count", "2.5") == "shop.toml:3:6: airbags.max-count is of the type number, whole and not negative");
    CHECK(of("airbags.max-count", "-1").starts_with("shop.toml:3:6: "));
    CHECK(of("renewal.small.day", "\"02-30\"") == "shop.toml:3:6: \"02-30\" is not a day of the year");
    CHECK(of("renewal.small.day", "\"02-29\"") == "read");
    CHECK(of("clock.day-zero", "\"second\"") == "shop.toml:3:6: clock.day-zero is start or first, not \"second\"");
    CHECK(of("spill.call", "\"\"") == "shop.toml:3:6: is is empty");
    CHECK(of("spill.call", "\"\\u001b[31m\"").starts_with("shop.toml:3:6: is has the control character"));
  }

  TEST_CASE("a last day before the first, and one key twice for a day, are refused") {
    CHECK(refused(value_text("is = \"90 d\"\nsection = \"x\"\nfrom = 2026-02-01\nuntil = 2026-01-31\n")) == "shop.toml:6:9: clock.small.days holds until 2026-01-31, before its first day 2026-02-01");
    CHECK(refused(value_text("is = \"90 d\"\nsection = \"x\"\nfrom = \"soon\"\n")) == "shop.toml:5:8: from is a day of the years 1900 to 2999");
    const std::string until = value_text("is = \"90 d\"\nsection = \"x\"\nuntil = 2026-02-01\n");
    CHECK(refused(until + value_text("is = \"80 d\"\nsection = \"x\"\nfrom = 2026-02-01\n")) == "shop.toml:7:7: clock.small.days stands twice in this file for 2026-02-01");
    CHECK(refused(until + value_text("is = \"80 d\"\nsection = \"x\"\nfrom = 2026-02-02\n")) == "read");
    CHECK(refused(value_text("is = \"80 d\"\nsection = \"x\"\nfrom = 2026-02-01\n") + until) == "shop.toml:7:7: clock.small.days stands twice in this file for 2026-02-01");
    const std::string always = value_text("is = \"90 d\"\nsection = \"x\"\n");
    CHECK(refused(always + always) == "shop.toml:6:7: clock.small.days stands twice in this file");
    const std::string row = "[[stream]]\nname = \"used-oil\"\ntitle = \"Oil\"\nsection = \"x\"\n";
    CHECK(refused(row + row) == "shop.toml:6:8: the stream used-oil stands twice in this file");
    const std::string glycol = "[[reportable]]\nclasses = \"coolant\"\nsubstance = \"glycol\"\nquantity = \"1 lb\"\nwindow = \"a day\"\nsection = \"x\"\n";
    CHECK(refused(glycol + glycol) == "shop.toml:8:11: glycol of coolant stands twice in this file");
  }

  TEST_CASE("a density of nothing, out of range, or without a source is refused") {
    const auto of = [](std::string_view rest) { return refused("[[stream]]\nname = \"used-oil\"\n" + std::string(rest)); };
    CHECK(of("density = \"0 kg/L\"\ndensity-source = \"x\"\n") == "shop.toml:3:11: density \"0 kg/L\" (0 kg/L) is outside 0.4 to 20 kg/L");
    CHECK(of("density = \"21 kg/L\"\ndensity-source = \"x\"\n").starts_with("shop.toml:3:11: "));
    CHECK(of("density = 0.9\ndensity-source = \"x\"\n") == "shop.toml:3:11: density is a text in quotes");
    CHECK(of("density = \"0.9 kg/L\"\n") == "shop.toml:3:11: the stream used-oil has a density without a source");
    CHECK(of("density = \"0.9 kg/L\"\ndensity-source = \"\"\n") == "shop.toml:4:18: density-source is empty");
    CHECK(of("density-source = \"x\"\nsection = \"x\"\n") == "shop.toml:3:18: the stream used-oil has density-source and no density");
  }

  TEST_CASE("an unknown class or stream is refused where it is named, and a class in two streams too") {
    const auto of = [](std::string_view rest) { return refused("[[stream]]\nname = \"used-oil\"\nsection = \"x\"\n" + std::string(rest)); };
    CHECK(of("classes = [\"engine-oil\", \"engin-oil\"]\n") == "shop.toml:4:26: there is no class of fluid named engin-oil");
    CHECK(of("never-with = [\n  \"coolant\",\n  \"coolnt\"]\n") == "shop.toml:6:3: there is no stream named coolnt");
    CHECK(of("classes = \"engine-oil\"\n") == "shop.toml:4:11: classes is a list of texts");
    CHECK(of("label = [3]\n") == "shop.toml:4:10: label is a text in quotes");
    CHECK(of("hazardous = \"maybe\"\n") == "shop.toml:4:13: hazardous is yes, no or determine, not \"maybe\"");
    CHECK(of("group = \"oils\"\n").starts_with("shop.toml:4:9: group is hazardous-waste, "));
    CHECK(of("classes = [\"engine-oil\"]\n[[stream]]\nname = \"coolant\"\nsection = \"x\"\nclasses = [\"engine-oil\"]\n") == "shop.toml:8:11: engine-oil becomes used-oil already in this file");
    CHECK(refused("[[stream]]\nname = \"Used Oil\"\nsection = \"x\"\n") == "shop.toml:2:8: a stream's name is of a-z, 0-9 and -, not \"Used Oil\"");
    CHECK(refused("[[stream]]\nname = \"new-oil\"\nsection = \"x\"\n") == "shop.toml:1:1: the stream new-oil has no title");
    CHECK(refused("[[reportable]]\nclasses = \"coolnt\"\n") == "shop.toml:2:11: there is no class of fluid named coolnt");
  }

  TEST_CASE("what is no TOML, or not in double brackets, is refused with its place") {
    CHECK(refused("[[value]\n").starts_with("shop.toml:1:9: "));
    CHECK(refused("key = \"a\"\nkey = \"b\"\n").starts_with("shop.toml:2:7: "));
    CHECK(refused("\xff\n").starts_with("shop.toml:1:1: "));
    CHECK(refused("value = 3\n") == "shop.toml:1:9: value is a list of tables");
    CHECK(refused("stream = [1]\n") == "shop.toml:1:11: stream is a list of tables");
  }

  TEST_CASE("a refusal names the file as it was given, made safe for a screen") {
    const auto read = read_rules("uk", "color = 1\n", "my\x1b[31m.toml");
    CHECK(read.refusal().what == "my\\x1b[31m.toml:1:1: there is no key named color here");
    CHECK(read_rules("uk", "color = 1\n").refusal().what.starts_with("shop.toml:1:1: "));
  }

  TEST_CASE("a file that would end the reader is refused with line and column like any other") {
    std::string key = "a";
    for (int i = 0; i < 100'000; ++i) key += ".a";
    CHECK(read_rules("uk", "# deep\n" + key + " = 1\n").refusal().what == "shop.toml:2:17: a key of more than 8 parts");
    CHECK(read_rules("uk", "caf\u00e9 = 1\n").refusal().what == "shop.toml:1:4: a character past ASCII outside quotes");
    CHECK(read_rules("uk", "a = " + std::string(40, '[') + std::string(40, ']') + "\n").refusal().what.starts_with("shop.toml:1:"));
  }

  TEST_CASE("a key of half a megabyte of marks is no key of the file, and is not told whole") {
    std::string key;
    for (int i = 0; i < 100'000; ++i) key += "\u0301\u0327";
    const auto read = read_rules("uk", "\"" + key + "\" = 1\n");
    CHECK(read.refusal().what.size() < 400);
    CHECK(read.refusal().what.starts_with("shop.toml:1:1: there is no key named "));
  }
}
