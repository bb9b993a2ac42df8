// A counter that goes back: it rolled over, was replaced, or the reading before was misread. Each
// has its own arithmetic. Cars, readings and schedules are invented.
#include "support/due_shop.hpp"

#include <baybook/bulk.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

struct DialShop : DueShop {
  Result<Receipt> try_odo(std::string_view on, std::string_view typed, Dial dial = Dial::goes_on) {
    Odometer o;
    o.car = car;
    o.reading = parse_distance(typed, Units{}).value();
    o.dial = dial;
    at(on);
    return b.try_write(o);
  }
  Receipt odo(std::string_view on, std::string_view typed, Dial dial = Dial::goes_on) {
    auto r = try_odo(on, typed, dial);
    REQUIRE_MESSAGE(r.ok(), why(r));
    return *r;
  }
  Refusal refused(std::string_view on, std::string_view typed, Dial dial = Dial::goes_on) {
    const std::string before = b.dump();
    const auto r = try_odo(on, typed, dial);
    REQUIRE_FALSE(r.ok());
    CHECK(difference(before, b.dump()) == "");
    return r.refusal();
  }
  Result<Receipt> try_hours(std::string_view on, int n, Dial dial = Dial::goes_on) {
    EngineHours h;
    h.car = car;
    h.minutes = n * 60;
    h.typed = std::to_string(n) + "h";
    h.dial = dial;
    at(on);
    return b.try_write(h);
  }
  Receipt hours(std::string_view on, int n, Dial dial = Dial::goes_on) {
    auto r = try_hours(on, n, dial);
    REQUIRE_MESSAGE(r.ok(), why(r));
    return *r;
  }
  void every_miles(std::string task, std::string_view interval) {
    Interval i = every(std::move(task), 0);
    i.distance = parse_distance(interval, Units{}).value();
    set(for_car(i));
  }
  /// What is said of the one task on that day: "at 12 mi on ..., due 5000 mi".
  std::string figures(std::string_view today) {
    const DueList l = all(today);
    REQUIRE(l.lines.size() == 1);
    return l.lines.front().figures;
  }
  bool over(std::string_view today) { return all(today).over == 1; }
  Receipt correct(EntryId target, const Patch& patch) {
    Correction c;
    c.target = target;
    c.patch = patch;
    c.why = "looked again";
    return b.write(c);
  }
};

bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

/// Metres that the task still has, by what is due and what is shown.
std::int64_t to_go(DialShop& s) {
  const DueList l = s.all("2025-12-31");
  REQUIRE(l.lines.size() == 1);
  const std::string& f = l.lines.front().figures;
  const auto at = parse_distance(f.substr(3, f.find(" on ") - 3), Units{}).value();
  const std::size_t due = f.find("due ") + 4;
  return parse_distance(f.substr(due, f.find(',', due) - due), Units{}).value().metres - at.metres;
}

}  // namespace

