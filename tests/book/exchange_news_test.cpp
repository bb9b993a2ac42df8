// What a file changed that somebody should know of, files that are known again, and a book that
// waits for the others.
#include <algorithm>
#include <baybook/erase.hpp>
#include <baybook/keep.hpp>
#include <baybook/peers.hpp>
#include <baybook/returns.hpp>
#include <filesystem>

#include "log/sha256.hpp"
#include "support/exchange_lines.hpp"
#include "support/has.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

using What = Changed::What;

std::vector<Changed> of(const ExchangeIn& e, What what) {
  std::vector<Changed> out;
  for (const Changed& c : e.changed) {
    if (c.what == what) out.push_back(c);
  }
  return out;
}

// A bay and an office that have each other's entries and accept each other.
struct Two {
  TestBook bay{"bay", 31};
  TestBook office{"office", 32};
  CarId car;
  PlaceId pan, can;
  FluidId violet;
  Two() {
    pan = bay.place("pan-1", Role::hold_catch, "25L");
    can = bay.place("can-1", Role::stock, "60L", {"coolant"});
    violet = bay.fluid("oat-violet", "coolant");
    car = bay.car("MARSH-07");
    bay.write(TestBook::move(MoveVerb::receive, kSupplier, can, "50L", {}, violet));
    to_office();
    office.now = bay.now;
    to_bay();
    to_office();
  }
  ExchangeIn to_office() { return carried(bay, office); }
  ExchangeIn to_bay() { return carried(office, bay); }
  static ExchangeIn carried(TestBook& from, TestBook& to) {
    to.now.ms = std::max(to.now.ms, from.now.ms);
    return taken(to, file_of(from.book()));
  }
  std::string seals(TestBook& b) {
    std::string all;
    b.book().inside().ledger.forget();
    auto q = b.book().inside().db.query("SELECT digest FROM entry ORDER BY id");
    while (q.step()) all += log::hex_of(q.blob(0)) + "\n";
    return all;
  }
};

std::string lines_at(const std::string& file, bool first) {
  if (first) return file.substr(0, file.find('\n'));
  const std::size_t at = file.rfind('\n', file.size() - 2);
  return file.substr(at + 1, file.size() - at - 2);
}

ExchangeGlance glance(TestBook& b, const std::string& file) {
  const auto seen = glance_at_exchange(b.book(), lines_at(file, true), lines_at(file, false));
  REQUIRE_MESSAGE(seen.ok(), why(seen));
  return *seen;
}

}  // namespace

