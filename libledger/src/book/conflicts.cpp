// What has to be settled after two books were brought together.
#include "book/conflict_list.hpp"
#include "book/forks.hpp"
#include "book/inside.hpp"
#include "book/knowing.hpp"
#include "book/twins.hpp"

#include "fluids/ledger.hpp"
#include "log/references.hpp"
#include "service/build.hpp"

#include <baybook/exchange.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <map>
#include <set>

namespace baybook {

using log::Kind;

namespace {

using book::ConflictMaker;

class List {
 public:
  List(Book::Inside& in, const ConflictMaker& maker, const book::AllTwins& twins)
      : in_(in), maker_(maker), twins_(twins) {}

  // Rows of (name as it is compared, id, name as it is written), equal names next to each other. Each that comes after the first is listed with the
  // earliest one that nobody kept it apart from: what is settled one by one ends with every pair settled.
  void same_name(Conflict::What what, const char* words, const char* sql, bool joins) {
    std::string name;
    std::vector<std::pair<std::int64_t, std::string>> group;
    const auto end_of_group = [&] {
      for (std::size_t n = 1; n < group.size(); ++n) {
        const auto with = std::find_if(group.begin(), group.begin() + static_cast<std::ptrdiff_t>(n), [&](const auto& g) { return !maker_.apart(EntryId{g.first}, EntryId{group[n].first}); });
        if (with - group.begin() < static_cast<std::ptrdiff_t>(n)) pair(what, visible(with->second) + " is the " + words, with->first, group[n].first, joins);
      }
      group.clear();
    };
    auto q = in_.db.query(sql);
    while (q.step()) {
      if (q.text(0) != name) end_of_group();
      name = q.text(0);
      group.emplace_back(q.num(1), q.text(2));
    }
    end_of_group();
  }

  // Two answers to one recheck: in one book the second is refused.
  void two_answers() {
    struct Answered { std::int64_t closing, n, first, second; };
    std::vector<Answered> all;
    {
      auto q = in_.db.query("SELECT a.closing, a.n, a.entry, b.entry FROM rechecked a JOIN rechecked b ON b.closing = a.closing AND b.n = a.n AND (b.entry >> 40) > (a.entry >> 40) WHERE a.good <> b.good ORDER BY a.closing, a.n, a.entry, b.entry LIMIT 1000");
      while (q.step()) all.push_back({q.num(0), q.num(1), q.num(2), q.num(3)});
    }
    for (const Answered& a : all) {
      const auto closing = log::find_fact(in_.db, EntryId{a.closing});
      const auto row = closing ? service::job_row(in_.db, service::belongs_to(in_.db, *closing).job) : std::nullopt;
      pair(Conflict::What::recheck, "recheck " + (row ? service::job_name(in_.known, *row) : std::string("?")) + "/" + std::to_string(a.n) + " was answered good by one and not good by another", a.first, a.second, false);
    }
  }

  void pair(Conflict::What what, std::string text, std::int64_t first, std::int64_t second, bool joins) {
    const EntryId one{first};
    const EntryId other{second};
    if (maker_.apart(one, other)) return;
    if (what == Conflict::What::document && twins_.are(one, other)) return;
    Conflict c = maker_.make(what, std::move(text), {one, other});
    const std::string a = book::entry_name(in_, one);
    const std::string b = book::entry_name(in_, other);
    if (joins) c.instead.push_back("baybook settle join " + a + " " + b);
    if (what == Conflict::What::place || what == Conflict::What::fluid || what == Conflict::What::firm || what == Conflict::What::person || what == Conflict::What::deadline) c.instead.push_back("baybook settle rename " + b + " NAME");
    if (what == Conflict::What::document) {
      c.instead.push_back("baybook correct " + b + " --withdraw --why \"...\"  # if it is one");
      c.instead.push_back("baybook correct " + b + " --doc NUMBER --why \"...\"");
    }
    if (what == Conflict::What::closing || what == Conflict::What::recheck) maker_.choose(c, {one, other});
    maker_.keep_apart(c, one, other);
    out.push_back(std::move(c));
  }

  void tell(Conflict& c, EntryId id) { maker_.tell(c, id); }

  // " of oat-violet", when that is what an entry took from a shelf.
  std::string of_product(EntryId entry, PlaceId place, const char* before) {
    const log::Fact fact = log::read_fact(in_.db, entry);
    const log::Value* lines = fact.details.find("lines");
    if (lines == nullptr) return {};
    for (const log::Value& line : lines->as_array()) {
      if (line.has("alone") && log::read_place(line.at("from"), fact.origin()) == place)
        return before +
               book::fluid_name(in_.db, log::read_fluid(line.at("fluid"), fact.origin()));
    }
    return {};
  }

