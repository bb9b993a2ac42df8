// What got out, and what of it lies within the rules' window of a day.
#include "book/spills.hpp"

#include "book/spill_words.hpp"
#include "fluids/shares.hpp"
#include "log/sum.hpp"

#include <algorithm>
#include <cstdlib>

namespace baybook::book {

using log::Fact;
using log::Value;

namespace {

// The rules' window: "within any 24-hour period" (40 CFR 302.6).
constexpr std::int64_t kDay = 1440;
constexpr std::int64_t kLastSlot = log::kMoments - 1;

std::optional<std::int64_t> minute_of(std::int64_t moment) {
  const std::int64_t day = log::day_of_moment(moment).n;
  const std::int64_t slot = moment - day * log::kMoments;
  if (slot == kLastSlot) return std::nullopt;
  return day * kDay + slot - kDay;
}

/// What was typed for it: of a program that took off what was picked up, what stood before that.
std::string typed_of(const Fact& fact) {
  std::string out;
  const Value* lines = fact.details.find("lines");
  if (lines == nullptr) return out;
  std::string taken_off;
  for (const Value& line : lines->as_array()) {
    const PlaceId from = log::read_place(line.at("from"), fact.origin());
    const PlaceId to = log::read_place(line.at("to"), fact.origin());
    if (to != kGround && from == kSupplier) continue;
    std::string typed(line.at("amount").str("typed"));
    if (const std::size_t minus = typed.find(" - "); minus != std::string::npos) {
      taken_off = typed.substr(minus) + " ";
      typed.resize(minus);
    } else if (taken_off.find(" - " + typed + " ") != std::string::npos) {
      continue;  // in the figure of the line before
    }
    out += (out.empty() ? "" : " and ") + typed;
  }
  return out;
}

/// One spill's part in the sum of a substance: when it was, or may have been.
struct Item {
  const Spill* spill = nullptr;
  std::int64_t low = 0, best = 0, high = 0;
  std::int64_t from = 0, to = 0;  ///< minutes; the same where its time is written
};

struct Sum {
  std::int64_t low = 0, best = 0, high = 0;
  std::vector<const Spill*> of{};
};

// The largest sum of a window of a day in which the first item is; `surely`: only what lies in it
// whenever it was.
Sum largest(const std::vector<Item>& items, bool surely) {
  Sum most;
  const auto inside = [&](const Item& i, std::int64_t start) {
    return surely ? i.from >= start && i.to <= start + kDay
                  : i.from <= start + kDay && i.to >= start;
  };
  for (const Item& edge : items) {
    for (const std::int64_t start : {edge.from, edge.to, edge.from - kDay, edge.to - kDay}) {
      if (!inside(items.front(), start)) continue;
      Sum sum;
      for (const Item& i : items) {
        if (!inside(i, start)) continue;
        log::add_to(sum.low, 1, i.low);
        log::add_to(sum.best, 1, i.best);
        log::add_to(sum.high, 1, i.high);
        sum.of.push_back(i.spill);
      }
      const auto larger = surely ? std::pair(sum.best, sum.high) > std::pair(most.best, most.high)
                                 : std::pair(sum.high, sum.best) > std::pair(most.high, most.best);
      if (larger || most.of.empty()) most = std::move(sum);
    }
  }
  return most;
}

}  // namespace

/// What one spill comes to of one substance.
struct Spills::Part {
  const Reportable* rule = nullptr;
  std::string fluid;
  bool whole = false;   ///< nobody said a share
  std::string share{};  ///< which one, and who said it
  bool weighed = false;
  std::int64_t low = 0, best = 0, high = 0;
};

namespace {

const Reportable* rule_for(const std::vector<const Reportable*>& rules, std::string_view of_class,
                           std::string_view substance) {
  const Reportable* found = nullptr;
  for (const Reportable* r : rules) {
    if (!same_substance(r->substance, substance)) continue;
    if (r->classes == of_class) return r;
    if (found == nullptr || r->quantity < found->quantity) found = r;
  }
  return found;
}

}  // namespace

class Spills::Parts {
 public:
  Parts(Office& office, Day day, const RuleSet& rules)
      : office_(office), day_(day), rules_(rules.reportable_on(day)) {}

  std::vector<Part> of(const Spill& spill, std::vector<std::string>* notes) {
    std::vector<Part> out;
    for (const GotOut& g : spill.out) {
      const FluidClass* c = find_class(FluidId{office_.in().ledger.class_of(g.fluid)});
      if (c == nullptr) continue;
      const std::string fluid = fluid_name(office_.in().db, FluidId{g.fluid});
      const auto weight =
          office_.weight(g.fluid, office_.stream_for("waste-" + std::string(c->name), day_));
      Part whole;
      whole.fluid = fluid;
      if (const auto best = Office::mass(g.best, g.dimension, weight)) {
        whole.weighed = true;
        whole.best = *best;
        whole.low = *Office::mass(g.low, g.dimension, weight);
        whole.high = *Office::mass(g.high, g.dimension, weight);
      }
      const auto [shares, said_by] = shares_of(spill, g.fluid);
      if (shares.empty()) {
        add_class(*c, whole, out);
      } else {
        for (const MassShare& s : shares) add_share(*c, whole, s, said_by, out, notes);
        if (notes != nullptr) note_rest(fluid, shares, *notes);
      }
    }
    return out;
  }

