// What two installations did to one thing, neither knowing of the other.
#include "book/choice.hpp"
#include "book/conflict_list.hpp"
#include "book/knowing.hpp"

#include "log/references.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <map>

namespace baybook::book {

using log::Fact;
using log::Kind;
using log::Value;

namespace {

struct Pair {
  EntryId a, b;
};

class Unaware {
 public:
  Unaware(Book::Inside& in, const ConflictMaker& maker, std::vector<Conflict>& out)
      : in_(in), db_(in.db), maker_(maker), out_(out) {}

  void choices() {
    for (const Contradiction& c : contradictions(in_)) {
      if (maker_.apart(c.first_keeps, c.second_keeps)) continue;
      const bool one = withdrawn_by(db_, c.first_keeps).has_value();
      Conflict x = maker_.make(
          Conflict::What::choice,
          "two chose otherwise: entry " + name(c.first) + " has entry " + name(c.first_keeps) +
              " hold, entry " + name(c.second) + " has entry " + name(c.second_keeps) +
              " hold; the later one counts, and entry " +
              name(one ? c.second_keeps : c.first_keeps) + " holds",
          {c.first, c.second, c.first_keeps, c.second_keeps});
      maker_.choose(x, {c.first_keeps, c.second_keeps});
      out_.push_back(std::move(x));
    }
  }

  void determinations() {
    const std::vector<Pair> all = pairs(
        "SELECT a.entry, b.entry FROM determined a JOIN determined b ON b.stream = a.stream AND "
        "b.place = a.place AND (b.entry >> 40) > (a.entry >> 40) WHERE a.hazardous <> b.hazardous "
        "ORDER BY a.stream, a.place, a.entry, b.entry LIMIT 10000");
    for (const Pair& p : all) {
      if (!unaware(p) || decided(p, same_stream(p.a))) continue;
      const Fact fact = log::read_fact(db_, p.a);
      std::string of(fact.details.str("stream"));
      if (fact.details.has("place"))
        of += " in " + place_name(in_, log::read_place(fact.details.at("place"), fact.origin()));
      choose(Conflict::What::determination, visible(of) + " was determined in two ways", p);
    }
  }

  void schedules() {
    const std::vector<Pair> all =
        pairs("SELECT a.entry, b.entry FROM schedule a JOIN schedule b ON b.name = a.name AND "
              "(b.entry >> 40) > (a.entry >> 40) ORDER BY a.name, a.entry, b.entry LIMIT 10000");
    for (const Pair& p : all) {
      if (!unaware(p) || same_said(p) ||
          decided(p, ids("SELECT entry FROM schedule WHERE name = (SELECT name FROM schedule WHERE "
                         "entry = ?)",
                         p.a.n)))
        continue;
      choose(Conflict::What::schedule,
             "two wrote " + summarize(in_, log::read_fact(db_, p.a)) + "; the later one counts", p);
    }
  }

  void cars() {
    std::map<std::int64_t, std::vector<EntryId>> changes;
    {
      auto q = db_.query("SELECT car, entry FROM history WHERE kind = 7 ORDER BY car, entry");
      while (q.step()) changes[q.num(0)].push_back(EntryId{q.num(1)});
    }
    for (const auto& [car, all] : changes) {
      for (std::size_t n = 1; n < all.size(); ++n) {
        for (std::size_t m = 0; m < n; ++m) said_twice(CarId{car}, {all[m], all[n]}, all);
      }
      for (const EntryId change : all) scrapped(CarId{car}, change);
    }
  }

  void jobs() {
    open_twice();
    // Those on which somebody else wrote than who opened them.
    std::vector<std::pair<CarId, JobId>> shared;
    {
      auto q = db_.query(
          "SELECT DISTINCT car, job FROM history WHERE job <> 0 AND (entry >> 40) <> (job >> 40) "
          "ORDER BY car, job");
      while (q.step()) shared.emplace_back(CarId{q.num(0)}, JobId{q.num(1)});
    }
    for (const auto& [car, job] : shared) closed_unaware(car, job);
  }

  // Plates that a finger or an eye takes for one another, of cars entered in two books.
  void plates() {
    struct Car {
      EntryId id;
      std::string key, plate;
    };
    std::vector<Car> all;
    {
      auto q = db_.query("SELECT id, key, plate FROM car WHERE key <> '' ORDER BY id");
      while (q.step()) all.push_back({EntryId{q.num(0)}, q.text(1), q.text(2)});
    }
    // Two keys one edit apart have a rest in common when a letter is left out of each or of one.
    std::map<std::string, std::vector<std::size_t>> by_rest;
    for (std::size_t n = 0; n < all.size(); ++n) {
      for (const std::string& rest : rests(all[n].key)) by_rest[rest].push_back(n);
    }
    std::set<std::pair<std::size_t, std::size_t>> seen;
    for (const auto& [rest, some] : by_rest) {
      for (std::size_t n = 1; n < some.size(); ++n) {
        for (std::size_t m = 0; m < n; ++m) {
          const Car& a = all[some[m]];
          const Car& b = all[some[n]];
          if (a.id.origin() == b.id.origin() || !seen.emplace(some[m], some[n]).second) continue;
          if (edit_distance(a.key, b.key) == 1 && unaware({a.id, b.id}) && alike(a.id, b.id))
            slip(a.id, a.plate, b.id, b.plate);
        }
      }
    }
  }