  void levels() {
    struct Broken { std::int64_t entry, place, rule, excess; };
    std::vector<Broken> all;
    {
      auto q = in_.db.query("SELECT entry, place, rule, excess FROM breach ORDER BY place, entry, rule");
      while (q.step()) all.push_back({q.num(0), q.num(1), q.num(2), q.num(3)});
    }
    for (const Broken& b : all) {
      // Of one that was entered twice it is said already, with what ends it.
      // What a second one takes that is not there is of no kind, and fits nowhere for that reason alone.
      const auto takes_too_much = [&](const auto& o) { return o.entry == b.entry && o.rule == 3; };
      const bool by_that = b.rule != 5 || std::any_of(all.begin(), all.end(), takes_too_much);
      if (by_that && twins_.has(EntryId{b.entry})) continue;
      const auto doubled = twins_.at(PlaceId{b.place});
      const std::string place = book::place_to_type(in_, PlaceId{b.place});
      std::int64_t dimension = 0;
      {
        auto q = in_.db.query("SELECT dimension FROM flow WHERE entry = ? AND (source = ?2 OR target = ?2) LIMIT 1");
        q.bind(b.entry).bind(b.place);
        if (q.step()) dimension = q.num(0);
      }
      const std::string amount = show(b.excess, static_cast<Dimension>(dimension), in_.settings.units) + of_product(EntryId{b.entry}, PlaceId{b.place}, " of ");
      Conflict c;
      c.what = Conflict::What::level;
      const std::string entry = book::entry_name(in_, EntryId{b.entry});
      c.text = b.rule == 3 ? "entry " + entry + " took " + amount + " more from " + place + " than it held" : b.rule == 4 ? "entry " + entry + " filled " + place + " " + amount + " over its size" : "entry " + entry + " brought into " + place + " what it does not take";
      tell(c, EntryId{b.entry});
      const auto gone = book::withdrawn_by(in_.db, EntryId{b.place});
      if (gone) c.instead.push_back(back(*gone));
      else if (b.rule != 5 && doubled) c.instead.push_back(book::end_of(in_, *doubled));
      else if (b.rule != 5) c.instead.push_back("baybook gauge " + place + " AMOUNT" + of_product(EntryId{b.entry}, PlaceId{b.place}, " --fluid ") + " --on DATE --reason \"...\"  # with what was there before it");
      if (b.rule == 5) c.instead.push_back("baybook correct " + entry + " --into PLACE --why \"...\"");
      c.instead.push_back("baybook correct " + entry + (b.rule == 5 ? " --withdraw --why \"...\"" : " --amount AMOUNT --why \"...\""));
      out.push_back(std::move(c));
    }
  }

  // What took all there was, and of which another book has taken everything away: nothing moves, and nobody wrote that.
  void emptied() {
    std::vector<std::int64_t> all;
    {
      auto q = in_.db.query("SELECT DISTINCT l.entry FROM leg l JOIN entry e ON e.id = l.entry WHERE e.kind = 15 AND NOT EXISTS (SELECT 1 FROM flow f WHERE f.entry = l.entry) ORDER BY l.entry");
      while (q.step()) all.push_back(q.num(0));
    }
    for (const std::int64_t id : all) {
      if (twins_.has(EntryId{id})) continue;
      const log::Fact fact = log::read_fact(in_.db, EntryId{id});
      Conflict c;
      c.what = Conflict::What::level;
      const std::string entry = book::entry_name(in_, EntryId{id});
      const PlaceId from = log::read_place(fact.details.list("lines").front().at("from"), fact.origin());
      c.text = "entry " + entry + " took all there was " + (of_product(EntryId{id}, from, "of ").empty() ? "" : of_product(EntryId{id}, from, "of ") + " ") + "in " + book::place_name(in_, from) + ", and nothing is there any more";
      tell(c, EntryId{id});
      c.instead = {"baybook gauge " + book::place_to_type(in_, from) + " AMOUNT" + of_product(EntryId{id}, from, " --fluid ") + " --on DATE --reason \"...\"  # with what was there before it", "baybook correct " + entry + " --amount AMOUNT --why \"...\"", "baybook correct " + entry + " --withdraw --why \"...\""};
      // A reading would make up what an entry that was written twice took away.
      if (const auto doubled = twins_.at(from)) c.instead.front() = book::end_of(in_, *doubled);
      out.push_back(std::move(c));
    }
  }

