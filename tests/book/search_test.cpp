// Entries by the words in them.
#include "support/test_book.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

struct Told : TestBook {
  CarId car = TestBook::car("MARSH-07");
  CarId other = TestBook::car("BRISK-9");
  JobId first = job(car);
  JobId second = job(other, "2026-03-04");
  EntryId pump = write(Work{first, "Water pump weeping, R\xC3\xA9servoir cleaned"}).entry.id;
  EntryId hose = write(Work{second, "hose renewed beside the water PUMP"}, "2026-03-04").entry.id;
  EntryId part{};
  Told() {
    Fit f;
    f.job = first;
    f.part = "WP-4471";
    f.quantity = Amount{Dimension::count, 1, 1, 1, false, "1pcs"};
    f.old = Fit::Old::core;
    part = write(f).entry.id;
  }
  [[nodiscard]] std::vector<EntryId> saying(std::string words, EntryFilter f = {}) {
    f.words = std::move(words);
    std::vector<EntryId> out;
    const auto list = entries(book(), f);
    REQUIRE_MESSAGE(list.ok(), why(list));
    for (const EntryView& e : *list) out.push_back(e.ref.id);
    return out;
  }
};

}  // namespace

TEST_SUITE("book/search") {
  TEST_CASE("entries are found by the words that were written in them, oldest first") {
    Told t;
    CHECK(t.saying("pump") == std::vector<EntryId>{t.hose, t.pump});
    CHECK(t.saying("pump water") == std::vector<EntryId>{t.hose, t.pump});
    CHECK(t.saying("reservoir") == std::vector<EntryId>{t.pump});
    CHECK(t.saying("wp-44") == std::vector<EntryId>{t.part});
    CHECK(t.saying("pump nothing").empty());
    // The names of fields in a body are no words of anybody.
    CHECK(t.saying("details").empty());
    CHECK(t.saying("recorded").empty());
    EntryFilter f;
    f.car = t.car;
    CHECK(t.saying("water", f) == std::vector<EntryId>{t.pump});
    f = {};
    f.until = day("2026-03-04");
    CHECK(t.saying("water", f) == std::vector<EntryId>{t.hose});
    f = {};
    f.newest = 1;
    CHECK(t.saying("water", f) == std::vector<EntryId>{t.pump});
    f.words = "  ";
    CHECK(entries(t.book(), f).refusal().code == Code::unclear);
  }

  TEST_CASE("a quotation mark and a backslash are looked for as they were typed") {
    Told t;
    const EntryId said = t.write(Work{t.first, "the \"loose\" one, bay\\2"}).entry.id;
    CHECK(t.saying("\"loose\"") == std::vector<EntryId>{said});
    CHECK(t.saying("bay\\2") == std::vector<EntryId>{said});
    CHECK(t.saying("\\3").empty());
  }

  TEST_CASE("what was erased is not found") {
    Told t;
    NewCar c;
    c.plate = "FEN-3";
    c.keeper = "Edda Linn";
    const CarId fen{t.write(c).entry.id.n};
    CHECK(t.saying("edda").size() == 1);
    Erasure e;
    e.car = fen;
    e.keeper = true;
    t.write(e);
    CHECK(t.saying("edda").empty());
  }
}