 private:
  [[nodiscard]] std::string name(EntryId id) const { return entry_name(in_, id); }
  [[nodiscard]] bool unaware(const Pair& p) const {
    return apart_in_knowledge(db_, p.a, p.b) && !maker_.apart(p.a, p.b);
  }
  // Somebody who held both has said since what is to hold.
  [[nodiscard]] bool decided(const Pair& p, const std::vector<EntryId>& all) const {
    return std::any_of(all.begin(), all.end(), [&](EntryId c) {
      return knows(db_, c, p.a) && knows(db_, c, p.b);
    });
  }

  std::vector<Pair> pairs(const char* sql) {
    std::vector<Pair> out;
    auto q = db_.query(sql);
    while (q.step()) out.push_back({EntryId{q.num(0)}, EntryId{q.num(1)}});
    return out;
  }
  std::vector<EntryId> ids(const char* sql, std::int64_t of) {
    std::vector<EntryId> out;
    auto q = db_.query(sql);
    q.bind(of);
    while (q.step()) out.push_back(EntryId{q.num(0)});
    return out;
  }
  std::vector<EntryId> same_stream(EntryId entry) {
    return ids(
        "SELECT b.entry FROM determined a JOIN determined b ON b.stream = a.stream AND b.place = "
        "a.place WHERE a.entry = ?",
        entry.n);
  }

  void choose(Conflict::What what, std::string text, const Pair& p) {
    Conflict c = maker_.make(what, std::move(text), {p.a, p.b});
    maker_.choose(c, {p.a, p.b});
    maker_.keep_apart(c, p.a, p.b);
    out_.push_back(std::move(c));
  }

  [[nodiscard]] Value said_by(EntryId entry) const {
    return log::without_references(log::read_fact(db_, entry).details);
  }
  [[nodiscard]] bool same_said(const Pair& p) const { return said_by(p.a) == said_by(p.b); }

  // What both say of the car, and not alike: its plate, keeper, and whatever stands in the open.
  [[nodiscard]] std::vector<std::string> differing(const Pair& p) const {
    const Fact a = log::read_fact(db_, p.a);
    const Fact b = log::read_fact(db_, p.b);
    std::vector<std::string> out;
    for (const char* field : {"plate", "keeper", "vin"}) {
      const std::string x = log::surviving_text(db_, a, field);
      const std::string y = log::surviving_text(db_, b, field);
      if (!x.empty() && !y.empty() && x != y) out.emplace_back(field);
    }
    for (const auto& [key, value] : a.details.as_object()) {
      const Value* other = b.details.find(key);
      if (key != "car" && other != nullptr && !(*other == value)) out.push_back(key);
    }
    return out;
  }

  void said_twice(CarId car, const Pair& p, const std::vector<EntryId>& all) {
    if (!unaware(p)) return;
    const std::vector<std::string> what = differing(p);
    if (what.empty() || decided(p, all)) return;
    std::string list;
    for (const std::string& one : what) list += (list.empty() ? "" : ", ") + one;
    choose(Conflict::What::car_change,
           visible(service::plate_of(db_, car)) + " was given two of " + list +
               "; the later one counts",
           p);
  }

  void scrapped(CarId car, EntryId change) {
    if (!log::read_fact(db_, change).details.has("scrapped")) return;
    std::vector<EntryId> worked;
    for (const EntryId e :
         ids("SELECT entry FROM history WHERE car = ? AND kind NOT IN (6, 7) ORDER BY moment, "
             "recorded, entry",
             car.n)) {
      if (unaware({change, e})) worked.push_back(e);
    }
    if (worked.empty() || maker_.apart(EntryId{car.n}, change)) return;
    Conflict c = maker_.make(
        Conflict::What::scrapped,
        visible(service::plate_of(db_, car)) + " was scrapped by entry " + name(change) + ", and " +
            counted(worked) + " written about it by somebody who did not know",
        first_of(change, worked));
    c.instead.push_back(maker_.withdraw(change));
    maker_.keep_apart(c, EntryId{car.n}, change, "it was worked on before it was scrapped");
    out_.push_back(std::move(c));
  }

  static std::string counted(const std::vector<EntryId>& all) {
    return std::to_string(all.size()) + (all.size() == 1 ? " entry was" : " entries were");
  }
  static std::vector<EntryId> first_of(EntryId one, const std::vector<EntryId>& others) {
    std::vector<EntryId> out{one};
    for (std::size_t n = 0; n < others.size() && n < 5; ++n) out.push_back(others[n]);
    return out;
  }