  // What one withdrew while another went on using it. What it was still tells what became of that; by its name it is not found any more.
  void withdrawn() {
    std::vector<std::pair<EntryId, EntryId>> all;
    {
      auto q = in_.db.query("SELECT a.target, a.entry FROM amended a JOIN entry e ON e.id = a.target WHERE a.withdrawn = 1 AND e.kind IN (2, 4, 5, 6, 8, 9, 13, 15, 18, 24) ORDER BY a.target");
      while (q.step()) all.emplace_back(EntryId{q.num(0)}, EntryId{q.num(1)});
    }
    for (const auto& one : all) {
      const EntryId gone = one.first;
      if (log::goes_by(in_.db, gone.n) != gone.n) continue;  // what was written on it counts for the one that it was settled to be
      const log::Fact fact = log::read_fact(in_.db, gone);
      std::vector<EntryId> on_it = book::dependants(in_.db, fact);
      std::erase(on_it, one.second);  // somebody who withdrew herself
      if (on_it.empty()) continue;
      Conflict c;
      c.what = Conflict::What::withdrawn;
      c.text = "entry " + book::entry_name(in_, gone) + " was withdrawn by entry " + book::entry_name(in_, one.second) + ", and " + std::to_string(on_it.size()) + (on_it.size() == 1 ? " entry stands" : " entries stand") + " on it";
      tell(c, gone);
      tell(c, one.second);
      for (std::size_t n = 0; n < on_it.size() && n < 5; ++n) tell(c, on_it[n]);
      c.instead.push_back(back(one.second));
      c.instead.push_back("baybook correct " + book::entry_name(in_, on_it.front()) + " --withdraw --why \"...\"" + (on_it.size() == 1 ? "" : "  # and so with each that stands on it"));
      out.push_back(std::move(c));
    }
  }

  // Two of a kind of which one had to go, and of which each was taken back by another installation:
  // now there is none, and nobody meant that.
  void both_gone() {
    if (in_.known.all.size() < 2) return;
    struct Gone { EntryId entry, by; };
    std::map<std::string, std::vector<Gone>> by_subject;
    std::map<std::string, std::string> told;
    std::vector<Gone> all;
    {
      auto q = in_.db.query(
          "SELECT a.target, a.entry FROM amended a JOIN entry e ON e.id = a.target WHERE a.withdrawn = 1 AND e.kind IN (15, 17, 26, 30) ORDER BY a.target");
      while (q.step()) all.push_back({EntryId{q.num(0)}, EntryId{q.num(1)}});
    }
    for (const Gone& g : all) {
      const auto [subject, text] = subject_of(log::read_fact(in_.db, g.entry));
      if (subject.empty()) continue;
      by_subject[subject].push_back(g);
      told[subject] = text;
    }
    for (const auto& [subject, gone] : by_subject) {
      // One who took both back, or the second knowing of the first, knew what is left.
      for (std::size_t n = 1; n < gone.size(); ++n) {
        const Gone& b = gone[n];
        const auto crossed = [&](const Gone& a) {
          return a.entry.origin() != b.entry.origin() &&
                 book::apart_in_knowledge(in_.db, a.by, b.by);
        };
        const auto a =
            std::find_if(gone.begin(), gone.begin() + static_cast<std::ptrdiff_t>(n), crossed);
        if (a - gone.begin() == static_cast<std::ptrdiff_t>(n) ||
            maker_.apart(a->entry, b.entry))
          continue;
        neither(told.at(subject), *a, b);
      }
    }
  }

  // Two places that one joined while another moved something from one into the other (F1).
  void into_itself() {
    struct Moved { std::int64_t entry, place; };
    std::vector<Moved> all;
    {
      auto q = in_.db.query("SELECT DISTINCT l.entry, l.place FROM leg l JOIN flow f ON f.entry = l.entry AND f.source = l.place AND f.target = l.place WHERE l.place IN (SELECT goes_by FROM settled) ORDER BY l.place, l.entry");
      while (q.step()) all.push_back({q.num(0), q.num(1)});
    }
    for (const Moved& m : all) {
      Conflict c;
      c.what = Conflict::What::movement;
      const std::string entry = book::entry_name(in_, EntryId{m.entry});
      c.text = "entry " + entry + " moved something from " + book::place_name(in_, PlaceId{m.place}) + " into itself: the two places it names were settled to be one";
      tell(c, EntryId{m.entry});
      std::vector<std::int64_t> joins;
      {
        auto q = in_.db.query("SELECT s.entry FROM settlement s WHERE s.joins = 1 AND (s.keep = ?1 OR s.keep IN (SELECT id FROM settled WHERE goes_by = ?1)) ORDER BY s.moment, s.recorded, s.entry");
        q.bind(m.place);
        while (q.step()) joins.push_back(q.num(0));
      }
      c.instead.push_back("baybook correct " + entry + " --withdraw --why \"...\"  # if they are one");
      for (const std::int64_t join : joins) {
        tell(c, EntryId{join});
        c.instead.push_back("baybook correct " + book::entry_name(in_, EntryId{join}) + " --withdraw --why \"...\"  # if they are two");
      }
      out.push_back(std::move(c));
    }
  }

