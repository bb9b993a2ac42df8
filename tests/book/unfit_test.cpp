// What no typing could have put into an entry: refused by the funnel, refused in an exchange file,
// told by the proof.
#include "support/bad_bodies.hpp"
#include "support/random_shop.hpp"

#include "log/private_fields.hpp"

#include <baybook/returns.hpp>

#include <fstream>

using namespace baybook;
using namespace baybook::test;
using log::Value;

namespace {

const std::string kGolden = std::string(BAYBOOK_SOURCE) + "/tests/golden/v1.baybook";

std::int64_t unfit_in_book(const Book& book) {
  const auto proof = prove(book);
  REQUIRE_MESSAGE(proof.ok(), why(proof));
  for (const Finding& f : proof->findings) MESSAGE(f.what);
  for (const Finding& f : proof->unfit) MESSAGE(f.what);
  return proof->unfit_found;
}

}  // namespace

TEST_SUITE("book/unfit") {
  TEST_CASE(
      "no entry of the shop with every kind, of a random shop or of the golden book is unfit") {
    WholeShop shop(1);
    shop.bay.reopen();
    CHECK(unfit_in_book(shop.bay.book()) == 0);
    TestBook random("bay", 5);
    const std::uint64_t seed = seed_of_run();
    CAPTURE(seed);
    RandomShop at_random(random, seed);
    for (int i = 0; i < 400; ++i) at_random.act();
    CHECK(unfit_in_book(random.book()) == 0);
    Folder f;
    std::filesystem::copy_file(kGolden, f.file("v1.baybook"));
    const auto golden = Book::open(f.file("v1.baybook"), Access::read, repeatable(1));
    REQUIRE_MESSAGE(golden.ok(), why(golden));
    CHECK(unfit_in_book(*golden) == 0);
  }

  TEST_CASE(
      "a file in which one body says what typing would refuse is refused whole, with the line and "
      "the field") {
    TestBook third("third", 23);
    const std::string before = third.dump();
    for (const Bad& bad : bad_bodies()) {
      CAPTURE(bad.what);
      Forged f(shop_file());
      bad.how(f);
      const auto r = take_in(third, f.file());
      CHECK(!r.ok());
      if (r.ok()) continue;
      CHECK_MESSAGE(!r.refusal().lines.empty(), why(r));
      if (r.refusal().lines.empty()) continue;
      const std::string& line = r.refusal().lines.front();
      CHECK(line.starts_with("other.exchange:"));
      CHECK_MESSAGE(line.find(bad.says) != std::string::npos, line);
      CHECK(difference(before, third.dump()) == "");
    }
    // The same file as it was made is taken.
    CHECK(taken(third, shop_file()).taken > 60);
  }

  TEST_CASE(
      "every bad line of a file is counted, the first twenty are listed in their order, and "
      "nothing is taken") {
    TestBook bay("bay", 21);
    for (int i = 0; i < 30; ++i) bay.place("pan-" + std::to_string(i), Role::hold_catch, "5L");
    Forged f(file_of(bay.book()));
    for (int i = 1; i <= 30; ++i) {
      // Every second one names what it is not, which shows only when all of the file is there.
      f.details(f.line_of("place", i), [&](Value& d) { d["code"] = i % 2 == 0 ? "Pan" : "pan_1"; });
    }
    TestBook office("office", 22);
    const std::string before = office.dump();
    const auto r = take_in(office, f.file());
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::unclear);
    CHECK(r.refusal().what == "other.exchange: 30 lines say what no entry can");
    REQUIRE(r.refusal().figures.size() == 1);
    CHECK(r.refusal().figures[0].value == "30");
    REQUIRE(r.refusal().lines.size() == 21);
    CHECK(r.refusal().lines.front().starts_with(
        "other.exchange:4:1: entry 2@bay, place: details/code is"));
    CHECK(r.refusal().lines[19].starts_with("other.exchange:23:1: entry 21@bay"));
    CHECK(r.refusal().lines.back() == "and 10 more");
    CHECK(difference(before, office.dump()) == "");
    CHECK(take_in(office, f.file(), {}, true).ok() == false);
  }

  TEST_CASE(
      "a file whose entries are of a later version, or name an end of the world that is not known, "
      "asks for a newer baybook and for nothing else") {
    TestBook third("third", 23);
    const std::string before = third.dump();
    Forged later(shop_file());
    later.change(later.line_of("work"), [](Value& b) { b["version"] = log::kLastVersion + 1; });
    const auto by_version = take_in(third, later.file());
    REQUIRE(!by_version.ok());
    CHECK(by_version.refusal().code == Code::unreadable);
    CHECK(by_version.refusal().instead == "a newer baybook");
    Forged further(shop_file());
    in_line("to", "moon")(further);
    const auto by_end = take_in(third, further.file());
    REQUIRE(!by_end.ok());
    CHECK(by_end.refusal().code == Code::unreadable);
    CHECK(by_end.refusal().instead.starts_with("a newer baybook"));
    CHECK(difference(before, third.dump()) == "");
  }

  TEST_CASE(
      "a bad text, a bad header and a bad reference of three entries are all told at once, on "
      "their lines") {
    Forged f(shop_file());
    const std::size_t work = f.line_of("work");
    const std::size_t mark = f.line_of("place-mark");
    const std::size_t paper = f.line_of("paper");
    f.details(mark, [](Value& d) { d["place"] = 1; });
    f.change(paper, [](Value& b) { b["happened"] = "9999-01-01"; });
    f.text(work, "text", "a\tb");
    TestBook third("third", 23);
    const auto r = take_in(third, f.file());
    REQUIRE(!r.ok());
    REQUIRE(r.refusal().lines.size() == 3);
    const auto starts = [&](std::size_t i, std::size_t line) {
      return r.refusal().lines[i].starts_with("other.exchange:" + std::to_string(line) + ":1: ");
    };
    CHECK(starts(0, work + 1));
    CHECK(starts(1, std::min(mark, paper)));
    CHECK(starts(2, std::max(mark, paper)));
  }

  TEST_CASE(
      "every field and every private text that the shop writes stands in the row of its kind in "
      "the format page") {
    std::ifstream in(std::string(BAYBOOK_SOURCE) + "/docs/format.md");
    const std::string page{std::istreambuf_iterator<char>(in), {}};
    const Forged f(shop_file());
    std::size_t rows = 0;
    for (std::size_t line = 1; line <= f.size(); ++line) {
      if (!f.is_entry(line)) continue;
      const Value body = f.body(line);
      const std::string kind(body.str("kind"));
      const std::size_t at = page.find(" | `" + kind + "` | ");
      REQUIRE(at != std::string::npos);
      const std::string row = page.substr(at, page.find('\n', at) - at);
      ++rows;
      for (const auto& [key, v] : body.at("details").as_object()) {
        CAPTURE(kind);
        CHECK_MESSAGE(row.find("`" + key + "`") != std::string::npos, key);
      }
      for (const log::PrivateField& p : log::private_fields(*log::read_kind(kind))) {
        CAPTURE(kind);
        const std::string name = p.name == "recheck-" ? "recheck-1" : std::string(p.name);
        CHECK_MESSAGE(row.find("`" + name + "`") != std::string::npos, name);
      }
    }
    CHECK(rows > 60);
  }

  TEST_CASE(
      "a file whose only fault is a field that this program does not know may be a newer "
      "program's") {
    Forged f(shop_file());
    f.details(f.line_of("work"), [](Value& d) { d["bay-number"] = 4; });
    TestBook third("third", 23);
    const auto r = take_in(third, f.file());
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::unreadable);
    CHECK(r.refusal().instead.starts_with("a newer baybook"));
  }

  TEST_CASE(
      "an installation whose number belongs to nobody, and one that is tagged all, are not let "
      "in") {
    TestBook bay("bay", 21);
    const std::string file = file_of(bay.book());
    const std::string identity = bay->inside().known.own().identity;
    for (const auto& [was, is] :
         {std::pair<std::string, std::string>{identity, "00003" + identity.substr(5)},
          {"\"tag\":\"bay\"", "\"tag\":\"all\""}}) {
      std::string changed = file;
      for (std::size_t at = 0; (at = changed.find(was, at)) != std::string::npos; at += is.size())
        changed.replace(at, was.size(), is);
      TestBook office("office", 22);
      CHECK(!take_in(office, Forged(changed).file()).ok());
    }
  }
}
