// Books of one shop that work for themselves and exchange in any order: after a full exchange all
// of them answer the same.
//
//   BAYBOOK_SEED=17 ctest --test-dir build -R "^two:"       one seed again
//   BAYBOOK_TWO_RUNS=43 ctest --test-dir build -R "^two:"   so many runs, with further seeds
#include <algorithm>
#include <baybook/peers.hpp>
#include <baybook/returns.hpp>
#include <cstdlib>
#include <memory>
#include <set>
#include <tuple>

#include "support/exchange_lines.hpp"
#include "support/random_shop.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

int runs() {
  const char* given = std::getenv("BAYBOOK_TWO_RUNS");
  return given != nullptr ? std::atoi(given) : 4;
}

// What the run has: two or three books, whose clocks and zones differ, two of them of one tag.
class Run {
 public:
  Run(std::uint64_t seed, std::size_t books) : rng_(seed) {
    constexpr const char* zones[] = {"Europe/Lisbon", "Asia/Kathmandu", "America/St_Johns"};
    constexpr const char* tags[] = {"bay", "office", "bay"};
    for (std::size_t n = 0; n < books; ++n) {
      Settings s = TestBook::usual(tags[n]);
      s.zone = zones[rng_() % 3];
      // In the middle of the day everywhere, so that no two books are of different days.
      books_.push_back(std::make_unique<TestBook>(s, seed + n, "2026-03-05T12:00:00.000Z"));
      books_.back()->now.ms += static_cast<std::int64_t>(rng_() % 2400) * 1000 - 1'200'000;
    }
    shops_.push_back(std::make_unique<RandomShop>(*books_[0], seed + 10, "b"));
    for (int i = 0; i < 15; ++i) shops_[0]->act();
    for (std::size_t n = 1; n < books; ++n) {
      give(0, n);
      shops_.push_back(std::make_unique<RandomShop>(*books_[n], seed + 10 + n, *shops_[0]));
    }
  }

  void step() {
    const std::size_t who = any();
    switch (rng_() % 12) {
      case 0:
        give(any(), who);
        break;
      case 1:
        give_old(who);
        break;
      case 2:
        settle(*books_[who]);
        break;
      case 3:
        settle(*books_[who]);
        break;
      default:
        shops_[who]->act();
    }
    if (rng_() % 20 == 0) {
      for (const auto& b : books_) b->now.ms += 3'600'000 / 4;
    }
  }

  // Until nobody has anything that another has not.
  void exchange_all() {
    for (int round = 0; round < 4; ++round) {
      std::vector<std::pair<std::size_t, std::size_t>> ways;
      for (std::size_t a = 0; a < books_.size(); ++a) {
        for (std::size_t b = 0; b < books_.size(); ++b)
          if (a != b) ways.emplace_back(a, b);
      }
      std::shuffle(ways.begin(), ways.end(), rng_);
      for (const auto& [from, to] : ways) give(from, to);
    }
  }

  void all_answer_the_same() {
    const std::string rows = books_[0]->dump(true);
    const auto open = listed(*books_[0]);
    const std::string month = figures(*books_[0]);
    for (const auto& b : books_) {
      CHECK(difference(rows, b->dump(true)) == "");
      CHECK(listed(*b) == open);
      CHECK(figures(*b) == month);
      const auto proof = prove(b->book());
      REQUIRE_MESSAGE(proof.ok(), why(proof));
      for (const Finding& f : proof->findings) CHECK_MESSAGE(false, f.what);
      // And folded anew.
      REQUIRE(b->book().rebuild().ok());
      CHECK(difference(rows, b->dump(true)) == "");
    }
  }

 private:
  std::size_t any() { return rng_() % books_.size(); }

  void take(const std::string& file, std::size_t to) {
    TestBook& b = *books_[to];
    std::vector<std::string> call;
    for (int tries = 0; tries < 3; ++tries) {
      const std::vector<std::string> strangers = strangers_in(b.book(), file, call);
      const auto r = meet(b, file, {call, strangers, false});
      if (r.ok()) {
        CHECK(r->left == 0);
        return;
      }
      // Two of one tag are told apart by another for the newcomer, as the hint says.
      REQUIRE_MESSAGE(r.refusal().code == Code::ambiguous, why(r));
      const std::string hint = r.refusal().instead;
      call.push_back(hint.substr(hint.find("--call ") + 7));
    }
    FAIL("no tag is free");
  }

  void give(std::size_t from, std::size_t to) {
    if (from == to) return;
    files_.push_back(file_of(books_[from]->book()));
    take(files_.back(), to);
  }

  // Yesterday's file, the own one, the same twice.
  void give_old(std::size_t to) {
    if (!files_.empty()) take(files_[rng_() % files_.size()], to);
  }

  void settle(TestBook& b) {
    auto all = conflicts(b.book());
    REQUIRE_MESSAGE(all.ok(), why(all));
    if (all->empty()) return;
    const Conflict& c = (*all)[rng_() % all->size()];
    if (!c.choices.empty() && rng_() % 3 != 0) {
      (void)b.try_write(Choice{c.choices[rng_() % c.choices.size()].id, "looked at both"});
      return;
    }
    if (c.entries.size() < 2) return;
    Settle s;
    s.keep = c.entries[0].id;
    s.other = c.entries[1].id;
    s.join = rng_() % 3 != 0;
    s.why = "looked at both";
    (void)b.try_write(s);
  }

  // What is listed, without the tags by which each book tells it.
  using Listed = std::multiset<std::pair<Conflict::What, std::vector<std::int64_t>>>;
  static Listed listed(TestBook& b) {
    auto all = conflicts(b.book());
    REQUIRE_MESSAGE(all.ok(), why(all));
    Listed out;
    for (const Conflict& c : *all) {
      std::vector<std::int64_t> entries;
      for (const EntryRef& r : c.entries) entries.push_back(r.id.n);
      std::sort(entries.begin(), entries.end());
      out.emplace(c.what, std::move(entries));
    }
    return out;
  }

  static std::string figures(TestBook& b) {
    const auto t = totals(b.book(), day("2026-03-01"), day("2026-03-31"));
    REQUIRE_MESSAGE(t.ok(), why(t));
    std::string out;
    for (const auto& row : t->rows) {
      for (const Sum* s : {&row.opening, &row.closing})
        out += std::to_string(s->low) + " " + std::to_string(s->best) + " " +
               std::to_string(s->high) + ";";
    }
    return out;
  }

  std::mt19937_64 rng_;
  std::vector<std::unique_ptr<TestBook>> books_;
  std::vector<std::unique_ptr<RandomShop>> shops_;
  std::vector<std::string> files_;
};

}  // namespace

TEST_SUITE("two/random") {
  TEST_CASE(
      "books that work, settle and exchange in any order answer the same after a full exchange") {
    const std::uint64_t first = seed_of_run();
    for (int n = 0; n < runs(); ++n) {
      const std::uint64_t seed = first + static_cast<std::uint64_t>(n);
      MESSAGE("BAYBOOK_SEED=" << seed << " BAYBOOK_TWO_RUNS=1");
      CAPTURE(seed);
      Run run(seed, 2 + seed % 2);
      for (int i = 0; i < 120; ++i) run.step();
      run.exchange_all();
      run.all_answer_the_same();
    }
  }
}
