// Another program that fills drafts by hand, holds ids of the wrong kind, has a random function
// that is none, and throws: what tests/package/consumer/misuse.cpp tries against the installed
// library, and what has to be looked at from inside.
#include "package/consumer/sweep.hpp"
#include "support/carry.hpp"
#include "support/forged_file.hpp"
#include "support/has.hpp"
#include "support/hints.hpp"
#include "support/past_the_reader.hpp"
#include "support/random_shop.hpp"

#include <baybook/bulk.hpp>
#include <baybook/erase.hpp>
#include <baybook/keep.hpp>
#include <baybook/peers.hpp>
#include <baybook/returns.hpp>

#include <set>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Consumer : Folder {
  consumer::Shop shop{file("shop.baybook")};
  Book& book = shop.book;
  std::string dump() { return test::dump(book.inside().db); }
};

void all_well(const consumer::Swept& swept) {
  for (const std::string& fault : swept.faults) FAIL_CHECK(fault);
  CHECK(swept.tried > 0);
}

// Refused with that code; the book is as it was.
Refusal refused(Consumer& c, const Draft& d, Code code) {
  const std::string before = c.dump();
  const auto r = c.book.append(d, c.shop.stamp());
  REQUIRE_MESSAGE(!r.ok(), "it was taken");
  CHECK_MESSAGE(r.refusal().code == code, why(r));
  CHECK_MESSAGE(harm_of(r.refusal().instead) == "", r.refusal().instead);
  CHECK(difference(before, c.dump()) == "");
  return r.refusal();
}

}  // namespace

