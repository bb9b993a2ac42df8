#include "book/twins.hpp"

#include "book/knowing.hpp"

#include "log/references.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace baybook::book {

using log::Fact;
using log::Value;

namespace {

// From a place to a place, in one dimension, so much by the best value.
using Line = std::tuple<std::int64_t, std::int64_t, Dimension, std::int64_t>;

struct Moved {
  Fact fact;
  std::string verb, paper;
  std::int64_t job = 0;
  std::vector<Line> lines;
};

Moved read(store::Db& db, EntryId id) {
  Moved m;
  m.fact = log::read_fact(db, id);
  if (m.fact.withdrawn) return m;
  const Value& d = m.fact.details;
  m.verb = d.str("verb");
  if (d.has("document")) m.paper = d.str("document");
  if (const Value* job = d.find("job")) m.job = log::read_ref(*job, m.fact.origin());
  for (const Value& line : d.list("lines")) {
    const Amount amount = log::read_amount(line.at("amount"));
    m.lines.emplace_back(log::read_place(line.at("from"), m.fact.origin()).n,
                         log::read_place(line.at("to"), m.fact.origin()).n, amount.dimension,
                         amount.best);
  }
  std::sort(m.lines.begin(), m.lines.end());
  return m;
}

bool same_way(const Line& a, const Line& b) {
  return std::get<0>(a) == std::get<0>(b) && std::get<1>(a) == std::get<1>(b) &&
         std::get<2>(a) == std::get<2>(b);
}

bool shares_a_way(const Moved& a, const Moved& b) {
  return std::any_of(a.lines.begin(), a.lines.end(), [&](const Line& x) {
    return std::any_of(b.lines.begin(), b.lines.end(),
                       [&](const Line& y) { return same_way(x, y); });
  });
}

bool alike(const Moved& a, const Moved& b) {
  if (a.fact.withdrawn || b.fact.withdrawn || a.verb != b.verb) return false;
  if (!a.paper.empty() && a.paper == b.paper) return shares_a_way(a, b);
  // Two papers are two deliveries, however alike.
  if (!a.paper.empty() && !b.paper.empty()) return false;
  const std::int64_t apart = a.fact.effect.moment - b.fact.effect.moment;
  return std::abs(apart) <= log::kMoments && a.job == b.job && a.lines == b.lines;
}

class Search {
 public:
  explicit Search(Book::Inside& in) : in_(in), settled_(in) {}

  std::vector<Twins> all() {
    within_a_day();
    of_one_paper();
    std::vector<std::pair<log::Effect, Twins>> found;
    for (const auto& [a, b] : pairs_) consider(EntryId{a}, EntryId{b}, found);
    std::sort(found.begin(), found.end(), [](const auto& x, const auto& y) {
      return std::pair(x.first, x.second.second) < std::pair(y.first, y.second.second);
    });
    std::vector<Twins> out;
    for (auto& [effect, twins] : found) out.push_back(std::move(twins));
    return out;
  }

 private:
  // What touched one place within a day of each other.
  void within_a_day() {
    auto q = in_.db.query(
        "SELECT DISTINCT a.entry, b.entry FROM leg a JOIN leg b ON b.place = a.place AND b.moment "
        "BETWEEN a.moment - ?1 AND a.moment + ?1 AND (b.entry >> 40) > (a.entry >> 40) "
        "WHERE (SELECT kind FROM entry WHERE id = a.entry) = 15 AND "
        "(SELECT kind FROM entry WHERE id = b.entry) = 15");
    q.bind(log::kMoments);
    while (q.step()) pairs_.insert(std::minmax(q.num(0), q.num(1)));
  }