  [[nodiscard]] std::string job_told(JobId job) const {
    const auto row = service::job_row(db_, job);
    return row ? service::job_name(in_.known, *row) : std::string("?");
  }

  void open_twice() {
    const std::vector<Pair> all =
        pairs("SELECT a.id, b.id FROM job a JOIN job b ON b.car = a.car AND b.closed = 0 AND b.id > "
              "a.id WHERE a.closed = 0 ORDER BY a.car, a.id, b.id LIMIT 10000");
    for (const Pair& p : all) {
      if (!unaware(p)) continue;
      const CarId car = service::belongs_to(db_, log::read_fact(db_, p.a)).car;
      Conflict c = maker_.make(Conflict::What::job,
                               visible(service::plate_of(db_, car)) + " has two open jobs, " +
                                   job_told(JobId{p.a.n}) + " and " + job_told(JobId{p.b.n}),
                               {p.a, p.b});
      const Fact second = log::read_fact(db_, p.b);
      c.instead.push_back(dependants(db_, second).empty()
                              ? maker_.withdraw(p.b)
                              : "baybook job close " + job_told(JobId{p.b.n}) +
                                    " --result \"goes on in job " + job_told(JobId{p.a.n}) + "\"");
      maker_.keep_apart(c, p.a, p.b, "two visits");
      out_.push_back(std::move(c));
    }
  }

  void closed_unaware(CarId car, JobId job) {
    std::vector<EntryId> closings;
    std::vector<EntryId> written;
    {
      // Codes, work, parts, torques, movements, readings of places.
      auto q = db_.query(
          "SELECT entry, kind FROM history WHERE car = ? AND job = ? AND kind IN (9, 11, 12, 13, "
          "14, 15, 16) ORDER BY moment, recorded, entry");
      q.bind(car.n).bind(job.n);
      while (q.step()) (q.num(1) == 9 ? closings : written).push_back(EntryId{q.num(0)});
    }
    for (std::size_t n = 1; n < closings.size(); ++n) {
      for (std::size_t m = 0; m < n; ++m) {
        if (unaware({closings[m], closings[n]}))
          choose(Conflict::What::job, "job " + job_told(job) + " was closed twice",
                 {closings[m], closings[n]});
      }
    }
    for (const EntryId closing : closings) written_after(job, closing, written);
  }

  void written_after(JobId job, EntryId closing, const std::vector<EntryId>& written) {
    std::vector<EntryId> unaware_of_it;
    for (const EntryId e : written) {
      if (unaware({closing, e})) unaware_of_it.push_back(e);
    }
    if (unaware_of_it.empty() || maker_.apart(EntryId{job.n}, closing)) return;
    Conflict c = maker_.make(Conflict::What::job,
                             "job " + job_told(job) + " was closed by entry " + name(closing) +
                                 ", and " + counted(unaware_of_it) +
                                 " written on it by somebody who did not know",
                             first_of(closing, unaware_of_it));
    maker_.keep_apart(c, EntryId{job.n}, closing, "what was written belongs to it");
    c.instead.push_back(maker_.withdraw(closing) + "  # then close it again");
    out_.push_back(std::move(c));
  }

  static std::vector<std::string> rests(const std::string& key) {
    std::vector<std::string> out{key};
    for (std::size_t n = 0; n < key.size(); ++n) {
      std::string rest = key;
      rest.erase(n, 1);
      if (std::find(out.begin(), out.end(), rest) == out.end()) out.push_back(std::move(rest));
    }
    return out;
  }

  // The same keeper, or entered on one day.
  [[nodiscard]] bool alike(EntryId a, EntryId b) const {
    const Fact x = log::read_fact(db_, a);
    const Fact y = log::read_fact(db_, b);
    const std::string keeper = log::surviving_text(db_, x, "keeper");
    if (!keeper.empty() && keeper == log::surviving_text(db_, y, "keeper")) return true;
    return log::day_of_moment(x.effect.moment) == log::day_of_moment(y.effect.moment);
  }

  void slip(EntryId a, const std::string& plate_a, EntryId b, const std::string& plate_b) {
    Conflict c = maker_.make(Conflict::What::car,
                             visible(plate_a) + " and " + visible(plate_b) +
                                 " may be one car: their plates are one slip apart",
                             {a, b});
    c.instead.push_back("baybook settle join " + name(a) + " " + name(b));
    maker_.keep_apart(c, a, b, "two cars");
    out_.push_back(std::move(c));
  }

  Book::Inside& in_;
  store::Db& db_;
  const ConflictMaker& maker_;
  std::vector<Conflict>& out_;
};

}  // namespace

void list_unaware(Book::Inside& in, const ConflictMaker& maker, std::vector<Conflict>& out) {
  if (in.known.all.size() < 2) return;
  Unaware list(in, maker, out);
  list.choices();
  list.determinations();
  list.schedules();
  list.cars();
  list.jobs();
  list.plates();
}

}  // namespace baybook::book
