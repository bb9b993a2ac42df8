// An installation that a book meets for the first time: what it does to entries that are not its
// own waits for a word.
#include "support/exchange_lines.hpp"
#include "support/random_shop.hpp"

#include <baybook/due.hpp>
#include <baybook/erase.hpp>
#include <baybook/keep.hpp>
#include <baybook/peers.hpp>

#include <algorithm>
#include <array>
#include <map>

using namespace baybook;
using namespace baybook::test;

namespace {

ExchangeIn met_by(TestBook& into, const std::string& file, const ExchangeOptions& options = {}) {
  auto r = meet(into, file, options);
  REQUIRE_MESSAGE(r.ok(), why(r));
  return std::move(r).value();
}

void catch_up(TestBook& b, const TestBook& with) { b.now = std::max(b.now, with.now); }

PeerWord word(PeerWord::What what, TestBook& b, const char* tag) {
  const auto first = find_installation(b.book(), tag);
  REQUIRE_MESSAGE(first.ok(), why(first));
  return {what, *first, {}};
}
PeerWord accept(TestBook& b, const char* tag) { return word(PeerWord::What::accept, b, tag); }
PeerWord agree(EntryId entry) { return {PeerWord::What::agree, entry, {}}; }

Correction withdrawal(EntryId target) {
  Correction c;
  c.target = target;
  c.withdraw = true;
  c.why = "it never was";
  return c;
}
Correction amount_of(EntryId target, const char* amount) {
  Correction c;
  c.target = target;
  c.patch.amount = litres(amount);
  c.why = "read it again";
  return c;
}

// Everything can be read, every table is that of a rebuild, nothing is found.
void sound(TestBook& b) {
  const auto all = entries(b.book(), EntryFilter{});
  CHECK_MESSAGE(all.ok(), why(all));
  const auto p = prove(b.book());
  REQUIRE_MESSAGE(p.ok(), why(p));
  for (const Finding& f : p->findings) CHECK_MESSAGE(false, f.what);
  const std::string live = b.dump(true);
  REQUIRE(b.book().rebuild().ok());
  CHECK(difference(live, b.dump(true)) == "");
}

std::vector<DueLine> papers_due(TestBook& b) {
  DueFilter f;
  f.group = DueGroup::paper;
  f.within = 400;
  auto list = due_list(b.book(), b.book().today(b.now).value(), f);
  REQUIRE_MESSAGE(list.ok(), why(list));
  return std::move(list->lines);
}
bool due_says(TestBook& b, const std::string& what, const std::string& settle) {
  for (const DueLine& d : papers_due(b)) {
    if (d.what.find(what) != std::string::npos && d.settle.find(settle) != std::string::npos)
      return true;
  }
  return false;
}

// A bay with its own entries, and an office that had them and wrote about them.
struct Pair {
  TestBook bay{"bay", 71}, office{"office", 72};
  PlaceId drum = bay.place("drum", Role::waste, "200L", {"coolant"});
  PlaceId tray = bay.place("tray", Role::waste, "200L", {"coolant"});
  CarId car = bay.car("MARSH-07", "200L");
  EntryId drained;
  Pair() {
    const JobId job = bay.job(car);
    drained =
        bay.write(TestBook::move(MoveVerb::drain, bay.coolant(car), drum, "5L", job)).entry.id;
    (void)met_by(office, file_of(bay.book()));
    catch_up(office, bay);
  }
  EntryId by_office(const Draft& d) { return office.write(d).entry.id; }
  ExchangeIn to_bay(const ExchangeOptions& o = {}) {
    catch_up(bay, office);
    return met_by(bay, file_of(office.book()), o);
  }
  ExchangeIn to_office(const ExchangeOptions& o = {}) {
    catch_up(office, bay);
    return met_by(office, file_of(bay.book()), o);
  }
  std::string plate() { return baybook::car(bay.book(), car)->plate; }
};

std::vector<Peer> peers_of(const Book& b) {
  auto all = peers(b);
  REQUIRE_MESSAGE(all.ok(), why(all));
  return std::move(all).value();
}
bool any_waits(const Book& b) {
  const std::vector<Peer> all = peers_of(b);
  return std::any_of(all.begin(), all.end(), [](const Peer& p) { return p.waiting > 0; });
}

Erasure plate_of(CarId car) {
  Erasure e;
  e.car = car;
  e.plate = true;
  return e;
}

// The rows of some tables: those into which no private text goes.
std::string without_texts(TestBook& b) {
  std::string out;
  const std::string all = b.dump(true);
  for (const char* table : {"correction", "amended", "settlement", "settled", "erased", "flow",
                            "balance", "account", "tally"}) {
    const std::size_t at = all.find("[" + std::string(table) + "]\n");
    REQUIRE(at != std::string::npos);
    out += all.substr(at, all.find("\n[", at) + 1 - at);
  }
  return out;
}

template <class T>
T any_of_them(const std::vector<T>& all, std::mt19937_64& rng) {
  return all[rng() % all.size()];
}

std::vector<EntryId> ids_where(TestBook& b, const char* sql) {
  std::vector<EntryId> out;
  auto q = b->inside().db.query(sql);
  while (q.step()) out.push_back(EntryId{q.num(0)});
  return out;
}

// What somebody may do about what others wrote, and about the others.
std::optional<Draft> something_about_others(TestBook& b, std::mt19937_64& rng) {
  switch (rng() % 5) {
    case 0: {
      Correction c = withdrawal(any_of_them(
          ids_where(b, "SELECT id FROM entry WHERE kind NOT IN (1, 33, 34) ORDER BY id"), rng));
      c.with_dependants = rng() % 2 == 0;
      return c;
    }
    case 1: {
      const auto open = conflicts(b.book());
      REQUIRE_MESSAGE(open.ok(), why(open));
      if (open->empty()) return {};
      const Conflict& c = (*open)[rng() % open->size()];
      if (!c.choices.empty() && rng() % 2 == 0)
        return Choice{c.choices[rng() % c.choices.size()].id, "looked at both"};
      if (c.entries.size() < 2) return {};
      return Settle{c.entries[0].id, c.entries[1].id, rng() % 4 != 0, "looked at both"};
    }
    case 2: {
      Erasure e;
      e.entry =
          any_of_them(ids_where(b, "SELECT entry FROM private UNION SELECT 1 ORDER BY 1"), rng);
      return e;
    }
    case 3: {
      const auto& all = b->inside().known.all;
      return PeerWord{
          PeerWord::What::accept, EntryId{all[rng() % all.size()].origin << 40 | 1}, {}};
    }
    default:
      return agree(any_of_them(
          ids_where(b,
                    "SELECT entry FROM correction WHERE withdrawn IN (2, 3, 10) UNION SELECT erasure FROM "
                    "erased WHERE asked > 1 UNION SELECT entry FROM settlement WHERE joins IN (2, "
                    "3) UNION SELECT min(id) FROM entry ORDER BY 1"),
          rng));
  }
}

// Until no file brings anything new: a book that is met writes a word, which the others do not have
// yet.
void exchange_all(const std::array<TestBook*, 4>& books) {
  for (bool more = true; more;) {
    more = false;
    for (TestBook* to : books) {
      for (TestBook* from : books) {
        if (from == to) continue;
        const ExchangeIn in = met_by(*to, file_of(from->book()));
        CHECK(in.left == 0);
        more = more || in.taken > 0;
      }
    }
  }
}

}  // namespace

