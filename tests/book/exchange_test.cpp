#include "support/exchange_lines.hpp"
#include "support/random_shop.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "log/sha256.hpp"

#include <baybook/erase.hpp>
#include <baybook/returns.hpp>

#include <algorithm>
#include <array>
#include <map>

using namespace baybook;
using namespace baybook::test;

namespace {

// A bay and an office that have each other's first entries and then went on by themselves.
struct TwoBooks {
  TestBook bay{"bay", 21};
  TestBook office{"office", 22};
  PlaceId drum, pan;
  CarId car;
  TwoBooks() {
    pan = bay.place("pan-1", Role::hold_catch, "25L");
    drum = bay.place("drum-coolant", Role::waste, "200L", {"coolant"});
    car = bay.car("MARSH-07", "200L");
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
  }
};

std::vector<std::string> split(const std::string& file) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < file.size();) {
    const std::size_t end = file.find('\n', at);
    out.push_back(file.substr(at, end - at));
    at = end + 1;
  }
  return out;
}

// The lines put together again with the last line made to fit them, as somebody with a text editor would.
std::string joined(std::vector<std::string> lines, int entries) {
  std::string out;
  lines.pop_back();
  for (const std::string& l : lines) out += l + "\n";
  log::Sha256 all;
  all.update(out);
  return out + "{\"entries\":" + std::to_string(entries) + ",\"sha256\":\"" + log::hex(all.finish()) + "\"}\n";
}

int entries_in(const std::vector<std::string>& lines) { return static_cast<int>(std::count_if(lines.begin(), lines.end(), [](const std::string& l) { return l.find("\"format\":") != std::string::npos; })); }

void sound(TestBook& b) {
  const auto p = prove(b.book());
  REQUIRE_MESSAGE(p.ok(), why(p));
  // What two shops did without knowing of each other may break a rule of a place: that is to be
  // settled, and no finding.
  for (const Finding& f : p->findings) CHECK_MESSAGE(false, f.what);
}

// One of a few names, so that two books come to have it without knowing of each other.
Draft twin(std::mt19937_64& rng) {
  const std::string n = std::to_string(rng() % 4);
  switch (rng() % 5) {
    case 0: {
      NewCar c;
      c.plate = "MARSH-0" + n;
      c.make = "Corvane";
      c.model = "Tern";
      c.keeper = "Maren Quill";
      c.circuits = {{"coolant", litres("6L"), ""}};
      return c;
    }
    case 1: {
      NewPlace p;
      p.code = "tray-" + n;
      p.role = rng() % 2 == 0 ? Role::hold_catch : Role::stock;
      return p;
    }
    case 2: {
      NewPerson p;
      p.name = "Maren Quill " + n;
      return p;
    }
    case 3: {
      NewFirm f;
      f.code = "tarn-" + n;
      f.name = "Quill & Tarn";
      f.contact = "gate " + n;
      f.carries = f.receives = true;
      return f;
    }
    default: {
      NewFluid f;
      f.code = "violet-" + n;
      f.of_class = "coolant";
      return f;
    }
  }
}

std::optional<Draft> settlement(TestBook& b, std::mt19937_64& rng) {
  auto open = conflicts(b.book());
  REQUIRE_MESSAGE(open.ok(), why(open));
  if (open->empty()) return {};
  // What can be chosen is rare among names, and is not to be left to chance.
  std::vector<Conflict> can_choose = *open;
  std::erase_if(can_choose, [](const Conflict& c) { return c.choices.empty(); });
  const bool choose = !can_choose.empty() && rng() % 4 != 0;
  const std::vector<Conflict>& among = choose ? can_choose : *open;
  const Conflict& c = among[rng() % among.size()];
  if (choose)
    return Choice{c.choices[rng() % c.choices.size()].id, "looked at both"};
  if (c.entries.size() < 2) return {};
  Settle s;
  const bool first = rng() % 2 == 0;
  s.keep = c.entries[first ? 0 : 1].id;
  s.other = c.entries[first ? 1 : 0].id;
  s.join = rng() % 4 != 0;
  s.why = "looked at both";
  return s;
}