TEST_SUITE("book/exchange news") {
  TEST_CASE(
      "a determination that comes in and says otherwise is told with both, and one that says the "
      "same is not") {
    Two two;
    NewPlace drum;
    drum.code = "drum-coolant";
    drum.role = Role::waste;
    drum.takes = {"coolant"};
    drum.stream = "waste-coolant";
    two.bay.write(drum);
    two.to_office();
    Determination d;
    d.stream = "waste-coolant";
    d.hazardous = false;
    d.reason = "by knowledge of the process";
    const EntryId first = two.bay.write(d).entry.id;
    CHECK(of(two.to_office(), What::determined).empty());
    d.reason = "the same, by another";
    two.office.write(d);
    CHECK(of(two.to_bay(), What::determined).empty());
    d.hazardous = true;
    d.reason = "lead above the limit";
    const EntryId second = two.office.write(d).entry.id;
    const std::vector<Changed> told = of(two.to_bay(), What::determined);
    REQUIRE(told.size() == 1);
    CHECK(has(told[0].text, "entry " + std::to_string(second.number()) +
                                "@office says that it is hazardous, over entry"));
    CHECK(has(told[0].text, "which says that it is not hazardous"));
    CHECK(first != second);
    Correction gone;
    gone.target = second;
    gone.withdraw = true;
    gone.why = "another drum";
    two.office.write(gone);
    const std::vector<Changed> back = of(two.to_bay(), What::determined);
    REQUIRE(back.size() == 1);
    CHECK(has(back[0].text, "does not hold, which said that it is hazardous"));
  }

  TEST_CASE(
      "a closed job whose account is off by what came in is told, once, and one that was off "
      "before is not") {
    Two two;
    const JobId job = two.bay.job(two.car);
    const EntryId drain =
        two.bay.write(TestBook::move(MoveVerb::drain, two.bay.coolant(two.car), two.pan, "5L", job))
            .entry.id;
    two.bay.write(TestBook::move(MoveVerb::fill, two.can, two.bay.coolant(two.car), "5L", job));
    CloseJob close;
    close.job = job;
    two.bay.write(close);
    CHECK(of(two.to_office(), What::unbalanced).empty());
    Correction c;
    c.target = drain;
    c.patch.amount = litres("2L");
    c.why = "read the jug wrong";
    two.office.write(c);
    const std::vector<Changed> told = of(two.to_bay(), What::unbalanced);
    REQUIRE(told.size() == 1);
    CHECK(has(told[0].text, "job 1 is closed and its account no longer agrees"));
    two.office.place("pan-2", Role::hold_catch);
    CHECK(of(two.to_bay(), What::unbalanced).empty());
  }

  TEST_CASE(
      "a clock that is ahead of this one is told by at least how much, and one that had to wait is "
      "not") {
    Two two;
    const Instant real = two.bay.now;
    two.office.now.ms = real.ms + 21 * 60 * 1000;
    two.office.place("pan-2", Role::hold_catch);
    const std::string file = file_of(two.office.book());
    two.bay.now = real;
    const ExchangeIn in = taken(two.bay, file);
    const std::vector<Changed> told = of(in, What::clock);
    REQUIRE(told.size() == 1);
    CHECK(has(told[0].text, "the clock of office is at least 21 minutes ahead of this one"));
    // The bay's own clock is right, and what it writes after that has the office's time.
    two.bay.place("pan-3", Role::hold_catch);
    two.office.now.ms = real.ms + 60 * 1000;
    CHECK(of(taken(two.office, file_of(two.bay.book())), What::clock).empty());
  }

  TEST_CASE(
      "a file says whose it is, is known again when all of it was taken, and forgotten with what "
      "was thrown out") {
    Two two;
    two.bay.place("pan-2", Role::hold_catch);
    const std::string file = file_of(two.bay.book());
    CHECK(glance(two.bay, file).own);
    ExchangeGlance seen = glance(two.office, file);
    CHECK_FALSE(seen.own);
    CHECK(seen.tag == "bay");
    CHECK_FALSE(seen.taken);
    REQUIRE(take_in(two.office, file, {}, true).ok());
    CHECK_FALSE(glance(two.office, file).taken);
    const ExchangeIn in = taken(two.office, file);
    CHECK(in.by == "bay");
    CHECK(glance(two.office, file).taken);
    // Nothing new in it, and noted all the same.
    two.office.place("pan-3", Role::hold_catch);
    CHECK(glance(two.bay, file_of(two.office.book())).tag == "office");
    const std::string old = file_of(two.bay.book(), {});
    CHECK(glance(two.office, old).taken);
    const std::string none = "{\"entries\":0,\"sha256\":\"" + std::string(64, '0') + "\"}";
    for (const char* head :
         {"{\"baybook-exchange\":3}", "{\"baybook-exchange\":2}",
          "{\"baybook-exchange\":2,\"by\":\"00\"}", "{}", "",
          "{\"baybook-exchange\":1,\"by\":\"0123456789abcdef0123456789abcdef\"}"}) {
      CAPTURE(head);
      CHECK_FALSE(glance_at_exchange(two.bay.book(), head, none).ok());
    }
    CHECK(glance_at_exchange(two.bay.book(), "{\"baybook-exchange\":1}", none)->by.empty());
    for (const char* end : {"", "{}", "{\"entries\":1}", "half"})
      CHECK(glance_at_exchange(two.bay.book(), "{\"baybook-exchange\":1}", end).refusal().code ==
            Code::unclear);
  }

  TEST_CASE("a file whose writer is not in it is refused, and one of the older form is read") {
    Two two;
    two.bay.place("pan-2", Role::hold_catch);
    std::string file = file_of(two.bay.book());
    const auto with_head = [&](const std::string& head) {
      std::string out = head + file.substr(file.find('\n'));
      out = out.substr(0, out.rfind("{\"entries\""));
      log::Sha256 all;
      all.update(out);
      const std::string end = lines_at(file, false);
      return out + end.substr(0, end.find("sha256") + 9) + log::hex(all.finish()) + "\"}\n";
    };
    const std::string wrong =
        with_head("{\"baybook-exchange\":2,\"by\":\"0123456789abcdef0123456789abcdef\"}");
    const auto no = take_in(two.office, wrong);
    REQUIRE_FALSE(no.ok());
    CHECK(has(no.refusal().what, "the book that wrote the file is none of those in it"));
    const ExchangeIn in = taken(two.office, with_head("{\"baybook-exchange\":1}"));
    CHECK(in.taken == 1);
    CHECK(in.by.empty());
  }

  TEST_CASE(
      "what a file has and a book has not is told without a change, forks and other installations "
      "included") {
    Two two;
    two.bay.place("pan-2", Role::hold_catch);
    const std::string file = file_of(two.bay.book());
    const auto none = lacking(two.bay.book(), lines_of(file));
    REQUIRE(none.ok());
    CHECK(none->empty());
    const std::string before = two.office.dump();
    const auto some = lacking(two.office.book(), lines_of(file));
    REQUIRE(some.ok());
    REQUIRE(some->size() == 1);
    CHECK(some->front().tag == "bay");
    CHECK(some->front().entries == 1);
    CHECK(some->front().in_file == some->front().last + 1);
    CHECK(two.office.dump() == before);
    for (std::size_t n = 0; n < file.size(); n += 97)
      CHECK_FALSE(lacking(two.office.book(), lines_of(file.substr(0, n))).ok());
  }

  TEST_CASE(
      "a backup put in the place of a lost book waits for another's file, gets back what was lost, "
      "and goes on without a fork") {
    Two two;
    const std::string stale = file_of(two.office.book());
    (void)taken(two.bay, stale);
    const std::string copy = two.bay.folder().file("evening.baybook");
    REQUIRE(backup(two.bay.book(), copy, {two.bay.now}).ok());
    for (int n = 2; n < 7; ++n) two.bay.place("pan-" + std::to_string(n), Role::hold_catch);
    two.to_office();
    two.office.place("pan-office", Role::hold_catch);
    const std::string all = two.seals(two.office);
    const std::string place = two.bay.folder().file("again.baybook");
    {
      const auto from = Book::open(copy, Access::read, repeatable(7));
      REQUIRE(from.ok());
      REQUIRE(restore(*from, place, {two.bay.now}).ok());
    }
    auto book = Book::open(place, Access::write, repeatable(8));
    REQUIRE(book.ok());
    CHECK(*waits_for(*book) == std::vector<std::string>{"office"});
    Stamp s;
    s.now = two.office.now;
    NewPlace pan;
    pan.code = "pan-new";
    pan.role = Role::hold_catch;
    const auto no = book->append(pan, s);
    REQUIRE_FALSE(no.ok());
    CHECK(has(no.refusal().what, "office may hold what was written"));
    CHECK(has(no.refusal().instead, "baybook exchange with FOLDER"));
    REQUIRE(no.refusal().others.size() == 2);
    CHECK(has(no.refusal().others[1], "baybook exchange none"));
    // A file that the lost book had taken in already ends nothing.
    REQUIRE(exchange_in(*book, lines_of(stale), "stale", s).ok());
    CHECK_FALSE(waits_for(*book)->empty());
    const auto in = exchange_in(*book, lines_of(file_of(two.office.book())), "office", s);
    REQUIRE_MESSAGE(in.ok(), why(in));
    CHECK(in->left == 0);
    REQUIRE(book->append(pan, s).ok());
    const auto back = take_in(two.office, file_of(*book));
    REQUIRE_MESSAGE(back.ok(), why(back));
    CHECK(back->left == 0);
    CHECK(std::none_of(back->installations.begin(), back->installations.end(),
                       [](const Exchanged& x) { return x.fork; }));
    CHECK(prove(two.office.book())->findings.empty());
    CHECK(prove(*book)->findings.empty());
  }

  TEST_CASE(
      "a book in the place of a lost one is not freed by a file that is older than what it held, "
      "and is by a word that no other is left") {
    Two two;
    const std::string stale = file_of(two.office.book());
    two.office.place("pan-office", Role::hold_catch);
    two.to_bay();
    const std::string copy = two.bay.folder().file("evening.baybook");
    REQUIRE(backup(two.bay.book(), copy, {two.bay.now}).ok());
    const std::string place = two.bay.folder().file("again.baybook");
    {
      const auto from = Book::open(copy, Access::read, repeatable(7));
      REQUIRE(from.ok());
      // The way by hand is the same.
      REQUIRE(continue_as(*from, place, "bay-2", {two.bay.now}).ok());
    }
    auto book = Book::open(place, Access::write, repeatable(8));
    REQUIRE(book.ok());
    Stamp s;
    s.now = two.bay.now;
    REQUIRE(exchange_in(*book, lines_of(stale), "stale", s).ok());
    REQUIRE(exchange_in(*book, lines_of(file_of(two.bay.book())), "own", s).ok());
    CHECK_FALSE(waits_for(*book)->empty());
    NewPlace pan;
    pan.code = "pan-new";
    pan.role = Role::hold_catch;
    CHECK_FALSE(book->append(pan, s).ok());
    CHECK(prove(*book)->findings.empty());
    REQUIRE(waits_no_more(*book).ok());
    CHECK(book->append(pan, s).ok());
    // A copy of a book that lives waits for nobody.
    const std::string van = two.bay.folder().file("van.baybook");
    REQUIRE(continue_as(two.bay.book(), van, "van", {two.bay.now}).ok());
    CHECK(waits_for(*Book::open(van, Access::read, repeatable(9)))->empty());
  }
}