TEST_SUITE("book/dial") {
  TEST_CASE(
      "an odometer of five figures that rolled over between two services gives its task the miles "
      "that it drove") {
    DialShop s;
    s.every_miles("service", "10000mi");
    s.odo("2025-02-01", "95000mi");
    s.done("service");
    s.odo("2025-06-01", "99990mi");
    s.odo("2025-07-01", "12mi", Dial::rolled_over);
    // 4,990 miles to the reading before, 10 to the last figure, 12 since.
    CHECK(has(s.figures("2025-07-01"), "at 19 km on 2025-07-01, due 8047 km"));
    s.odo("2025-12-01", "4999mi");
    CHECK_FALSE(s.over("2025-12-01"));
    s.odo("2025-12-02", "5000mi");
    CHECK(s.over("2025-12-02"));
    CHECK(s.all("2025-12-02").lines.front().day == day("2025-12-02"));
    CHECK(s.sound());
  }

  TEST_CASE("one that was due before it began again is over since then, and says so") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 3000)));
    s.odo("2025-02-01", "95000km");
    s.done("service");
    s.odo("2025-05-01", "98500km");
    s.odo("2025-07-01", "200km", Dial::rolled_over);
    const DueList l = s.all("2025-07-01");
    REQUIRE(l.lines.size() == 1);
    CHECK(l.lines.front().state == DueLine::State::over);
    CHECK(l.lines.front().day == day("2025-05-01"));
    CHECK(l.lines.front().figures ==
          "at 200 km on 2025-07-01, due 2200 km ago, before it began again at 0");
    CHECK(s.sound());
  }

  TEST_CASE(
      "an odometer of six figures, one in kilometres, and one that rolls over twice are counted on "
      "alike") {
    struct Row {
      const char* first;
      const char* before;
      const char* after;
      std::int64_t driven;  // metres
    };
    for (const Row& row : {Row{"995000km", "999998km", "3km", 5'003'000},
                           Row{"95000km", "99999km", "1km", 5'001'000},
                           Row{"999000mi", "999999mi", "1mi", 1'610'953}}) {
      CAPTURE(row.first);
      DialShop s;
      s.set(s.for_car(DueShop::every("service", 0, 20000)));
      s.odo("2025-02-01", row.first);
      s.done("service");
      s.odo("2025-03-01", row.before);
      s.odo("2025-03-02", row.after, Dial::rolled_over);
      const std::int64_t off = to_go(s) - (20'000'000 - row.driven);
      CHECK((off < 0 ? -off : off) <= 1000);  // shown in whole kilometres
    }
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 200'000)));
    s.odo("2025-02-01", "99000km");
    s.done("service");
    s.odo("2025-03-01", "1000km", Dial::rolled_over);
    s.odo("2025-08-01", "99500km");
    s.odo("2025-09-01", "500km", Dial::rolled_over);
    CHECK(to_go(s) == 98'500'000);  // 2,000 + 98,500 + 1,000 km driven
    CHECK(s.sound());
  }

  TEST_CASE(
      "a replaced instrument goes on from its first reading, also when that is higher, and both "
      "are added") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    s.odo("2025-02-01", "50000km");
    s.done("service");
    s.odo("2025-03-01", "53000km");
    s.odo("2025-03-01", "120000km", Dial::replaced);
    s.odo("2025-06-01", "122000km");
    CHECK(to_go(s) == 5'000'000);
    s.odo("2025-07-01", "10km", Dial::replaced);
    s.odo("2025-08-01", "1010km");
    CHECK(to_go(s) == 4'000'000);
    CHECK(s.sound());
  }

  TEST_CASE(
      "a misread reading is as if it had not been, in the middle, as the last one, and in a job's "
      "opening") {
    for (const char* where : {"middle", "last", "job"}) {
      CAPTURE(where);
      DialShop s;
      s.set(s.for_car(DueShop::every("service", 0, 10000)));
      s.odo("2025-02-01", "50000km");
      s.done("service");
      const bool job = std::string_view(where) == "job";
      s.at("2025-04-01");
      EntryId misread;
      if (job) misread = EntryId{s.open(95'200).n};
      else misread = s.odo("2025-04-01", "95200km").entry.id;
      const Receipt r = s.odo("2025-05-01", "53000km", Dial::misread);
      CHECK(r.warnings.at(0) ==
            "the reading 95200 km on 2025-04-01 (entry " + std::to_string(misread.number()) +
                ") is taken out as misread, by entry " + std::to_string(misread.number() + 1));
      CHECK(r.entry.number() == misread.number() + 2);  // the correction, then the reading
      if (std::string_view(where) == "middle") s.odo("2025-06-01", "53500km");
      CHECK(to_go(s) == (std::string_view(where) == "middle" ? 6'500'000 : 7'000'000));
      CHECK(s.all("2025-06-01").lines.front().note.empty());
      auto jumps = s.b.book().inside().db.query("SELECT count(*) FROM reading WHERE reset <> 0");
      CHECK(jumps.step_num() == 0);
      if (job) {
        const auto v = baybook::job(s.b.book(), JobId{misread.n});
        REQUIRE(v.ok());
        CHECK_FALSE(v->odometer_metres.has_value());
      }
      CHECK(s.sound());
    }
  }

  TEST_CASE("the one that was misread hands on what it said of its instrument") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    s.odo("2025-02-01", "98000km");
    s.done("service");
    s.odo("2025-03-01", "900km", Dial::rolled_over);
    s.odo("2025-03-02", "90km", Dial::misread);
    CHECK(to_go(s) == 7'910'000);
    s.odo("2025-04-01", "500km", Dial::replaced);
    s.odo("2025-04-02", "5km", Dial::misread);
    CHECK(to_go(s) == 7'910'000);
    CHECK(s.sound());
  }

  TEST_CASE(
      "a drop asks which of the three it was, a reason alone does not say it, and nothing is "
      "written") {
    DialShop s;
    s.odo("2025-02-01", "88210km");
    const Refusal r = s.refused("2025-02-03", "12km");
    CHECK(r.code == Code::runs_backwards);
    CHECK(
        has(r.what, "12km is less than the reading before it, 88210 km on 2025-02-01 (entry 13)"));
    CHECK(r.instead ==
          "the same with --misread, if entry 13 was misread; with --replaced, if it is another "
          "instrument; or the reading again");
    Odometer o;
    o.car = s.car;
    o.reading = DueShop::km(12);
    o.reason = "misread";
    CHECK(s.b.try_write(o).refusal().code == Code::runs_backwards);
  }

  TEST_CASE(
      "a drop from just below a power of ten names first that it rolled over, with the distance "
      "that would be") {
    DialShop s;
    s.odo("2025-02-01", "99999mi");
    const Refusal r = s.refused("2025-02-02", "12mi");
    CHECK(
        r.instead.starts_with("the same with --rolled-over, if it came to 100000 mi and began "
                              "again (21 km since then); with --misread, if entry 13 was misread"));
    CHECK(std::find_if(r.figures.begin(), r.figures.end(), [](const Figure& f) {
            return f.name == "range_m" && f.value == "160934400";
          }) != r.figures.end());
  }

  TEST_CASE(
      "what cannot have rolled over is refused: what shows no less, and what is farther than a car "
      "drives") {
    DialShop s;
    s.odo("2025-02-01", "50000km");
    CHECK(has(s.refused("2025-02-02", "50010km", Dial::rolled_over).what,
              "50010km is not less than the reading before it"));
    const Refusal far = s.refused("2025-02-11", "10km", Dial::rolled_over);
    CHECK(has(far.what, "past 100000 km to 10km are 50010 km in 10 days"));
    CHECK(has(far.instead, "--misread"));
    CHECK(has(s.refused("2025-02-02", "50010km", Dial::misread).what,
              "no reading before 50010km shows more than that"));
  }

  TEST_CASE(
      "where several readings show more none is taken out, and each is named with what puts it "
      "right") {
    DialShop s;
    s.odo("2025-02-01", "50000km");
    s.odo("2025-03-01", "95000km");
    s.at("2025-03-02");
    s.open(95'100);
    const Refusal r = s.refused("2025-04-01", "52000km", Dial::misread);
    CHECK(has(r.what,
              "2 readings before 52000km show more than that: 95100 km on 2025-03-02 (entry 15), "
              "95000 km on 2025-03-01 (entry 14)"));
    CHECK(has(
        r.instead,
        "baybook correct 15 --no-odo --why \"...\"; baybook correct 14 --withdraw --why \"...\""));
  }

  TEST_CASE("hours of an engine roll over, are replaced and misread like an odometer") {
    DialShop s;
    s.set(s.for_car(DueShop::every("cam-belt", 0, 0, 250)));
    s.hours("2025-02-01", 9900);
    s.done("cam-belt");
    s.hours("2025-03-01", 9990);
    CHECK(s.try_hours("2025-03-02", 5)
              .refusal()
              .instead.starts_with("the same with --rolled-over, if it came to 10000 h and began "
                                   "again (15 h since then)"));
    s.hours("2025-03-02", 5, Dial::rolled_over);
    CHECK(has(s.figures("2025-03-02"), "at 5 h, due 150 h"));
    s.hours("2025-03-10", 140);
    s.hours("2025-03-11", 14, Dial::misread);
    CHECK(has(s.figures("2025-03-11"), "at 14 h, due 150 h"));
    s.hours("2025-03-11", 1, Dial::replaced);
    CHECK(has(s.figures("2025-03-11"), "at 1 h, due 137 h"));
    CHECK(s.sound());
  }

  TEST_CASE(
      "a reading of the same round that is written down later takes the range over, and it is "
      "added once") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    s.odo("2025-02-01", "99000km");
    s.done("service");
    s.odo("2025-05-01", "500km", Dial::rolled_over);
    Odometer o;
    o.car = s.car;
    o.reading = DueShop::km(200);
    o.dial = Dial::rolled_over;
    Stamp late = s.b.stamp();
    late.on = day("2025-04-01");
    REQUIRE(s.b.book().append(o, late).ok());
    CHECK(to_go(s) == 8'500'000);
    CHECK(s.sound());
  }

  TEST_CASE("a list of readings may begin with its newest row, and what began again is counted all the same") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    s.at("2025-06-01");
    const std::vector<std::pair<const char*, const char*>> rows = {
        {"2025-05-01", "500km"}, {"2025-04-01", "99900km"}, {"2025-02-01", "99000km"}};
    std::size_t n = 0;
    const auto next = [&]() -> Result<std::optional<Item>> {
      if (n == rows.size()) return std::optional<Item>();
      Odometer o;
      o.car = s.car;
      o.reading = parse_distance(rows[n].second, Units{}).value();
      o.dial = n == 0 ? Dial::rolled_over : Dial::goes_on;
      Item item{o, s.b.stamp()};
      item.stamp.on = day(rows[n++].first);
      return std::optional<Item>(std::move(item));
    };
    REQUIRE(append_all(s.b.book(), next).ok());
    s.done("service", "2025-02-01");
    CHECK(to_go(s) == 8'500'000);
    CHECK(s.sound());
  }

  TEST_CASE("miles of an instrument that are typed as kilometres roll over where its miles do, and a mile of rounding is no drop") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    s.odo("2025-02-01", "99000mi");
    s.done("service");
    s.odo("2025-02-20", "99990mi");
    const Receipt r = s.odo("2025-02-21", "19km", Dial::rolled_over);
    CHECK(has(r.body, "\"rolled-over\":\"mi\""));
    const std::int64_t driven = 160'934'400 - 159'325'056 + 19'000;
    const std::int64_t off = to_go(s) - (10'000'000 - driven);
    CHECK((off < 0 ? -off : off) <= 1000);
    s.odo("2025-03-01", "1000km");
    s.odo("2025-03-01", "621mi");  // 999.4 km: the same spot
    CHECK(s.try_odo("2025-03-02", "620mi").refusal().code == Code::runs_backwards);
    CHECK(s.sound());
  }

  TEST_CASE("what is counted to follows the reading before when that one is put right") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    const Receipt first = s.odo("2025-02-01", "99000km");
    s.done("service");
    s.odo("2025-05-01", "500km", Dial::rolled_over);
    CHECK(to_go(s) == 8'500'000);
    Patch p;
    p.odometer = DueShop::km(998'000);
    s.correct(first.entry.id, p);
    CHECK(to_go(s) == 7'500'000);  // six figures: 2,000 km to the last one, and 500
    CHECK(s.sound());
  }

  TEST_CASE("an older reading that was higher is asked for by what the one after it has to say first") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    const Receipt later = s.odo("2025-05-01", "500km");
    Odometer o;
    o.car = s.car;
    o.reading = DueShop::km(99'000);
    Stamp old = s.b.stamp();
    old.on = day("2025-02-01");
    const auto refused = s.b.book().append(o, old);
    REQUIRE_FALSE(refused.ok());
    CHECK(has(refused.refusal().instead,
              "baybook correct " + std::to_string(later.entry.number()) +
                  " --rolled-over --why \"...\" (or --replaced) first"));
    Patch p;
    p.dial = Dial::rolled_over;
    s.correct(later.entry.id, p);
    REQUIRE(s.b.book().append(o, old).ok());
    s.done("service", "2025-02-01");
    CHECK(to_go(s) == 8'500'000);
    CHECK(s.sound());
  }

  TEST_CASE(
      "an old entry with a reason stays the first of another instrument, and is put right when it "
      "rolled over") {
    DialShop s;
    s.set(s.for_car(DueShop::every("service", 0, 10000)));
    s.odo("2025-02-01", "99000km");
    s.done("service");
    const Receipt old =
        s.odo("2025-03-01", "500km", Dial::replaced);  // as every reason was written before
    CHECK(has(old.body, "\"reset\":true"));
    CHECK(to_go(s) == 10'000'000);
    Patch p;
    p.dial = Dial::rolled_over;
    s.correct(old.entry.id, p);
    CHECK(to_go(s) == 8'500'000);
    p.dial = Dial::goes_on;
    Correction c;
    c.target = old.entry.id;
    c.patch = p;
    c.why = "no";
    CHECK(s.b.try_write(c).refusal().code == Code::runs_backwards);
    p.dial.reset();
    p.odometer = DueShop::km(600);
    s.correct(old.entry.id, p);  // the figure alone: what it says of its instrument stays
    CHECK(to_go(s) == 8'400'000);
    CHECK(s.sound());
  }

  TEST_CASE("the same once-key writes nothing again, and a dry run changes no table") {
    DialShop s;
    s.odo("2025-02-01", "95200km");
    s.at("2025-02-03");
    Odometer o;
    o.car = s.car;
    o.reading = DueShop::km(53000);
    o.dial = Dial::misread;
    Stamp stamp = s.b.stamp();
    stamp.dry_run = true;
    const std::string before = s.b.dump();
    const auto dry = s.b.book().append(o, stamp);
    REQUIRE_MESSAGE(dry.ok(), why(dry));
    CHECK(dry->dry_run);
    CHECK(difference(before, s.b.dump()) == "");
    stamp.dry_run = false;
    stamp.once = "k";
    REQUIRE(s.b.book().append(o, stamp).ok());
    const std::string written = s.b.dump();
    const auto again = s.b.book().append(o, stamp);
    REQUIRE(again.ok());
    CHECK(again->repeated);
    CHECK(difference(written, s.b.dump()) == "");
  }

  TEST_CASE("what was driven until a fault came back goes through a roll-over") {
    DialShop s;
    s.at("2025-03-03");
    const JobId first = s.open(99'900);
    CodeNote code;
    code.job = first;
    code.code = "P0217";
    code.what = CodeNote::What::cleared;
    s.b.write(code);
    s.close(first);
    s.odo("2025-03-20", "300km", Dial::rolled_over);
    code.job = s.open();
    code.what = CodeNote::What::returned;
    s.b.write(code);
    const auto list = comebacks(s.b.book());
    REQUIRE(list.ok());
    REQUIRE(list->size() == 1);
    CHECK(list->front().metres == 400'000);
  }

  TEST_CASE(
      "readings that are taken out of a book and into another keep what they say of the "
      "instrument") {
    DialShop s;
    s.odo("2025-02-01", "99900mi");
    s.odo("2025-03-01", "40mi", Dial::rolled_over);
    s.odo("2025-04-01", "7mi", Dial::replaced);
    const auto records = reading_records(s.b.book());
    REQUIRE(records.ok());
    REQUIRE(records->size() == 3);
    CHECK(records->at(0).dial == Dial::goes_on);
    CHECK(records->at(1).dial == Dial::rolled_over);
    CHECK(records->at(2).dial == Dial::replaced);
  }
}
