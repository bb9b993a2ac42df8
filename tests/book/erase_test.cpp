// Personal data removed for good: which texts, from which files, what holds them, and what is left to see.
#include "support/erased.hpp"
#include "support/random_shop.hpp"

#include "support/carry.hpp"
#include "book/erase.hpp"

#include <baybook/due.hpp>
#include <baybook/erase.hpp>
#include <baybook/returns.hpp>

#include <SQLiteCpp/SQLiteCpp.h>

#include <fstream>

using namespace baybook;
using namespace baybook::test;

namespace {

Erasure everything_of(CarId car) {
  Erasure e;
  e.car = car;
  e.keeper = e.plate = e.vin = e.texts = true;
  return e;
}

// A car whose texts were written, changed, corrected and withdrawn, with a closed job, and another one beside it.
struct EraseShop : TestBook {
  CarId car, other;
  JobId job;
  EntryId registered, moved, slip;
  const std::vector<std::string> secrets = {"Ygritte Håkonsson", "+351 21 555 0199", "Rua do Moinho 14", "QX-SECRET-1", "QX-LATER-2", "QX-SLIPPED-3", "QXSECRET1", "QXLATER2", "1M8GDM9AXKP042788", "clunk by the Løkken bridge", "was Ygritte's word", "told Ygritte to wait", "rattles when Ygritte drives"};

  explicit EraseShop(const char* begins = "2026-03-05T09:40:00.000Z") : TestBook("bay", 3, begins) {
    other = TestBook::car("DUNE-11");
    NewCar c;
    c.plate = "QX-SECRET-1";
    c.vin = "1M8GDM9AXKP042788";
    c.make = "Corvane";
    c.model = "Tern";
    c.circuits = {{"coolant", litres("6.8L"), ""}};
    c.keeper = "Ygritte Håkonsson";
    c.keeper_contact = "+351 21 555 0199";
    registered = write(c).entry.id;
    car = CarId{registered.n};
    CarChange x;
    x.car = car;
    x.plate = "QX-LATER-2";
    x.keeper_contact = "Rua do Moinho 14";
    moved = write(x).entry.id;
    CarChange wrong;
    wrong.car = car;
    wrong.plate = "QX-SLIPPED-3";
    slip = write(wrong).entry.id;
    Correction w;
    w.target = slip;
    w.withdraw = true;
    w.why = "was Ygritte's word";
    write(w);
    OpenJob j;
    j.car = car;
    j.complaint = "clunk by the Løkken bridge";
    job = JobId{write(j).entry.id.n};
    Correction again;
    again.target = EntryId{job.n};
    again.patch.text = "rattles when Ygritte drives";
    again.why = "heard it";
    write(again);
    Work k;
    k.job = job;
    k.text = "told Ygritte to wait";
    write(k);
    CloseJob done;
    done.job = job;
    write(done);
  }
};

struct SentOff : TestBook {
  PlaceId drum;
  FirmId firm;
  EntryId pickup;
  SentOff() : TestBook("bay", 4, "2026-01-05T09:00:00.000Z") {
    write(ChooseRules{"us-federal", day("2026-01-01"), "", ""});
    drum = place("drum-coolant", Role::waste, "180L", {"coolant"});
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Recovery";
    f.contact = "Oona, +44 1632 960001";
    f.carries = f.receives = true;
    firm = FirmId{write(f).entry.id.n};
    write(move(MoveVerb::discard, kSupplier, drum, "20L", {}, FluidId{find_class("coolant")->number}));
    now = instant("2026-02-28T10:00:00.000Z");
    Movement m = move(MoveVerb::pickup, drum, kReceiver, "10L");
    m.carrier_firm = firm;
    m.note = "driver was Bram";
    pickup = write(m).entry.id;
  }
  Result<Receipt> erase_entry(EntryId entry, const char* field = "", bool when_allowed = false) {
    Erasure e;
    e.entry = entry;
    e.field = field;
    e.when_allowed = when_allowed;
    return try_write(e);
  }
};

}  // namespace

