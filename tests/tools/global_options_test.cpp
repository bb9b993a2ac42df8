// Options that verbs have in common stand before the verb and after it, with a blank or with =.
#include "run_program.hpp"

#include "support/has.hpp"

#include <doctest/doctest.h>

using namespace baybook::test;

TEST_SUITE("tools/global_options") {
  TEST_CASE(
      "every common option with a value is read alike before the verb and after it, with a blank "
      "and with =") {
    struct Row {
      const char *name, *value;
      std::vector<std::string> verb;
    };
    const OpenShop shop;
    const Row rows[] = {
        {"--color", "never", {"levels"}},
        {"--color", "always", {"levels"}},
        {"--color", "never", {"rules", "list"}},
        {"--color", "never", {"work", "1", "looked", "--dry-run"}},
        {"--as-of", "2026-03-05", {"levels"}},
        {"--book", "m.baybook", {"totals"}},
        {"--book", "m.baybook", {"job", "list"}},
        {"--on", "2026-03-05", {"work", "1", "looked", "--dry-run"}},
        {"--at", "09:39", {"work", "1", "looked", "--dry-run"}},
        {"--by", "Tam", {"work", "1", "looked", "--dry-run"}},
        {"--once", "look-1", {"work", "1", "looked", "--dry-run"}},
    };
    for (const Row& r : rows) {
      CAPTURE(r.name);
      const auto with = [&](bool before, bool joined) {
        std::vector<std::string> option = {r.name, r.value};
        if (joined) option = {std::string(r.name) + "=" + r.value};
        std::vector<std::string> all = r.verb;
        all.insert(before ? all.begin() : all.end(), option.begin(), option.end());
        return shop.must(all);
      };
      const Answer usual = with(false, true);
      for (const auto& [before, joined] : {std::pair(true, true), {true, false}, {false, false}}) {
        CAPTURE(before);
        CAPTURE(joined);
        const Answer a = with(before, joined);
        // A body holds the salts of its texts, which are never the same.
        CHECK(a.out.substr(0, a.out.find("\n{")).substr(0, 8) ==
              usual.out.substr(0, usual.out.find("\n{")).substr(0, 8));
        if (r.verb.front() != "work") CHECK(a.out == usual.out);
      }
    }
    CHECK(has(shop.must({"--color", "never", "help", "drain"}).out, "baybook drain"));
    CHECK(
        has(shop.run({"--color", "sometimes", "levels"}).err, "--color is auto, always or never"));
    const Answer nothing = shop.run({"--color", "levels"});
    CHECK(nothing.status == 2);
    CHECK(has(nothing.err, "no verb was given"));
  }
}
