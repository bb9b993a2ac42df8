// Erasing private texts on request. What stands in hashed bodies never goes; what lies beside the log does.
#include "book/erase.hpp"

#include "book/views.hpp"

#include "returns/build.hpp"
#include "log/references.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <set>

namespace baybook::book {

using log::Built;
using log::Desk;
using log::Fact;
using log::Kind;
using log::refuse;
using log::Value;

namespace {

// An erasure is on record and the files were not yet seen to be rid of its texts.
constexpr const char* kUnfinished = "erasure-unfinished";

std::vector<std::int64_t> numbers(store::Query&& q) {
  std::vector<std::int64_t> out;
  while (q.step()) out.push_back(q.num(0));
  return out;
}

// An entry as it was written, whatever corrections made of it since. What was settled to be one is one here, too.
Fact as_written(store::Db& db, EntryId id) {
  const auto row = log::read_row(db, id);
  if (!row) throw store::Failure(Code::unsound, db.path() + ": an entry that others refer to is missing", "baybook prove");
  Fact f;
  f.effect = {row->moment, row->recorded, row->id};
  f.kind = row->kind;
  f.who = row->who;
  f.source = id;
  const Value body = log::parse_body(row->body);
  if (const Value* d = body.find("details")) f.details = *d;
  log::go_by_settlements(db, f);
  return f;
}

// A correction that was made after the asking took the texts along that the entry had by then: of each field that was asked about, those of all
// corrections of the entry. Why each was made is no text of the entry.
void add_later_copies(store::Db& db, std::vector<PrivateText>& texts) {
  std::set<std::pair<std::int64_t, std::string>> all;
  for (const PrivateText& t : texts) {
    all.emplace(t.entry.n, t.field);
    if (t.field == "why") continue;
    std::int64_t target = t.entry.n;
    if (const Fact f = as_written(db, t.entry); f.kind == Kind::correction) target = log::read_ref(*f.details.find("target"), f.origin());
    auto q = db.query("SELECT entry FROM correction WHERE target = ?");
    q.bind(target);
    for (const std::int64_t e : numbers(std::move(q))) all.emplace(e, t.field);
  }
  texts.clear();
  for (const auto& [entry, field] : all) texts.push_back({EntryId{entry}, field, {}});
}

// Corrections of these entries, and corrections of those: each may carry a text.
void add_corrections(store::Db& db, std::set<std::int64_t>& ids) {
  std::vector<std::int64_t> open(ids.begin(), ids.end());
  while (!open.empty()) {
    const std::int64_t target = open.back();
    open.pop_back();
    auto q = db.query("SELECT entry FROM correction WHERE target = ?");
    q.bind(target);
    for (const std::int64_t e : numbers(std::move(q))) {
      if (ids.insert(e).second) open.push_back(e);
    }
  }
}

// The car's own entries, those of its jobs, and papers kept with them. What was withdrawn is in no derived row: every withdrawn entry is a
// target of a correction.
std::set<std::int64_t> all_of_car(store::Db& db, CarId car) {
  std::set<std::int64_t> ids{car.n};
  {
    auto q = db.query("SELECT entry FROM history WHERE car = ?");
    q.bind(car.n);
    for (const std::int64_t e : numbers(std::move(q))) ids.insert(e);
  }
  std::vector<Fact> papers;
  for (const std::int64_t e : numbers(db.query("SELECT DISTINCT target FROM correction"))) {
    Fact f = as_written(db, EntryId{e});
    if (f.kind == Kind::paper) papers.push_back(std::move(f));
    else if (f.kind != Kind::correction && service::belongs_to(db, f).car == car) ids.insert(e);
  }
  for (const std::int64_t e : numbers(db.query("SELECT entry FROM paper"))) papers.push_back(as_written(db, EntryId{e}));
  add_corrections(db, ids);
  for (const Fact& f : papers) {
    if (ids.contains(log::read_ref(*f.details.find("about"), f.origin()))) ids.insert(f.id().n);
  }
  add_corrections(db, ids);
  return ids;
}

bool wanted_of_car(const Erasure& d, std::string_view field) {
  if (field == "keeper" || field == "keeper-contact") return d.keeper;
  if (field == "plate") return d.plate;
  if (field == "vin") return d.vin;
  return d.texts;
}

bool is_there(store::Db& db, const PrivateText& t) {
  auto q = db.query("SELECT 1 FROM private WHERE entry = ? AND field = ?");
  q.bind(t.entry.n).bind(t.field);
  return q.step();
}

}  // namespace

std::set<std::int64_t> entries_of_car(store::Db& db, CarId car) { return all_of_car(db, car); }

std::vector<PrivateText> named_by_erasure(const Value& details, std::int64_t origin) {
  std::vector<PrivateText> out;
  for (const Value& item : details.list("list")) {
    const EntryId entry{log::read_ref(item.at("entry"), origin)};
    for (const Value& field : item.list("fields")) out.push_back({entry, field.as_string(), {}});
  }
  return out;
}

std::vector<Value> list_of_texts(const std::vector<PrivateText>& texts,
                                 const log::Installations& known) {
  std::vector<Value> list;
  for (std::size_t i = 0; i < texts.size();) {
    Value item;
    std::vector<Value> fields;
    const EntryId entry = texts[i].entry;
    for (; i < texts.size() && texts[i].entry == entry; ++i) fields.emplace_back(texts[i].field);
    item["entry"] = log::write_ref(entry.n, known);
    item["fields"] = Value(std::move(fields));
    list.push_back(std::move(item));
  }
  return list;
}

std::string about_name(Book::Inside& in, EntryId about) {
  const Fact f = as_written(in.db, about);
  if (f.kind == Kind::car) return service::by_number(in.db, "car", about);
  if (f.kind == Kind::person) return service::by_number(in.db, "person", about);
  if (f.kind == Kind::firm) return "firm " + std::string(f.details.str("code"));
  return "entry " + entry_name(in, about);
}

std::optional<Holding> longest(const std::vector<PrivateText>& texts) {
  std::optional<Holding> out;
  for (const PrivateText& t : texts) {
    if (!t.held) continue;
    if (!out || (out->free && (!t.held->free || *t.held->free > *out->free))) out = t.held;
  }
  return out;
}

Result<Reached> reached_by(Book::Inside& in, const Erasure& d, Day today) {
  store::Db& db = in.db;
  const int things = (d.car ? 1 : 0) + (d.person ? 1 : 0) + (d.firm ? 1 : 0) + (d.entry.n != 0 ? 1 : 0) + (d.asked.n != 0 ? 1 : 0);
  if (things != 1) return refuse(Code::wrong_usage, "an erasure is about one thing", "a car, a person, a firm, an entry, or what was asked for", "baybook help erase");
  if (d.car && !d.keeper && !d.plate && !d.vin && !d.texts) return refuse(Code::wrong_usage, "what of the car is to be erased is not said", "", "--keeper, --plate, --vin, --texts or --all");
  Reached out;
  const std::int64_t thing = d.car ? d.car.n : d.person ? d.person.n : d.firm.n;
  out.about = thing != 0 ? EntryId{log::goes_by(db, thing)} : d.entry.n != 0 ? d.entry : d.asked;
  const auto row = log::read_row(db, out.about);
  const auto is = [&](Kind k) { return row && row->kind == k; };
  if (!row || (d.car && !is(Kind::car)) || (d.person && !is(Kind::person)) || (d.firm && !is(Kind::firm))) return refuse(Code::not_found, "there is nothing of that name to erase from", "", "baybook entries");
  std::string nothing;
  if (d.asked.n != 0) {
    const Fact asked = as_written(db, d.asked);
    if (asked.kind != Kind::erasure || !asked.details.has("asked")) return refuse(Code::not_found, "entry " + entry_name(in, d.asked) + " asks for no erasure", "", "baybook due --for papers");
    out.about = EntryId{log::read_ref(asked.details.at("about"), asked.origin())};
    std::vector<PrivateText> named = named_by_erasure(asked.details, asked.origin());
    // What somebody else asks for of entries that are not its own waits for a word.
    const Words words(db);
    std::erase_if(
        named, [&](const PrivateText& t) { return !words.acts(d.asked, t.entry, Reach::erasure); });
    // Once all of it is gone it was done: what is written anew since was not asked about.
    if (std::any_of(named.begin(), named.end(), [&](const PrivateText& t) { return is_there(db, t); })) add_later_copies(db, named);
    for (PrivateText& t : named) {
      if (is_there(db, t)) out.texts.push_back(std::move(t));
    }
    nothing = "what entry " + entry_name(in, d.asked) + " asked for is erased already";
  } else {
    std::set<std::int64_t> ids{out.about.n};
    if (d.person || d.firm) {
      for (const std::int64_t one : log::all_that_are(db, out.about.n)) ids.insert(one);
    }
    if (d.car) ids = all_of_car(db, CarId{out.about.n});
    else add_corrections(db, ids);
    for (const std::int64_t id : ids) {
      auto q = db.query("SELECT field FROM private WHERE entry = ? ORDER BY field");
      q.bind(id);
      while (q.step()) {
        std::string field = q.text(0);
        if (d.car ? wanted_of_car(d, field) : d.entry.n == 0 || d.field.empty() || d.field == field) out.texts.push_back({EntryId{id}, std::move(field), {}});
      }
    }
    nothing = about_name(in, out.about) + " has no such text" + (d.field.empty() ? "" : " \"" + d.field + "\"") + " that is still there";
  }
  if (out.texts.empty()) return refuse(Code::not_found, nothing, "what was erased is gone for good", "baybook entry " + entry_name(in, out.about));
  look_for_holds(in, out.texts, today);
  return out;
}

namespace {

// What a clock that leapt ahead would free, and nobody has answered for it: it does not come back.
std::optional<Refusal> freed_by_a_leap(Book::Inside& in, const Desk& desk,
                                       const std::vector<PrivateText>& texts) {
  if (desk.beyond_doubt == desk.today) return std::nullopt;
  const auto held = [](const std::vector<PrivateText>& all) {
    return std::count_if(all.begin(), all.end(),
                         [](const PrivateText& t) { return t.held.has_value(); });
  };
  std::vector<PrivateText> then = texts;
  look_for_holds(in, then, desk.beyond_doubt);
  const auto freed = held(then) - held(texts);
  if (freed <= 0) return std::nullopt;
  return refuse(
      Code::not_allowed,
      std::to_string(freed) + (freed == 1 ? " text was" : " texts were") + " held by a rule on " +
          to_string(desk.beyond_doubt) + ", the day of the last entry, and " +
          (freed == 1 ? "is" : "are") + " free only because the clock of this machine says " +
          to_string(desk.today),
      "what is erased does not come back, and a clock that is ahead frees it early",
      "the clock set right, then the same again; if it is right: the same with --clock-is-right");
}

}  // namespace

Result<Built> build_erasure(Book::Inside& in, Desk& desk, const Erasure& d) {
  if (log::day_of_moment(desk.effect.moment) != desk.today)
    return refuse(Code::not_allowed, "texts are erased on the day on which it is written",
                  "they are there until then", "without --on");
  auto reached = reached_by(in, d, desk.today);
  if (!reached.ok()) return std::move(reached).refusal();
  if (auto early = freed_by_a_leap(in, desk, reached->texts)) return std::move(*early);
  in.db.must_overwrite_deleted();

  Built out;
  out.kind = Kind::erasure;
  out.details["about"] = log::write_ref(reached->about.n, desk.known);
  out.details["reason"] = d.reason == Erasure::Reason::expired ? "expired" : "request";
  if (const auto held = longest(reached->texts)) {
    const auto n = static_cast<std::size_t>(std::count_if(reached->texts.begin(), reached->texts.end(), [](const PrivateText& t) { return t.held.has_value(); }));
    const std::string told = std::to_string(n) + " of " + std::to_string(reached->texts.size()) + (reached->texts.size() == 1 ? " text is" : " texts are") + " held by a rule " + held->until + ": " + held->what;
    if (!d.when_allowed || d.asked.n != 0) {
      Refusal r = refuse(Code::not_allowed, told, "records are kept as long as the rules of their day ask: " + with_words(held->section, held->sure),
                         d.asked.n != 0 ? "baybook due --for papers names the day" : "the same with --when-allowed: it goes on record, and due names the day; --dry-run lists what is held");
      r.figures.push_back({"held", std::to_string(n)});
      if (held->free) r.figures.push_back({"free", to_string(*held->free)});
      return r;
    }
    const bool again =
        std::all_of(reached->texts.begin(), reached->texts.end(), [&](const PrivateText& t) {
          auto q = in.db.query(
              "SELECT 1 FROM erased WHERE entry = ? AND field = ? AND asked < 2 LIMIT 1");
          q.bind(t.entry.n).bind(t.field);
          return q.step();
        });
    if (again) return refuse(Code::already_there, "that was asked for already", told, "baybook due --for papers");
    out.details["asked"] = true;
    out.warnings.push_back(told + " (" + with_words(held->section, held->sure) + "); nothing is erased yet, due lists it when it may go");
  }
  std::vector<Value> list = list_of_texts(reached->texts, desk.known);
  // A body has a size that every reader can count on.
  constexpr std::size_t most = log::most::kErased;
  if (list.size() > most) return refuse(Code::not_allowed, "texts of " + std::to_string(list.size()) + " entries are too many for one erasure", "at most " + std::to_string(most) + " entries stand in one", "--keeper, --plate and --vin first, then entry by entry");
  out.details["list"] = Value(std::move(list));
  return out;
}

std::string summary_of_erasure(Book::Inside& in, const Fact& fact) {
  const std::size_t n = named_by_erasure(fact.details, fact.id().origin()).size();
  const std::string about = about_name(in, EntryId{log::read_ref(fact.details.at("about"), fact.id().origin())});
  const std::string texts = std::to_string(n) + (n == 1 ? " text of " : " texts of ") + about;
  if (fact.details.has("asked")) return "asked to erase " + texts + " when the rules allow it";
  const auto named = named_by_erasure(fact.details, fact.id().origin());
  const Words words(in.db);
  const auto acts_on = [&](const PrivateText& t) {
    return words.acts(fact.id(), t.entry, Reach::erasure);
  };
  if (words.any() && std::none_of(named.begin(), named.end(), acts_on))
    return "wants to erase " + texts + ", which waits for a word";
  return "erased " + texts + (fact.details.str("reason") == "expired" ? ", kept long enough" : ", on request");
}

void list_erased(store::Db& db, const Words& words, const log::Row& row) {
  const Value body = log::parse_body(row.body);
  const Value* details = body.find("details");
  if (details == nullptr) throw log::Malformed("an erasure has no details");
  for (const PrivateText& t : named_by_erasure(*details, row.id.origin())) {
    auto q = db.query("INSERT OR REPLACE INTO erased(entry, field, erasure, asked) VALUES(?, ?, ?, ?)");
    const bool held = !words.acts(row.id, t.entry, Reach::erasure);
    q.bind(t.entry.n)
        .bind(t.field)
        .bind(row.id.n)
        .bind(std::int64_t{details->has("asked")} + (held ? kHeld : 0))
        .run();
  }
}

void erase_texts(Book::Inside& in, const Fact& erasure) {
  store::Db& db = in.db;
  const Words words(db);
  list_erased(db, words, log::row_of(db, erasure.id()));
  if (erasure.details.has("asked")) return;
  // Exchanged entries reach this as well, so it is looked at here, not only when an erasure is built.
  db.must_overwrite_deleted();
  std::set<std::int64_t> cars, people, firms;
  std::vector<PrivateText> gone = named_by_erasure(erasure.details, erasure.id().origin());
  std::erase_if(gone, [&](const PrivateText& t) {
    return !words.acts(erasure.id(), t.entry, Reach::erasure);
  });
  if (gone.empty()) return;
  for (const PrivateText& t : gone) {
    std::vector<std::int64_t> about{t.entry.n};
    Fact f = as_written(db, t.entry);
    if (f.kind == Kind::correction) about = {log::read_ref(*f.details.find("target"), f.origin())};
    for (const std::int64_t id : about) {
      const Fact target = as_written(db, EntryId{id});
      if (target.kind == Kind::car || target.kind == Kind::car_change) cars.insert(service::belongs_to(db, target).car.n);
      if (target.kind == Kind::person) people.insert(id);
      if (target.kind == Kind::firm) firms.insert(id);
    }
  }
  // People and firms have one row each, which is taken out while its text is there and put in without.
  std::vector<Fact> facts;
  for (const std::set<std::int64_t>* ids : {&people, &firms}) {
    for (const std::int64_t id : *ids) {
      if (log::goes_by(db, id) == id) facts.push_back(log::read_fact(db, EntryId{id}));  // one that was settled to be another has no row
    }
  }
  for (const Fact& f : facts) f.kind == Kind::person ? service::unfold(db, f) : returns::unfold(db, f);
  for (const PrivateText& t : gone) {
    {
      auto q = db.query("DELETE FROM private WHERE entry = ? AND field = ?");
      q.bind(t.entry.n).bind(t.field).run();
    }
    // The digest of the request that wrote it is keyed, but its key lies in the same file: a plate could be tried out against it.
    auto q = db.query("UPDATE once SET request = zeroblob(32) WHERE entry = ?");
    q.bind(t.entry.n).run();
  }
  for (const Fact& f : facts) f.kind == Kind::person ? service::fold(db, f) : returns::fold(db, f);
  for (const std::int64_t car : cars) service::recompute_car(db, CarId{car});
  in.ledger.definitions_changed();
  auto q = db.query("INSERT OR REPLACE INTO beside(name, value) VALUES(?, ?)");
  const std::string entry = std::to_string(erasure.id().n);
  q.bind(std::string_view(kUnfinished)).bind_blob(entry.data(), entry.size()).run();
}

void forget_unfinished(store::Db& copy) {
  auto q = copy.query("DELETE FROM beside WHERE name = ?");
  q.bind(std::string_view(kUnfinished)).run();
}

namespace {

bool unfinished(store::Db& db) {
  auto q = db.query("SELECT 1 FROM beside WHERE name = ?");
  q.bind(std::string_view(kUnfinished));
  return q.step();
}

bool finish(Book::Inside& in) {
  in.ledger.forget();
  if (!in.db.rewrite()) return false;
  store::Transaction t(in.db);
  forget_unfinished(in.db);
  t.commit();
  return true;
}

}  // namespace

void finish_erasure(Book::Inside& in, Receipt& r) {
  // The erasure is committed whatever happens here: a refusal would say that nothing was written.
  std::string why;
  try {
    if (!unfinished(in.db) || finish(in)) return;
    why = "another program has the book open";
  } catch (const store::Failure&) {
    why = "the file could not be written anew (is there room for a second copy of it?)";
  }
  r.unfinished = true;
  r.warnings.push_back("the erasure is on record, but bytes of what was erased may still be in the book's files: " + why + "; type baybook erase finish");
}

}  // namespace baybook::book