  std::vector<Conflict> out;

 private:
  template <class Gone>
  void neither(const std::string& text, const Gone& a, const Gone& b) {
    Conflict c;
    c.what = Conflict::What::withdrawn;
    c.text = text + ": entries " + book::entry_name(in_, a.entry) + " and " +
             book::entry_name(in_, b.entry) +
             " were withdrawn by two who did not know of each other, and neither holds";
    for (const EntryId id : {a.entry, b.entry, a.by, b.by}) tell(c, id);
    maker_.choose(c, {a.entry, b.entry});
    maker_.keep_apart(c, a.entry, b.entry, "neither is to hold");
    out.push_back(std::move(c));
  }

  // What an entry of which there can be one is about, and in words; empty when there is one that
  // holds, or can be many.
  std::pair<std::string, std::string> subject_of(const log::Fact& fact) {
    const log::Value& d = fact.details;
    if (fact.kind == Kind::close) {
      const auto first = read_day(std::string(d.str("month")) + "-01");
      if (!first || holds("SELECT 1 FROM closed WHERE month = ? LIMIT 1", month_of(*first).n))
        return {};
      return {"month " + std::string(d.str("month")), std::string(d.str("month")) + " is open"};
    }
    if (fact.kind == Kind::correction) {
      const std::int64_t target = log::read_ref(d.at("target"), fact.origin());
      if (holds("SELECT 1 FROM amended WHERE target = ? LIMIT 1", target)) return {};
      const std::string name = book::entry_name(in_, EntryId{target});
      return {"correction " + name, "entry " + name + " is as it was written"};
    }
    if (fact.kind == Kind::recheck_done) {
      const std::int64_t closing = log::read_ref(d.at("closing"), fact.origin());
      if (holds("SELECT 1 FROM rechecked WHERE closing = ?1 AND n = ?2 LIMIT 1", closing,
                d.num("recheck")))
        return {};
      const auto job = log::find_fact(in_.db, EntryId{closing});
      const auto row =
          job ? service::job_row(in_.db, service::belongs_to(in_.db, *job).job) : std::nullopt;
      const std::string name = (row ? service::job_name(in_.known, *row) : std::string("?")) + "/" +
                               std::to_string(d.num("recheck"));
      return {"recheck " + name, "recheck " + name + " has no answer"};
    }
    if (fact.kind == Kind::movement && d.has("document") && d.str("verb") == "pickup") {
      const std::string paper(d.str("document"));
      auto q = in_.db.query("SELECT 1 FROM pickup WHERE document = ? LIMIT 1");
      q.bind(paper);
      if (q.step()) return {};
      return {"paper " + paper, "paper " + visible(paper) + " is that of no pick-up"};
    }
    return {};
  }
  bool holds(const char* sql, std::int64_t a, std::int64_t b = 0) {
    auto q = in_.db.query(sql);
    q.bind(a);
    if (std::string_view(sql).find("?2") != std::string_view::npos) q.bind(b);
    return q.step();
  }

  [[nodiscard]] std::string back(EntryId withdrawal) const { return "baybook correct " + book::entry_name(in_, withdrawal) + " --withdraw --why \"...\"  # which brings it back"; }

