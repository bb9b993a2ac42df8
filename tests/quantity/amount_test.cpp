#include <baybook/quantity.hpp>

#include <doctest/doctest.h>

#include <array>
#include <set>
#include <string>
#include <vector>

namespace {

using namespace baybook;

const Units metric{};

Units bare_gallons_are(VolumeUnit unit) {
  Units units;
  units.gallon = unit;
  return units;
}

Amount read(std::string_view text, const Units& units = metric) {
  CAPTURE(text);
  auto amount = parse_amount(text, units);
  REQUIRE_MESSAGE(amount.ok(), amount.refusal().what);
  return *amount;
}

Refusal refused(std::string_view text, const Units& units = metric) {
  CAPTURE(text);
  auto amount = parse_amount(text, units);
  REQUIRE_FALSE(amount.ok());
  return amount.refusal();
}

bool contains(std::string_view text, std::string_view piece) { return text.find(piece) != std::string_view::npos; }

constexpr std::array volumes{VolumeUnit::us_gallon, VolumeUnit::imperial_gallon};

}  // namespace

TEST_SUITE("quantity/result") {
  TEST_CASE("every code has a name of its own in the words of its enumerator") {
    const std::vector<std::string> names{"wrong_usage", "unclear", "not_text", "not_found", "ambiguous", "already_there",
                                         "not_allowed", "runs_backwards", "in_future", "would_overdraw", "would_overfill",
                                         "has_dependants", "does_not_close", "unsound", "busy", "unreadable", "unwritable",
                                         "unknown_outcome", "callback_failed"};
    REQUIRE(names.size() == static_cast<std::size_t>(Code::callback_failed) + 1);
    for (std::size_t i = 0; i < names.size(); ++i) CHECK(name_of(static_cast<Code>(i)) == names[i]);
  }
}