namespace baybook {

using book::guarded;

Result<ErasurePlan> plan_erasure(const Book& b, const Erasure& draft, Day today) {
  return guarded<ErasurePlan>([&]() -> Result<ErasurePlan> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    auto reached = book::reached_by(in, draft, today);
    if (!reached.ok()) return std::move(reached).refusal();
    ErasurePlan out;
    out.about = book::about_name(in, reached->about);
    out.longest = book::longest(reached->texts);
    std::set<std::int64_t> entries;
    for (const book::PrivateText& t : reached->texts) {
      const log::Row row = log::row_of(in.db, t.entry);
      ErasureLine l;
      l.entry = book::ref_of(in, t.entry);
      l.happened = log::day_of_moment(row.moment);
      l.verb = book::verb_of(log::read_fact(in.db, row));
      l.field = t.field;
      auto q = in.db.query("SELECT value FROM private WHERE entry = ? AND field = ?");
      q.bind(t.entry.n).bind(t.field);
      if (q.step()) l.text = q.text(0);
      l.held = t.held;
      if (t.held) ++out.held;
      out.lines.push_back(std::move(l));
      entries.insert(t.entry.n);
    }
    auto q = in.db.query("SELECT about, entry FROM paper");
    while (q.step()) out.papers += entries.contains(q.num(0)) || entries.contains(q.num(1)) ? 1 : 0;
    return out;
  });
}