  Book::Inside& in_;
  const ConflictMaker& maker_;
  const book::AllTwins& twins_;
};

}  // namespace

std::string_view name_of(Conflict::What what) noexcept {
  switch (what) {
    case Conflict::What::car: return "car";
    case Conflict::What::place: return "place";
    case Conflict::What::fluid: return "fluid";
    case Conflict::What::person: return "person";
    case Conflict::What::firm: return "firm";
    case Conflict::What::deadline: return "deadline";
    case Conflict::What::document: return "document";
    case Conflict::What::correction: return "correction";
    case Conflict::What::closing: return "closing";
    case Conflict::What::level: return "level";
    case Conflict::What::withdrawn: return "withdrawn";
    case Conflict::What::movement: return "movement";
    case Conflict::What::recheck: return "recheck";
    case Conflict::What::choice: return "choice";
    case Conflict::What::determination: return "determination";
    case Conflict::What::job: return "job";
    case Conflict::What::scrapped: return "scrapped";
    case Conflict::What::car_change: return "car-change";
    case Conflict::What::schedule: return "schedule";
    case Conflict::What::twin: return "twin";
    case Conflict::What::fork: return "fork";
  }
  return "";
}

namespace book {

std::vector<Conflict> list_conflicts(Book::Inside& in) {
  const ConflictMaker maker(in);
  const AllTwins twins(in);
  List list(in, maker, twins);
  using What = Conflict::What;
  list.same_name(What::car, "plate of two cars",
                 "SELECT c.key, c.id, max(p.worn) FROM car c JOIN plate p ON p.car = c.id AND p.key = "
                 "c.key WHERE c.scrapped = 0 AND c.key IN (SELECT key FROM car WHERE scrapped = 0 AND "
                 "key <> '' GROUP BY key HAVING count(*) > 1) GROUP BY c.id ORDER BY c.key, c.id",
                 true);
  list.same_name(What::car, "vehicle number of two cars",
                 "SELECT vin, id, vin FROM car c WHERE vin <> '' AND vin IN (SELECT vin FROM car "
                 "WHERE vin <> '' GROUP BY vin HAVING count(*) > 1 AND count(DISTINCT key) > 1) ORDER "
                 "BY vin, id",
                 true);
  list.same_name(What::place, "name of two places",
                 "SELECT code, id, code FROM place WHERE role <> 0 AND code IN (SELECT code FROM "
                 "place WHERE role <> 0 GROUP BY code HAVING count(*) > 1) ORDER BY code, id",
                 true);
  list.same_name(What::fluid, "name of two fluids",
                 "SELECT code, id, code FROM fluid WHERE code IN (SELECT code FROM fluid GROUP BY "
                 "code HAVING count(*) > 1) ORDER BY code, id",
                 true);
  list.same_name(What::person, "name of two people",
                 "SELECT lower(name), id, name FROM person WHERE name <> '' AND lower(name) IN "
                 "(SELECT lower(name) FROM person GROUP BY lower(name) HAVING count(*) > 1) ORDER BY "
                 "lower(name), id",
                 true);
  list.same_name(What::firm, "name of two firms",
                 "SELECT code, id, code FROM firm WHERE code IN (SELECT code FROM firm GROUP BY code "
                 "HAVING count(*) > 1) ORDER BY code, id",
                 true);
  list.same_name(What::deadline, "name of two deadlines",
                 "SELECT code, id, code FROM deadline WHERE code IN (SELECT code FROM deadline GROUP "
                 "BY code HAVING count(*) > 1) ORDER BY code, id",
                 false);
  list.same_name(What::document, "paper of two pick-ups",
                 "SELECT document, entry, document FROM pickup WHERE document <> '' AND document IN "
                 "(SELECT document FROM pickup GROUP BY document HAVING count(*) > 1) ORDER BY "
                 "document, entry",
                 false);
  list.same_name(What::closing, "month that was closed twice",
                 "SELECT CAST(month AS TEXT), entry, CAST(1970 + month / 12 AS TEXT) || '-' || "
                 "substr('0' || CAST(month % 12 + 1 AS TEXT), -2) FROM closed WHERE month IN (SELECT "
                 "month FROM closed GROUP BY month HAVING count(DISTINCT entry >> 40) > 1) ORDER BY "
                 "month, moment, recorded, entry",
                 false);
  list_twins(in, maker, twins, list.out);
  list_corrections(in, maker, list.out);
  list.two_answers();
  list.emptied();
  list.withdrawn();
  list.both_gone();
  list.into_itself();
  list.levels();
  list_unaware(in, maker, list.out);
  list_forks(in, maker, list.out);
  return std::move(list.out);
}

}  // namespace book

Result<std::vector<Conflict>> conflicts(const Book& book) {
  return book::guarded<std::vector<Conflict>>([&]() -> Result<std::vector<Conflict>> {
    Book::Inside& in = book.inside();
    store::Snapshot snapshot(in.db);
    return book::list_conflicts(in);
  });
}

}  // namespace baybook
