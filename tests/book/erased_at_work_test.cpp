// An erasure of one installation, and a car that another works on meanwhile.
#include "support/exchange_lines.hpp"
#include "support/has.hpp"

#include <baybook/due.hpp>
#include <baybook/erase.hpp>
#include <baybook/peers.hpp>

#include <algorithm>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Two {
  TestBook bay{"bay", 91}, office{"office", 92};
  CarId car = bay.car("MARSH-07");
  Two() { both(); }
  void to_office() {
    office.now = bay.now = std::max(office.now, bay.now);
    (void)taken(office, file_of(bay.book()));
  }
  ExchangeIn to_bay() {
    office.now = bay.now = std::max(office.now, bay.now);
    return taken(bay, file_of(office.book()));
  }
  void both() {
    to_office();
    (void)to_bay();
  }
  Receipt erase_all(TestBook& b) {
    Erasure e;
    e.car = car;
    e.keeper = e.plate = e.vin = e.texts = true;
    return b.write(e);
  }
  EntryId work(TestBook& b, JobId job, const std::string& text) {
    Work w;
    w.job = job;
    w.text = text;
    return b.write(w).entry.id;
  }
};

std::vector<DueLine> unaware(TestBook& b) {
  DueFilter f;
  f.group = DueGroup::paper;
  f.within = 400;
  auto list = due_list(b.book(), b.book().today(b.now).value(), f);
  REQUIRE_MESSAGE(list.ok(), why(list));
  std::erase_if(list->lines, [](const DueLine& d) { return !d.key.starts_with("erasure-unaware-"); });
  return list->lines;
}

}  // namespace

TEST_SUITE("book/erased at work") {
  TEST_CASE(
      "an erasure that comes in for a car on which a job is open names the job, and its plate is not "
      "led to a second car") {
    Two t;
    t.to_office();
    const JobId job = t.bay.job(t.car);
    (void)t.erase_all(t.office);
    const ExchangeIn in = t.to_bay();
    REQUIRE(in.erased_at_work.size() == 1);
    const std::string car = "car:" + std::to_string(EntryId{t.car.n}.number());
    CHECK(has(in.erased_at_work[0], "@office erased texts of " + car + ", on which job 1 is open"));
    CHECK(has(in.erased_at_work[0], "baybook job show 1"));
    CHECK(t.bay.book().find_job("1").value() == job);
    CHECK(t.bay.book().find_car(car).value() == t.car);
    for (const Match how : {Match::near, Match::exact, Match::part}) {
      const auto typed = t.bay.book().find_car("MARSH-07", how);
      REQUIRE_FALSE(typed.ok());
      CHECK_FALSE(has(typed.refusal().instead, "car add"));
      CHECK(typed.refusal().instead == "baybook car list");
      CHECK(has(typed.refusal().why, car + ", on which job 1 is open"));
    }
    // Once nobody works on it any more, a plate that is new here is a new car.
    CloseJob close;
    close.job = job;
    t.bay.write(close);
    CHECK(has(t.bay.book().find_car("MARSH-07").refusal().instead, "baybook car add MARSH-07"));
    // The same file again tells nothing again.
    CHECK(t.to_bay().erased_at_work.empty());
  }

  TEST_CASE("an erasure that waits for a word tells of the open job when it is accepted") {
    TestBook bay("bay", 93), office("office", 94);
    const CarId car = bay.car("MARSH-07");
    (void)taken(office, file_of(bay.book()));
    bay.job(car);
    Erasure e;
    e.car = car;
    e.plate = true;
    office.now = bay.now;
    (void)office.write(e);
    bay.now = office.now;
    auto met = meet(bay, file_of(office.book()));
    REQUIRE_MESSAGE(met.ok(), why(met));
    CHECK(met->erased_at_work.empty());
    CHECK(bay.book().plate_of(car) == "MARSH-07");
    PeerWord accept;
    for (const log::Installation& i : bay.book().inside().known.all) {
      if (i.tag == "office") accept.entry = EntryId{i.origin << 40 | 1};
    }
    accept.what = PeerWord::What::accept;
    const Receipt r = bay.write(accept);
    CHECK(std::any_of(r.warnings.begin(), r.warnings.end(),
                      [](const std::string& w) { return has(w, "on which job 1 is open"); }));
  }

  TEST_CASE(
      "what was written of a car without knowing of its erasure is due with the command that takes it "
      "out, and what was written knowing of it is not") {
    Two t;
    const JobId job = t.bay.job(t.car);
    t.work(t.bay, job, "the keeper asked for the old belt");
    t.both();
    (void)t.erase_all(t.office);
    const EntryId blind = t.work(t.bay, job, "told the keeper to wait");
    CHECK(unaware(t.bay).empty());
    t.both();
    for (TestBook* b : {&t.bay, &t.office}) {
      const auto due = unaware(*b);
      REQUIRE(due.size() == 1);
      CHECK(has(due[0].what, "\"text\" of entry " + std::to_string(blind.number())));
      const std::string name =
          std::to_string(blind.number()) + (b == &t.bay ? "" : "@bay");
      CHECK(due[0].settle == "baybook erase entry " + name + " text");
    }
    const EntryId knowing = t.work(t.bay, job, "a new belt is on order");
    t.both();
    REQUIRE(unaware(t.office).size() == 1);
    Erasure e;
    e.entry = blind;
    e.field = "text";
    t.bay.write(e);
    t.both();
    CHECK(unaware(t.bay).empty());
    CHECK(unaware(t.office).empty());
    CHECK(entry(t.office.book(), knowing)->text == "a new belt is on order");
  }
}
