// What two installations did to one thing, neither knowing of the other, is listed; what one did
// knowing is not.
#include "support/two_books.hpp"

#include <baybook/due.hpp>
#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

constexpr FluidId kOil{2};

Determination judged(bool hazardous) {
  Determination d;
  d.stream = "waste-engine-oil";
  d.reason = "looked at the sheet";
  d.hazardous = hazardous;
  return d;
}

CloseJob closing_of(JobId job) {
  CloseJob c;
  c.job = job;
  c.result = "done";
  return c;
}

CarChange plate_of(CarId car, const std::string& plate) {
  CarChange c;
  c.car = car;
  c.plate = plate;
  return c;
}

Schedule every(int months) {
  Schedule d;
  d.name = "tern-service";
  Interval i;
  i.task = "engine-oil";
  i.make = "Corvane";
  i.model = "Tern";
  i.months = months;
  i.source = "workshop booklet, page 9";
  d.intervals = {i};
  return d;
}

// Types the first hint that is a choice, in the bay, and looks that nothing is left of that kind.
void first_choice_settles(TwoBooks& s, Conflict::What what) {
  const auto all = listed(s.bay, what);
  REQUIRE_FALSE(all.empty());
  REQUIRE(all[0].choices.size() == 2);
  s.bay.write(Choice{all[0].choices[0].id, ""});
  s.both();
  for (TestBook* b : s.books()) CHECK(listed(*b, what).empty());
  agree(s);
}

void kept_apart(TwoBooks& s, const Conflict& c, Conflict::What what) {
  const std::string& hint = *std::find_if(c.instead.begin(), c.instead.end(), [](const auto& h) {
    return h.starts_with("baybook settle apart ");
  });
  const std::string rest = hint.substr(std::string("baybook settle apart ").size());
  const std::size_t space = rest.find(' ');
  const auto one = s.bay.book().find_entry(rest.substr(0, space));
  const auto other =
      s.bay.book().find_entry(rest.substr(space + 1, rest.find(' ', space + 1) - space - 1));
  REQUIRE_MESSAGE(one.ok(), why(one));
  REQUIRE_MESSAGE(other.ok(), why(other));
  s.bay.write(Settle{*one, *other, false, "looked at both"});
  s.both();
  for (TestBook* b : s.books()) CHECK(listed(*b, what).empty());
}

}  // namespace

