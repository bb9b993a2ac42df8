// An exchange file in which one field of one entry is something that no field of its kind may be.
#include "attack/changes.hpp"
#include "attack/lab.hpp"
#include "support/forged_file.hpp"

#include "log/canonical.hpp"

#include <optional>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Case {
  std::size_t line = 0;
  std::string what;
  log::Value body;
};

// The first and the last entry of each kind, each field of its details in turn.
std::vector<Case> cases_of(const Forged& f) {
  std::vector<Case> out;
  for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
    const std::string kind(log::name_of(static_cast<log::Kind>(k)));
    std::vector<std::size_t> lines;
    for (int n = 1; f.line_of(kind, n) != 0; ++n) lines.push_back(f.line_of(kind, n));
    REQUIRE(!lines.empty());
    for (const std::size_t line : {lines.front(), lines.back()}) {
      const log::Value was = f.body(line);
      for (auto& [what, body] : absurd_changes(was)) {
        if (!(body == was)) out.push_back({line, kind + " " + what, std::move(body)});
      }
    }
  }
  return out;
}

// What was taken is as good as what is typed: sound, fit, and the same when derived anew.
std::string harm_of(TestBook& b) {
  const auto proof = prove(b.book());
  if (!proof.ok()) return why(proof);
  for (const Finding& f : proof->findings) return f.what;
  for (const Finding& f : proof->unfit) return f.what;
  (void)read_everything(b.book());
  const std::string before = b.dump(true);
  if (const auto done = b.book().rebuild(); !done.ok()) return why(done);
  return difference(before, b.dump(true));
}

}  // namespace

TEST_SUITE("attack/hostile exchange") {
  TEST_CASE(
      "a file with one field that no entry has is refused with its line and leaves nothing, or "
      "does no harm at all") {
    WholeShop shop(1);
    shop.bay.reopen();
    const Forged sound(file_of(shop.bay.book()));
    const std::vector<Case> all = cases_of(sound);
    std::optional<TestBook> third;
    std::string empty;
    std::size_t refused = 0;
    std::size_t harmless = 0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (!chosen(i, 40)) continue;
      CAPTURE(all[i].what);
      if (!third) {
        third.emplace("third", 23);
        empty = third->dump();
      }
      Forged f = sound;
      try {
        f.put(all[i].line, all[i].body);
      } catch (const log::Malformed&) {
        continue;
      }
      const auto taken = take_in(*third, f.file());
      if (taken.ok() && taken->taken > 0) {
        ++harmless;
        CHECK(harm_of(*third) == "");
        third.reset();
        continue;
      }
      ++refused;
      if (!taken.ok()) CHECK(!taken.refusal().instead.empty());
      CHECK(difference(empty, third->dump()) == "");
    }
    MESSAGE(refused << " refused, " << harmless << " taken and harmless, of " << all.size());
    CHECK(refused > 4 * harmless);
  }
}