TEST_SUITE("book/misuse") {
  TEST_CASE(
      "no field of any draft takes an id of another kind or of nothing, a figure, a day, a choice "
      "or "
      "a text that cannot be, and no slip of a program is called damage") {
    Consumer c;
    const std::string before = c.dump();
    const consumer::Swept swept = consumer::sweep_drafts(c.shop);
    all_well(swept);
    CHECK(swept.tried > 2000);
    CHECK(swept.refused > 1900);
    CHECK(difference(before, c.dump()) == "");
  }

  TEST_CASE("no stamp has a day, a minute, an offset or a writer that cannot be") {
    Consumer c;
    all_well(consumer::sweep_stamp(c.shop));
  }

  TEST_CASE("a draft that is made by default is refused, or is fit to be taken in elsewhere") {
    Consumer c;
    const auto made = [&]<std::size_t... I>(std::index_sequence<I...>) {
      return std::vector<Draft>{Draft(std::variant_alternative_t<I, Draft>{})...};
    }
    (std::make_index_sequence<std::variant_size_v<Draft>>());
    for (const Draft& d : made) {
      CAPTURE(d.index());
      const auto r = c.book.append(d, consumer::later(c.shop));
      CHECK_FALSE(r.ok());
      if (!r.ok()) CHECK_MESSAGE(!consumer::blames_the_book(r.refusal().code), why(r));
    }
  }

  TEST_CASE("a reading, the hours and a task are not written on another car's job") {
    Consumer c;
    const consumer::Shop& s = c.shop;
    const Distance reading{88'230'000, "88230km"};
    const Refusal r = refused(c, Odometer{s.marsh, s.other_job, reading, ""}, Code::not_allowed);
    CHECK(r.what == "job 3 is about another car than MARSH-07");
    refused(c, EngineHours{s.marsh, s.other_job, 60, "1h", ""}, Code::not_allowed);
    TaskDone t;
    t.car = s.marsh;
    t.job = s.other_job;
    t.task = "engine-oil";
    refused(c, t, Code::not_allowed);
    RecheckDone done{s.closing, 1, true, s.other_job, ""};
    refused(c, done, Code::not_allowed);
    PutOff off;
    off.car = s.tern;
    off.closing = s.closing;
    off.recheck = 1;
    off.until = day("2026-04-01");
    off.why = "not in";
    refused(c, off, Code::not_allowed);
    Movement m =
        consumer::Shop::move(MoveVerb::drain, consumer::Shop::coolant(s.marsh), s.pan, "1L");
    m.job = s.other_job;
    refused(c, m, Code::not_allowed);
  }

  TEST_CASE("what is said and would be lost in silence is refused") {
    Consumer c;
    for (auto& [name, draft] : consumer::valid_drafts(c.shop)) {
      CAPTURE(name);
      if (auto* f = std::get_if<Fit>(&draft)) {
        f->old = Fit::Old::core;
        refused(c, draft, Code::wrong_usage);
      } else if (auto* g = std::get_if<Gauge>(&draft); g != nullptr && g->level) {
        g->gross = litres("20kg");
        refused(c, draft, Code::wrong_usage);
      } else if (auto* p = std::get_if<PutOff>(&draft); p != nullptr && p->recheck != 0) {
        p->task = "engine-oil";
        refused(c, draft, Code::wrong_usage);
        p->task.clear();
        p->recheck = 0;
        refused(c, draft, Code::wrong_usage);
      } else if (auto* k = std::get_if<Correction>(&draft)) {
        k->withdraw = true;
        refused(c, draft, Code::wrong_usage);
      } else if (auto* w = std::get_if<NewFluid>(&draft)) {
        w->density.reset();
        refused(c, draft, Code::wrong_usage);
      }
    }
    Movement m = consumer::Shop::move(MoveVerb::decant, c.shop.drum, c.shop.drum, "1L");
    m.lines[0].to = c.shop.can;
    m.lines[0].fate = Fate::recycled;
    refused(c, m, Code::wrong_usage);
  }

  TEST_CASE(
      "drafts with random fields of other drafts never write what could not be taken in elsewhere, "
      "and never stop the book") {
    const std::uint64_t seed = seed_of_run();
    CAPTURE(seed);
    std::mt19937_64 dice(seed);
    Consumer c;
    std::int64_t written = 0;
    for (int round = 0; round < 12; ++round) {
      for (auto& [name, draft] : consumer::valid_drafts(c.shop)) {
        // One field of it, and what to try there, by chance.
        std::visit(
            [&, &name = name](auto& d) {
              std::uint64_t ways = 0;
              consumer::Mutator count(c.shop, [&](const std::string&, consumer::Must) { ++ways; });
              consumer::every_field("", d, count);
              std::uint64_t at = dice() % ways;
              consumer::Mutator m(c.shop, [&](const std::string& what, consumer::Must) {
                if (at-- != 0) return;
                CAPTURE(name);
                CAPTURE(what);
                const auto r = c.book.append(Draft(d), c.shop.stamp());
                if (r.ok())
                  ++written;
                else
                  CHECK_MESSAGE(!consumer::blames_the_book(r.refusal().code), why(r));
              });
              consumer::every_field("", d, m);
            },
            draft);
      }
    }
    CAPTURE(written);
    const auto proof = prove(c.book);
    REQUIRE_MESSAGE(proof.ok(), why(proof));
    for (const Finding& f : proof->findings) {
      // What is on record as a paper lies beside no book of a test.
      if (!has(f.what, "folder of papers")) FAIL_CHECK(f.what);
    }
    for (const Finding& f : proof->unfit) FAIL_CHECK(f.what);
    CHECK(written > 0);
    TestBook office("office", 22);
    CHECK(taken(office, file_of(c.book)).left == 0);
  }

  TEST_CASE(
      "every public question about an id that there is not is answered, and not called damage") {
    Consumer c;
    const Book& b = c.book;
    const auto fine = [](const std::string& what, const auto& r) {
      CAPTURE(what);
      if (r.ok()) return;
      CHECK_MESSAGE(!consumer::blames_the_book(r.refusal().code), why(r));
      CHECK_FALSE(r.refusal().what.empty());
    };
    std::vector<std::int64_t> ids;
    for (const consumer::WrongId& w : consumer::ids_of_nothing(c.shop)) ids.push_back(w.n);
    for (const consumer::Thing& t : consumer::things(c.shop)) ids.push_back(t.n);
    ids.push_back(0);
    const Day today = day("2026-03-05");
    for (const std::int64_t n : ids) {
      CAPTURE(n);
      fine("entry", entry(b, EntryId{n}));
      fine("car", car(b, CarId{n}));
      fine("job", job(b, JobId{n}));
      fine("last", last(b, CarId{n}));
      fine("history", history(b, CarId{n}));
      fine("schedules", schedules(b, CarId{n}));
      fine("comebacks", comebacks(b, CarId{n}));
      fine("pickup", pickup(b, EntryId{n}));
      fine("label", label(b, PlaceId{n}, today));
      fine("spill", spill_advice(b, EntryId{n}));
      fine("car_of_job", b.car_of_job(JobId{n}));
      fine("circuit", b.find_circuit_of(JobId{n}, "coolant"));
      CHECK_FALSE(b.name_of_place(PlaceId{n}).empty());
      CHECK_FALSE(b.plate_of(CarId{n}).empty());
      DueFilter due;
      due.car = CarId{n};
      fine("due", due_list(b, today, due));
      EntryFilter f;
      f.car = CarId{n};
      fine("entries of a car", entries(b, f));
      f.car.reset();
      f.place = PlaceId{n};
      fine("entries of a place", entries(b, f));
      Erasure e;
      e.car = CarId{n};
      e.plate = true;
      fine("erasure of a car", plan_erasure(b, e, today));
      e = {};
      e.entry = EntryId{n};
      fine("erasure of an entry", plan_erasure(b, e, today));
      e = {};
      e.asked = EntryId{n};
      fine("erasure that was asked for", plan_erasure(b, e, today));
      for (const PeerWord::What what : {PeerWord::What::accept, PeerWord::What::agree})
        fine("word", plan_word(b, PeerWord{what, EntryId{n}, {}}, c.shop.now));
      fine("a word",
           c.book.append(PeerWord{PeerWord::What::agree, EntryId{n}, {}}, consumer::later(c.shop)));
      ForgetPlan plan;
      plan.from.id = plan.last.id = EntryId{n};
      fine("forget", forget_out(b, plan, [](std::string_view) {}));
    }
  }

  TEST_CASE("days and months that cannot be end no report in anything but an answer") {
    Consumer c;
    const Book& b = c.book;
    const auto fine = [](const auto& r) {
      if (!r.ok()) CHECK_MESSAGE(!consumer::blames_the_book(r.refusal().code), why(r));
    };
    constexpr auto least = std::numeric_limits<std::int32_t>::min();
    constexpr auto most = std::numeric_limits<std::int32_t>::max();
    for (const std::int32_t n : {least, least + 1, -1'000'000, -1, 0, 1'000'000, most - 1, most}) {
      CAPTURE(n);
      const Day d{n};
      fine(totals(b, d, day("2026-03-05")));
      fine(totals(b, day("2026-03-05"), d));
      fine(streams(b, d, d));
      fine(levels(b, d));
      fine(limits(b, d));
      fine(due_list(b, d, {}));
      DueFilter far;
      far.within = n;
      fine(due_list(b, day("2026-03-05"), far));
      fine(waste_register(b, d, d));
      fine(judge(b, Month{n}));
      fine(closed_month(b, Month{n}));
      fine(label(b, c.shop.drum, d));
      fine(jobs(b, false, d));
      fine(split_totals(b, d, d, SplitBy::car));
      fine(b.today(Instant{n * std::int64_t{86'400'000}}));
    }
  }
}