// A place, a fluid or a car of whatever book is withdrawn, with or without what stands on it; or one that was is brought back.
std::optional<Correction> taking_back(TestBook& b, std::mt19937_64& rng) {
  Correction c;
  c.withdraw = true;
  c.with_dependants = rng() % 2 == 0;
  c.why = "it never was";
  std::vector<EntryId> all;
  const bool back = rng() % 4 == 0;
  auto q = b->inside().db.query(back ? "SELECT a.entry FROM amended a JOIN entry e ON e.id = a.target WHERE a.withdrawn = 1 AND e.kind IN (2, 4, 6) ORDER BY a.entry" : "SELECT id FROM entry WHERE kind IN (2, 4, 6) ORDER BY id");
  while (q.step()) all.push_back(EntryId{q.num(0)});
  if (all.empty()) return {};
  c.target = all[rng() % all.size()];
  return c;
}

// What somebody moved, put right by whoever comes along.
Correction another_amount(TestBook& b, std::mt19937_64& rng) {
  std::vector<EntryId> all{EntryId{1}};
  auto q = b->inside().db.query("SELECT id FROM entry WHERE kind = 15 ORDER BY id");
  while (q.step()) all.push_back(EntryId{q.num(0)});
  Correction c;
  c.target = all[rng() % all.size()];
  c.patch.amount = litres(std::to_string(1 + rng() % 9) + "L");
  c.why = "read the jug wrong";
  return c;
}

Erasure erasure_of_one(TestBook& b, std::mt19937_64& rng) {
  Erasure e;
  const std::string n = std::to_string(rng() % 4);
  switch (rng() % 3) {
    case 0:
      if (auto car = b.book().find_car("MARSH-0" + n); car.ok()) e.car = *car;
      e.keeper = e.plate = true;
      break;
    case 1:
      if (auto person = b.book().find_person("Maren Quill " + n); person.ok()) e.person = *person;
      break;
    default:
      if (auto firm = b.book().find_firm("tarn-" + n); firm.ok()) e.firm = *firm;
  }
  return e;
}

// The derived tables of all, as they are and folded anew.
void same_in_all(const std::array<TestBook*, 3>& books) {
  const std::string state = books[0]->dump(true);
  for (TestBook* b : books) CHECK(difference(state, b->dump(true)) == "");
  for (TestBook* b : books) {
    REQUIRE(b->book().rebuild().ok());
    CHECK(difference(state, b->dump(true)) == "");
    sound(*b);
  }
}

}  // namespace

