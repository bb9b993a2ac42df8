// What two books chose when they were begun, and that neither changes what the other one answers.
#include "support/exchange_lines.hpp"
#include "support/has.hpp"
#include "support/random_shop.hpp"

#include "book/differing.hpp"
#include "book/first_rules.hpp"

#include <baybook/due.hpp>
#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

Settings chosen(std::string_view tag, const std::string& rules,
                const std::string& zone = "Europe/Lisbon") {
  Settings s = TestBook::usual(tag);
  s.rules = rules;
  s.zone = zone;
  return s;
}

FluidId oil() { return FluidId{find_class("engine-oil")->number}; }

PlaceId drum_with(TestBook& b, const std::string& code, const std::string& amount) {
  const PlaceId drum = b.place(code, Role::waste, "500L", {"engine-oil"});
  b.write(TestBook::move(MoveVerb::discard, kSupplier, drum, amount, {}, oil()));
  return drum;
}

void both(TestBook& a, TestBook& b) {
  a.now = b.now = std::max(a.now, b.now);
  (void)taken(a, file_of(b.book()));
  (void)taken(b, file_of(a.book()));
}

std::string rules_of(TestBook& b, std::string_view on) {
  const auto r = rules(b.book(), day(on));
  return r.ok() ? r->name : std::string("none");
}

// What the book says of a closed month, and of the rules in it.
std::string closing_of(TestBook& b, std::string_view month) {
  const auto c = closed_month(b.book(), month_of(day(std::string(month) + "-01")));
  REQUIRE_MESSAGE(c.ok(), why(c));
  if (!*c) return "open";
  return ((*c)->judged_now ? "judged otherwise" : "as it was judged") +
         std::string((*c)->differences.empty() ? "" : ", other figures");
}

// Everything that the book answers about figures, limits and days: the same words where it prints in
// the same units, the figures alone where it does not.
class Answers {
 public:
  Answers(TestBook& b, bool words) : b_(b), words_(words) {}

  std::string all(Day today) {
    for (int month = 1; month <= 3; ++month) of_month(Month{month_of(day("2026-01-01")).n + month - 1});
    const auto l = limits(b_.book(), today);
    REQUIRE_MESSAGE(l.ok(), why(l));
    say("limits " + l->rules + " " + l->rules_digest + " " + l->category_title);
    for (const LimitLine& x : l->lines) {
      say(x.group + " " + (x.due ? to_string(*x.due) : "no day") + " " + x.section + " " +
          std::to_string(static_cast<int>(x.state)) + " " + refs(x.entries));
      if (words_) say(x.what + " " + x.figures);
    }
    DueFilter f;
    f.within = 400;
    const auto due = due_list(b_.book(), today, f);
    REQUIRE_MESSAGE(due.ok(), why(due));
    for (const DueLine& d : due->lines) {
      say(std::string(name_of(d.group)) + " " + (d.day ? to_string(*d.day) : "no day") + " " +
          std::to_string(static_cast<int>(d.state)) + " " + refs(d.entries));
      if (words_) say(d.what + " " + d.why + " " + d.figures + " " + d.settle);
    }
    const auto rows = waste_register(b_.book(), day("2026-01-01"), day("2026-12-31"));
    REQUIRE_MESSAGE(rows.ok(), why(rows));
    for (const RegisterRow& r : *rows)
      say(to_string(r.day) + " " + refs({r.entry}) + " " + r.place + " " + r.stream.title + " " +
          n(r.low) + n(r.best) + n(r.high) + n(r.best_ug.value_or(-1)) + r.origin + " " +
          r.destination + " " + r.carrier + " " + r.fate);
    return out_;
  }