Result<std::vector<CarId>> withdrawn_cars(const Book& b, std::string_view plate) {
  return guarded<std::vector<CarId>>([&]() -> Result<std::vector<CarId>> {
    store::Db& db = b.inside().db;
    store::Snapshot snapshot(db);
    const std::string key = plate_key(plate);
    std::set<std::int64_t> wore;
    if (!key.empty()) {
      auto q = db.query("SELECT entry, value FROM private WHERE field = 'plate' ORDER BY entry");
      while (q.step()) {
        if (plate_key(q.text(1)) == key) wore.insert(q.num(0));
      }
    }
    std::set<std::int64_t> cars;
    for (const std::int64_t entry : wore) {
      log::Fact f = book::as_written(db, EntryId{entry});
      if (f.kind == log::Kind::correction) f = book::as_written(db, EntryId{log::read_ref(*f.details.find("target"), f.origin())});
      if (const CarId car = service::belongs_to(db, f).car; car && log::read_fact(db, EntryId{car.n}).withdrawn) cars.insert(car.n);
    }
    std::vector<CarId> out;
    for (const std::int64_t car : cars) out.push_back(CarId{car});
    return out;
  });
}

Result<bool> erasure_unfinished(const Book& b) {
  return guarded<bool>([&]() -> Result<bool> { return book::unfinished(b.inside().db); });
}

Result<Done> finish_erasures(const Book& b) {
  return guarded<Done>([&]() -> Result<Done> {
    if (book::finish(b.inside())) return Done{};
    return Refusal{Code::busy, "another program has the book open, and reads from its -wal file", "what was erased may still be in that file until nobody reads it any more", "the same again when the other program has ended", {}};
  });
}

}  // namespace baybook