TEST_SUITE("book/exchange") {
  TEST_CASE("entries and private texts of one book are in the other after an exchange, and both are sound") {
    TwoBooks two;
    const JobId job = two.bay.job(two.car);
    two.bay.write(TestBook::move(MoveVerb::drain, two.bay.coolant(two.car), two.drum, "5L", job));
    const ExchangeIn in = taken(two.office, file_of(two.bay.book()));
    CHECK(in.taken == 2);
    CHECK(in.left == 0);
    CHECK(two.office.level(two.drum) == 5 * L);
    CHECK(car(two.office.book(), two.office.book().find_car("MARSH-07").value())->plate == "MARSH-07");
    sound(two.office);
    const JobId there = two.office.book().find_job("1@bay").value();
    CHECK(there == job);
    CHECK(two.office.book().find_job("1", Match::part).value() == job);  // no job of its own has that number
  }

  TEST_CASE("the same file a second time changes nothing") {
    TwoBooks two;
    const std::string file = file_of(two.bay.book());
    const std::string before = two.office.dump();
    const ExchangeIn in = taken(two.office, file);
    CHECK(in.taken == 0);
    CHECK(difference(before, two.office.dump()) == "");
  }

  TEST_CASE("a dry run tells the same and writes nothing") {
    TwoBooks two;
    two.bay.job(two.car);
    const std::string before = two.office.dump();
    const auto tried = take_in(two.office, file_of(two.bay.book()), {}, true);
    REQUIRE_MESSAGE(tried.ok(), why(tried));
    CHECK(tried->taken == 1);
    CHECK(tried->dry_run);
    CHECK(difference(before, two.office.dump()) == "");
  }

  TEST_CASE("a file since a seal carries what comes after it, and is refused where that is not") {
    TwoBooks two;
    const std::string seal = two.bay->seal();
    two.bay.job(two.car);
    const std::string file = file_of(two.bay.book(), {seal});
    CHECK(entries_in(split(file)) == 1);
    CHECK(taken(two.office, file).taken == 1);
    TestBook third("third", 23);
    const std::string before = third.dump();
    const auto r = take_in(third, file);
    REQUIRE(!r.ok());
    CHECK(r.refusal().what.find("begins after entry 4@bay, this book ends at 0") != std::string::npos);
    CHECK(difference(before, third.dump()) == "");
  }

  TEST_CASE("three installations that exchange in random orders hold the same book in the end") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("BAYBOOK_SEED=" << seed);
    std::mt19937_64 rng(seed);
    TestBook bay("bay", seed);
    TestBook office("office", seed + 1);
    TestBook van("van", seed + 2);
    RandomShop one(bay, seed + 3, "b");
    for (int i = 0; i < 40; ++i) one.act();
    (void)taken(office, file_of(bay.book()));
    (void)taken(van, file_of(bay.book()));
    office.now = van.now = bay.now;
    RandomShop two(office, seed + 4, one);
    RandomShop three(van, seed + 5, one);
    const std::array<TestBook*, 3> books{&bay, &office, &van};
    RandomShop* shops[] = {&one, &two, &three};
    for (int i = 0; i < 160; ++i) {
      const std::size_t who = rng() % 3;
      shops[who]->act();
      if (rng() % 16 == 0) {
        const std::size_t from = rng() % 3;
        if (from != who) (void)taken(*books[who], file_of(books[from]->book()));
      }
    }
    std::vector<std::pair<std::size_t, std::size_t>> ways;
    for (int round = 0; round < 2; ++round) {
      for (std::size_t a = 0; a < 3; ++a) {
        for (std::size_t b = 0; b < 3; ++b) {
          if (a != b) ways.emplace_back(a, b);
        }
      }
    }
    std::shuffle(ways.begin(), ways.end(), rng);
    for (const auto& way : ways) (void)taken(*books[way.second], file_of(books[way.first]->book()));
    // A shuffle may have left the last word on its way.
    for (std::size_t a : {1U, 2U}) (void)taken(bay, file_of(books[a]->book()));
    for (std::size_t a : {1U, 2U}) (void)taken(*books[a], file_of(bay.book()));
    same_in_all(books);
  }

  TEST_CASE("what three installations name alike, join, keep apart, take back and erase comes to one state in any order of exchanges") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("BAYBOOK_SEED=" << seed);
    std::mt19937_64 rng(seed);
    TestBook bay("bay", seed), office("office", seed + 1), van("van", seed + 2);
    const std::array<TestBook*, 3> books{&bay, &office, &van};
    RandomShop one(bay, seed + 3, "a"), two(office, seed + 4, "b"), three(van, seed + 5, "c");
    RandomShop* shops[] = {&one, &two, &three};
    std::vector<EntryId> settled;
    std::size_t joined_ones = 0, chosen = 0, corrected = 0, erasures = 0, brought = 0, withdrawn = 0;
    for (int i = 0; i < 300; ++i) {
      const std::size_t who = rng() % 3;
      TestBook& b = *books[who];
      b.now.ms += 60000;
      const std::uint64_t what = rng() % 14;
      if (what >= 12) {
        // What stands on it in this book is asked after; what another book wrote on it meanwhile is not known here.
        if (rng() % 2 == 0) corrected += b.book().append(another_amount(b, rng), b.stamp()).ok();
        else if (const auto draft = taking_back(b, rng)) withdrawn += b.book().append(*draft, b.stamp()).ok();
      } else if (what < 3) {
        (void)b.book().append(twin(rng), b.stamp());
      } else if (what < 5) {
        if (auto draft = settlement(b, rng)) {
          const auto r = b.book().append(*draft, b.stamp());
          if (r.ok()) settled.push_back(r->entry.id);
          const Settle* pair = std::get_if<Settle>(&*draft);
          joined_ones += r.ok() && pair != nullptr && pair->join;
          chosen += r.ok() && pair == nullptr;
        }
      } else if (what == 5 && !settled.empty() && rng() % 3 == 0) {
        Correction c;
        c.target = settled[rng() % settled.size()];
        c.why = "they were right as they were";
        c.withdraw = true;
        (void)b.book().append(c, b.stamp());
      } else if (what == 6) {
        erasures += b.book().append(erasure_of_one(b, rng), b.stamp()).ok();
      } else if (what == 7 || what == 8) {
        const std::size_t from = rng() % 3;
        if (from != who) brought += static_cast<std::size_t>(taken(b, file_of(books[from]->book())).taken);
        sound(b);  // as it is now: what comes later may fold all of it anew and hide what is wrong
      } else {
        shops[who]->act();
      }
    }
    CAPTURE(joined_ones);
    CAPTURE(chosen);
    CAPTURE(corrected);
    CAPTURE(erasures);
    CAPTURE(withdrawn);
    CHECK(brought > 0);
    for (int round = 0; round < 2; ++round) {
      for (TestBook* to : books) {
        for (TestBook* from : books) {
          if (from == to) continue;
          const ExchangeIn in = taken(*to, file_of(from->book()));
          for (const Exchanged& x : in.installations) CHECK_MESSAGE(x.left == 0, x.why_left);
        }
      }
    }
    same_in_all(books);
    for (TestBook* b : books) {
      EntryFilter every;
      every.newest = 1'000'000;
      const auto all = entries(b->book(), every);
      CHECK_MESSAGE(all.ok(), why(all));
    }
  }

  TEST_CASE("a few entries are folded one by one to the same rows as all of them folded anew") {
    const std::uint64_t seed = seed_of_run();
    CAPTURE(seed);
    TestBook bay("bay", seed);
    TestBook office("office", seed + 1);
    RandomShop one(bay, seed + 2, "b");
    for (int round = 0; round < 12; ++round) {
      for (int i = 0; i < 12; ++i) one.act();
      (void)taken(office, file_of(bay.book()));
    }
    const std::string live = office.dump(true);
    REQUIRE(office.book().rebuild().ok());
    CHECK(difference(live, office.dump(true)) == "");
  }

  TEST_CASE("of a copy that went on under the same installation nothing is taken beyond the fork, and both digests are named") {
    TwoBooks two;
    // The copy: the same installation and the same first entries, then another fifth entry.
    TestBook copy("bay", 21);
    copy.place("pan-1", Role::hold_catch, "25L");
    copy.place("drum-coolant", Role::waste, "200L", {"coolant"});
    copy.car("MARSH-07", "200L");
    REQUIRE(copy->seal() == two.bay->seal());
    two.bay.job(two.car);
    copy.place("pan-9", Role::hold_catch, "9L");
    // The office wrote on the true one, and the third one carries both.
    (void)taken(two.office, file_of(two.bay.book()));
    TestBook third("third", 23);
    (void)taken(third, file_of(copy.book()));
    third.place("tray", Role::hold_catch, "5L");
    const ExchangeIn in = taken(two.office, file_of(third.book()));
    const auto bay = std::find_if(in.installations.begin(), in.installations.end(), [](const Exchanged& x) { return x.tag == "bay"; });
    REQUIRE(bay != in.installations.end());
    CHECK(bay->fork);
    CHECK(bay->left == 1);
    CHECK(bay->why_left.find("entry 5@bay has digest " + std::string(two.bay->seal().substr(6)) + " here and " + std::string(copy->seal().substr(6)) + " in the file") != std::string::npos);
    CHECK(in.taken == 3);  // the opening, the word about the bay, and the tray of the third
    CHECK(two.office.book().find_place("tray").ok());
    CHECK(!two.office.book().find_place("pan-9").ok());
    sound(two.office);
  }

  TEST_CASE("what rests on entries that were not taken is left with them, and the rest comes in") {
    TwoBooks two;
    TestBook copy("bay", 21);
    copy.place("pan-1", Role::hold_catch, "25L");
    copy.place("drum-coolant", Role::waste, "200L", {"coolant"});
    copy.car("MARSH-07", "200L");
    const PlaceId wrong = copy.place("pan-9", Role::hold_catch, "9L");
    two.bay.job(two.car);
    TestBook third("third", 23);
    (void)taken(third, file_of(copy.book()));
    third.place("tray", Role::hold_catch, "5L");
    PlaceMark m;
    m.what = PlaceMark::What::retire;
    m.place = wrong;
    third.write(m);
    third.place("tray-2", Role::hold_catch, "5L");
    const ExchangeIn in = taken(two.bay, file_of(third.book()));
    const auto of_third = std::find_if(in.installations.begin(), in.installations.end(), [](const Exchanged& x) { return x.tag == "third"; });
    REQUIRE(of_third != in.installations.end());
    CHECK(of_third->taken == 3);  // with its word about the bay
    CHECK(of_third->left == 2);
    CHECK(two.bay.book().find_place("tray").ok());
    CHECK(!two.bay.book().find_place("tray-2").ok());
    sound(two.bay);
  }

  TEST_CASE("an entry whose text was erased by one that is not taken is left with it, so that no text is missing without a reason") {
    TestBook bay("bay", 21);
    bay.place("pan-1", Role::hold_catch, "25L");
    const CarId car = bay.car("MARSH-07", "200L");
    // The office and a copy of it under the same installation; only the copy knows the car, and erases its plate.
    TestBook office("office", 22), copy("office", 22);
    (void)taken(copy, file_of(bay.book()));
    Erasure e;
    e.car = car;
    e.plate = true;
    copy.write(e);
    office.place("tray", Role::hold_catch, "5L");
    TestBook third("third", 23);
    (void)taken(third, file_of(office.book()));
    const ExchangeIn in = taken(third, file_of(copy.book()));
    const auto of_bay = std::find_if(in.installations.begin(), in.installations.end(), [](const Exchanged& x) { return x.tag == "bay"; });
    REQUIRE(of_bay != in.installations.end());
    CHECK(of_bay->taken == 2);
    CHECK(of_bay->left == 1);
    CHECK(of_bay->why_left == "entry 3@bay rests on an erasure of its private text \"plate\", which is not here");
    CHECK(third.book().find_place("pan-1").ok());
    sound(third);
    // With the erasure it comes in, and so it does from a book in which the text still is.
    TestBook fourth("fourth", 24);
    CHECK(taken(fourth, file_of(copy.book())).left == 0);
    sound(fourth);
    CHECK(taken(third, file_of(bay.book())).taken == 1);
    sound(third);
  }

  TEST_CASE("from a file that somebody took a private text out of, the entry and what follows it are left") {
    TwoBooks two;
    two.bay.place("tray", Role::hold_catch, "5L");
    auto lines = split(file_of(two.bay.book()));
    const int entries = entries_in(lines);
    const auto text = std::find_if(lines.begin(), lines.end(), [](const std::string& l) { return l.find("\"field\":\"plate\"") != std::string::npos; });
    REQUIRE(text != lines.end());
    lines.erase(text);
    TestBook third("third", 23);
    const ExchangeIn in = taken(third, joined(lines, entries));
    CHECK(in.taken == 3);
    CHECK(in.left == 2);
    CHECK(!third.book().find_place("tray").ok());
    sound(third);
  }

  TEST_CASE("an erasure that comes in with a settlement takes its texts out all the same") {
    TestBook bay("bay", 31), office("office", 32);
    bay.car("MARSH-07");
    office.car("MARSH-07");
    (void)taken(bay, file_of(office.book()));
    auto open = conflicts(bay.book());
    REQUIRE_MESSAGE(open.ok(), why(open));
    REQUIRE(open->size() == 1);
    REQUIRE(open->front().entries.size() == 2);
    Settle s;
    s.keep = open->front().entries[0].id;
    s.other = open->front().entries[1].id;
    bay.write(s);
    Erasure e;
    e.car = CarId{s.keep.n};
    e.plate = true;
    bay.write(e);
    CHECK(taken(office, file_of(bay.book())).taken ==
          5);  // the opening, the car, the word, the settlement, the erasure
    CHECK(office.dump().find("MARSH-07") == std::string::npos);
    sound(office);
  }

  TEST_CASE("two settlements that come in taken back together leave two things, as if they had never been joined") {
    TestBook bay("bay", 31), office("office", 32);
    const PlaceId here = bay.place("tray", Role::hold_catch, "5L");
    const PlaceId there = office.place("tray", Role::hold_catch, "5L");
    (void)taken(bay, file_of(office.book()));
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
    EntryId first = bay.write(Settle{EntryId{here.n}, EntryId{there.n}, true, {}}).entry.id;
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
    EntryId second = office.write(Settle{EntryId{there.n}, EntryId{here.n}, true, {}}).entry.id;
    (void)taken(bay, file_of(office.book()));
    for (const EntryId settled : {first, second}) {
      Correction c;
      c.target = settled;
      c.why = "they are two";
      c.withdraw = true;
      office.write(c);
    }
    CHECK(taken(bay, file_of(office.book())).taken == 2);
    CHECK(bay.book().find_place("tray@bay").value() == here);
    CHECK(bay.book().find_place("tray@office").value() == there);
    CHECK(difference(bay.dump(true), office.dump(true)) == "");
    sound(bay);
  }

  TEST_CASE("of a month that two books closed the earlier closing holds, and the other one when that is withdrawn") {
    TwoBooks two;
    for (TestBook* b : {&two.bay, &two.office}) b->now = instant("2026-04-02T09:00:00.000Z");
    const Month march = month_of(day("2026-03-01"));
    const EntryId first = two.bay.write(CloseMonth{march, ""}).entry.id;
    two.office.now.ms += 86'400'000;
    two.office.write(TestBook::move(MoveVerb::discard, kSupplier, two.drum, "1L", {}, FluidId{1}), "2026-03-20");
    const EntryId second = two.office.write(CloseMonth{march, ""}).entry.id;
    (void)taken(two.bay, file_of(two.office.book()));
    (void)taken(two.office, file_of(two.bay.book()));
    two.bay.now = two.office.now;
    for (TestBook* b : {&two.bay, &two.office}) {
      const auto closed = closed_month(b->book(), march);
      REQUIRE_MESSAGE(closed.ok(), why(closed));
      REQUIRE(closed->has_value());
      CHECK((*closed)->entry.id == first);
      CHECK(!(*closed)->differences.empty());
      const auto open = conflicts(b->book());
      REQUIRE_MESSAGE(open.ok(), why(open));
      CHECK(std::any_of(open->begin(), open->end(), [](const Conflict& c) { return c.what == Conflict::What::closing; }));
    }
    Correction c;
    c.target = first;
    c.withdraw = true;
    c.why = "closed again by the office";
    two.bay.write(c);
    const auto closed = closed_month(two.bay.book(), march);
    REQUIRE_MESSAGE(closed.ok(), why(closed));
    REQUIRE(closed->has_value());
    CHECK((*closed)->entry.id == second);
    CHECK((*closed)->differences.empty());
  }

  TEST_CASE("a month closed in a book that has another tag here names no entry as later that was in it") {
    TestBook bay("bay", 31), other("bay", 32);
    const PlaceId drum = other.place("drum-coolant", Role::waste, "200L", {"coolant"});
    other.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "3L", {}, FluidId{1}));
    other.now = instant("2026-04-02T09:00:00.000Z");
    const Month march = month_of(day("2026-03-01"));
    other.write(CloseMonth{march, ""});
    // Entries of this book's own from the closed month, too, of which that one knew nothing.
    const PlaceId tray = bay.place("tray", Role::waste, "20L", {"coolant"});
    const EntryId late = bay.write(TestBook::move(MoveVerb::discard, kSupplier, tray, "1L", {}, FluidId{1})).entry.id;
    const auto in = take_in(bay, file_of(other.book()), {"bay=van"});
    REQUIRE_MESSAGE(in.ok(), why(in));
    const auto closed = closed_month(bay.book(), march);
    REQUIRE_MESSAGE(closed.ok(), why(closed));
    REQUIRE(closed->has_value());
    REQUIRE((*closed)->causes.size() == 1);
    CHECK((*closed)->causes[0].ref.id == late);
    CHECK((*closed)->seal.starts_with("van:3:"));
    const auto there = closed_month(other.book(), march);
    REQUIRE_MESSAGE(there.ok(), why(there));
    CHECK((*there)->seal.starts_with("bay:3:"));
    CHECK((*there)->causes.empty());
  }

  TEST_CASE("papers wanted are those that the entries taken name: a withdrawn one takes none away") {
    TwoBooks two;
    Paper p;
    p.about = EntryId{two.drum.n};
    p.file = "slip.pdf";
    p.sha256 = std::string(64, 'a');
    p.bytes = 7;
    const EntryId paper = two.bay.write(p).entry.id;
    CHECK(taken(two.office, file_of(two.bay.book())).papers_wanted == 1);
    Correction c;
    c.target = paper;
    c.withdraw = true;
    c.why = "another drum's";
    two.bay.write(c);
    CHECK(taken(two.office, file_of(two.bay.book())).papers_wanted == 0);
    c.target = two.bay.write(p).entry.id;
    two.bay.write(c);
    two.bay.write(p);
    CHECK(taken(two.office, file_of(two.bay.book())).papers_wanted == 1);
  }

  TEST_CASE("a book takes no entries of its own installation that it did not write") {
    TwoBooks two;
    TestBook older("bay", 21);
    two.bay.job(two.car);
    older.place("pan-1", Role::hold_catch, "25L");
    const std::string before = older.dump();
    const auto in = take_in(older, file_of(two.bay.book()));
    REQUIRE_MESSAGE(in.ok(), why(in));
    CHECK(in->taken == 0);
    REQUIRE(in->installations.size() == 1);
    CHECK(in->installations[0].fork);
    CHECK(in->installations[0].why_left.find("backup --continue") != std::string::npos);
    CHECK(difference(before, older.dump()) == "");
  }

  TEST_CASE("two installations of one tag are told apart by another tag for the newcomer") {
    TestBook bay("bay", 31);
    TestBook other("bay", 32);
    other.place("tray", Role::hold_catch, "5L");
    const auto r = take_in(bay, file_of(other.book()));
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::ambiguous);
    CHECK(r.refusal().instead == "--call bay=bay-2");
    const auto in = take_in(bay, file_of(other.book()), {"bay=bay-2"});
    REQUIRE_MESSAGE(in.ok(), why(in));
    CHECK(bay.book().find_place("tray@bay-2").ok());
    sound(bay);
    // The next file of it needs no word about that again.
    other.place("tray-2", Role::hold_catch, "5L");
    CHECK(taken(bay, file_of(other.book())).taken == 1);
    // A third one of that tag: what is said to be typed can be typed, whatever was tried before.
    TestBook third("bay", 33);
    const auto as_is = take_in(bay, file_of(third.book()));
    REQUIRE(!as_is.ok());
    CHECK(as_is.refusal().instead == "--call bay=bay-3");
    const auto taken_tag = take_in(bay, file_of(third.book()), {"bay=bay-2"});
    REQUIRE(!taken_tag.ok());
    CHECK(taken_tag.refusal().instead == "--call bay=bay-3");
    CHECK(take_in(bay, file_of(third.book()), {"bay=bay-3"}).ok());
  }

  TEST_CASE("a seal is read by its digest when the other book goes by another tag here") {
    TestBook bay("bay", 31);
    TestBook other("bay", 32);
    other.place("tray", Role::hold_catch, "5L");
    other.place("tray-2", Role::hold_catch, "5L");
    REQUIRE(take_in(bay, file_of(other.book()), {"bay=van"}).ok());
    const std::string seal = other.book().seal();
    REQUIRE(seal.starts_with("bay:3:"));
    std::string out;
    const auto e = exchange_out(bay.book(), {seal}, [&](std::string_view text) { out += text; });
    REQUIRE_MESSAGE(e.ok(), why(e));
    CHECK(e->entries == 2);  // the bay's own start, and its word about the other
    const auto wrong = exchange_out(bay.book(), {"bay:3:" + std::string(16, '0')}, [](std::string_view) {});
    CHECK_FALSE(wrong.ok());
  }

  TEST_CASE("of a damaged file nothing is taken: every line changed, left out, doubled, swapped or cut is refused") {
    TwoBooks two;
    NewPerson p;
    p.name = "Maren Ødegård";
    p.contact = "slip 7";
    two.bay.write(p);
    two.bay.job(two.car);
    const std::string file = file_of(two.bay.book());
    const std::vector<std::string> lines = split(file);
    const std::string before = two.office.dump();
    int refused = 0;
    const auto must_refuse = [&](const std::string& text) {
      const auto r = take_in(two.office, text);
      CHECK_FALSE_MESSAGE(r.ok(), text);
      if (!r.ok()) {
        ++refused;
        CHECK(!r.refusal().instead.empty());
      }
      CHECK(difference(before, two.office.dump()) == "");
    };
    for (std::size_t n = 0; n < file.size(); n += 3) {
      if (n + 1 < file.size()) must_refuse(file.substr(0, n));  // only the last line end may be missing
      std::string flipped = file;
      flipped[n] = static_cast<char>(flipped[n] ^ 1);
      must_refuse(flipped);
    }
    for (std::size_t n = 0; n + 1 < lines.size(); ++n) {
      std::vector<std::string> without = lines;
      without.erase(without.begin() + static_cast<std::ptrdiff_t>(n));
      // Without a private text it is the file of a book in which that was erased, without the last entry one made earlier: no damage.
      if (lines[n].find("\"field\":") == std::string::npos && n + 2 < lines.size()) must_refuse(joined(without, entries_in(without)));
      std::vector<std::string> twice = lines;
      twice.insert(twice.begin() + static_cast<std::ptrdiff_t>(n), lines[n]);
      if (n != 0) must_refuse(joined(twice, entries_in(twice)));
      if (n + 2 < lines.size()) {
        std::vector<std::string> swapped = lines;
        std::swap(swapped[n], swapped[n + 1]);
        const bool two_texts = lines[n].find("\"field\":") != std::string::npos && lines[n + 1].find("\"field\":") != std::string::npos;
        if (!two_texts) must_refuse(joined(swapped, entries_in(swapped)));
      }
    }
    CHECK(refused > 300);
  }

  TEST_CASE("an installation that a file names and brings no entry of is not in the book afterwards") {
    TwoBooks two;
    std::vector<std::string> lines = split(file_of(two.bay.book()));
    lines.insert(lines.end() - 1, "{\"after\":0,\"digest\":\"" + std::string(64, '0') + "\",\"installation\":\"fedcba9876543210fedcba9876543210\",\"tag\":\"van\"}");
    const auto in = meet(two.office, joined(lines, entries_in(lines)));
    REQUIRE_MESSAGE(in.ok(), why(in));
    CHECK(two.office->inside().known.all.size() == 2);
    two.office.place("tray", Role::hold_catch, "5L");
    sound(two.office);
  }

  TEST_CASE("an entry of a kind that this program does not know is a newer program's, and the file is left alone") {
    TwoBooks two;
    std::vector<std::string> lines = split(file_of(two.bay.book()));
    for (std::string& l : lines) {
      const std::size_t at = l.find("\"kind\":\"car\"");
      if (at != std::string::npos) l.replace(at, 12, "\"kind\":\"cat\"");
    }
    TestBook third("third", 23);
    const auto r = take_in(third, joined(lines, entries_in(lines)));
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::unreadable);
    CHECK(r.refusal().instead == "a newer baybook");
  }
}