  // Deliveries and pick-ups by their paper, whenever each of them was entered.
  void of_one_paper() {
    std::map<std::pair<std::string, std::string>, std::vector<EntryId>> by_paper;
    std::vector<EntryId> ids;
    {
      auto q = in_.db.query(
          "SELECT DISTINCT entry FROM flow WHERE source = ?1 OR target = ?2 ORDER BY entry");
      q.bind(kSupplier.n).bind(kReceiver.n);
      while (q.step()) ids.push_back(EntryId{q.num(0)});
    }
    for (const EntryId id : ids) {
      if (log::row_of(in_.db, id).kind != log::Kind::movement) continue;
      const Moved& m = moved(id);
      if (!m.paper.empty()) by_paper[{m.verb, m.paper}].push_back(id);
    }
    for (const auto& [paper, of_it] : by_paper) {
      for (std::size_t i = 0; i < of_it.size(); ++i) {
        for (std::size_t j = i + 1; j < of_it.size(); ++j) {
          if (of_it[i].origin() != of_it[j].origin())
            pairs_.insert(std::minmax(of_it[i].n, of_it[j].n));
        }
      }
    }
  }

  void consider(EntryId a, EntryId b, std::vector<std::pair<log::Effect, Twins>>& found) {
    if (settled_.apart(a, b) || !alike(moved(a), moved(b))) return;
    if (!apart_in_knowledge(in_.db, a, b)) return;
    const log::Effect& x = moved(a).fact.effect;
    const log::Effect& y = moved(b).fact.effect;
    const bool in_order = x < y;
    const bool one_paper = moved(a).paper == moved(b).paper;
    found.emplace_back(std::min(x, y), Twins{in_order ? a : b, in_order ? b : a,
                                             one_paper ? moved(a).paper : std::string()});
  }

  const Moved& moved(EntryId id) {
    const auto known = moved_.find(id);
    return known != moved_.end() ? known->second : moved_.emplace(id, read(in_.db, id)).first->second;
  }

  Book::Inside& in_;
  ConflictMaker settled_;
  std::set<std::pair<std::int64_t, std::int64_t>> pairs_;
  std::map<EntryId, Moved> moved_;
};

}  // namespace

AllTwins::AllTwins(Book::Inside& in) : in_(in) {
  if (in.known.all.size() > 1) all_ = Search(in).all();
}

bool AllTwins::has(EntryId entry) const {
  return std::any_of(all_.begin(), all_.end(), [&](const Twins& t) {
    return t.first == entry || t.second == entry;
  });
}

bool AllTwins::are(EntryId a, EntryId b) const {
  return std::any_of(all_.begin(), all_.end(), [&](const Twins& t) {
    return std::minmax(t.first, t.second) == std::minmax(a, b);
  });
}

std::optional<Twins> AllTwins::at(PlaceId place) const {
  for (const Twins& t : all_) {
    const Fact fact = log::read_fact(in_.db, t.second);
    const auto& lines = fact.details.list("lines");
    const bool touches = std::any_of(lines.begin(), lines.end(), [&](const Value& line) {
      return log::read_place(line.at("from"), fact.origin()) == place ||
             log::read_place(line.at("to"), fact.origin()) == place;
    });
    if (touches) return t;
  }
  return std::nullopt;
}

std::string end_of(const Book::Inside& in, const Twins& twins) {
  return "baybook correct " + entry_name(in, twins.second) +
         " --withdraw --why \"...\"  # if it is entry " + entry_name(in, twins.first) +
         ", entered twice";
}

void list_twins(Book::Inside& in, const ConflictMaker& maker, const AllTwins& twins,
                std::vector<Conflict>& out) {
  for (const Twins& t : twins.all()) {
    const std::string both =
        "entries " + entry_name(in, t.first) + " and " + entry_name(in, t.second);
    Conflict c = maker.make(Conflict::What::twin,
                            (t.paper.empty() ? both + " read alike"
                                             : "paper " + visible(t.paper) + " stands in " + both) +
                                ", and neither was written knowing of the other",
                            {t.first, t.second});
    c.choices = {ref_of(in, t.first), ref_of(in, t.second)};
    // The second in effect order is too many, the same one in every book.
    c.instead = {maker.withdraw(t.second) + "  # if it was done once"};
    maker.keep_apart(c, t.first, t.second);
    c.instead.back() += "  # if it was done twice";
    out.push_back(std::move(c));
  }
}

}  // namespace baybook::book
