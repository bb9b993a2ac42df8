// What a firm is told of decides: how far waste goes, what a receiver is recognised as, when a
// carrier was registered. And streams.
#include "support/past_the_funnel.hpp"
#include "support/test_book.hpp"

#include <baybook/returns.hpp>

#include <functional>

using namespace baybook;
using namespace baybook::test;

namespace {

FluidId kind(std::string_view name) { return FluidId{find_class(name)->number}; }

struct Site {
  TestBook b{"bay", 7, "2026-01-02T09:00:00.000Z"};
  FirmId firm;
  explicit Site(const std::string& set = "us-federal", const std::string& file = {}) {
    ChooseRules rules;
    rules.set = set;
    rules.from = day("2026-01-01");
    rules.file = file;
    if (!file.empty()) rules.file_name = "ours.toml";
    b.write(rules);
    NewFirm f;
    f.code = "fen-works";
    f.name = "Fen Works";
    f.carries = f.receives = true;
    firm = FirmId{b.write(f).entry.id.n};
  }
  PlaceId drum(const std::string& code, const std::string& takes, const std::string& amount) {
    const PlaceId p = b.place(code, Role::waste, {}, {takes});
    b.write(TestBook::move(MoveVerb::discard, kSupplier, p, amount, {}, kind(takes)));
    return p;
  }
  Movement load(PlaceId from, const std::string& amount, const std::string& paper) {
    Movement m = TestBook::move(MoveVerb::pickup, from, kReceiver, amount);
    m.carrier = "Saltmarsh Motor Works";
    m.document = paper;
    m.receiver_firm = firm;
    return m;
  }
  void change(const std::function<void(Patch&)>& how) {
    Correction c;
    c.target = EntryId{firm.n};
    how(c.patch);
    c.why = "as they say";
    b.write(c);
  }
  std::optional<LimitLine> line(std::string_view group, std::string_view part,
                                const char* on = "2026-01-10") {
    const auto all = limits(b.book(), day(on));
    REQUIRE_MESSAGE(all.ok(), why(all));
    for (const LimitLine& l : all->lines) {
      if (l.group == group && l.what.find(part) != std::string::npos) return l;
    }
    return std::nullopt;
  }
};

Distance miles(const char* typed) { return *parse_distance(typed, Units{}); }

}  // namespace