 private:
  std::pair<std::vector<MassShare>, std::string> shares_of(const Spill& spill, std::int64_t fluid) {
    if (!spill.shares.empty())
      return {spill.shares, "said with the spill, entry " + entry_name(office_.in(), spill.id)};
    if (fluid < 1000) return {};
    const auto fact = log::find_fact(office_.in().db, EntryId{fluid});
    if (!fact || fact->kind != log::Kind::fluid) return {};
    return {fluids::read_shares(fact->details),
            "said of " + fluid_name(office_.in().db, FluidId{fluid}) + ", entry " +
                entry_name(office_.in(), fact->source)};
  }

  void add_class(const FluidClass& c, const Part& whole, std::vector<Part>& out) const {
    for (const Reportable* r : rules_) {
      if (r->classes != c.name) continue;
      Part p = whole;
      p.rule = r;
      p.whole = true;
      out.push_back(std::move(p));
    }
  }

  void add_share(const FluidClass& c, const Part& whole, const MassShare& s,
                 const std::string& said_by, std::vector<Part>& out,
                 std::vector<std::string>* notes) const {
    Part p = whole;
    p.rule = rule_for(rules_, c.name, s.substance);
    if (p.rule == nullptr) {
      if (notes != nullptr)
        notes->push_back("the rules name no quantity for " + s.substance + " in " + whole.fluid);
      return;
    }
    p.share = s.typed.empty() ? std::to_string(s.best_ppm) + " millionths" : s.typed;
    p.share += " of the mass, " + said_by;
    const ShareOfMass m = share_of(whole.low, whole.best, whole.high, s);
    p.low = m.low;
    p.best = m.best;
    p.high = m.high;
    out.push_back(std::move(p));
  }

  static void note_rest(const std::string& fluid, const std::vector<MassShare>& shares,
                        std::vector<std::string>& notes) {
    std::int64_t best = 0;
    for (const MassShare& s : shares) best += s.best_ppm;
    if (best >= 1'000'000) return;
    notes.push_back("of the rest of " + fluid +
                    " nothing is said: it is taken to hold nothing that is reportable");
  }

