// What the library hands out and takes in beside drafts: names, randomness, functions of the
// caller, values that are not there, and the way out of a book that has entries no book can take.
#include "support/exchange_lines.hpp"
#include "support/has.hpp"
#include "support/hints.hpp"
#include "support/past_the_funnel.hpp"

#include <baybook/bulk.hpp>
#include <baybook/due.hpp>
#include <baybook/keep.hpp>

#include <filesystem>
#include <fstream>
#include <new>
#include <stdexcept>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Named {
  std::string what;
  Random random;
};

// Randomness that is none, and how often it may be asked before that is noticed.
std::vector<Named> no_randomness(int& calls) {
  const auto counted = [&calls](auto fill) {
    return [&calls, fill](std::uint8_t* bytes, std::size_t size) {
      ++calls;
      return fill(bytes, size);
    };
  };
  return {
      {"zeros", counted([](std::uint8_t* b, std::size_t n) { return std::fill_n(b, n, 0), true; })},
      {"ones",
       counted([](std::uint8_t* b, std::size_t n) { return std::fill_n(b, n, 0xFF), true; })},
      {"nothing written", counted([](std::uint8_t*, std::size_t) { return true; })},
      {"half of it", counted([](std::uint8_t* b, std::size_t n) {
         for (std::size_t i = 0; i < n / 2; ++i) b[i] = static_cast<std::uint8_t>(i * 37 + 11);
         return true;
       })},
      {"four bytes over and over", counted([](std::uint8_t* b, std::size_t n) {
         for (std::size_t i = 0; i < n; ++i) b[i] = static_cast<std::uint8_t>(i % 4 * 61 + 7);
         return true;
       })},
      {"the same each time", counted([](std::uint8_t* b, std::size_t n) {
         for (std::size_t i = 0; i < n; ++i)
           b[i] = static_cast<std::uint8_t>(i * i * 29 + i * 7 + 3);
         return true;
       })},
      {"a device that cannot be read", counted([](std::uint8_t*, std::size_t) { return false; })},
      {"a function that throws",
       counted([](std::uint8_t*, std::size_t) -> bool { throw std::runtime_error("no device"); })},
      {"a function that throws what is no exception",
       counted([](std::uint8_t*, std::size_t) -> bool { throw 42; })},
      {"no function", Random{}},
  };
}

Settings some_settings() {
  Settings s;
  s.site = "Saltmarsh Motor Works";
  s.tag = "bay";
  s.zone = "Europe/Lisbon";
  return s;
}

template <class T>
void callback_failed(const Result<T>& r, std::string_view words) {
  REQUIRE_FALSE(r.ok());
  CHECK_MESSAGE(r.refusal().code == Code::callback_failed, why(r));
  CHECK_MESSAGE(has(r.refusal().what, words), why(r));
}

}  // namespace