TEST_SUITE("book/peers") {
  TEST_CASE(
      "words said in any order and met in any order give every book that has all entries the same "
      "effects, and the same rows once all are accepted") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("BAYBOOK_SEED=" << seed);
    std::mt19937_64 rng(seed);
    TestBook bay("bay", seed), office("office", seed + 1), van("van", seed + 2),
        stranger("stranger", seed + 3);
    const std::array<TestBook*, 4> books{&bay, &office, &van, &stranger};
    RandomShop one(bay, seed + 4, "a"), two(office, seed + 5, "b"), three(van, seed + 6, "c"),
        four(stranger, seed + 7, "d");
    RandomShop* shops[] = {&one, &two, &three, &four};
    std::size_t words = 0, about_others = 0, waited = 0;
    for (int i = 0; i < 240; ++i) {
      const std::size_t who = rng() % 4;
      TestBook& b = *books[who];
      b.now.ms += 60000;
      const std::uint64_t what = rng() % 8;
      if (what < 3) {
        shops[who]->act();
      } else if (what == 3) {
        NewPlace p;
        p.code = "tray-" + std::to_string(rng() % 3);
        p.role = Role::hold_catch;
        (void)b.book().append(p, b.stamp());
      } else if (what < 7) {
        const auto draft = something_about_others(b, rng);
        if (!draft) continue;
        const bool ok = b.book().append(*draft, b.stamp()).ok();
        (std::holds_alternative<PeerWord>(*draft) ? words : about_others) += ok ? 1 : 0;
      } else {
        const std::size_t from = rng() % 4;
        if (from == who) continue;
        waited += static_cast<std::size_t>(met_by(b, file_of(books[from]->book())).waiting);
        sound(b);
      }
    }
    CHECK(about_others > 0);
    CHECK(words + waited > 0);
    exchange_all(books);
    const std::string effects = without_texts(bay);
    for (TestBook* b : books) {
      CHECK(difference(effects, without_texts(*b)) == "");
      sound(*b);
    }
    for (TestBook* b : books) {
      for (const Peer& p : peers_of(b->book())) {
        if (p.state == Peer::State::met || p.state == Peer::State::known)
          b->write(accept(*b, p.tag.c_str()));
      }
    }
    exchange_all(books);
    const std::string all = bay.dump(true);
    for (TestBook* b : books) {
      CHECK(difference(all, b->dump(true)) == "");
      CHECK_FALSE(any_waits(b->book()));
      sound(*b);
    }
  }

  TEST_CASE(
      "what a newly met installation withdraws, replaces, settles or erases of ours has no effect, "
      "is listed, and takes effect when it is accepted") {
    Pair p;
    p.by_office(amount_of(p.drained, "7L"));
    p.by_office(Settle{EntryId{p.drum.n}, EntryId{p.tray.n}, true, {}});
    p.by_office(plate_of(p.car));
    const ExchangeIn in = p.to_bay();
    CHECK(in.taken == 5);  // its opening, its word about the bay, and the three
    REQUIRE(in.met.size() == 1);
    CHECK_FALSE(in.met[0].accepted);
    CHECK(in.waiting == 3);
    CHECK(p.bay.level(p.drum) == 5 * L);
    CHECK(p.bay.book().find_place("tray").value() == p.tray);
    CHECK(p.plate() == "MARSH-07");
    CHECK(due_says(p.bay, "office was met and is not accepted",
                   "baybook exchange accept office --dry-run"));
    CHECK(due_says(p.bay, "office: replaces entry 6 (drained 5 L",
                   "baybook exchange agree 3@office"));
    CHECK(due_says(p.bay, "office: settles that entry 3 (place tray",
                   "baybook exchange agree 4@office"));
    CHECK(due_says(p.bay, "office: erases 1 text of entry 4",
                   "baybook exchange agree 5@office --dry-run"));
    CHECK(conflicts(p.bay.book())->empty());
    sound(p.bay);

    p.bay.write(accept(p.bay, "office"));
    CHECK(p.bay.level(p.drum) == 7 * L);
    CHECK_FALSE(p.bay.book().find_place("tray").ok());
    CHECK(p.plate() == "car:4");
    CHECK(p.bay.dump().find("MARSH-07") == std::string::npos);
    CHECK(papers_due(p.bay).empty());
    sound(p.bay);
    // From now on what it corrects takes effect as it comes.
    p.by_office(amount_of(p.drained, "8L"));
    CHECK(p.to_bay().waiting == 0);
    CHECK(p.bay.level(p.drum) == 8 * L);
    sound(p.bay);
  }

  TEST_CASE(
      "one entry that is agreed to takes effect, and nothing else of that installation does") {
    Pair p;
    const EntryId first = p.by_office(amount_of(p.drained, "7L"));
    const EntryId second = p.by_office(withdrawal(EntryId{p.tray.n}));
    const EntryId third = p.by_office(plate_of(p.car));
    (void)p.to_bay();
    p.bay.write(agree(first));
    CHECK(p.bay.level(p.drum) == 7 * L);
    CHECK(p.bay.book().find_place("tray").ok());
    p.bay.write(agree(third));
    CHECK(p.plate() == "car:4");
    CHECK(p.bay.book().find_place("tray").ok());
    CHECK_FALSE(erasure_unfinished(p.bay.book()).value());
    CHECK(p.bay.try_write(agree(first)).refusal().code == Code::already_there);
    CHECK(p.bay.try_write(agree(p.drained)).refusal().code == Code::not_allowed);
    // A no: it is not asked again.
    p.bay.write(withdrawal(second));
    CHECK_FALSE(due_says(p.bay, "withdraws", ""));
    CHECK(p.bay.book().find_place("tray").ok());
    sound(p.bay);
  }

  TEST_CASE(
      "an installation accepted with its first file has effect at once, and is met by no entry") {
    Pair p;
    p.by_office(amount_of(p.drained, "7L"));
    const ExchangeIn in = p.to_bay({{}, {"office"}, false});
    REQUIRE(in.met.size() == 1);
    CHECK(in.met[0].accepted);
    CHECK(in.waiting == 0);
    CHECK(p.bay.level(p.drum) == 7 * L);
    CHECK(p.bay.dump().find("\"what\":\"met\",") == std::string::npos);
    CHECK(meet(p.bay, file_of(p.office.book()), {{}, {"van"}, false}).refusal().code ==
          Code::not_found);
    sound(p.bay);
  }

  TEST_CASE("the same file a second time writes no second word, and a dry run writes none") {
    Pair p;
    const std::string file = file_of(p.office.book());
    catch_up(p.bay, p.office);
    const std::string before = p.bay.dump();
    const ExchangeIn tried = met_by(p.bay, file, {{}, {}, true});
    REQUIRE(tried.met.size() == 1);
    CHECK(difference(before, p.bay.dump()) == "");
    (void)met_by(p.bay, file);
    const std::string once = p.bay.dump();
    CHECK(met_by(p.bay, file).met.empty());
    CHECK(difference(once, p.bay.dump()) == "");
  }

  TEST_CASE(
      "a first meeting says who it is, from when to when, and what it would do to which entry") {
    Pair p;
    p.by_office(withdrawal(EntryId{p.tray.n}));
    p.by_office(amount_of(p.drained, "7L"));
    p.by_office(plate_of(p.car));
    p.by_office(Settle{EntryId{p.drum.n}, p.drained, false, "two things"});
    ChooseRules rules;
    rules.set = "us-california";
    rules.from = day("2026-03-01");
    p.by_office(rules);
    Determination d;
    d.stream = "waste-coolant";
    d.hazardous = false;
    d.reason = "lead below the limit";
    p.by_office(d);
    p.office.now = instant("2026-04-02T09:00:00.000Z");
    p.by_office(CloseMonth{month_of(day("2026-03-01")), ""});
    const ExchangeIn in = p.to_bay();
    REQUIRE(in.met.size() == 1);
    const Meeting& m = in.met[0];
    CHECK(m.site == "Saltmarsh Motor Works");
    CHECK(m.entries == 9);
    CHECK(to_string(m.from) == "2026-03-05");
    CHECK(to_string(m.until) == "2026-04-02");
    CHECK(m.first == peers_of(p.office.book()).front().first);
    std::map<std::string, std::string> said;
    for (const Meeting::Does& one : m.does) said[one.what] = one.said.front();
    CHECK(said["withdraws"] == "entry 3@office withdraws entry 3 (place tray, waste, 200 L)");
    CHECK(said["replaces"] == "entry 4@office replaces entry 6 (drained 5 L coolant into drum)");
    CHECK(said["erases"].starts_with(
        "entry 5@office erases \"plate\" of entry 4 (car registered: Corvane Tern"));
    CHECK(said["settles"].find("are two") != std::string::npos);
    CHECK(said["chooses rules"] ==
          "entry 7@office chooses the rules us-california from 2026-03-01");
    CHECK(said["determines"] == "entry 8@office says that waste-coolant is not hazardous");
    CHECK(said["closes"] == "entry 9@office closes the month 2026-03");
  }

  TEST_CASE(
      "an acceptance leaves what a rule holds without effect, and an agreement to it is refused "
      "until the rule lets it go") {
    TestBook bay("bay", 71, "2026-01-05T09:40:00.000Z"),
        office("office", 72, "2026-01-05T09:40:00.000Z");
    ChooseRules rules;
    rules.set = "us-federal";
    rules.from = day("2026-01-01");
    const PlaceId drum = bay.place("drum", Role::waste, "200L", {"coolant"});
    bay.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "20L", {},
                             FluidId{find_class("coolant")->number}));
    const EntryId pickup =
        bay.write(TestBook::move(MoveVerb::pickup, drum, kReceiver, "20L")).entry.id;
    (void)met_by(office, file_of(bay.book()));
    bay.write(rules);  // the office knows of no rule
    catch_up(office, bay);
    Erasure e;
    e.entry = pickup;
    const EntryId erased = office.write(e).entry.id;
    catch_up(bay, office);
    const ExchangeIn in = met_by(bay, file_of(office.book()));
    REQUIRE(in.met.size() == 1);
    CHECK(in.met[0].kept_from_it.size() == 1);
    const std::string before = bay.dump();
    const auto no = bay.try_write(agree(erased));
    REQUIRE_FALSE(no.ok());
    CHECK(no.refusal().what.find("held by a rule until ") != std::string::npos);
    CHECK(difference(before, bay.dump()) == "");
    const Receipt r = bay.write(accept(bay, "office"));
    REQUIRE(r.warnings.size() == 1);
    CHECK(r.warnings[0].starts_with("entry 3@office stays without effect, "));
    CHECK(bay.dump().find("Quill & Tarn Recovery") != std::string::npos);
    sound(bay);
    bay.now = instant("2036-01-05T09:40:00.000Z");
    bay.write(agree(erased));
    CHECK(bay.dump().find("Quill & Tarn Recovery") == std::string::npos);
    sound(bay);
  }

  TEST_CASE(
      "whom a known and accepted installation has accepted is accepted here, and whom an "
      "accomplice accepts is not") {
    Pair p;
    (void)p.to_bay({{}, {"office"}, false});
    TestBook van("van", 73);
    (void)met_by(van, file_of(p.bay.book()));
    catch_up(van, p.bay);
    van.write(amount_of(p.drained, "9L"));
    catch_up(p.office, van);
    (void)met_by(p.office, file_of(van.book()), {{}, {"van"}, false});
    const ExchangeIn in = p.to_bay();
    REQUIRE(in.met.size() == 1);
    CHECK(in.met[0].accepted);
    CHECK(in.met[0].accepted_by == "office");
    CHECK(p.bay.level(p.drum) == 9 * L);

    TestBook stranger("stranger", 74), accomplice("friend", 75);
    (void)met_by(stranger, file_of(p.bay.book()));
    catch_up(stranger, p.bay);
    stranger.write(withdrawal(p.drained));
    catch_up(accomplice, stranger);
    (void)met_by(accomplice, file_of(stranger.book()), {{}, {"stranger"}, false});
    catch_up(p.bay, accomplice);
    const ExchangeIn both = met_by(p.bay, file_of(accomplice.book()));
    CHECK(both.met.size() == 2);
    for (const Meeting& m : both.met) CHECK_FALSE(m.accepted);
    CHECK(p.bay.level(p.drum) == 9 * L);
    sound(p.bay);
  }

  TEST_CASE(
      "what a stranger says about entries of an accepted third book waits too, and its words about "
      "others move nothing") {
    Pair p;
    (void)p.to_bay({{}, {"office"}, false});
    (void)p.to_office({{}, {"bay"}, false});
    const PlaceId shelf = p.office.place("shelf", Role::waste, "50L", {"coolant"});
    p.by_office(amount_of(p.drained, "7L"));
    (void)p.to_bay();
    REQUIRE(p.bay.level(p.drum) == 7 * L);
    TestBook stranger("stranger", 74);
    (void)met_by(
        stranger,
        file_of(
            p.bay.book()));  // with that its word: it has met bay and office, and accepted neither
    catch_up(stranger, p.bay);
    stranger.write(withdrawal(EntryId{shelf.n}));
    catch_up(p.bay, stranger);
    const ExchangeIn in = met_by(p.bay, file_of(stranger.book()));
    CHECK(in.waiting == 1);
    CHECK(p.bay.book().find_place("shelf").ok());
    CHECK(p.bay.level(p.drum) == 7 * L);
    const auto lines = papers_due(p.bay);
    CHECK(std::any_of(lines.begin(), lines.end(), [](const DueLine& d) {
      return d.what.find("withdraws entry 4@office") != std::string::npos;
    }));
    sound(p.bay);
  }

  TEST_CASE(
      "an entry of ours that has no effect on another book's says so when it is written, and where "
      "the word is missing") {
    Pair p;
    (void)p.to_bay();
    (void)p.to_office();
    // The bay has met the office and not accepted it: what the office writes about the bay's
    // entries waits, in the office too.
    const Receipt r = p.office.write(amount_of(p.drained, "7L"));
    CHECK(p.office.level(p.drum) == 5 * L);
    REQUIRE(r.warnings.size() == 1);
    CHECK(r.warnings[0].find(
              "has no effect yet; in the book of bay: baybook exchange agree 3@office") !=
          std::string::npos);
    const auto view = entry(p.office.book(), r.entry.id);
    REQUIRE(view.ok());
    CHECK(view->waits.starts_with("replaces entry 6@bay"));
    CHECK(due_says(p.office, "office: replaces entry 6@bay", "in the book of bay"));
    p.bay.write(accept(p.bay, "office"));
    (void)p.to_office();
    CHECK(p.office.level(p.drum) == 7 * L);
    CHECK(entry(p.office.book(), r.entry.id)->waits.empty());
    sound(p.office);
  }

  TEST_CASE(
      "an acceptance holds for the chain that was compared, and not for another one under the same "
      "number") {
    Pair p;
    (void)p.to_bay({{}, {"office"}, false});
    // Somebody with another first entry under the number of the office; the van has met that one
    // first.
    TestBook impostor("office", 72, "2026-03-01T09:40:00.000Z");
    (void)met_by(impostor, file_of(p.bay.book()));
    impostor.now = std::max(impostor.now, p.bay.now);
    impostor.write(withdrawal(p.drained));
    TestBook van("van", 73);
    (void)met_by(van, file_of(impostor.book()), {{}, {"bay"}, false});
    catch_up(van, p.bay);
    catch_up(van, impostor);
    (void)met_by(van, file_of(p.bay.book()));
    // The bay's acceptance of the true office is there, and the withdrawal has no effect.
    CHECK(van.level(p.drum) == 5 * L);
    sound(van);
  }

  TEST_CASE(
      "a copy that goes on speaks for the entries of the book it was, and somebody who only says "
      "so does not") {
    Pair p;
    BackupOptions o;
    o.now = p.bay.now;
    const std::string path = p.bay.folder().file("on.baybook");
    REQUIRE(continue_as(p.bay.book(), path, "bay-2", o).ok());
    auto on = Book::open(path, Access::write, repeatable(6));
    REQUIRE_MESSAGE(on.ok(), why(on));
    p.by_office(amount_of(p.drained, "7L"));
    Stamp at;
    at.now = p.office.now;
    const auto in = exchange_in(*on, lines_of(file_of(p.office.book())), "office.exchange", at);
    REQUIRE_MESSAGE(in.ok(), why(in));
    CHECK(in->waiting == 1);
    PeerWord w{PeerWord::What::accept, find_installation(*on, "office").value(), {}};
    REQUIRE(on->append(w, at).ok());
    CHECK_FALSE(any_waits(*on));

    // The same file in the bay, which met the office itself: a continuation that nobody here has
    // accepted answers for nobody.
    (void)p.to_bay();
    const ExchangeIn back = met_by(p.bay, file_of(*on));
    REQUIRE(back.met.size() == 1);
    CHECK(back.met[0].goes_on ==
          "it says that it goes on from entry 6@bay, of this book: the digest of that entry "
          "agrees, as it does for everybody who had a copy");
    CHECK(p.bay.level(p.drum) == 5 * L);
    sound(p.bay);
  }

  TEST_CASE(
      "whom a book had not accepted when a copy of it went on is not accepted by the copy either") {
    Pair p;
    (void)p.to_bay();
    BackupOptions o;
    o.now = p.bay.now;
    const std::string path = p.bay.folder().file("on.baybook");
    REQUIRE(continue_as(p.bay.book(), path, "bay-2", o).ok());
    auto on = Book::open(path, Access::write, repeatable(6));
    REQUIRE_MESSAGE(on.ok(), why(on));
    NewPlace shelf;
    shelf.code = "shelf";
    shelf.role = Role::waste;
    shelf.takes = {"coolant"};
    Stamp at;
    at.now = p.bay.now;
    const auto made = on->append(shelf, at);
    REQUIRE_MESSAGE(made.ok(), why(made));
    catch_up(p.office, p.bay);
    (void)met_by(p.office, file_of(*on), {{}, {"bay-2"}, false});
    p.by_office(withdrawal(made->entry.id));
    at.now = p.office.now;
    const auto in = exchange_in(*on, lines_of(file_of(p.office.book())), "office.exchange", at);
    REQUIRE_MESSAGE(in.ok(), why(in));
    CHECK(in->waiting == 1);
    CHECK(on->find_place("shelf").ok());
    for (const Peer& x : peers_of(*on)) {
      if (x.tag == "office") CHECK(x.state == Peer::State::met);
    }
  }

  TEST_CASE(
      "words are for good and are written by what they tell of: none is corrected, none about "
      "ourselves, none out of turn") {
    Pair p;
    (void)p.to_bay();
    const EntryId met = p.bay.book().find_entry("7").value();
    CHECK(p.bay.try_write(withdrawal(met)).refusal().what ==
          "entry 7 is a word about another installation");
    CHECK(p.bay.try_write(word(PeerWord::What::met, p.bay, "office")).refusal().code ==
          Code::not_allowed);
    CHECK(p.bay.try_write(word(PeerWord::What::forget, p.bay, "office")).refusal().code ==
          Code::not_allowed);
    CHECK(p.bay.try_write(accept(p.bay, "bay")).refusal().what == "bay is this book itself");
    p.bay.write(accept(p.bay, "office"));
    CHECK(p.bay.try_write(accept(p.bay, "office")).refusal().code == Code::already_there);
    CHECK(find_installation(p.bay.book(), "van").refusal().code == Code::not_found);
    sound(p.bay);
  }

  TEST_CASE(
      "a text that an erasure without effect names stays, comes in with its entry, and its absence "
      "is explained by it") {
    Pair p;
    p.by_office(plate_of(p.car));
    (void)p.to_bay();
    // A third book takes the bay's file: the text is there, the erasure has no effect on it.
    TestBook third("third", 76);
    catch_up(third, p.bay);
    (void)met_by(third, file_of(p.bay.book()), {{}, {"bay", "office"}, false});
    CHECK(baybook::car(third.book(), p.car)->plate == "MARSH-07");
    sound(third);
    // One that takes the office's has no text, and the office's erasure says why.
    TestBook fourth("fourth", 77);
    catch_up(fourth, p.bay);
    const ExchangeIn in = met_by(fourth, file_of(p.office.book()));
    CHECK(in.left == 0);
    sound(fourth);
    (void)met_by(fourth, file_of(p.bay.book()));
    CHECK(baybook::car(fourth.book(), p.car)->plate == "car:4@bay");
    sound(fourth);
  }

  TEST_CASE(
      "what came in the wrong name is thrown out, kept as a file, does not come back by others, "
      "and the true entries come in") {
    Pair p;
    (void)p.to_bay({{}, {"office"}, false});
    p.by_office(amount_of(p.drained, "7L"));
    const PlaceId spot = p.office.place("spot", Role::waste, "5L", {"coolant"});
    (void)p.to_bay();
    const std::string third_file = file_of(p.bay.book());
    REQUIRE(p.bay.level(p.drum) == 7 * L);

    const auto plan = plan_forget(p.bay.book(), "office", 3);
    REQUIRE_MESSAGE(plan.ok(), why(plan));
    CHECK(plan->entries == 2);
    CHECK(plan->named_by == 0);
    std::string kept;
    REQUIRE(forget_out(p.bay.book(), *plan, [&](std::string_view bytes) { kept += bytes; }).ok());
    const std::string before = p.bay.dump();
    Stamp dry = p.bay.stamp();
    dry.dry_run = true;
    REQUIRE(forget_installation(p.bay.book(), *plan, dry).ok());
    CHECK(difference(before, p.bay.dump()) == "");
    const auto done = forget_installation(p.bay.book(), *plan, p.bay.stamp());
    REQUIRE_MESSAGE(done.ok(), why(done));
    CHECK(p.bay.level(p.drum) == 5 * L);
    CHECK_FALSE(p.bay.book().find_place("spot").ok());
    CHECK(spot.n != 0);
    sound(p.bay);

    // A third book still has them.
    TestBook van("van", 73);
    catch_up(van, p.bay);
    (void)met_by(van, third_file, {{}, {"bay", "office"}, false});
    const ExchangeIn again = met_by(p.bay, file_of(van.book()));
    CHECK(again.left == 2);
    const auto office = std::find_if(again.installations.begin(), again.installations.end(),
                                     [](const Exchanged& x) { return x.tag == "office"; });
    CHECK(office->why_left.starts_with(
        "entries 3 to 4@office were thrown out of this book by entry "));
    CHECK(p.bay.level(p.drum) == 5 * L);
    sound(p.bay);
    // What was kept comes in again when that is said.
    CHECK(met_by(p.bay, kept).taken == 0);
    CHECK(met_by(p.bay, kept, {{}, {"office"}, false}).taken == 2);
    CHECK(p.bay.level(p.drum) == 7 * L);
    sound(p.bay);
  }

  TEST_CASE(
      "a text that is gone by an erasure stays explained when the erasure is thrown out, here and "
      "in a third book") {
    Pair p;
    p.by_office(plate_of(p.car));
    (void)p.to_bay({{}, {"office"}, false});
    REQUIRE(p.plate() == "car:4");
    const auto plan = plan_forget(p.bay.book(), "office", 1);
    REQUIRE_MESSAGE(plan.ok(), why(plan));
    const auto gone = forget_installation(p.bay.book(), *plan, p.bay.stamp());
    REQUIRE_MESSAGE(gone.ok(), why(gone));
    sound(p.bay);
    TestBook third("third", 76);
    catch_up(third, p.bay);
    CHECK(met_by(third, file_of(p.bay.book()), {{}, {"bay"}, false}).left == 0);
    sound(third);
    CHECK(papers_due(third).empty());
  }

  TEST_CASE(
      "an installation thrown out whole is met anew when it comes again, whatever was said of it "
      "before") {
    Pair p;
    p.by_office(amount_of(p.drained, "7L"));
    (void)p.to_bay({{}, {"office"}, false});
    const auto plan = plan_forget(p.bay.book(), "office", 1);
    REQUIRE_MESSAGE(plan.ok(), why(plan));
    REQUIRE(forget_installation(p.bay.book(), *plan, p.bay.stamp()).ok());
    CHECK(p.bay.level(p.drum) == 5 * L);
    CHECK(peers_of(p.bay.book()).size() == 1);
    sound(p.bay);
    p.office.place("spot", Role::waste, "5L", {"coolant"});
    // Its longer file passes what was thrown out.
    CHECK(p.to_bay().taken == 0);
    const ExchangeIn in = p.to_bay({{}, {"office"}, false});
    REQUIRE(in.met.size() == 1);
    CHECK(in.met[0].accepted);
    CHECK(p.bay.level(p.drum) == 7 * L);
    sound(p.bay);
  }

  TEST_CASE(
      "nothing is thrown out that others name, that is ours, or that this book goes on from") {
    Pair p;
    const PlaceId shelf = p.office.place("shelf", Role::waste, "50L", {"coolant"});
    (void)p.to_bay({{}, {"office"}, false});
    p.bay.write(TestBook::move(MoveVerb::discard, kSupplier, shelf, "1L", {}, FluidId{1}));
    const auto named = plan_forget(p.bay.book(), "office", 1);
    REQUIRE(named.ok());
    CHECK(named->named_by == 1);
    const std::string before = p.bay.dump();
    const auto no = forget_installation(p.bay.book(), *named, p.bay.stamp());
    REQUIRE_FALSE(no.ok());
    CHECK(no.refusal().code == Code::has_dependants);
    CHECK(plan_forget(p.bay.book(), "bay", 1).refusal().code == Code::not_allowed);
    CHECK(plan_forget(p.bay.book(), "office", 99).refusal().code == Code::not_found);
    CHECK(difference(before, p.bay.dump()) == "");
    BackupOptions o;
    o.now = p.bay.now;
    const std::string path = p.bay.folder().file("on.baybook");
    REQUIRE(continue_as(p.bay.book(), path, "bay-2", o).ok());
    auto on = Book::open(path, Access::write, repeatable(6));
    REQUIRE(on.ok());
    CHECK(plan_forget(*on, "bay", 1).refusal().what ==
          "this book goes on from bay: its entries are this book's own past");
  }

  TEST_CASE("a book that was planned to throw out and has grown since throws out nothing") {
    Pair p;
    (void)p.to_bay();
    const auto plan = plan_forget(p.bay.book(), "office", 1);
    REQUIRE(plan.ok());
    p.office.place("spot", Role::waste, "5L", {"coolant"});
    (void)p.to_bay();
    CHECK(forget_installation(p.bay.book(), *plan, p.bay.stamp()).refusal().code ==
          Code::not_allowed);
    CHECK(p.bay.book().find_place("spot").ok());
  }

  TEST_CASE(
      "one number with two entries is told as what it may be, with both times and the way out of "
      "each") {
    Pair p;
    TestBook other("office", 72);
    (void)met_by(other, file_of(p.bay.book()));
    (void)p.to_bay();
    other.now.ms += 7'200'000;
    other.place("pan-9", Role::hold_catch, "9L");
    p.office.place("pan-8", Role::hold_catch, "9L");
    (void)p.to_bay();
    const ExchangeIn in = met_by(p.bay, file_of(other.book()));
    const auto x = std::find_if(in.installations.begin(), in.installations.end(),
                                [](const Exchanged& e) { return e.tag == "office"; });
    REQUIRE(x != in.installations.end());
    CHECK(x->fork);
    CHECK(x->why_left.find("(recorded 2026-03-05T") != std::string::npos);
    CHECK(x->why_left.find("a copy of that book went on under the same installation, or somebody "
                           "else writes in its name") != std::string::npos);
    const auto says = [&](const char* words) {
      return std::any_of(x->what_next.begin(), x->what_next.end(),
                         [&](const std::string& s) { return s.find(words) != std::string::npos; });
    };
    CHECK(says("baybook exchange forget office --from "));
    CHECK(says("baybook entry "));
  }
}