TEST_SUITE("book/haul") {
  TEST_CASE(
      "a small generator's waste has the longer clock when its last receiver is 200 miles away or "
      "farther, and not one metre nearer") {
    Site s;
    const PlaceId drum = s.drum("drum-coolant", "coolant", "300L");
    CHECK(s.line("clock", "drum-coolant")->figures.starts_with("180 days"));
    s.b.write(s.load(drum, "1L", "A-1"));
    CHECK(s.line("clock", "drum-coolant")->figures.starts_with("180 days"));
    s.change([](Patch& p) { p.haul = miles("200mi"); });
    const auto far = s.line("clock", "drum-coolant");
    CHECK(far->figures.starts_with("270 days"));
    CHECK(far->figures.find("it goes to fen-works") != std::string::npos);
    CHECK(far->due == day("2026-09-29"));
    s.change([](Patch& p) { p.haul = Distance{miles("200mi").metres - 1, ""}; });
    CHECK(s.line("clock", "drum-coolant")->figures.starts_with("180 days"));
    // What is said of the load itself comes first.
    Movement m = s.load(drum, "1L", "A-2");
    m.haul = miles("210mi");
    s.b.write(m);
    CHECK(s.line("clock", "drum-coolant")->figures.find("with entry") != std::string::npos);
  }

  TEST_CASE(
      "before any load went the firm that is named for a stream tells the distance, and the rule "
      "file where nobody does") {
    Site s("us-federal",
           "[[value]]\nkey = \"site.long-haul\"\nis = true\nsection = \"our contract\"\n");
    s.drum("drum-coolant", "coolant", "300L");
    const auto by_file = s.line("clock", "drum-coolant");
    CHECK(by_file->figures.starts_with("270 days"));
    CHECK(by_file->figures.find("by site.long-haul of ours.toml") != std::string::npos);
    s.change([](Patch& p) {
      p.haul = miles("50mi");
      p.streams = std::vector<std::string>{"coolant"};
    });
    CHECK(s.line("clock", "drum-coolant")->figures.starts_with("180 days"));
  }

  TEST_CASE(
      "used oil in the own vehicle is 55 gallons at most, all of it together, to a receiver that "
      "is recognised") {
    Site s;
    const PlaceId one = s.drum("drum-oil-1", "engine-oil", "400L");
    const PlaceId two = s.drum("drum-oil-2", "gear-oil", "400L");
    Movement m = s.load(one, "30usgal", "B-1");
    m.own_vehicle = true;
    m.lines.push_back(m.lines.front());
    m.lines.back().from = two;
    m.lines.back().amount = litres("25usgal");
    const Receipt at = s.b.write(m);
    std::string all;
    for (const std::string& w : at.warnings) all += w + "\n";
    CHECK(all.find("more than 55 usgal") == std::string::npos);
    CHECK(all.find("fen-works is not on record as a recognised collection centre") !=
          std::string::npos);
    CHECK(s.line("own transport", "B-1")->state == LimitLine::State::over);
    s.change([](Patch& p) { p.receives_as = ReceivesAs::collection_centre; });
    CHECK_FALSE(s.line("own transport", "B-1").has_value());
    m.document = "B-2";
    m.lines.back().amount = litres("25.001usgal");
    const Receipt over = s.b.write(m);
    REQUIRE(over.warnings.size() == 2);
    CHECK(over.warnings[0].find("of used oil is more than 55 usgal at any time in the shop's own "
                                "vehicle (40 CFR 279.24(a)-(b))") != std::string::npos);
    const auto month = judge(s.b.book(), month_of(day("2026-01-01")));
    REQUIRE(month.ok());
    bool noted = false;
    for (const std::string& n : month->notices)
      noted = noted || n.starts_with("own transport, paper B-2");
    CHECK(noted);
    // Another carrier's load is none of it.
    m.document = "B-3";
    m.own_vehicle = false;
    CHECK(s.b.write(m).warnings.empty());
  }

  TEST_CASE(
      "a carrier's registration is renewed by the months of the rules, and premises in Wales are "
      "counted where the shop's file says so") {
    Site s("uk",
           "[[value]]\nkey = \"registration.wales.mass\"\nis = \"500 kg\"\nsection = \"premises in "
           "Wales\"\n");
    s.change([](Patch& p) { p.registered = day("2025-06-30"); });
    CHECK(s.line("registration", "carrier fen-works")->due == day("2028-06-30"));
    CHECK(s.line("registration", "premises")->state == LimitLine::State::fine);
    s.drum("drum-brake", "brake-fluid", "480kg");
    CHECK(s.line("registration", "premises")->state == LimitLine::State::near);
    s.drum("drum-more", "brake-fluid", "20kg");
    CHECK(s.line("registration", "premises")->state == LimitLine::State::over);
    Site england("uk");
    CHECK_FALSE(england.line("registration", "premises").has_value());
  }

  TEST_CASE("what is said of a firm that neither receives nor carries is refused") {
    Site s;
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Recovery";
    f.carries = true;
    f.haul = miles("210mi");
    CHECK(s.b.try_write(f).refusal().instead == "--receives as well");
    f.haul.reset();
    f.registered = day("2026-01-03");
    CHECK(s.b.try_write(f).refusal().code == Code::in_future);
    f.registered.reset();
    f.receives = true;
    f.streams = {"colant"};
    CHECK(s.b.try_write(f).refusal().instead == "--for coolant");
  }

  TEST_CASE(
      "a waste place of a stream that no rule knows is refused with near names and what to type, "
      "and an old one goes on") {
    Site s;
    NewPlace p;
    p.code = "bin-1";
    p.role = Role::waste;
    p.takes = {"absorbent"};
    p.stream = "absorbant";
    const auto no = s.b.try_write(p);
    REQUIRE(!no.ok());
    CHECK(no.refusal().what == "rule set us-federal has no stream named absorbant");
    CHECK(no.refusal().instead == "--stream absorbent");
    p.stream = "moon-dust";
    CHECK(s.b.try_write(p).refusal().instead.find("baybook rules show lists") != std::string::npos);
    for (const char* fine : {"absorbent", "waste-absorbent"}) {
      p.stream = fine;
      p.code = std::string("bin-") + fine;
      CHECK(s.b.try_write(p).ok());
    }
    log::Value old;
    old["code"] = "bin-old";
    old["role"] = "waste";
    old["stream"] = "moon-dust";
    old["takes"] = log::Value(log::Value::Array{log::Value("absorbent")});
    const PlaceId bin{past_the_funnel(s.b, {log::Kind::place, old}).n};
    s.b.write(TestBook::move(MoveVerb::discard, kSupplier, bin, "2kg", {}, kind("absorbent")));
    CHECK(s.line("clock", "bin-old").has_value());
    // The shop's own file may know it.
    Site own("us-federal",
             "[[stream]]\nname = \"moon-dust\"\ntitle = \"Dust\"\nhazardous = \"no\"\ncounted = "
             "\"no\"\ngroup = \"other\"\nsection = \"ours\"\n");
    p.code = "bin-2";
    p.stream = "moon-dust";
    CHECK(own.b.try_write(p).ok());
  }
}