TEST_SUITE("book/doors") {
  TEST_CASE("a book is not begun with randomness that is none, which is noticed in a few tries") {
    const Folder folder;
    int calls = 0;
    for (const Named& n : no_randomness(calls)) {
      CAPTURE(n.what);
      calls = 0;
      const std::string path = folder.file("book.baybook");
      const auto r =
          Book::start(path, some_settings(), instant("2026-03-05T09:40:00.000Z"), n.random);
      callback_failed(r, "randomness");
      CHECK_FALSE(r.refusal().instead.empty());
      CHECK(calls <= 40);
      CHECK(std::filesystem::is_empty(std::filesystem::path(path).parent_path()));
    }
    CHECK(Book::start(folder.file("book.baybook"), some_settings(),
                      instant("2026-03-05T09:40:00.000Z"), repeatable(1))
              .ok());
  }

  TEST_CASE("nothing is written with salts that are none, and reading needs no randomness") {
    TestBook b;
    const CarId marsh = b.car("MARSH-07");
    const JobId job = b.job(marsh);
    const std::string before = b.dump();
    b.close();
    int calls = 0;
    for (const Named& n : no_randomness(calls)) {
      CAPTURE(n.what);
      auto opened = Book::open(b.file(), Access::write, n.random);
      REQUIRE_MESSAGE(opened.ok(), why(opened));
      Work w;
      w.job = job;
      w.text = "pump renewed";
      bool refused = false;
      // The same bytes each time are noticed at the second draw.
      for (int times = 0; times < 2 && !refused; ++times) {
        const auto r = opened->append(w, b.stamp());
        refused = !r.ok();
        if (refused) callback_failed(r, "randomness");
      }
      CHECK(refused);
      CHECK(car(*opened, marsh).ok());
      // What has no private text has no salt.
      Stamp dry = b.stamp();
      dry.dry_run = true;
      CHECK(opened->append(Odometer{marsh, {}, {88'210'000, "88210km"}, ""}, dry).ok());
    }
    b.reopen();
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE(
      "a copy goes on only with an identity of its own, however often the same one is drawn") {
    TestBook b("bay", 5);
    b.close();
    // The very bytes that this book was begun with.
    auto again = Book::open(b.file(), Access::write, repeatable(5));
    REQUIRE(again.ok());
    BackupOptions o;
    o.now = b.now;
    const auto made = continue_as(*again, b.folder().file("van.baybook"), "van", o);
    REQUIRE_MESSAGE(made.ok(), why(made));
    CHECK(made->seals.size() == 2);
  }

  TEST_CASE("all of a name is asked for unless less will do: a slip is never the car next to it") {
    TestBook b;
    const CarId one = b.car("AA-1");
    NewCar d;
    d.plate = "DUNE-42";
    d.vin = "1M8GDM9AXKP042788";
    const CarId dune = CarId{b.write(d).entry.id.n};
    const JobId job = b.job(one);
    struct Row {
      const char* typed;
      CarId part, near;
    };
    for (const Row& row : {Row{"AA-2", {}, one}, Row{"AA-", one, one}, Row{"A-1", one, one},
                           Row{"UNE-4", dune, dune}, Row{"042788", dune, dune},
                           Row{"DUME-42", {}, dune}, Row{"DUNE-24", {}, dune}}) {
      CAPTURE(row.typed);
      const auto exact = b->find_car(row.typed);
      REQUIRE_FALSE(exact.ok());
      CHECK(exact.refusal().code == Code::not_found);
      CHECK_MESSAGE(
          has(exact.refusal().why, row.near == one ? "near it: AA-1" : "near it: DUNE-42"),
          why(exact));
      const auto part = b->find_car(row.typed, Match::part);
      CHECK(part.ok() == bool(row.part));
      if (row.part) CHECK(*part == row.part);
      CHECK(b->find_car(row.typed, Match::near).value() == row.near);
    }
    for (const char* typed : {"AA-1", "aa 1", "aa1", "car:2"})
      CHECK(b->find_car(typed).value() == one);
    for (const char* typed : {"DUNE-42", "1M8GDM9AXKP042788", "1m8gdm9axkp042788"})
      CHECK(b->find_car(typed).value() == dune);
    CHECK(b->find_job("AA-1").value() == job);
    for (const char* typed : {"AA-2", "A-1"}) {
      CHECK(b->find_job(typed).refusal().code == Code::not_found);
      CHECK(b->find_job(typed, Match::near).value() == job);
    }
    // What the issue was: a program stored a reading on the car next to it.
    const auto slip = b->find_car("AA-2");
    CHECK_THROWS_AS((void)*slip, NoValue);
    CHECK_FALSE(b->find_circuit_of(job, "coolan").ok());
    for (const char* typed : {"drum", "ta"}) {
      CHECK_FALSE(b->find_place(typed).ok());
      CHECK_FALSE(b->find_person(typed).ok());
      CHECK_FALSE(b->find_firm(typed).ok());
      CHECK_FALSE(b->find_deadline(typed).ok());
      CHECK_FALSE(b->find_pickup(typed).ok());
      CHECK_FALSE(b->find_entry(typed).ok());
    }
  }

  TEST_CASE("a bare number is a job of this installation, another's is asked for by its tag") {
    TestBook bay("bay", 21);
    TestBook office("office", 22);
    bay.job(bay.car("MARSH-07"));
    taken(office, file_of(bay.book()));
    const auto bare = office->find_job("1");
    REQUIRE_FALSE(bare.ok());
    CHECK(bare.refusal().code == Code::not_found);
    CHECK(has(bare.refusal().instead, "1@bay"));
    CHECK(office->find_job("1@bay").ok());
    CHECK(office->find_job("1", Match::part).value() == office->find_job("1@bay").value());
  }

  TEST_CASE("a value that is not there is told of with the words of the refusal") {
    TestBook b;
    const auto none = b->find_car("REED-10");
    try {
      (void)none.value();
      FAIL("a value came out of a refusal");
    } catch (const std::exception& e) {
      CHECK(has(e.what(), "not_found: there is no car named REED-10"));
    }
    CHECK_THROWS_AS((void)*none, std::bad_variant_access);
    CHECK_THROWS_AS((void)none->n, NoValue);
    const Result<int> some = 5;
    CHECK_THROWS_AS((void)some.refusal(), NoValue);
    CHECK(*some == 5);
  }

  TEST_CASE("what a function of the caller throws is neither let through nor taken for damage") {
    TestBook b;
    const CarId marsh = b.car("MARSH-07");
    b.job(marsh);
    const std::string file = file_of(b.book());
    TestBook office("office", 22);
    const std::string before = b.dump();
    const std::string there = office.dump();
    for (const int sort : {0, 1}) {
      CAPTURE(sort);
      const auto fail = [sort]() -> bool {
        if (sort == 0) throw std::runtime_error("the stick was pulled");
        throw sort;
      };
      const std::string_view words = sort == 0 ? "the stick was pulled" : "no std::exception";
      const Progress told = [&](std::string_view, std::int64_t, std::int64_t) { (void)fail(); };
      callback_failed(exchange_out(b.book(), {}, [&](std::string_view) { (void)fail(); }), words);
      callback_failed(exchange_in(
                          office.book(), [&](std::string&) { return fail(); }, "x", office.stamp()),
                      words);
      const Lines lines = lines_of(file);
      int n = 0;
      callback_failed(
          exchange_in(
              office.book(), [&](std::string& line) { return ++n > 3 ? fail() : lines(line); }, "x",
              office.stamp()),
          words);
      callback_failed(prove(b.book(), {}, told), words);
      BackupOptions o;
      o.now = b.now;
      o.progress = told;
      callback_failed(backup(b.book(), b.folder().file("copy.baybook"), o), words);
      CHECK_FALSE(std::filesystem::exists(b.folder().file("copy.baybook")));
      const std::string stick = b.folder().file("stick");
      std::filesystem::create_directory(stick);
      callback_failed(backup_into(b.book(), stick, 3, o), words);
      CHECK(std::filesystem::is_empty(stick));
      callback_failed(continue_as(b.book(), b.folder().file("van.baybook"), "van", o), words);
      callback_failed(append_all(b.book(),
                                 [&]() -> Result<std::optional<Item>> {
                                   (void)fail();
                                   return std::optional<Item>{};
                                 }),
                      words);
      bool given = false;
      callback_failed(append_all(
                          b.book(),
                          [&]() -> Result<std::optional<Item>> {
                            if (std::exchange(given, true)) return std::optional<Item>{};
                            return std::optional<Item>(Item{NewPerson{"Tam", "", ""}, b.stamp()});
                          },
                          false, [&](const Receipt&) { (void)fail(); }),
                      words);
      CHECK(difference(before, b.dump()) == "");
      CHECK(difference(there, office.dump()) == "");
    }
    const auto scarce = [](std::string_view) { throw std::bad_alloc(); };
    CHECK_THROWS_AS((void)exchange_out(b.book(), {}, scarce), std::bad_alloc);
    // Both go on as if nothing had been.
    b.write(NewPerson{"Tam", "", ""});
    CHECK(taken(office, file_of(b.book())).left == 0);
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE(
      "each refusal of a name that is taken, of a job that is closed and of a book that is there "
      "is already_there") {
    TestBook b;
    const CarId marsh = b.car("MARSH-07");
    const JobId job = b.job(marsh);
    const auto again =
        Book::start(b.file(), some_settings(), instant("2026-03-05T09:40:00.000Z"), repeatable(3));
    CHECK_MESSAGE(again.refusal().code == Code::already_there, why(again));
    CloseJob c;
    c.job = job;
    b.write(c);
    const auto twice = b.try_write(c);
    CHECK_MESSAGE(twice.refusal().code == Code::already_there, why(twice));
    Work w;
    w.job = job;
    w.text = "more";
    CHECK(b.try_write(w).refusal().code == Code::not_allowed);
    NewPlace p;
    p.code = "pan-1";
    b.write(p);
    CHECK(b.try_write(p).refusal().code == Code::already_there);
    std::ofstream(b.folder().file("notes.txt")) << "notes";
    for (const char* there : {"notes.txt", "."}) {
      CAPTURE(there);
      const auto over = Book::start(b.folder().file(there), some_settings(),
                                    instant("2026-03-05T09:40:00.000Z"), repeatable(3));
      CHECK_MESSAGE(over.refusal().code == Code::already_there, why(over));
    }
    const auto nowhere = Book::start(b.folder().file("no/folder.baybook"), some_settings(),
                                     instant("2026-03-05T09:40:00.000Z"), repeatable(3));
    CHECK_MESSAGE(nowhere.refusal().code == Code::unwritable, why(nowhere));
    CHECK(Book::open(b.folder().file("none.baybook"), Access::read, {}).refusal().code ==
          Code::unreadable);
    CHECK(Book::open(b.folder().file("notes.txt"), Access::read, {}).refusal().code ==
          Code::unreadable);
    Stamp s = b.stamp();
    s.once = "k";
    CHECK(b->append(NewPerson{"Tam", "", ""}, s).ok());
    CHECK(b->append(NewPerson{"Oona", "", ""}, s).refusal().code == Code::already_there);
  }

  TEST_CASE("how a book begins is one of what there is") {
    const Folder folder;
    const auto begun = [&](const std::function<void(Settings&)>& how) {
      Settings s = some_settings();
      how(s);
      const auto r = Book::start(folder.file("b.baybook"), s, instant("2026-03-05T09:40:00.000Z"),
                                 repeatable(1));
      return r.ok() ? "ok" : std::string(name_of(r.refusal().code));
    };
    CHECK(begun([](Settings& s) { s.units.volume = static_cast<VolumeUnit>(9); }) == "not_allowed");
    CHECK(begun([](Settings& s) { s.units.distance = static_cast<DistanceUnit>(9); }) ==
          "not_allowed");
    CHECK(begun([](Settings& s) { s.units.torque = static_cast<TorqueUnit>(9); }) == "not_allowed");
    CHECK(begun([](Settings& s) { s.units.gallon = static_cast<VolumeUnit>(9); }) == "not_allowed");
    CHECK(begun([](Settings& s) { s.units.gallon = VolumeUnit::litre; }) == "not_allowed");
    CHECK(begun([](Settings& s) { s.date_order = static_cast<DateOrder>(9); }) == "not_allowed");
    CHECK(begun([](Settings& s) { s.units.estimate_percent = -1; }) == "not_allowed");
    CHECK(begun([](Settings& s) { s.zone = "Nowhere/At-All"; }) == "not_found");
    CHECK(begun([](Settings& s) { s.rules = "atlantis"; }) == "not_found");
    CHECK(begun([](Settings& s) { s.site = ""; }) == "unclear");
    CHECK(begun([](Settings& s) { s.tag = "two words"; }) == "unclear");
    CHECK(begun([](Settings& s) { s.site = "a\x1b[2J"; }) == "not_text");
    CHECK(begun([](Settings&) {}) == "ok");
    CHECK(begun([](Settings&) {}) == "already_there");
  }

  TEST_CASE("the list of what is due brings what is said with it, also where it is empty") {
    TestBook b;
    const auto none = due_list(b.book(), day("2026-03-05"), {});
    REQUIRE(none.ok());
    REQUIRE(none->lines.empty());
    REQUIRE_FALSE(none->cautions.empty());
    CHECK(has(none->cautions.front(), "An aid"));
    DueFilter f;
    f.car = b.car("MARSH-07");
    CHECK(due_list(b.book(), day("2026-03-05"), f)->cautions == none->cautions);
    CHECK(has(totals(b.book(), day("2026-03-01"), day("2026-03-05"))->caution, "An aid"));
  }
}