  Office& office_;
  Day day_;
  std::vector<const Reportable*> rules_;
};

namespace {

using Compared = SpillComparison::State;

Compared state_of(const SpillComparison& c, bool weighed) {
  const std::int64_t n = c.quantity.n;
  if (c.best_ug >= n) return Compared::at_or_over;
  if (c.high_ug >= n || c.may_high_ug >= n) return Compared::may_be;
  if (c.unweighed && !weighed) return Compared::unknown;
  return near_limit(c.best_ug, n) || near_limit(c.may_best_ug, n) ? Compared::near
                                                                  : Compared::below;
}

}  // namespace

Spills::Spills(Office& office, Day from, Day until) : office_(office) {
  Book::Inside& in = office.in();
  std::vector<std::pair<std::int64_t, std::int64_t>> found;
  {
    // What an older program booked as lost at a closing went to the ground as well.
    auto q = in.db.query(
        "SELECT e.id, e.moment FROM entry e WHERE e.kind IN (9, 15) AND e.moment BETWEEN ?1 AND ?2 "
        "AND "
        "(e.kind = 9 OR instr(e.body, '\"verb\":\"spill\"') > 0) AND "
        "EXISTS (SELECT 1 FROM flow f WHERE f.entry = e.id AND (e.kind = 15 OR f.target = 3)) "
        "ORDER BY e.moment, e.recorded, e.id");
    q.bind(log::first_moment(from)).bind(log::last_moment(until));
    while (q.step()) found.emplace_back(q.num(0), q.num(1));
  }
  for (const auto& [id, moment] : found) {
    const auto fact = log::find_fact(in.db, EntryId{id});
    if (!fact || fact->withdrawn) continue;
    Spill s;
    s.id = EntryId{id};
    s.day = log::day_of_moment(moment);
    s.moment = moment;
    s.minute = minute_of(moment);
    s.shares = fluids::read_shares(fact->details);
    if (fact->details.has("reached")) s.reached = fact->details.str("reached");
    s.typed = typed_of(*fact);
    // All that left where it was: what was picked up of it had got out too. What soaked it up came
    // from elsewhere.
    auto q = in.db.query(
        "SELECT fluid, dimension, sum(low), sum(best), sum(high) FROM flow WHERE entry = ? AND "
        "source <> 1 AND "
        "(target = 3 OR (source <> 2 AND ?)) GROUP BY fluid, dimension ORDER BY fluid, dimension");
    q.bind(id).bind(std::int64_t{fact->kind == log::Kind::movement});
    while (q.step()) s.out.push_back({q.num(0), q.num(1), q.num(2), q.num(3), q.num(4)});
    if (!s.out.empty()) all_.push_back(std::move(s));
  }
}

namespace {

// Spills of the same two days and of those beside them, the one that is asked about first.
std::vector<const Spill*> around(const std::vector<Spill>& all, const Spill& spill) {
  std::vector<const Spill*> out{&spill};
  for (const Spill& s : all) {
    if (s.id != spill.id && std::abs(s.day.n - spill.day.n) <= 2) out.push_back(&s);
  }
  return out;
}

// Days are those of the site, minutes those of UTC: how far apart they are tells any spill of which
// a time is written.
std::int64_t offset_of(Book::Inside& in, const std::vector<const Spill*>& spills) {
  for (const Spill* s : spills) {
    if (!s->minute) continue;
    if (const auto at = log::time_of_body(log::row_of(in.db, s->id).body))
      return at->offset_minutes;
  }
  return 0;
}

Item item_of(const Spill& s, std::int64_t offset) {
  Item i;
  i.spill = &s;
  i.from = s.minute ? *s.minute + offset : std::int64_t{s.day.n} * kDay;
  i.to = s.minute ? i.from : i.from + kDay - 1;
  return i;
}

void add_once(std::vector<std::string>& list, const std::string& text) {
  if (!text.empty() && std::find(list.begin(), list.end(), text) == list.end())
    list.push_back(text);
}

}  // namespace

struct Spills::Near {
  const RuleSet* rules = nullptr;
  std::vector<const Spill*> spills{};      ///< the one that is asked about first
  std::vector<std::vector<Part>> parts{};  ///< of each of them
  std::int64_t offset = 0;
};

SpillComparison Spills::compare(const Part& own, const Near& near) {
  Book::Inside& in = office_.in();
  SpillComparison c;
  std::vector<Item> items;
  std::vector<std::string> shares;
  bool weighed = false;
  const Reportable* rule = own.rule;
  for (std::size_t i = 0; i < near.spills.size(); ++i) {
    Item item = item_of(*near.spills[i], near.offset);
    bool any = false;
    for (const Part& x : near.parts[i]) {
      if (!same_substance(x.rule->substance, own.rule->substance)) continue;
      any = true;
      if (x.rule->quantity < rule->quantity) rule = x.rule;
      c.unweighed = c.unweighed || !x.weighed;
      weighed = weighed || x.weighed;
      log::add_to(item.low, 1, x.low);
      log::add_to(item.best, 1, x.best);
      log::add_to(item.high, 1, x.high);
      if (i != 0) continue;
      add_once(c.fluids, x.fluid);
      add_once(shares, x.whole
                           ? unsaid_share(x.fluid, near.rules->reportable_on(near.spills[0]->day))
                           : x.fluid + ": " + x.share);
    }
    if (any) items.push_back(item);
  }
  const Sum sure = largest(items, true);
  const Sum may = largest(items, false);
  c.substance = rule->substance;
  c.quantity = rule->quantity;
  c.typed = rule->typed;
  c.window = rule->window;
  c.section = rule->source.section;
  c.sure = rule->source.sure;
  c.low_ug = sure.low;
  c.best_ug = sure.best;
  c.high_ug = sure.high;
  c.may_high_ug = may.high;
  c.may_best_ug = may.best;
  for (const Spill* s : sure.of) c.entries.push_back(ref_of(in, s->id));
  for (const Spill* s : may.of) {
    if (std::find(sure.of.begin(), sure.of.end(), s) == sure.of.end())
      c.may.push_back(ref_of(in, s->id));
  }
  c.state = state_of(c, weighed);
  for (const std::string& s : shares) c.share += (c.share.empty() ? "" : "; ") + s;
  put_into_words(c, near.spills[0]->typed, in);
  return c;
}

SpillAdvice Spills::advice(const Spill& spill) {
  SpillAdvice out;
  Book::Inside& in = office_.in();
  out.entry = ref_of(in, spill.id);
  out.day = spill.day;
  out.is_spill = true;
  Near near;
  near.rules = office_.rules_on(spill.day);
  if (near.rules == nullptr) return out;
  Parts parts(office_, spill.day, *near.rules);
  near.spills = around(all_, spill);
  near.offset = offset_of(in, near.spills);
  for (const Spill* s : near.spills)
    near.parts.push_back(parts.of(*s, s == &spill ? &out.notes : nullptr));
  for (const Part& p : near.parts.front()) {
    const auto same = [&](const SpillComparison& c) {
      return same_substance(c.substance, p.rule->substance);
    };
    if (std::none_of(out.substances.begin(), out.substances.end(), same))
      out.substances.push_back(compare(p, near));
  }
  std::stable_sort(
      out.substances.begin(), out.substances.end(),
      [](const SpillComparison& a, const SpillComparison& b) { return a.quantity < b.quantity; });
  say_aloud(out, spill, *near.rules, in);
  return out;
}

}  // namespace baybook::book
