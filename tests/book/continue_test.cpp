#include "support/exchange_lines.hpp"

#include <baybook/keep.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Lost {
  TestBook bay{"bay", 51};
  CarId car;
  JobId job;
  Lost() {
    bay.place("pan-1", Role::hold_catch, "20L");
    car = bay.car("MARSH-07");
    job = bay.job(car);
  }
  [[nodiscard]] BackupOptions options() const {
    BackupOptions o;
    o.now = bay.now;
    return o;
  }
  Book go_on(const Book& from, const std::string& tag) {
    const auto made = continue_as(from, bay.folder().file("on.baybook"), tag, options());
    REQUIRE_MESSAGE(made.ok(), why(made));
    auto b = Book::open(bay.folder().file("on.baybook"), Access::write, repeatable(77));
    REQUIRE_MESSAGE(b.ok(), why(b));
    return std::move(b).value();
  }
};

Stamp at(Instant now) {
  Stamp s;
  s.now = now;
  return s;
}

}  // namespace

TEST_SUITE("book/continue") {
  TEST_CASE("a copy of a backup goes on as a new installation, with everything in it, and its opening names where it goes on from") {
    Lost lost;
    const std::string seal = lost.bay->seal();
    REQUIRE(backup(lost.bay.book(), lost.bay.folder().file("b.baybook"), lost.options()).ok());
    auto copy = Book::open(lost.bay.folder().file("b.baybook"), Access::read, repeatable(1));
    REQUIRE_MESSAGE(copy.ok(), why(copy));
    Book on = lost.go_on(*copy, "bay-2");
    CHECK(!on.backup());
    CHECK(on.settings().tag == "bay-2");
    CHECK(on.settings().site == "Saltmarsh Motor Works");
    CHECK(on.seal().starts_with("bay-2:1:"));
    const auto first = entry(on, on.find_entry("1").value());
    REQUIRE(first.ok());
    CHECK(first->body.find("\"continues\":{\"digest\":\"" + seal.substr(seal.rfind(':') + 1)) != std::string::npos);
    const auto proof = prove(on, seal);
    REQUIRE_MESSAGE(proof.ok(), why(proof));
    CHECK(proof->findings.empty());
    CHECK(proof->seals.size() == 2);
  }

  TEST_CASE("the job on the work sheet keeps its number, and the next one counts on") {
    Lost lost;
    Book on = lost.go_on(lost.bay.book(), "bay-2");
    CHECK(on.find_job("1").value() == lost.job);
    Work w;
    w.job = lost.job;
    w.text = "went on after the disk was lost";
    CHECK(on.append(w, at(lost.bay.now)).ok());
    OpenJob j;
    j.car = lost.car;
    j.complaint = "again";
    CloseJob c;
    c.job = lost.job;
    const auto closed = on.append(c, at(lost.bay.now));
    REQUIRE_MESSAGE(closed.ok(), why(closed));
    const auto opened = on.append(j, at(lost.bay.now));
    REQUIRE_MESSAGE(opened.ok(), why(opened));
    CHECK(opened->job_number == 2);
    const std::string live = dump(on.inside().db, true);
    REQUIRE(on.rebuild().ok());
    CHECK(difference(live, dump(on.inside().db, true)) == "");
  }

  TEST_CASE("what the lost book wrote after the copy can be brought in when it comes back") {
    Lost lost;
    Book on = lost.go_on(lost.bay.book(), "bay-2");
    lost.bay.place("pan-2", Role::hold_catch, "20L");
    const auto in =
        exchange_in(on, lines_of(file_of(lost.bay.book())), "bay.exchange", at(lost.bay.now));
    REQUIRE_MESSAGE(in.ok(), why(in));
    CHECK(in->taken == 1);
    CHECK(in->left == 0);
    CHECK(on.find_place("pan-2").ok());
    // And the other way: the old book learns of the new installation.
    const auto back = take_in(lost.bay, file_of(on));
    REQUIRE_MESSAGE(back.ok(), why(back));
    CHECK(back->taken == 1);
    CHECK(back->left == 0);
  }

  TEST_CASE("a tag that is taken or none, a file that is there, and the book itself are refused, and nothing is left") {
    Lost lost;
    const std::string there = lost.bay.folder().file("on.baybook");
    CHECK(continue_as(lost.bay.book(), there, "bay", lost.options()).refusal().code == Code::already_there);
    CHECK(!continue_as(lost.bay.book(), there, "", lost.options()).ok());
    CHECK(!continue_as(lost.bay.book(), there, "a-tag-that-is-too-long", lost.options()).ok());
    CHECK(!std::filesystem::exists(there));
    CHECK(!continue_as(lost.bay.book(), lost.bay.file(), "bay-2", lost.options()).ok());
    REQUIRE(continue_as(lost.bay.book(), there, "bay-2", lost.options()).ok());
    CHECK(continue_as(lost.bay.book(), there, "bay-3", lost.options()).refusal().code == Code::already_there);
    BackupOptions force = lost.options();
    force.force = true;
    CHECK(!continue_as(lost.bay.book(), there, "bay-3", force).ok());  // a book is never written over
  }
}