TEST_SUITE("book/unaware") {
  TEST_CASE("one stream that was determined in two ways is listed until somebody chooses") {
    TwoBooks s;
    s.bay.write(judged(true));
    s.office.write(judged(false));
    s.both();
    for (TestBook* b : s.books())
      CHECK(listed(*b, Conflict::What::determination).size() == 1);
    SUBCASE("a choice") { first_choice_settles(s, Conflict::What::determination); }
    SUBCASE("a new determination knowing of both") {
      s.office.write(judged(true));
      s.both();
      for (TestBook* b : s.books()) CHECK(listed(*b, Conflict::What::determination).empty());
    }
  }

  TEST_CASE("a stream that is determined anew knowing of the other determination is not listed") {
    TwoBooks s;
    s.bay.write(judged(true));
    s.to_office();
    s.office.write(judged(false));
    s.both();
    for (TestBook* b : s.books()) CHECK(conflicts(b->book())->empty());
  }

  TEST_CASE("a job that was closed twice is listed, and one closing is kept") {
    TwoBooks s;
    const JobId job = s.bay.job(s.car);
    s.both();
    s.bay.write(closing_of(job));
    s.office.write(closing_of(job));
    s.both();
    first_choice_settles(s, Conflict::What::job);
  }

  TEST_CASE("what was written on a job after it was closed elsewhere is listed until said to belong") {
    TwoBooks s;
    const JobId job = s.bay.job(s.car);
    s.both();
    s.bay.write(closing_of(job));
    s.office.write(Work{job, "hose renewed", "cooling"});
    s.office.write(CodeNote{CodeNote::What::read, job, "P0217", ""});
    s.both();
    const auto all = listed(s.bay, Conflict::What::job);
    REQUIRE(all.size() == 1);
    CHECK_MESSAGE(all[0].text.find("2 entries were written") != std::string::npos, all[0].text);
    kept_apart(s, all[0], Conflict::What::job);
    agree(s);
  }

  TEST_CASE("what was written on a job before the other closed it knowing of that is not listed") {
    TwoBooks s;
    const JobId job = s.bay.job(s.car);
    s.both();
    s.office.write(Work{job, "hose renewed", "cooling"});
    s.both();
    s.bay.write(closing_of(job));
    s.both();
    for (TestBook* b : s.books()) CHECK(conflicts(b->book())->empty());
  }

  TEST_CASE("two open jobs of one car are listed") {
    TwoBooks s;
    s.bay.job(s.car);
    s.office.job(s.car);
    s.both();
    for (TestBook* b : s.books()) {
      const auto all = listed(*b, Conflict::What::job);
      REQUIRE(all.size() == 1);
      CHECK_MESSAGE(all[0].text.starts_with("MARSH-07 has two open jobs, "), all[0].text);
    }
    kept_apart(s, listed(s.bay, Conflict::What::job)[0], Conflict::What::job);
  }

  TEST_CASE("a car that was scrapped here and worked on there is listed") {
    TwoBooks s;
    CarChange gone;
    gone.car = s.car;
    gone.scrapped = true;
    s.bay.write(gone);
    s.office.job(s.car);
    s.both();
    for (TestBook* b : s.books()) {
      const auto all = listed(*b, Conflict::What::scrapped);
      REQUIRE(all.size() == 1);
      CHECK_MESSAGE(all[0].text.starts_with("MARSH-07 was scrapped by entry "), all[0].text);
    }
    kept_apart(s, listed(s.bay, Conflict::What::scrapped)[0], Conflict::What::scrapped);
  }

  TEST_CASE("two plates that were given to one car are listed, and one is chosen") {
    TwoBooks s;
    s.bay.write(plate_of(s.car, "MARSH-08"));
    s.office.write(plate_of(s.car, "TERN-44"));
    s.both();
    const auto all = listed(s.bay, Conflict::What::car_change);
    REQUIRE(all.size() == 1);
    CHECK_MESSAGE(all[0].text.find("two of plate") != std::string::npos, all[0].text);
    first_choice_settles(s, Conflict::What::car_change);
    CHECK(s.bay.book().plate_of(s.car) == s.office.book().plate_of(s.car));
  }

  TEST_CASE("a plate and a keeper that were given apart are no conflict, nor one plate twice") {
    TwoBooks s;
    s.bay.write(plate_of(s.car, "MARSH-08"));
    CarChange keeper;
    keeper.car = s.car;
    keeper.plate = "MARSH-08";
    keeper.keeper = "Ida Reedling";
    s.office.write(keeper);
    s.both();
    for (TestBook* b : s.books()) CHECK(conflicts(b->book())->empty());
  }

  TEST_CASE("a schedule that two wrote anew is listed, and one is chosen") {
    TwoBooks s;
    s.bay.write(every(12));
    s.both();
    s.bay.write(every(6));
    s.office.write(every(24));
    s.both();
    CHECK(listed(s.bay, Conflict::What::schedule).size() == 1);
    first_choice_settles(s, Conflict::What::schedule);
  }

  TEST_CASE("two cars whose plates are one slip apart are listed when a keeper or the day is one") {
    TwoBooks s;
    NewCar c;
    c.plate = "REED-18";
    c.make = "Corvane";
    s.bay.write(c);
    c.plate = "REED-81";
    s.office.write(c);
    s.both();
    const auto all = listed(s.bay, Conflict::What::car);
    REQUIRE(all.size() == 1);
    CHECK_MESSAGE(all[0].text.find("one slip apart") != std::string::npos, all[0].text);
    CHECK(all[0].instead[0].starts_with("baybook settle join "));
    kept_apart(s, all[0], Conflict::What::car);
  }

  TEST_CASE("two cars a slip apart are no conflict where one was entered knowing of the other") {
    TwoBooks s;
    NewCar c;
    c.plate = "REED-18";
    c.make = "Corvane";
    s.bay.write(c);
    s.to_office();
    c.plate = "REED-81";
    s.office.write(c);
    s.both();
    for (TestBook* b : s.books()) CHECK(conflicts(b->book())->empty());
  }
}