TEST_SUITE("book/erase") {
  TEST_CASE("after everything of a car is erased, its texts of all times are in no file of the book and in no new copy, and the book is sound") {
    EraseShop s;
    const auto folder = std::filesystem::path(s.file()).parent_path();
    for (const std::string& secret : s.secrets) {
      CAPTURE(secret);
      CHECK(times_in_files(folder, secret) > 0);
    }
    const Receipt r = s.write(everything_of(s.car));
    CHECK_FALSE(r.unfinished);
    CHECK(r.summary == "erased 12 texts of car:" + std::to_string(s.registered.number()) + ", on request");
    for (const std::string& secret : s.secrets) {
      CAPTURE(secret);
      CHECK(times_in_files(folder, secret) == 0);
      CHECK(r.body.find(secret) == std::string::npos);
    }
    CHECK(times_in_files(folder, "DUNE-11") > 0);
    {
      SQLite::Database db(s.file(), SQLite::OPEN_READONLY);
      db.exec("VACUUM INTO '" + s.folder().file("copy.baybook") + "'");
    }
    for (const std::string& secret : s.secrets) CHECK(times_in_files(folder, secret) == 0);
    CHECK(findings_of(s.book()) == "");
    const std::string live = s.dump(true);
    REQUIRE(s.book().rebuild().ok());
    CHECK(difference(live, s.dump(true)) == "");
  }

  TEST_CASE("rows that moved between pages of a grown book leave no older copy of what was deleted behind") {
    TestBook b;
    store::Db& db = b->inside().db;
    std::vector<std::string> keys, doubled;
    const auto put = [&](const std::string& key, std::int64_t car, std::int64_t entry) {
      auto q = db.query("INSERT OR REPLACE INTO plate(key, car, entry, worn) VALUES(?, ?, ?, 'w')");
      q.bind(key).bind(car).bind(entry).run();
    };
    const auto take = [&](const std::string& key) {
      auto q = db.query("DELETE FROM plate WHERE key = ?");
      q.bind(key).run();
    };
    const auto file = [&] {
      std::ifstream in(b.file(), std::ios::binary);
      return std::string{std::istreambuf_iterator<char>(in), {}};
    };
    const auto count = [](const std::string& all, const std::string& key) {
      int n = 0;
      for (std::size_t at = 0; (at = all.find(key, at)) != std::string::npos; at += key.size()) ++n;
      return n;
    };
    // Rows at random places, some taken out and put in again, until the unused middle of a page keeps an older copy of one.
    for (std::uint64_t seed = 1; seed <= 6 && doubled.empty(); ++seed) {
      std::mt19937_64 rng(seed);
      keys.clear();
      std::vector<std::int64_t> cars;
      {
        store::Transaction t(db);
        db.exec("DELETE FROM plate");
        for (int i = 0; i < 3000; ++i) {
          const std::string digits = std::to_string(10000000 + rng() % 89999999);
          keys.push_back("QX" + digits + "VALE");
          cars.push_back(static_cast<std::int64_t>(rng() >> 24));
          put(keys.back(), cars.back(), i);
        }
        t.commit();
      }
      {
        store::Transaction t(db);
        for (int n = 0; n < 1500; ++n) {
          const std::size_t i = rng() % keys.size();
          take(keys[i]);
          put(keys[i], cars[i], static_cast<std::int64_t>(i));
        }
        t.commit();
      }
      SQLite::Database(b.file(), SQLite::OPEN_READWRITE).exec("PRAGMA wal_checkpoint(TRUNCATE)");
      const std::string all = file();
      for (const std::string& k : keys) {
        if (count(all, k) > 2) doubled.push_back(k);  // once in the table, once in its index
      }
    }
    MESSAGE(doubled.size() << " rows had an older copy in the file");
    {
      store::Transaction t(db);
      for (const std::string& k : doubled) take(k);
      take(keys.front());
      t.commit();
    }
    REQUIRE(db.rewrite());
    const std::string all = file();
    for (const std::string& k : doubled) CHECK(count(all, k) == 0);
    CHECK(count(all, keys.front()) == 0);
    CHECK(count(all, keys.back()) == 2);
    CHECK(std::filesystem::file_size(b.file() + "-wal") == 0);
  }

  TEST_CASE("a car without its plate is called by its number wherever it is shown, and found by it alone") {
    EraseShop s;
    s.write(everything_of(s.car));
    const std::string name = "car:" + std::to_string(s.registered.number());
    CHECK(s->plate_of(s.car) == name);
    CHECK(s->find_car(name).value() == s.car);
    for (const char* plate : {"QX-LATER-2", "QX-SECRET-1", "QXLATER", "042788"}) CHECK(s->find_car(plate).refusal().code == Code::not_found);
    CHECK(s->find_car("car:9999").refusal().code == Code::not_found);
    const CarView v = car(s.book(), s.car).value();
    CHECK(v.plate == name);
    CHECK(v.plate_erased);
    CHECK(v.earlier_plates == std::vector<std::string>{"(erased)"});
    CHECK(v.vin == "(erased)");
    CHECK(v.keeper == "(erased)");
    CHECK(v.make == "Corvane");
    const auto story = history(s.book(), s.car).value();
    REQUIRE(story.size() == 5);
    for (const EntryView& e : story) {
      CHECK(e.car == name);
      if (e.kind == "car-change") CHECK(e.summary == "car changed, plate (erased)");
      if (e.kind == "work" || e.kind == "job") CHECK(e.text == "(erased)");
    }
    const LastDone l = last(s.book(), s.car).value();
    CHECK(l.last_job->complaint == "(erased)");
    CHECK(l.last_job->plate == name);
    const auto all = entries(s.book(), {}).value();
    CHECK(all.size() > 8);
    for (const EntryView& e : all) {
      for (const std::string& secret : s.secrets) CHECK((e.summary + e.text + e.car + e.body).find(secret) == std::string::npos);
    }
    CHECK(entry(s.book(), s.registered)->private_values == std::vector<std::pair<std::string, std::string>>{{"keeper", ""}, {"keeper-contact", ""}, {"plate", ""}, {"vin", ""}});
    const auto names = s->names("cars");
    CHECK(std::find(names.begin(), names.end(), name) != names.end());
    // It goes on as a car: a job, and a new plate.
    OpenJob o;
    o.car = s.car;
    s.write(o);
    CarChange x;
    x.car = s.car;
    x.plate = "FEN-20";
    s.write(x);
    CHECK(s->find_car("FEN-20").value() == s.car);
    CHECK(s->plate_of(s.car) == "FEN-20");
    CHECK(findings_of(s.book()) == "");
  }

  TEST_CASE("only what is named goes: a keeper leaves plate, texts and every other car as they were") {
    EraseShop s;
    Erasure e;
    e.car = s.car;
    e.keeper = true;
    s.write(e);
    const CarView v = car(s.book(), s.car).value();
    CHECK(v.keeper == "(erased)");
    CHECK(v.plate == "QX-LATER-2");
    CHECK(v.earlier_plates == std::vector<std::string>{"QX-SECRET-1"});
    CHECK(v.vin == "1M8GDM9AXKP042788");
    CHECK(job(s.book(), s.job)->complaint == "rattles when Ygritte drives");
    const auto folder = std::filesystem::path(s.file()).parent_path();
    CHECK(times_in_files(folder, "Ygritte Håkonsson") == 0);
    CHECK(times_in_files(folder, "Rua do Moinho 14") == 0);
  }

  TEST_CASE("an older plate or text does not come back when the newer one is erased") {
    EraseShop s;
    Erasure e;
    e.entry = s.moved;
    e.field = "plate";
    s.write(e);
    CHECK(s->plate_of(s.car) == "car:" + std::to_string(s.registered.number()));
    CHECK(car(s.book(), s.car)->earlier_plates == std::vector<std::string>{"QX-SECRET-1"});
    CHECK(s->find_car("QX-SECRET-1").value() == s.car);
    // The correction's words replaced the complaint; they are erased, the complaint stays under them.
    const EntryId corrected = entry(s.book(), EntryId{s.job.n})->corrected_by.front().id;
    Erasure t;
    t.entry = corrected;
    t.field = "complaint";
    s.write(t);
    CHECK(job(s.book(), s.job)->complaint == "(erased)");
    CHECK(findings_of(s.book()) == "");
    const std::string live = s.dump(true);
    REQUIRE(s.book().rebuild().ok());
    CHECK(difference(live, s.dump(true)) == "");
  }

  TEST_CASE("somebody whose name is erased keeps their entries under a number, and two of them stay two") {
    TestBook b;
    PersonId who[2];
    for (int i = 0; i < 2; ++i) {
      NewPerson p;
      p.name = i == 0 ? "Sunniva Reyes" : "Bram Okafor";
      p.contact = "bay 2";
      who[i] = PersonId{b.write(p).entry.id.n};
    }
    const CarId car = b.car("DUNE-11");
    const JobId job = b.job(car);
    const PlaceId pan = b.place("pan-1", Role::hold_catch, "25L");
    for (const PersonId p : who) {
      Stamp s = b.stamp();
      s.by = p;
      REQUIRE(b.book().append(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "1L", job), s).ok());
      Erasure e;
      e.person = p;
      CHECK(b.write(e).summary.find("erased 2 texts of person:") == 0);
    }
    const std::string name = "person:" + std::to_string(EntryId{who[0].n}.number());
    CHECK(b->find_person("Sunniva Reyes").refusal().code == Code::not_found);
    CHECK(b->find_person(name).value() == who[0]);
    const JobView v = baybook::job(b.book(), job).value();
    REQUIRE(v.people.size() == 2);
    CHECK(v.people[0] == name + " (erased)");
    CHECK(split_totals(b.book(), day("2026-03-01"), day("2026-03-31"), SplitBy::person)->size() == 2);
    CHECK(times_in_files(std::filesystem::path(b.file()).parent_path(), "Sunniva") == 0);
    CHECK(findings_of(b.book()) == "");
    const std::string live = b.dump(true);
    REQUIRE(b.book().rebuild().ok());
    CHECK(difference(live, b.dump(true)) == "");
  }

  TEST_CASE("what a rule holds is refused with the section and the day, leaves everything as it was, and goes on that day") {
    SentOff s;
    s.now = instant("2026-06-01T10:00:00.000Z");
    const std::string before = s.dump();
    const auto no = s.erase_entry(s.pickup, "note");
    REQUIRE_FALSE(no.ok());
    CHECK(no.refusal().code == Code::not_allowed);
    CHECK(no.refusal().what == "1 of 1 text is held by a rule until 2029-02-28: the paper of pick-up " + std::to_string(s.pickup.number()));
    CHECK(no.refusal().why.find("40 CFR 262.40(a)") != std::string::npos);
    CHECK(no.refusal().instead.find("--when-allowed") != std::string::npos);
    Erasure f;
    f.firm = s.firm;
    CHECK(s.try_write(f).refusal().what.find("1 of 2 texts is held") == std::string::npos);  // the name alone is held, in words
    CHECK(s.try_write(f).refusal().what.find("the paper of pick-up") != std::string::npos);
    CHECK(difference(before, s.dump()) == "");
    // How to reach a firm is no part of a pick-up's paper.
    CHECK(s.erase_entry(EntryId{s.firm.n}, "contact").ok());
    s.now = instant("2029-02-27T10:00:00.000Z");
    s.clock_is_right = true;
    CHECK_FALSE(s.erase_entry(s.pickup, "note").ok());
    s.now = instant("2029-02-28T10:00:00.000Z");
    s.clock_is_right = true;
    CHECK(s.erase_entry(s.pickup, "note").ok());
    CHECK(s.try_write(f).ok());
    CHECK(firms(s.book())->front().name == "(erased)");
    CHECK(pickup(s.book(), s.pickup)->carrier == "(erased)");
    CHECK(findings_of(s.book()) == "");
  }

  TEST_CASE("a determination is held while none of its waste was sent off, then for its months") {
    SentOff s;
    Determination d;
    d.stream = "used-coolant";
    d.hazardous = false;
    d.reason = "lead 1.2 mg/L, measured by Maren";
    const RuleSet set = rules(s.book(), day("2026-03-01")).value();
    const std::vector<Stream>& known = set.streams;
    for (const Stream& x : known) {
      if (std::find(x.classes.begin(), x.classes.end(), "coolant") != x.classes.end()) d.stream = x.name;
    }
    const EntryId made = s.write(d).entry.id;
    CHECK(s.erase_entry(made).refusal().what.find("until 2029-02-28: the determination of ") != std::string::npos);
    Determination oil = d;
    for (const Stream& x : known) {
      if (std::find(x.classes.begin(), x.classes.end(), "engine-oil") != x.classes.end()) oil.stream = x.name;
    }
    oil.found = {{"halogens", "600 ppm"}};
    const EntryId never = s.write(oil).entry.id;
    CHECK(s.erase_entry(never).refusal().what.find("while none of that waste was sent off") != std::string::npos);
  }

  TEST_CASE("California holds a job's texts and whose car it was, from the closing of the job and not longer") {
    TestBook b("bay", 5, "2026-01-05T18:00:00.000Z");
    b.write(ChooseRules{"us-california", day("2026-01-01"), "", ""});
    NewCar c;
    c.plate = "MARSH-07";
    c.keeper = "Edda Linn";
    const CarId car{b.write(c).entry.id.n};
    Erasure e;
    e.car = car;
    e.keeper = true;
    OpenJob j;
    j.car = car;
    j.complaint = "squeal";
    const JobId first{b.write(j).entry.id.n};
    CHECK(b.try_write(e).refusal().what.find("while job 1 is open: the work order of job 1") != std::string::npos);
    CloseJob done;
    done.job = first;
    b.now = instant("2026-01-31T18:00:00.000Z");
    b.write(done);
    // A new keeper: the jobs of the one before do not hold the new one's name.
    CarChange x;
    x.car = car;
    x.keeper = "Ivo Brandt";
    b.now = instant("2026-02-03T18:00:00.000Z");
    const EntryId newer = b.write(x).entry.id;
    const auto held = b.try_write(e);
    REQUIRE_FALSE(held.ok());
    CHECK(held.refusal().what == "1 of 2 texts are held by a rule until 2029-01-31: the work order of job 1");
    CHECK(held.refusal().why.find("16 CCR 3358") != std::string::npos);
    Erasure only;
    only.entry = newer;
    only.field = "keeper";
    CHECK(plan_erasure(b.book(), only, day("2026-02-03"))->held == 0);
    // And those of the new one do not hold the name of the one before.
    b.now = instant("2026-04-01T18:00:00.000Z");
    done.job = JobId{b.write(j).entry.id.n};
    b.now = instant("2026-04-10T18:00:00.000Z");
    b.write(done);
    Erasure before = only;
    before.entry = EntryId{car.n};
    CHECK(plan_erasure(b.book(), before, day("2026-05-01"))->longest->until == "until 2029-01-31");
    CHECK(plan_erasure(b.book(), only, day("2026-05-01"))->longest->until == "until 2029-04-10");
    b.now = instant("2029-01-31T18:00:00.000Z");
    b.clock_is_right = true;
    CHECK(b.try_write(before).ok());
    CHECK_FALSE(b.try_write(only).ok());
    b.now = instant("2029-04-10T18:00:00.000Z");
    b.clock_is_right = true;
    CHECK(b.try_write(e).ok());
    CHECK(baybook::car(b.book(), car)->keeper == "(erased)");
  }

  TEST_CASE("the name and certificate of who did refrigerant work are held after the last of it") {
    TestBook b("bay", 6, "2026-01-05T09:00:00.000Z");
    b.write(ChooseRules{"us-federal", day("2026-01-01"), "", ""});
    NewPerson p;
    p.name = "Runa Vale";
    p.contact = "bay 3";
    p.certificate = "T-609-1188";
    const PersonId runa{b.write(p).entry.id.n};
    const PlaceId can = b.place("cyl-1", Role::stock, "20kg", {"refrigerant"});
    NewFluid f;
    f.code = "gas-1";
    f.of_class = "refrigerant";
    f.dimension = Dimension::mass;
    const FluidId gas{b.write(f).entry.id.n};
    Stamp s = b.stamp();
    s.by = runa;
    REQUIRE(b.book().append(TestBook::move(MoveVerb::receive, kSupplier, can, "5kg", {}, gas), s).ok());
    Erasure e;
    e.person = runa;
    const auto no = b.try_write(e);
    REQUIRE_FALSE(no.ok());
    CHECK(no.refusal().what == "2 of 3 texts are held by a rule until 2029-01-05: the refrigerant work of that person");
    CHECK(no.refusal().why.find("from memory") != std::string::npos);
    b.now = instant("2029-01-05T09:00:00.000Z");
    b.clock_is_right = true;
    CHECK(b.try_write(e).ok());
  }

  TEST_CASE("a request that a rule holds goes on record, erases nothing, and is listed by due until it is done") {
    SentOff s;
    s.now = instant("2026-06-01T10:00:00.000Z");
    const Receipt asked = s.erase_entry(s.pickup, "note", true).value();
    CHECK(asked.summary == "asked to erase 1 text of entry " + std::to_string(s.pickup.number()) + " when the rules allow it");
    CHECK(std::any_of(asked.warnings.begin(), asked.warnings.end(), [](const std::string& w) { return w.find("until 2029-02-28") != std::string::npos; }));
    CHECK(entry(s.book(), s.pickup)->text == "driver was Bram");
    CHECK(s.erase_entry(s.pickup, "note", true).refusal().code == Code::already_there);
    const auto lines = [&](const char* today) {
      DueFilter f;
      f.group = DueGroup::paper;
      std::vector<DueLine> out;
      const DueList list = due_list(s.book(), day(today), f).value();
      for (const DueLine& d : list.lines) {
        if (d.key.starts_with("erasure-")) out.push_back(d);
      }
      return out;
    };
    CHECK(lines("2026-06-01").empty());
    REQUIRE(lines("2029-02-10").size() == 1);
    CHECK(lines("2029-02-10").front().state == DueLine::State::soon);
    CHECK(lines("2029-02-10").front().day == day("2029-02-28"));
    REQUIRE(lines("2029-03-05").size() == 1);
    const DueLine over = lines("2029-03-05").front();
    CHECK(over.state == DueLine::State::over);
    CHECK(over.day == day("2029-02-28"));
    CHECK(over.settle == "baybook erase asked " + std::to_string(asked.entry.number()));
    Erasure e;
    e.asked = asked.entry.id;
    s.now = instant("2029-02-01T10:00:00.000Z");
    s.clock_is_right = true;
    CHECK(s.try_write(e).refusal().code == Code::not_allowed);
    s.now = instant("2029-03-05T10:00:00.000Z");
    s.clock_is_right = true;
    CHECK(s.write(e).summary == "erased 1 text of entry " + std::to_string(s.pickup.number()) + ", on request");
    CHECK(lines("2029-03-05").empty());
    CHECK(entry(s.book(), s.pickup)->text == "(erased)");
    CHECK(s.try_write(e).refusal().code == Code::not_found);
    CHECK(findings_of(s.book()) == "");
  }

  TEST_CASE("what one installation erased is erased where it is brought in, and another's copy does not bring it back") {
    EraseShop bay;
    TestBook office("office", 9);
    const std::vector<Carried> first = carry_out(bay->inside());
    {
      store::Transaction t(office->inside().db);
      for (const Carried& e : first) bring_in(office->inside(), e);
      t.commit();
    }
    CHECK(office->find_car("QX-LATER-2").ok());
    Stamp s = bay.stamp();
    s.once = "k1";
    REQUIRE(bay.book().append(everything_of(bay.car), s).ok());
    {
      store::Transaction t(office->inside().db);
      for (const Carried& e : carry_out(bay->inside())) bring_in(office->inside(), e);
      t.commit();
    }
    CHECK(office->find_car("QX-LATER-2").refusal().code == Code::not_found);
    CHECK(office->plate_of(bay.car) == "car:" + std::to_string(bay.registered.number()) + "@bay");
    CHECK(office->find_car(office->plate_of(bay.car)).value() == bay.car);
    CHECK(erasure_unfinished(office.book()).value());
    REQUIRE(finish_erasures(office.book()).ok());
    for (const std::string& secret : bay.secrets) CHECK(times_in_files(std::filesystem::path(office.file()).parent_path(), secret) == 0);
    CHECK(findings_of(office.book()) == "");
    // Whoever has the erasure before the entry that it names leaves the text at the door.
    TestBook third("third", 10);
    {
      store::Transaction t(third->inside().db);
      for (const Carried& e : first) {
        if (e.row.kind == log::Kind::work) {
          auto q = third->inside().db.query("INSERT INTO erased(entry, field, erasure, asked) VALUES(?, 'text', 1, 0)");
          q.bind(e.row.id.n).run();
        }
        bring_in(third->inside(), e);
      }
      t.commit();
    }
    auto q = third->inside().db.query("SELECT count(*) FROM private WHERE value = 'told Ygritte to wait'");
    CHECK(q.step_num() == 0);
    auto kept = third->inside().db.query("SELECT count(*) FROM private WHERE value = 'Ygritte Håkonsson'");
    CHECK(kept.step_num() == 1);
  }

  TEST_CASE("an erasure is not corrected, and an entry whose text is erased can still be") {
    EraseShop s;
    const EntryId erasure = s.write(everything_of(s.car)).entry.id;
    for (const bool withdraw : {true, false}) {
      Correction c;
      c.target = erasure;
      c.withdraw = withdraw;
      if (!withdraw) c.patch.text = "x";
      c.why = "changed our minds";
      CHECK(s.try_write(c).refusal().why == "what was erased does not come back");
    }
    Correction text;
    text.target = EntryId{s.job.n};
    text.patch.odometer = parse_distance("88210km", Units{}).value();
    text.why = "read late";
    s.write(text);
    CHECK(job(s.book(), s.job)->complaint == "(erased)");
    text.patch = {};
    text.patch.text = "written anew";
    s.write(text);
    CHECK(job(s.book(), s.job)->complaint == "written anew");
    Correction gone;
    gone.target = s.moved;
    gone.withdraw = true;
    gone.why = "wrong car";
    s.write(gone);
    CHECK(findings_of(s.book()) == "");
    const std::string live = s.dump(true);
    REQUIRE(s.book().rebuild().ok());
    CHECK(difference(live, s.dump(true)) == "");
  }

  TEST_CASE("the same erasure again under its once-key is the first one, and another under that key is refused") {
    EraseShop s;
    Stamp stamp = s.stamp();
    stamp.once = "erase-1";
    const auto first = s.book().append(everything_of(s.car), stamp);
    REQUIRE_MESSAGE(first.ok(), why(first));
    CHECK(s->erased_under_once("erase-1") == s.registered);
    CHECK(s->erased_under_once("other") == EntryId{});
    const std::string before = s.dump();
    stamp.now = s.stamp().now;
    const auto again = s.book().append(everything_of(s.car), stamp);
    REQUIRE_MESSAGE(again.ok(), why(again));
    CHECK(again->repeated);
    CHECK(again->entry.id == first->entry.id);
    Erasure less = everything_of(s.car);
    less.vin = false;
    CHECK(s.book().append(less, stamp).refusal().code == Code::already_there);
    CHECK(difference(before, s.dump()) == "");
  }

  TEST_CASE("the digest of the request that wrote a text goes with it") {
    TestBook b;
    NewCar c;
    c.plate = "MARSH-07";
    Stamp s = b.stamp();
    s.once = "car";
    const CarId car{b.book().append(c, s)->entry.id.n};
    Erasure e;
    e.car = car;
    e.plate = true;
    b.write(e);
    auto q = b->inside().db.query("SELECT count(*) FROM once WHERE request = zeroblob(32)");
    CHECK(q.step_num() == 1);
    CHECK(b.book().append(c, s).refusal().code == Code::already_there);
  }

  TEST_CASE("a private text taken out by hand is no erasure, and one put back after an erasure is found") {
    EraseShop s;
    s.close();
    {
      SQLite::Database db(s.file(), SQLite::OPEN_READWRITE);
      db.exec("DELETE FROM private WHERE field = 'keeper'");
    }
    s.reopen();
    CHECK(findings_of(s.book()).find("its private text \"keeper\" was removed without an erasure on record") != std::string::npos);
    EraseShop t;
    std::string row;
    {
      SQLite::Database db(t.file(), SQLite::OPEN_READONLY);
      SQLite::Statement q(db, "SELECT 'INSERT INTO private VALUES(' || entry || ',''keeper'',' || quote(salt) || ',' || quote(value) || ')' FROM private WHERE field = 'keeper'");
      REQUIRE(q.executeStep());
      row = q.getColumn(0).getString();
    }
    Erasure e;
    e.car = t.car;
    e.keeper = true;
    t.write(e);
    t.close();
    SQLite::Database(t.file(), SQLite::OPEN_READWRITE).exec(row);
    t.reopen();
    CHECK(findings_of(t.book()).find("is there although an erasure on record names it") != std::string::npos);
  }

  TEST_CASE("while another program reads, the erasure stands but says aloud that it is not finished, and due lists it until it is") {
    EraseShop s;
    const auto folder = std::filesystem::path(s.file()).parent_path();
    const auto due = [&] {
      std::string out;
      DueFilter f;
      f.group = DueGroup::paper;
      const DueList list = due_list(s.book(), day("2026-03-05"), f).value();
      for (const DueLine& d : list.lines) out += d.what + " -> " + d.settle + "\n";
      return out;
    };
    {
      SQLite::Database reader(s.file(), SQLite::OPEN_READONLY);
      reader.exec("BEGIN");
      SQLite::Statement q(reader, "SELECT count(*) FROM entry");
      REQUIRE(q.executeStep());
      const Receipt r = s.write(everything_of(s.car));
      CHECK(r.unfinished);
      REQUIRE(r.warnings.size() == 1);
      CHECK(r.warnings.front().find("type baybook erase finish") != std::string::npos);
      CHECK(times_in_files(folder, "Ygritte Håkonsson") > 0);
      CHECK(due().find("erasure not finished") != std::string::npos);
      CHECK(car(s.book(), s.car)->keeper == "(erased)");
    }
    REQUIRE(finish_erasures(s.book()).ok());
    for (const std::string& secret : s.secrets) CHECK(times_in_files(folder, secret) == 0);
    CHECK(due() == "");
    CHECK(findings_of(s.book()) == "");
  }

  TEST_CASE("what cannot be erased is refused in words and leaves everything as it was") {
    EraseShop s;
    const std::string before = s.dump();
    const auto code_of = [&](const Erasure& e, std::string_view on = {}) {
      const auto r = s.try_write(e, on);
      REQUIRE_FALSE(r.ok());
      CHECK_FALSE(r.refusal().what.empty());
      return r.refusal().code;
    };
    CHECK(code_of(Erasure{}) == Code::wrong_usage);
    Erasure two = everything_of(s.car);
    two.entry = s.moved;
    CHECK(code_of(two) == Code::wrong_usage);
    Erasure no_part;
    no_part.car = s.car;
    CHECK(code_of(no_part) == Code::wrong_usage);
    Erasure not_a_person;
    not_a_person.person = PersonId{s.car.n};
    CHECK(code_of(not_a_person) == Code::not_found);
    Erasure no_field;
    no_field.entry = s.moved;
    no_field.field = "vin";
    CHECK(code_of(no_field) == Code::not_found);
    Erasure not_asked;
    not_asked.asked = s.moved;
    CHECK(code_of(not_asked) == Code::not_found);
    s.now.ms += 3 * 86'400'000LL;
    CHECK(code_of(everything_of(s.car), "2026-03-06") == Code::not_allowed);
    Stamp dry = s.stamp();
    dry.dry_run = true;
    CHECK(s.book().append(everything_of(s.car), dry)->dry_run);
    CHECK(difference(before, s.dump()) == "");
  }

  TEST_CASE("a plan lists every text with what holds it, and papers that are files of their own") {
    SentOff s;
    Paper p;
    p.about = s.pickup;
    p.file = "aaaaaaaaaaaa-scan.pdf";
    p.sha256 = std::string(64, 'a');
    p.bytes = 3;
    p.title = "signed copy";
    s.write(p);
    Erasure e;
    e.firm = s.firm;
    auto plan = plan_erasure(s.book(), e, day("2026-03-01"));
    REQUIRE_MESSAGE(plan.ok(), why(plan));
    CHECK(plan->about == "firm quill-tarn");
    REQUIRE(plan->lines.size() == 2);
    CHECK(plan->held == 1);
    CHECK(plan->lines[0].field == "contact");
    CHECK_FALSE(plan->lines[0].held.has_value());
    CHECK(plan->lines[1].text == "Quill & Tarn Recovery");
    REQUIRE(plan->lines[1].held.has_value());
    CHECK(plan->lines[1].held->free == day("2029-02-28"));
    Erasure x;
    x.entry = s.pickup;
    CHECK(plan_erasure(s.book(), x, day("2026-03-01"))->papers == 1);
  }
}
