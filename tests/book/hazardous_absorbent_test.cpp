// What a determination makes hazardous is hazardous waste wherever it is asked for: in the category, on the clock, on the label.
#include "support/test_book.hpp"

#include <baybook/returns.hpp>

#include <algorithm>

using namespace baybook;
using namespace baybook::test;

namespace {

constexpr std::int64_t kKilogram = 1'000'000'000;  // micrograms

/// A drum of one stream with waste of one day in it, by the US federal rules.
struct Drum {
  TestBook b{"bay", 3, "2026-01-02T09:00:00.000Z"};
  PlaceId place;
  std::string stream;
  Drum(const std::string& of, const std::string& amount) : stream(of) {
    ChooseRules rules;
    rules.set = "us-federal";
    rules.from = day("2026-01-01");
    b.write(rules);
    place = b.place("drum-1", Role::waste, "5000kg", {of});
    b.now = instant("2026-01-05T10:00:00.000Z");
    b.write(TestBook::move(MoveVerb::discard, kSupplier, place, amount, {}, FluidId{find_class(of)->number}));
  }
  void determine(bool hazardous) {
    Determination d;
    d.stream = stream;
    d.hazardous = hazardous;
    d.reason = "what it soaked up";
    // Hazardous by their nature: what can be determined is their code.
    if (stream == "batteries") d.codes = {"D002"};
    b.now = instant("2026-01-10T10:00:00.000Z");
    b.write(d);
  }
  std::optional<LimitLine> clock() {
    const auto all = limits(b.book(), day("2026-01-20"));
    REQUIRE_MESSAGE(all.ok(), why(all));
    for (const LimitLine& l : all->lines) {
      if (l.group == "clock") return l;
    }
    return std::nullopt;
  }
  Reading counted() {
    const auto j = judge(b.book(), month_of(day("2026-01-01")));
    REQUIRE_MESSAGE(j.ok(), why(j));
    return j->reading;
  }
  std::vector<std::string> words() {
    const auto l = label(b.book(), place, day("2026-01-20"));
    REQUIRE_MESSAGE(l.ok(), why(l));
    return l->words;
  }
};

bool says_hazardous(const std::vector<std::string>& words) { return std::find(words.begin(), words.end(), "Hazardous Waste") != words.end(); }

}  // namespace

TEST_SUITE("book/hazardous_absorbent") {
  TEST_CASE("absorbent that was determined to be hazardous is counted, has the clock of a generator and the words on its label (262.11, 262.16(b), 262.17(a))") {
    struct Row {
      const char* amount;
      int category;
      const char* last_day;
      const char* section;
    };
    // Day 0 is 2026-01-05; 180 and 90 days, clock.small.days and clock.large.days of the rule file.
    for (const Row& row : {Row{"150kg", 2, "2026-07-04", "262.16(b)"}, Row{"1500kg", 3, "2026-04-05", "262.17(a)"}}) {
      CAPTURE(row.amount);
      Drum d("absorbent", row.amount);
      d.determine(true);
      CHECK(d.counted().category == row.category);
      const auto clock = d.clock();
      REQUIRE(clock.has_value());
      CHECK(to_string(*clock->due) == row.last_day);
      CHECK(clock->section.find(row.section) != std::string::npos);
      CHECK(says_hazardous(d.words()));
    }
  }

  TEST_CASE("absorbent that nobody has determined is counted and has the clock, and no words that nobody has found true") {
    Drum d("absorbent", "150kg");
    CHECK(d.counted().best_ug == 150 * kKilogram);
    CHECK(d.clock().has_value());
    CHECK_FALSE(says_hazardous(d.words()));
  }

  TEST_CASE("absorbent that was determined not to be hazardous is not counted, and has neither clock nor words") {
    Drum d("absorbent", "150kg");
    d.determine(false);
    CHECK(d.counted().best_ug == 0);
    CHECK_FALSE(d.clock().has_value());
    CHECK_FALSE(says_hazardous(d.words()));
  }

  TEST_CASE("wipes that were determined to be hazardous are under no exclusion: the generator's days, and its words in place of theirs (261.4(b)(18))") {
    Drum d("wipes", "1500kg");
    CHECK(to_string(*d.clock()->due) == "2026-07-04");  // clock.wipes.days: 180
    d.determine(true);
    CHECK(to_string(*d.clock()->due) == "2026-04-05");
    CHECK(d.words() == std::vector<std::string>{"Hazardous Waste"});
  }

  TEST_CASE("in a satellite area hazardous wipes have no clock of their own, and batteries on their way to reclamation keep their date") {
    for (const std::string stream : {"wipes", "batteries"}) {
      CAPTURE(stream);
      Drum d(stream, "5kg");
      NewPlace p;
      p.code = "drum-s";
      p.role = Role::waste;
      p.takes = {stream};
      p.area = "bay";
      p.satellite = true;
      d.place = PlaceId{d.b.write(p).entry.id.n};
      d.b.write(TestBook::move(MoveVerb::discard, kSupplier, d.place, "5kg", {}, FluidId{find_class(stream)->number}));
      d.determine(true);
      const auto l = label(d.b.book(), d.place, day("2026-01-20"));
      REQUIRE_MESSAGE(l.ok(), why(l));
      const bool wipes = stream == "wipes";
      CHECK(l->since.has_value() == !wipes);
      const auto all = limits(d.b.book(), day("2026-01-20"));
      REQUIRE_MESSAGE(all.ok(), why(all));
      CHECK(std::any_of(all->lines.begin(), all->lines.end(), [](const LimitLine& x) { return x.group == "satellite"; }) == wipes);
      CHECK(std::none_of(all->lines.begin(), all->lines.end(), [](const LimitLine& x) { return x.group == "clock" && x.what.find("drum-s") != std::string::npos; }));
    }
  }

  TEST_CASE("batteries are hazardous and not counted while they go to reclamation, so no generator's clock runs and their own words stand (262.13(c)(5))") {
    Drum d("batteries", "1500kg");
    CHECK_FALSE(d.clock().has_value());
    CHECK_FALSE(says_hazardous(d.words()));
  }
}
