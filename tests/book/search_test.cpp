// Entries by the words in them.
#include "attack/whole_shop.hpp"

#include <map>
#include <set>
#include <sstream>

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

  TEST_CASE("every word that a line of entries shows finds that entry, of every kind") {
    WholeShop shop(1);
    shop.bay.reopen();
    EntryFilter all;
    all.newest = 1000;
    const auto list = entries(shop.bay.book(), all);
    REQUIRE_MESSAGE(list.ok(), why(list));
    REQUIRE(list->size() > 60);
    // A word of many lines is looked for once; what it finds holds for each of them.
    std::map<std::string, std::set<EntryId>> found;
    std::set<std::string> kinds;
    std::size_t words = 0;
    for (const EntryView& e : *list) {
      kinds.insert(e.kind);
      const EntryLine line = line_of(e, "bay");
      std::istringstream shown(line.entry + " " + line.day + " " + line.time + " " + line.by + " " +
                               line.car + " " + line.job + " " + line.what);
      for (std::string word; shown >> word;) {
        ++words;
        auto known = found.find(word);
        if (known == found.end()) {
          EntryFilter f;
          f.words = word;
          f.newest = 1000;
          const auto r = entries(shop.bay.book(), f);
          REQUIRE_MESSAGE(r.ok(), why(r));
          known = found.emplace(word, std::set<EntryId>{}).first;
          for (const EntryView& v : *r) known->second.insert(v.ref.id);
        }
        CAPTURE(word);
        CHECK_MESSAGE(known->second.contains(e.ref.id), line.what);
      }
    }
    CHECK(kinds.size() == static_cast<std::size_t>(log::kLastKind));
    CHECK(words > 400);
  }

  TEST_CASE("a movement is found by what its line calls it, by the product, the lot and the places") {
    TestBook b;
    const CarId car = b.car("MARSH-07");
    const PlaceId can = b.place("can-oat-3", Role::stock, "60L");
    const PlaceId pan = b.place("pan-1", Role::hold_catch, "20L");
    const PlaceId keep = b.place("keep-1", Role::reuse, "20L", {"coolant"});
    const FluidId oat = b.fluid("oat-violet", "coolant");
    Movement delivery = TestBook::move(MoveVerb::receive, kSupplier, can, "20L", {}, oat);
    delivery.lines.front().lot = "7731";
    const EntryId received = b.write(delivery).entry.id;
    const JobId job = b.job(car);
    const EntryId drained =
        b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "5L", job)).entry.id;
    const EntryId filtered = b.write(TestBook::move(MoveVerb::filter, pan, keep, "4L")).entry.id;
    const EntryId back =
        b.write(TestBook::move(MoveVerb::fill, keep, b.coolant(car), "4L", job)).entry.id;
    const EntryId filled =
        b.write(TestBook::move(MoveVerb::fill, can, b.coolant(car), "1L", job)).entry.id;
    const auto saying = [&](const std::string& words) {
      EntryFilter f;
      f.words = words;
      const auto list = entries(b.book(), f);
      REQUIRE_MESSAGE(list.ok(), why(list));
      std::vector<EntryId> out;
      for (const EntryView& e : *list) out.push_back(e.ref.id);
      return out;
    };
    using Ids = std::vector<EntryId>;
    CHECK(saying("drained") == Ids{drained});
    CHECK(saying("filtered keep-1") == Ids{filtered});
    CHECK(saying("put back") == Ids{back});
    CHECK(saying("filled new oat-violet") == Ids{filled});
    CHECK(saying("can-oat-3 7731") == Ids{received});
    CHECK(saying("marsh-07 drained pan-1") == Ids{drained});
    // What a line does not show is found as well.
    CHECK(saying("product oat-violet").size() == 1);
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