TEST_SUITE("quantity/amount") {
  TEST_CASE("a measured amount has no width and keeps its text") {
    struct Row {
      std::string_view text;
      Dimension dimension;
      std::int64_t n;
    };
    for (const Row& row : {
             Row{"5.2L", Dimension::volume, 5'200'000'000}, Row{"5,2 l", Dimension::volume, 5'200'000'000},
             Row{".5L", Dimension::volume, 500'000'000}, Row{"0,500 L", Dimension::volume, 500'000'000},
             Row{"500 ml", Dimension::volume, 500'000'000}, Row{"500mL", Dimension::volume, 500'000'000},
             Row{"1500cc", Dimension::volume, 1'500'000'000}, Row{"1500 CC", Dimension::volume, 1'500'000'000},
             Row{"250 ccm", Dimension::volume, 250'000'000}, Row{"250cm3", Dimension::volume, 250'000'000}, Row{"250 cm\xC2\xB3", Dimension::volume, 250'000'000},
             Row{"1ukgal", Dimension::volume, 4'546'090'000}, Row{"1 UK pint", Dimension::volume, 568'261'250},
             Row{"7 dl", Dimension::volume, 700'000'000}, Row{"7cl", Dimension::volume, 70'000'000},
             Row{"1.200 L", Dimension::volume, 1'200'000'000}, Row{"2\xC2\xA0L", Dimension::volume, 2'000'000'000},
             Row{"3 LITRES", Dimension::volume, 3'000'000'000}, Row{"3 liters", Dimension::volume, 3'000'000'000},
             Row{"2kg", Dimension::mass, 2'000'000'000}, Row{"2 KG", Dimension::mass, 2'000'000'000},
             Row{"850 g", Dimension::mass, 850'000'000}, Row{"5mg", Dimension::mass, 5'000}, Row{"1.5t", Dimension::mass, 1'500'000'000'000},
             Row{"3 pcs", Dimension::count, 3}, Row{"1pc", Dimension::count, 1}, Row{"1 piece", Dimension::count, 1},
             Row{"1000000L", Dimension::volume, 1'000'000'000'000'000}, Row{"1000000000000 mg", Dimension::mass, 1'000'000'000'000'000},
             Row{"5.20000000000000000000 L", Dimension::volume, 5'200'000'000},
         }) {
      CHECK(read(row.text) == Amount{row.dimension, row.n, row.n, row.n, false, std::string{row.text}});
    }
    CHECK(read("  5.2 L ").typed == "5.2 L");
  }

  TEST_CASE("an input that is no whole number of base units is rounded once, half to even") {
    CHECK(read("0.0000000025L").best == 2);
    CHECK(read("0.0000000035L").best == 4);
    CHECK(read("0.00000000251L").best == 3);
    // NIST HB 44 App. C: a US fluid ounce is 29,573,529.5625 nL, an ounce 28,349,523.125 ug.
    CHECK(read("1 usfloz").best == 29'573'530);
    CHECK(read("1 oz").best == 28'349'523);
    // 8 usfloz are 236,588,236.5 nL: a half, to the even neighbour below.
    CHECK(read("8 US fl oz").best == 236'588'236);
    // UK Units of Measurement Regulations 1995: 28,413,062.5 nL to the imperial fluid ounce.
    CHECK(read("1 impfloz").best == 28'413'062);
  }

  TEST_CASE("an estimate is as wide on both sides as the setting says") {
    CHECK(read("~1.5L") == Amount{Dimension::volume, 1'350'000'000, 1'500'000'000, 1'650'000'000, true, "~1.5L"});
    Units wide;
    wide.estimate_percent = 25;
    CHECK(read("~ 2 kg", wide) == Amount{Dimension::mass, 1'500'000'000, 2'000'000'000, 2'500'000'000, true, "~ 2 kg"});
    // Ten percent of three pieces is no piece; an estimate without width would be a measurement.
    CHECK(read("~3 pcs") == Amount{Dimension::count, 2, 3, 4, true, "~3 pcs"});
    CHECK(read("~10 pcs") == Amount{Dimension::count, 9, 10, 11, true, "~10 pcs"});
  }

  TEST_CASE("bounds take the middle as best value unless one is given") {
    CHECK(read("0.5..1.2L") == Amount{Dimension::volume, 500'000'000, 850'000'000, 1'200'000'000, true, "0.5..1.2L"});
    CHECK(read("0.5..1.2~0.8L") == Amount{Dimension::volume, 500'000'000, 800'000'000, 1'200'000'000, true, "0.5..1.2~0.8L"});
    CHECK(read("0,5 .. 1,2 ~ 0,8 L").best == 800'000'000);
    CHECK(read("500ml..1.2L").low == 500'000'000);
    CHECK(read("0.5L..1.2L~800 ml").best == 800'000'000);
    CHECK(read("0..0.5L").low == 0);
    CHECK(read("1..2 pcs").best == 2);  // 1.5 to the even neighbour
    CHECK(read("2..3 pcs").best == 2);
    CHECK(read("1..1L").estimated);
  }

  TEST_CASE("a bare gallon, quart, pint or fluid ounce follows the setting") {
    // NIST HB 44 App. C and the UK Units of Measurement Regulations 1995, in the order of `volumes`.
    const std::array<std::int64_t, 2> gallon{3'785'411'784, 4'546'090'000};
    const std::array<std::int64_t, 2> quart{946'352'946, 1'136'522'500};
    const std::array<std::int64_t, 2> pint{473'176'473, 568'261'250};
    const std::array<std::int64_t, 2> sixteen_ounces{473'176'473, 454'609'000};
    for (std::size_t i = 0; i < volumes.size(); ++i) {
      const Units units = bare_gallons_are(volumes[i]);
      for (const std::string_view unit : {"gal", "GAL", "gallon", "gallons"}) {
        CHECK(read("1 " + std::string{unit}, units).best == gallon[i]);
      }
      CHECK(read("3qt", units).best == 3 * quart[i]);
      CHECK(read("1 pints", units).best == pint[i]);
      CHECK(read("16 fl oz", units).best == sixteen_ounces[i]);
      CHECK(read("1 usgal", units).best == gallon[0]);
      CHECK(read("1 imp gal", units).best == gallon[1]);
    }
  }

  TEST_CASE("a bare gallon without a setting is refused with both readings in litres and what to type") {
    const Refusal refusal = refused("3 gal");
    CHECK(refusal.code == Code::unclear);
    CHECK(contains(refusal.what, "11.356 L"));
    CHECK(contains(refusal.what, "13.638 L"));
    CHECK(refusal.instead == "3 usgal or 3 impgal");
    CHECK(refused("~1..2 gal").code == Code::unclear);
    CHECK(refused("1..2 fl oz").instead == "1..2 usfloz or 1..2 impfloz");
    // The book prints gallons, yet what a bare one means was never said.
    Units gallons_shown;
    gallons_shown.volume = VolumeUnit::us_gallon;
    CHECK(refused("3 gal", gallons_shown).code == Code::unclear);
  }

  TEST_CASE("text without one reading is refused as unclear, with what to type") {
    constexpr std::string_view words = "a number with its unit, like 5.2L";
    constexpr std::string_view bounds = "two bounds with a best value, like 0.5..1.2~0.8L";
    struct Row {
      std::string_view text;
      std::string_view instead;
    };
    for (const Row& row : {
             Row{"", words}, Row{"   ", words}, Row{"5.2", "5.2L"}, Row{"0.5..1.2", "0.5..1.2L"}, Row{"0.5L..1.2", "0.5L..1.2L"},
             Row{"~1.5", "~1.5L"}, Row{"-5", "-5L"}, Row{"L", words}, Row{"about 2L", words}, Row{"+5L", words},
             Row{"1,200L", "1200L or 1.2L"}, Row{"120,200L", "120200L or 120.2L"}, Row{"1.200,5 L", "1200.5 L"}, Row{"1,200.5", "1200.5L"}, Row{"1,200,000 ml", "1200000 ml"},
             Row{"1 200 L", "1200 L"}, Row{"1'200 L", "1200 L"}, Row{"5 litrs", "5 liters or 5 litre or 5 litres"}, Row{"5 zorkmids", words}, Row{"5.L", "5L"},
             Row{"1e3L", ""}, Row{"5 ML", "5 mL"}, Row{"5 Mg", "5 mg"}, Row{"2 tons", "2 t"}, Row{"1L..2kg", "two bounds in one unit, like 0.5..1.2L"},
             Row{"~0.5..1.2L", bounds}, Row{"1..2..3L", bounds}, Row{"1...2L", bounds}, Row{"1~2L", bounds}, Row{"1..2~3~4L", bounds},
             Row{"1~2..3L", bounds}, Row{"~~1L", bounds}, Row{"..1L", words}, Row{"1L..", words},
             Row{"0.1234567890123L", "0.123456789012L"}, Row{"5 ususgal", ""}, Row{"5 usl", ""}, Row{"5 impkg", ""},
         }) {
      CAPTURE(row.text);
      const Refusal refusal = refused(row.text);
      CHECK(refusal.code == Code::unclear);
      CHECK_FALSE(refusal.what.empty());
      CHECK_FALSE(refusal.why.empty());
      CHECK_FALSE(refusal.instead.empty());
      if (!row.instead.empty()) CHECK(refusal.instead == row.instead);
    }
  }

  TEST_CASE("what is to be typed instead is itself read") {
    for (const std::string_view text : {"5.2", "0.5..1.2", "1,200L", "1.200,5 L", "5 litrs", "5 ML", "2 tons", "-5L", "2..1L", "1..2~3L", "2.5 pcs", "5 L.",
                                        "0.1234567890123L", "1L..500ml", "3 gal", "1..2L~3L"}) {
      CAPTURE(text);
      std::string instead = refused(text).instead;
      for (std::size_t at = 0; at != std::string::npos;) {
        const std::size_t next = instead.find(" or ", at);
        const std::string one = instead.substr(at, next == std::string::npos ? next : next - at);
        CAPTURE(one);
        CHECK(parse_amount(one, metric).ok());
        at = next == std::string::npos ? next : next + 4;
      }
    }
  }

  TEST_CASE("what is to be typed instead of an amount with several slips is read or is words") {
    CHECK(refused("3L..2").instead == "2L..3L");
    CHECK(refused("3..2").instead == "2..3L");
    // Every number with and without a unit, in every order, with a best value inside, outside and
    // none.
    const std::string_view parts[] = {"3",  "2",     "0",     "-2",    "2.5",  "3L",
                                      "2L", "500ml", "3 gal", "2 kgs", "4pcs", "1,200L"};
    int tried = 0;
    for (const std::string_view low : parts) {
      for (const std::string_view high : parts) {
        for (const std::string_view best : {"", "~1", "~2.4", "~9L", "~2 litrs"}) {
          const std::string text = std::string(low) + ".." + std::string(high) + std::string(best);
          const auto read = parse_amount(text, metric);
          if (read.ok()) continue;
          CAPTURE(text);
          const std::string instead = read.refusal().instead;
          CAPTURE(instead);
          for (std::size_t at = 0; at != std::string::npos;) {
            const std::size_t next = instead.find(" or ", at);
            const std::string one =
                instead.substr(at, next == std::string::npos ? next : next - at);
            const bool words = one.front() >= 'a' && one.front() <= 'z';
            CHECK((words || parse_amount(one, metric).ok()));
            at = next == std::string::npos ? next : next + 4;
            ++tried;
          }
        }
      }
    }
    CHECK(tried > 500);
  }

  TEST_CASE("a unit with a slip in it is answered with its neighbours") {
    CHECK(contains(refused("5 litrs").instead, "5 litre"));
    CHECK(contains(refused("5 litrs").what, "litrs"));
    CHECK(refused("8 fl. oz.", bare_gallons_are(VolumeUnit::us_gallon)).instead == "8 floz");
    CHECK(refused("1500 mls").instead == "1500 ml");
    CHECK(refused("2 kgs").instead == "2 kg");
  }

  TEST_CASE("a unit is named for an unknown one only when it is clear which one was meant") {
    // Left to right: two letters from which one slip leads to several units; kilolitre and microlitre, a million and a
    // thousandth of what is one slip of three letters away; words of the workshop; a cubic metre, which is not read.
    for (const std::string_view text : {"5 hl", "5 kl", "5 lt", "5 kilolitre", "5 microlitre", "2 grains", "1 keg", "3 qty", "2 tbs", "5 ugal", "2 m3", "2dm3"}) {
      CAPTURE(text);
      CHECK(refused(text).code == Code::unclear);
      CHECK(contains(refused(text).what, "no unit is called"));
      CHECK(refused(text).instead == "a number with its unit, like 5.2L");
    }
    CHECK(refused("half a litre").instead == "a number with its unit, like 5.2L");
    // The words themselves, typed as they stand, are not told again.
    CHECK(refused("a number with its unit, like 5.2L").instead == "only the number and its unit, like 5.2L");
  }

  TEST_CASE("bounds that are put right keep their units and their best value") {
    CHECK(refused("2..1~1.2L").instead == "1..2~1.2L");
    CHECK(refused("2..500ml~1L").instead == "500ml..2L~1L");
    CHECK(refused("100..200000ml~300L").instead == "100L..200000ml");
    CHECK(refused("1.5..3 pcs").instead == "1..3 pcs or 2..3 pcs");
    CHECK(refused("0.5 pcs").instead == "1 pcs");
  }

  TEST_CASE("an amount that breaks a rule is not allowed") {
    struct Row {
      std::string_view text;
      std::string_view says;
    };
    for (const Row& row : {
             Row{"0L", "is nothing"}, Row{"0.000 kg", "is nothing"}, Row{"-5L", "is negative"}, Row{"\xE2\x88\x92" "5L", "is negative"},
             Row{"0.5..-1L", "is negative"}, Row{"1.2..0.5L", "out of order"}, Row{"1L..500ml", "out of order"},
             Row{"0.5..1.2~1.3L", "outside its bounds"}, Row{"0..1~0L", "is nothing"}, Row{"1000000.1L", "more than 1000000 L"},
             Row{"1001 t", "more than 1000000 kg"}, Row{"1000001 pcs", "more than 1000000 pcs"}, Row{"99999999999999999999999L", "more than"},
             Row{"~1000000L", "more than 1000000 L"}, Row{"0.0000000001L", "rounds to nothing"}, Row{"2.5 pcs", "whole number of pieces"},
         }) {
      CAPTURE(row.text);
      const Refusal refusal = refused(row.text);
      CHECK(refusal.code == Code::not_allowed);
      CHECK(contains(refusal.what, row.says));
      CHECK_FALSE(refusal.why.empty());
      CHECK_FALSE(refusal.instead.empty());
    }
    CHECK(refused("0L").instead == "the amount that is meant, like 5.2L");
    CHECK(refused("1000000.1L").instead == "the amount that is meant, like 5.2L");
    CHECK(refused("2..1L").instead == "1..2L");
    CHECK(refused("-5L").instead == "5L");
  }

  TEST_CASE("what is unclear is said before what is not allowed") {
    CHECK(refused("-1..2 gal").code == Code::unclear);
    CHECK(refused("-5 zorkmids").code == Code::unclear);
    CHECK(refused("99999999999999999999999 gal").code == Code::unclear);
  }

  TEST_CASE("control characters and broken UTF-8 are not text") {
    CHECK(refused("5\x01L").code == Code::not_text);
    CHECK(refused("5\nL").code == Code::not_text);
    CHECK(refused("5\xFFL").code == Code::not_text);
  }

  TEST_CASE("what to type instead shows what a terminal would obey, wherever it stood in what was typed") {
    // U+202D turns the direction of what follows it (Unicode 15.0, 23.2 Layout Controls).
    CHECK(refused("1'000 \xE2\x80\xADL").instead == "1000 U+202DL");
    CHECK(refused("1.234567890123 \xE2\x80\xADL").instead.find("\xE2\x80\xAD") == std::string::npos);
  }

  TEST_CASE("a sum or a difference is not half read, nor hinted at by its first number") {
    for (const std::string_view text : {"4L 300ml", "5L - 0.3L", "5L-0.3L", "1qt + 8floz", "5x1L", "2 L/3", "1 1/2 L", "1/2 L", "1.5.2L", "1 200/2 L", "1 20 L",
                                        "1,20,5 L", "1.234 567 L", "0,500,000 L", "1 1/2..2 L"}) {
      CAPTURE(text);
      const auto amount = parse_amount(text, metric);
      REQUIRE_FALSE(amount.ok());
      CHECK(amount.refusal().code == Code::unclear);
      CHECK(amount.refusal().what.find("has more than one number in it") != std::string::npos);
      CHECK(amount.refusal().instead == "the one amount that it comes to, like 5.2L");
    }
  }

  TEST_CASE("a level may be nothing but never an estimate") {
    const auto zero = parse_level("0 L", metric);
    REQUIRE(zero.ok());
    CHECK(*zero == Amount{Dimension::volume, 0, 0, 0, false, "0 L"});
    CHECK(parse_level("180L", metric)->best == 180'000'000'000);
    for (const std::string_view text : {"~5L", "1..2L"}) {
      const auto level = parse_level(text, metric);
      REQUIRE_FALSE(level.ok());
      CHECK(level.refusal().code == Code::not_allowed);
      CHECK(level.refusal().instead == (text == "~5L" ? "5L, if that was measured" : "the level that is meant, like 5.2L"));
    }
    CHECK(parse_level("all", metric).refusal().instead == "a number with its unit, like 5.2L");
    CHECK(parse_level("about 300ml", metric).refusal().instead == "a number with its unit, like 5.2L");
    CHECK(parse_level("180", metric).refusal().code == Code::unclear);
    CHECK(parse_level("-1L", metric).refusal().code == Code::not_allowed);
    CHECK(parse_level("0.0000000001L", metric).refusal().code == Code::not_allowed);
  }
}
