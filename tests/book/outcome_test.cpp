// A commit that fails is not an answer: the book is opened again and looked at.
#include "support/exchange_lines.hpp"
#include "support/fault_disk.hpp"
#include "support/test_book.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

NewPlace pan(const std::string& code) {
  NewPlace p;
  p.code = code;
  return p;
}

std::string all_warnings(const Receipt& r) {
  std::string out;
  for (const std::string& w : r.warnings) out += w + "\n";
  return out;
}

std::int64_t entries(Book& b) {
  auto q = b.inside().db.query("SELECT count(*) FROM entry");
  return q.step_num();
}

// A write-ahead log that is begun is synced once for its header, before there is anything in it.
constexpr int kHeader = 1;

struct OutcomeBook : TestBook {
  OutcomeBook() {
    FaultDisk::install();
    reopen();
  }
};

}  // namespace

TEST_SUITE("book/outcome") {
  TEST_CASE("a sync that fails at the end of a write is looked into, and the entry that is there is reported as stored") {
    OutcomeBook b;
    std::string said;
    std::int64_t number = 0;
    {
      const FaultDisk disk(Fault{Fault::Call::sync, SQLITE_IOERR_FSYNC, 1, kHeader});
      const auto r = b.try_write(pan("pan-1"));
      REQUIRE_MESSAGE(r.ok(), why(r));
      said = all_warnings(*r);
      number = r->entry.number();
    }
    CHECK(said.find("the book was opened again, and entry 2 is stored") != std::string::npos);
    CHECK(number == 2);
    b.reopen();
    CHECK(entries(b.book()) == 2);
    CHECK(b->find_place("pan-1").ok());
    CHECK(b.write(pan("pan-2")).entry.number() == 3);
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE("a disk that is full at the end of a write is looked into, and the entry that is not there is reported as not stored") {
    OutcomeBook b;
    const std::string before = b.dump();
    {
      const FaultDisk disk(Fault{Fault::Call::write, SQLITE_FULL, 1, 0});
      const auto r = b.try_write(pan("pan-1"));
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::unwritable);
      CHECK(r.refusal().what.find("the disk or the quota is full; the book was opened again, and entry 2 is not stored") != std::string::npos);
    }
    CHECK(difference(before, b.dump()) == "");
    CHECK(b.write(pan("pan-1")).entry.number() == 2);
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE("a disk that fails for good leaves the outcome open, with the number and the digest to look for, and the once-key then settles it") {
    OutcomeBook b;
    Stamp stamp = b.stamp();
    stamp.once = "delivery-7";
    {
      const FaultDisk disk(Fault{Fault::Call::sync, SQLITE_IOERR_FSYNC, -1, kHeader});
      const auto r = b->append(pan("pan-1"), stamp);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::unknown_outcome);
      REQUIRE(r.refusal().figures.size() == 2);
      CHECK(r.refusal().figures[0].value == "2");
      CHECK(r.refusal().figures[1].value.size() == 64);
    }
    b.reopen();
    const auto again = b->append(pan("pan-1"), stamp);
    REQUIRE_MESSAGE(again.ok(), why(again));
    CHECK(again->entry.number() == 2);
    CHECK(entries(b.book()) == 2);
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE("a book that cannot be opened again after a failed write refuses whatever is asked of it") {
    OutcomeBook b;
    {
      const FaultDisk disk(Fault{.call = Fault::Call::sync, .code = SQLITE_IOERR_FSYNC, .dead = true});
      const auto r = b.try_write(pan("pan-1"));
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::unknown_outcome);
    }
    const auto next = b.try_write(pan("pan-2"));
    REQUIRE_FALSE(next.ok());
    CHECK(next.refusal().code == Code::unreadable);
    CHECK(next.refusal().what.find("could not be opened again") != std::string::npos);
    CHECK_FALSE(b->find_place("pan-1").ok());
    b.reopen();
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE("an exchange whose end fails is answered like any write, and the file is taken whole afterwards") {
    TestBook office{"office", 7};
    for (const char* code : {"tray-1", "tray-2", "tray-3"}) office.write(pan(code));
    const std::string file = file_of(office.book());
    struct Try {
      Fault fault;
      Code code;
    };
    for (const auto& [fault, code] : {Try{{.call = Fault::Call::write, .code = SQLITE_FULL}, Code::unwritable}, Try{{.call = Fault::Call::sync, .code = SQLITE_IOERR_FSYNC, .times = -1, .after = kHeader}, Code::unknown_outcome},
                                      Try{{.call = Fault::Call::sync, .code = SQLITE_IOERR_FSYNC, .dead = true}, Code::unknown_outcome},
                                      Try{{.call = Fault::Call::write, .code = SQLITE_IOERR_WRITE, .dead = true}, Code::unknown_outcome}}) {
      OutcomeBook b;
      {
        const FaultDisk disk(fault);
        const auto r = take_in(b, file);
        REQUIRE_FALSE(r.ok());
        CHECK_MESSAGE(r.refusal().code == code, r.refusal().what);
      }
      if (code == Code::unknown_outcome) b.reopen();
      const ExchangeIn e = taken(b, file);
      CHECK(e.installations.at(0).last == 4);
      CHECK((e.taken == 4 || (code == Code::unknown_outcome && e.taken == 0)));
      CHECK(entries(b.book()) == 6);  // with the word about the office
      CHECK(prove(b.book())->findings.empty());
    }
  }

  TEST_CASE("a write that fails in the middle leaves the book sound, whenever it fails") {
    for (int after = 0; after < 12; ++after) {
      CAPTURE(after);
      OutcomeBook b;
      bool stored = false;
      {
        const FaultDisk disk(Fault{Fault::Call::write, SQLITE_IOERR_WRITE, 1, after});
        stored = b.try_write(pan("pan-1")).ok();
      }
      b.reopen();
      CHECK(entries(b.book()) == (stored ? 2 : 1));
      CHECK(prove(b.book())->findings.empty());
    }
  }

  TEST_CASE("a clock that leaps ahead is said aloud, and what follows is recorded no earlier and noted") {
    TestBook b;
    b.write(pan("pan-1"));
    Stamp ahead = b.stamp();
    ahead.now = instant("2039-01-01T00:00:00.000Z");
    const auto leapt = b->append(pan("pan-2"), ahead);
    REQUIRE_MESSAGE(leapt.ok(), why(leapt));
    CHECK(all_warnings(*leapt).find("the entry before is of 2026-03-05, 4684 days ago") != std::string::npos);
    CHECK(leapt->body.find("\"recorded\":\"2039-01-01T00:00:00.000Z\"") != std::string::npos);
    const auto back = b.try_write(pan("pan-3"), "2026-03-05");
    REQUIRE_MESSAGE(back.ok(), why(back));
    CHECK(back->body.find("\"clock-behind\":true") != std::string::npos);
    CHECK(back->body.find("\"recorded\":\"2039-01-01T00:00:00.000Z\"") != std::string::npos);
    CHECK(back->body.find("\"happened\":\"2026-03-05\"") != std::string::npos);
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE("a shop that was shut for a month hears nothing of its clock") {
    TestBook b;
    b.write(pan("pan-1"));
    b.now.ms += std::int64_t{45} * 86'400'000 - 60'000;
    CHECK(b.write(pan("pan-2")).warnings.empty());
  }
}