 private:
  void of_month(Month month) {
    const auto t = totals(b_.book(), first_of(month), last_of(month));
    REQUIRE_MESSAGE(t.ok(), why(t));
    for (const TotalsRow& r : t->rows) {
      std::string line = r.fluid;
      for (const Sum* s : {&r.opening, &r.drained, &r.received, &r.put_back, &r.new_used,
                           &r.lost_here, &r.recycled, &r.used_up, &r.closing, &r.lost_from_cars,
                           &r.filtered, &r.to_waste, &r.gauge})
        line += " " + n(s->low) + n(s->best) + n(s->high);
      say(line);
    }
    const auto j = judge(b_.book(), month);
    if (!j.ok()) return say(std::string(name_of(j.refusal().code)));
    say(j->rules + " " + j->rules_digest + " " + j->reading.title + " " + n(j->reading.best_ug) +
        n(j->reading.high_ug) + n(j->hazardous_ug));
    for (const JudgedLine& l : j->lines)
      say(l.stream.title + " " + n(l.best) + n(l.best_ug.value_or(-1)) + (l.counts ? "counts" : ""));
    const auto c = closed_month(b_.book(), month);
    REQUIRE_MESSAGE(c.ok(), why(c));
    say(*c ? (*c)->rules + ((*c)->judged_now ? " judged otherwise" : " as judged") : "open");
  }
  static std::string n(std::int64_t figure) { return std::to_string(figure) + " "; }
  static std::string refs(const std::vector<EntryRef>& all) {
    std::string out;
    for (const EntryRef& r : all) out += std::to_string(r.number()) + "@" + r.tag + " ";
    return out;
  }
  void say(const std::string& line) { out_ += line + "\n"; }

  TestBook& b_;
  bool words_;
  std::string out_;
};

}  // namespace

