// A log that is validly chained and says what cannot be.
#include "attack/changes.hpp"
#include "attack/lab.hpp"

#include "log/canonical.hpp"

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("attack/hostile log") {
  TEST_CASE("whatever a validly chained log says, every reading verb, the proof and the rebuild end with an answer or a refusal") {
    WholeShop shop;
    Folder folder;
    const std::string path = folder.file("case.baybook");
    const Bytes& bytes = shop.rest;
    put_papers(path);
    struct Case {
      std::int64_t id = 0;
      std::string what, body;
    };
    std::vector<Case> all;
    std::size_t n = 0;
    std::int64_t own = 0;
    put_book(path, bytes);
    {
      Shell s(path);
      own = std::stoll(s.one("SELECT origin FROM installation WHERE own = 1"));
      for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
        // The first and the last of a kind: what stands on the first is all that comes later.
        for (const char* which : {"min", "max"}) {
          const std::string id = s.one("SELECT " + std::string(which) + "(id) FROM entry WHERE kind = " + std::to_string(k));
          const log::Value was = log::parse_canonical(s.one("SELECT body FROM entry WHERE id = " + id)).value();
          const Changed changed = absurd_changes(was);
          for (const auto& [what, body] : changed) {
            if (body == was || (!chosen(n++, 90) && !once_found(std::string(log::name_of(static_cast<log::Kind>(k))) + " " + what))) continue;
            std::string text;
            try {
              text = log::canonical(body);
            } catch (const log::Malformed&) {
              continue;
            }
            all.push_back({std::stoll(id), std::string(log::name_of(static_cast<log::Kind>(k))) + " " + what, std::move(text)});
          }
        }
      }
    }
    Figures f("log validly chained anew that says what cannot be");
    const auto verdicts = in_children(all.size(), [&](std::size_t i) -> Verdict {
      put_book(path, bytes);
      {
        Shell s(path);
        if (!s.run("UPDATE entry SET body = CAST(x'" + log::hex_of(all[i].body) + "' AS TEXT) WHERE id = " + std::to_string(all[i].id))) return {Outcome::missed, "the engine refused the case"};
      }
      rechain(path);
      // The proof has no word against a log that was chained anew and makes sense; the seal printed before has.
      const std::string& seal = all[i].id >> 40 == own ? shop.seal : shop.office_seal;
      // As it stands, then with tables that follow from it; what is refused is left as it was.
      Verdict v = look_at(path, {seal, "", true, false});
      if (v.fate == Outcome::wrote) return v;
      (void)rebuild(path);
      v = look_at(path, {seal, "", true, true});
      return v;
    });
    f.add_all(verdicts, [&](std::size_t i) { return all[i].what; });
    f.report();
  }
}