TEST_SUITE("book/first rules") {
  TEST_CASE(
      "rules that one book chose when it was begun hold in both after an exchange, and no month that "
      "the other closed without rules is amended by it") {
    TestBook bay(chosen("bay", ""), 81, "2026-01-02T09:00:00.000Z");
    drum_with(bay, "drum-oil", "40L");
    bay.now = instant("2026-02-03T09:00:00.000Z");
    bay.write(CloseMonth{month_of(day("2026-01-01")), ""});
    TestBook office(chosen("office", "us-federal"), 82, "2026-02-10T09:00:00.000Z");
    drum_with(office, "drum-office", "30L");
    office.now = bay.now = instant("2026-03-05T09:00:00.000Z");
    office.write(CloseMonth{month_of(day("2026-02-01")), ""});
    both(bay, office);
    for (TestBook* b : {&bay, &office}) {
      CAPTURE(b->book().settings().tag);
      CHECK(rules_of(*b, "2026-03-05") == "us-federal");
      CHECK(rules_of(*b, "2026-01-20") == "none");
      CHECK(rules_of(*b, "2025-12-31") == "us-federal");
      CHECK(closing_of(*b, "2026-01") == "as it was judged");
      // What lay in the drum of the other is new to it; what it was judged by is not.
      CHECK(has(closing_of(*b, "2026-02"), "as it was judged"));
      const auto now = limits(b->book(), day("2026-03-05"));
      REQUIRE_MESSAGE(now.ok(), why(now));
      CHECK(now->rules == "us-federal");
      CHECK(now->lines.size() > 1);
    }
    // What is closed from now on is judged by what holds in both, and stays so.
    both(bay, office);
    bay.now = office.now = instant("2026-04-02T09:00:00.000Z");
    bay.write(CloseMonth{month_of(day("2026-03-01")), ""});
    both(bay, office);
    CHECK(closing_of(bay, "2026-03") == "as it was judged");
    CHECK(closing_of(office, "2026-03") == "as it was judged");
  }

  TEST_CASE(
      "of two books that were begun with other rules the one that was begun first decides in both, "
      "and a month that the other closed keeps its own") {
    TestBook bay(chosen("bay", "us-federal"), 83, "2026-01-02T09:00:00.000Z");
    TestBook office(chosen("office", "eu"), 84, "2026-01-03T09:00:00.000Z");
    drum_with(bay, "drum-oil", "40L");
    drum_with(office, "drum-office", "30L");
    bay.now = office.now = instant("2026-03-02T09:00:00.000Z");
    bay.write(CloseMonth{month_of(day("2026-02-01")), ""});
    office.write(CloseMonth{month_of(day("2026-01-01")), ""});
    both(bay, office);
    for (TestBook* b : {&bay, &office}) {
      CAPTURE(b->book().settings().tag);
      CHECK(rules_of(*b, "2026-03-02") == "us-federal");
      CHECK(rules_of(*b, "2026-02-20") == "us-federal");
      CHECK(rules_of(*b, "2026-01-20") == "eu");
      const auto c = closed_month(b->book(), month_of(day("2026-01-01")));
      REQUIRE_MESSAGE(c.ok(), why(c));
      CHECK_FALSE((*c)->judged_now.has_value());
      const auto told = differing_settings(b->book());
      REQUIRE_MESSAGE(told.ok(), why(told));
      REQUIRE(told->size() == 1);
      CHECK(has(told->front(), "eu (office)"));
      CHECK(has(told->front(), "us-federal (bay)"));
      CHECK(has(told->front(), "us-federal holds in every book"));
    }
    // Once somebody has chosen for the shop, that holds from its day on and nothing differs.
    ChooseRules shop;
    shop.set = "eu";
    shop.from = day("2026-03-01");
    bay.write(shop);
    both(bay, office);
    for (TestBook* b : {&bay, &office}) {
      CHECK(rules_of(*b, "2026-03-02") == "eu");
      CHECK(differing_settings(b->book()).value().empty());
    }
    // With the closing gone its month goes by what holds in the other months.
    Correction c;
    c.target = office.book().find_entry("4").value();
    c.withdraw = true;
    c.why = "closed too early";
    office.write(c);
    both(bay, office);
    CHECK(rules_of(bay, "2026-01-20") == "us-federal");
    CHECK(rules_of(office, "2026-01-20") == "us-federal");
  }

  TEST_CASE("a copy that goes on goes by the rules of the book it is a copy of, whoever it meets") {
    TestBook bay(chosen("bay", ""), 85, "2026-01-02T09:00:00.000Z");
    TestBook office(chosen("office", "eu"), 86, "2026-01-03T09:00:00.000Z");
    drum_with(bay, "drum-oil", "40L");
    BackupOptions o;
    o.now = instant("2026-01-04T09:00:00.000Z");
    const auto made = continue_as(bay.book(), bay.folder().file("pit.baybook"), "pit", o);
    REQUIRE_MESSAGE(made.ok(), why(made));
    auto pit = Book::open(bay.folder().file("pit.baybook"), Access::write, repeatable(7));
    REQUIRE_MESSAGE(pit.ok(), why(pit));
    CHECK_FALSE(rules(*pit, day("2026-01-05")).ok());
    office.now = o.now;
    (void)taken(office, file_of(*pit));
    CHECK(rules_of(office, "2026-01-05") == "eu");
    CHECK(book::first_rules(office.book().inside()).closed.empty());
  }

  TEST_CASE(
      "in what installations differ is told setting by setting with what each has, and nothing is "
      "told of those that agree") {
    Settings other = chosen("office", "", "Atlantic/Azores");
    other.site = "Saltmarsh Office";
    other.units.volume = VolumeUnit::us_gallon;
    other.units.gallon = VolumeUnit::us_gallon;
    other.units.estimate_percent = 20;
    other.date_order = DateOrder::month_first;
    TestBook bay(chosen("bay", ""), 87, "2026-01-02T09:00:00.000Z");
    TestBook pit(chosen("pit", ""), 88, "2026-01-02T09:00:00.000Z");
    TestBook office(other, 89, "2026-01-02T09:00:00.000Z");
    CHECK(differing_settings(bay.book()).value().empty());
    both(bay, pit);
    CHECK(differing_settings(bay.book()).value().empty());
    both(bay, office);
    const std::vector<std::string> told = differing_settings(bay.book()).value();
    REQUIRE(told.size() == 6);
    CHECK(has(told[0], "Saltmarsh Motor Works (bay, pit), Saltmarsh Office (office)"));
    CHECK(has(told[1], "Europe/Lisbon (bay, pit), Atlantic/Azores (office)"));
    CHECK(has(told[2], "US gallons, kilometres, newton metres (office)"));
    CHECK(has(told[3], "20 % either side (office)"));
    CHECK(has(told[4], "refused as unclear (bay, pit), a US gallon (office)"));
    CHECK(has(told[5], "month first (office)"));
    CHECK(differing_settings(bay.book(), true).value().size() == 3);
  }

  TEST_CASE(
      "a register and a label name the shop of whoever added the container, the same in both books") {
    Settings other = chosen("office", "eu");
    other.site = "Saltmarsh Yard";
    TestBook bay(chosen("bay", "eu"), 90, "2026-01-02T09:00:00.000Z");
    TestBook office(other, 91, "2026-01-02T10:00:00.000Z");
    const PlaceId drum = drum_with(office, "drum-yard", "30L");
    office.write(TestBook::move(MoveVerb::pickup, drum, kReceiver, "10L"));
    both(bay, office);
    for (TestBook* b : {&bay, &office}) {
      const auto rows = waste_register(b->book(), day("2026-01-01"), day("2026-01-31"));
      REQUIRE_MESSAGE(rows.ok(), why(rows));
      REQUIRE(rows->size() == 2);
      CHECK(rows->back().origin == "Saltmarsh Yard");
      const auto printed = label(b->book(), drum, day("2026-01-03"));
      REQUIRE_MESSAGE(printed.ok(), why(printed));
      CHECK(printed->site == "Saltmarsh Yard");
    }
  }

  TEST_CASE(
      "books begun with other zones, units and rules answer the same of the same entries, the words "
      "as well where they print in the same units") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("seed " << seed);
    std::mt19937_64 rng(seed);
    const std::vector<std::string> sets = {"", "eu", "us-federal", "us-california"};
    const auto any = [&] { return sets[rng() % sets.size()]; };
    for (int round = 0; round < 4; ++round) {
      CAPTURE(round);
      TestBook bay(chosen("bay", any()), rng(), "2026-01-02T09:00:00.000Z");
      TestBook office(chosen("office", any(), "Atlantic/Azores"), rng(),
                      "2026-01-02T10:00:00.000Z");
      RandomShop one(bay, rng(), "a-");
      RandomShop two(office, rng(), "b-");
      for (int i = 0; i < 40; ++i) {
        (void)one.act();
        (void)two.act();
      }
      bay.now = office.now = instant("2026-02-03T09:00:00.000Z");
      (void)bay.try_write(CloseMonth{month_of(day("2026-01-01")), ""});
      // Two that only read what both wrote: neither calls an entry its own that the other does not.
      Settings far = chosen("c", any(), "Pacific/Auckland");
      TestBook c(chosen("c", any()), rng(), "2026-02-04T09:00:00.000Z");
      far.tag = "d";
      far.units.volume = round % 2 == 0 ? VolumeUnit::litre : VolumeUnit::us_gallon;
      TestBook d(far, rng(), "2026-02-04T09:30:00.000Z");
      for (TestBook* reader : {&c, &d}) {
        reader->now = std::max({reader->now, bay.now, office.now});
        for (TestBook* writer : {&bay, &office}) (void)taken(*reader, file_of(writer->book()));
      }
      for (int turn = 0; turn < 2; ++turn) both(c, d);
      const bool words = round % 2 == 0;
      const Day today = day("2026-03-05");
      CHECK(Answers(c, words).all(today) == Answers(d, words).all(today));
    }
  }
}
