// Standing limits, clocks and deadlines as they stand on a day.
#include "book/office.hpp"

#include "returns/category.hpp"

#include <algorithm>

namespace baybook {

using book::guarded;
using book::Office;

namespace {

// A line is "near" within these (common practice, no source): told in docs/rules.md.
constexpr int kNearDays = 14;
constexpr int kNearPercent = 80;

using State = LimitLine::State;

State state_of_day(Day due, Day today) { return due < today ? State::over : due.n - today.n <= kNearDays ? State::near : State::fine; }

std::string days_left(Day due, Day today) {
  const int n = due.n - today.n;
  const std::string days = std::to_string(n < 0 ? -n : n) + ((n == 1 || n == -1) ? " day" : " days");
  return n < 0 ? days + " over" : n == 0 ? "today is the last day" : days + " left";
}

std::string kg(std::int64_t ug) { return show(ug, Dimension::mass, Units{}); }

struct OnHand {
  const Office::WastePlace* place = nullptr;
  std::int64_t filling = 0;
  Day since;
  EntryRef first;
  StreamFacts facts;
  const Stream* stream = nullptr;
  std::int64_t ug = 0, high_ug = 0, volume = 0, pieces = 0;
  bool unweighed = false;
  [[nodiscard]] std::string name() const { return place->code + "/" + std::to_string(filling); }
  [[nodiscard]] bool counts() const { return facts.counted != YesNo::no; }
  [[nodiscard]] bool hazardous() const { return facts.hazardous != YesNo::no; }
};

class Clocks {
 public:
  Clocks(Book::Inside& in, Day day) : in_(in), office_(in), day_(day) {}

  Limits work_out() {
    out_.day = day_;
    rules_ = office_.rules_on(day_);
    if (rules_ != nullptr) {
      out_.rules = rules_->name;
      out_.rules_digest = rules_->digest;
      out_.aid = rules_->aid;
    }
    us_ = rules_ != nullptr && rules_->scheme == "us";
    read_on_hand();
    if (us_) {
      out_.category = category(month_of(day_));
      out_.category_title = returns::category_title(*rules_, day_, out_.category);
    }
    pans();
    if (rules_ != nullptr) {
      if (us_) {
        weight_on_site();
        satellites();
      }
      for (const OnHand& h : on_hand_) clock(h);
      counts();
      oil_plan();
      inspections();
      renewals();
      keep();
    }
    papers();
    own_deadlines();
    const auto nearer = [](const LimitLine& a, const LimitLine& b) {
      if (a.due.has_value() != b.due.has_value()) return a.due.has_value();
      if (a.due && *a.due != *b.due) return *a.due < *b.due;
      if (!a.due && a.state != b.state) return a.state > b.state;
      return std::tie(a.group, a.what) < std::tie(b.group, b.what);
    };
    std::sort(out_.lines.begin(), out_.lines.end(), nearer);
    std::sort(out_.keep.begin(), out_.keep.end(), nearer);
    return std::move(out_);
  }

 private:
  int category(Month month) {
    const auto it = categories_.find(month.n);
    if (it != categories_.end()) return it->second;
    return categories_[month.n] = book::category_of(office_, month);
  }
  /// The most stringent category of the months from one day to another.
  int category_between(Day from, Day until) {
    int out = 0;
    for (Month m = month_of(from); m <= month_of(until); m.n += 1) out = std::max(out, category(m));
    return out;
  }
  const RuleValue* value(std::string_view key) { return rules_->value(key, day_); }

  LimitLine& line(const char* group, std::string what, const RuleValue* rule) {
    LimitLine l;
    l.group = group;
    l.what = std::move(what);
    if (rule != nullptr) {
      l.section = rule->source.section;
      l.sure = rule->source.sure;
    }
    out_.lines.push_back(std::move(l));
    return out_.lines.back();
  }

  void read_on_hand() {
    const std::int64_t until = log::last_moment(day_);
    for (const Office::WastePlace& p : office_.waste_places()) {
      OnHand h;
      h.place = &p;
      {
        auto q = in_.db.query("SELECT number, moment, entry, until_entry, until_moment FROM filling WHERE place = ? AND moment <= ? ORDER BY number DESC LIMIT 1");
        q.bind(p.id.n).bind(until);
        if (!q.step() || (q.num(3) != 0 && q.num(4) <= until)) continue;
        h.filling = q.num(0);
        h.since = log::day_of_moment(q.num(1));
        h.first = book::ref_of(in_, EntryId{q.num(2)});
      }
      h.facts = office_.facts(p.stream, p.id, day_);
      h.stream = office_.stream_for(p.stream, day_);
      struct Part { std::int64_t dimension, fluid, best, high; };
      std::vector<Part> parts;
      {
        auto q = in_.db.query(
            "SELECT f.dimension, f.fluid, sum(CASE WHEN f.source = ?1 THEN -f.best ELSE f.best END), sum(CASE WHEN f.source = ?1 THEN CASE f.mode WHEN 0 THEN -f.low ELSE -f.high END ELSE f.high END) "
            "FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND l.moment <= ?2 AND (f.source = ?1 OR f.target = ?1) GROUP BY f.dimension, f.fluid");
        q.bind(p.id.n).bind(until);
        while (q.step()) parts.push_back({q.num(0), q.num(1), q.num(2), q.num(3)});
      }
      for (const Part& x : parts) {
        const auto weight = office_.weight(x.fluid, h.stream);
        const auto best = Office::mass(x.best, x.dimension, weight);
        if (best) {
          h.ug += *best;
          h.high_ug += *Office::mass(x.high, x.dimension, weight);
        } else if (x.best != 0) {
          h.unweighed = true;
        }
        if (x.dimension == 0) h.volume += x.best;
        if (x.dimension == 2) h.pieces += x.best;
      }
      on_hand_.push_back(std::move(h));
    }
  }

  void pans() {
    const RuleValue* rule = rules_ != nullptr ? value("catch.undecided-days") : nullptr;
    struct Pan { std::int64_t place; std::string code; Day since; EntryId entry; };
    std::vector<Pan> pans;
    const std::int64_t until = log::last_moment(day_);
    {
      auto q = in_.db.query("SELECT p.id, p.code, f.moment, f.entry FROM place p JOIN filling f ON f.place = p.id WHERE p.role = 1 AND f.moment <= ?1 AND (f.until_entry = 0 OR f.until_moment > ?1) ORDER BY p.code");
      q.bind(until);
      while (q.step()) pans.push_back({q.num(0), q.text(1), log::day_of_moment(q.num(2)), EntryId{q.num(3)}});
    }
    for (const Pan& p : pans) {
      LimitLine& l = line("pan", p.code + ", undecided since " + to_string(p.since), rule);
      l.entries.push_back(book::ref_of(in_, p.entry));
      l.settle = "baybook filter " + p.code + " ... or baybook decant " + p.code + " all --into drum-...";
      if (rule == nullptr) {
        l.figures = "the book goes by no rules";
        continue;
      }
      l.due = returns::last_permitted(*rules_, p.since, rule->n);
      l.state = state_of_day(*l.due, day_);
      l.figures = std::to_string(rule->n) + " days, " + days_left(*l.due, day_);
    }
  }

  void percent(LimitLine& l, std::int64_t best, std::int64_t high, std::int64_t limit, bool at_least) {
    const bool over = at_least ? best >= limit : best > limit;
    const bool may = at_least ? high >= limit : high > limit;
    l.state = over ? State::over : may || best * 100 / (limit > 0 ? limit : 1) >= kNearPercent ? State::near : State::fine;
    if (!over && may) l.figures += "; may be over: " + kg(high) + " with the upper bounds";
  }

  void weight_on_site() {
    std::int64_t best = 0;
    std::int64_t high = 0;
    bool unweighed = false;
    std::vector<const OnHand*> counted;
    for (const OnHand& h : on_hand_) {
      if (!h.counts()) continue;
      best += h.ug;
      high += h.high_ug;
      unweighed = unweighed || h.unweighed;
      counted.push_back(&h);
    }
    const int now = out_.category;
    const RuleValue* most = value(now == 2 ? "limit.small.max-on-site" : "limit.very-small.max-on-site");
    if (now == 1 || now == 2) {
      if (most != nullptr) {
        LimitLine& l = line("on hand", "hazardous waste on site", most);
        l.figures = kg(best) + " of " + most->text;
        percent(l, best, high, most->n, false);
        if (unweighed) l.figures += "; some of it has no weight in the book";
        l.settle = "baybook pickup";
      }
    }
    const RuleValue* trigger = value("limit.very-small.trigger");
    const RuleValue* days = value("clock.very-small.days");
    if (now == 1 && trigger != nullptr && days != nullptr) {
      LimitLine& l = line("on hand", "hazardous waste on site, very small quantity generator's trigger", trigger);
      l.figures = kg(best) + " of " + trigger->text;
      percent(l, best, high, trigger->n, true);
      l.settle = "baybook pickup";
      if (best >= trigger->n) {
        const auto passed = crossing(counted, trigger->n, true, false);
        if (passed) {
          const RuleValue* n = clock_days(days);
          l.due = returns::last_permitted(*rules_, passed->first, n->n);
          l.state = state_of_day(*l.due, day_);
          l.section = days->source.section;
          l.figures += ", reached on " + to_string(passed->first) + "; " + std::to_string(n->n) + " days, " + days_left(*l.due, day_);
          l.entries.push_back(book::ref_of(in_, passed->second));
        }
      }
    }
  }

  // 270 days in place of 180 for a site whose waste goes far.
  const RuleValue* clock_days(const RuleValue* ordinary) {
    const RuleValue* far = value("site.long-haul");
    const RuleValue* days = value("clock.long-haul.days");
    return far != nullptr && far->n != 0 && days != nullptr ? days : ordinary;
  }

  /// The day and the entry since which the sum over these places has been at a limit or over it without a break.
  std::optional<std::pair<Day, EntryId>> crossing(const std::vector<const OnHand*>& places, std::int64_t limit, bool at_least, bool volume) {
    struct Event { log::Effect effect; std::int64_t delta; };
    std::vector<Event> events;
    for (const OnHand* h : places) {
      auto q = in_.db.query(
          "SELECT l.moment, l.recorded, l.entry, f.dimension, f.fluid, CASE WHEN f.source = ?1 THEN -f.best ELSE f.best END FROM leg l JOIN flow f ON f.entry = l.entry "
          "WHERE l.place = ?1 AND l.moment <= ?2 AND (f.source = ?1 OR f.target = ?1)");
      q.bind(h->place->id.n).bind(log::last_moment(day_));
      while (q.step()) {
        const std::int64_t n = q.num(5);
        const std::int64_t delta = volume ? (q.num(3) == 0 ? n : 0) : Office::mass(n, q.num(3), office_.weight(q.num(4), h->stream)).value_or(0);
        events.push_back({{q.num(0), q.num(1), EntryId{q.num(2)}}, delta});
      }
    }
    std::sort(events.begin(), events.end(), [](const Event& a, const Event& b) { return a.effect < b.effect; });
    std::int64_t sum = 0;
    std::optional<std::pair<Day, EntryId>> out;
    for (const Event& e : events) {
      sum += e.delta;
      const bool over = at_least ? sum >= limit : sum > limit;
      if (over && !out) out = {log::day_of_moment(e.effect.moment), e.effect.id};
      if (!over) out.reset();
    }
    return out;
  }

  void satellites() {
    const RuleValue* most = value("satellite.max-volume");
    const RuleValue* days = value("satellite.excess-days");
    if (most == nullptr || days == nullptr) return;
    std::map<std::string, std::vector<const OnHand*>> by;
    for (const OnHand& h : on_hand_) {
      if (h.place->satellite && h.hazardous()) by[h.place->area].push_back(&h);
    }
    for (const auto& [area, places] : by) {
      std::int64_t volume = 0;
      for (const OnHand* h : places) volume += h->volume;
      LimitLine& l = line("satellite", "area " + area + ", at the point of generation", most);
      l.figures = show(volume, Dimension::volume, in_.settings.units) + " of " + most->text;
      l.state = volume > most->n ? State::over : volume * 100 / most->n >= kNearPercent ? State::near : State::fine;
      l.settle = "baybook decant ... --into a container in the central area";
      if (volume <= most->n) continue;
      if (const auto passed = crossing(places, most->n, false, true)) {
        l.due = returns::last_permitted(*rules_, passed->first, days->n);
        l.state = state_of_day(*l.due, day_) == State::fine ? State::near : state_of_day(*l.due, day_);
        l.section = days->source.section;
        l.figures += ", over since " + to_string(passed->first) + "; " + std::to_string(days->n) + " days, " + days_left(*l.due, day_) + "; mark the container with that date";
        l.entries.push_back(book::ref_of(in_, passed->second));
      }
    }
  }

  void clock(const OnHand& h) {
    if (h.stream == nullptr) return;
    const std::string& group = h.stream->group;
    const RuleValue* rule = nullptr;
    bool months = false;
    if (group == "wipes") rule = value("clock.wipes.days");
    else if (group == "airbags") rule = value("clock.airbags.days");
    else if (group == "universal-waste") {
      rule = value("clock.universal-waste.months");
      months = true;
    } else if (us_ && (group == "hazardous-waste" || group == "acute" || group == "acute-residue") && h.counts() && !h.place->satellite) {
      const int c = category_between(h.since, day_);
      if (c == 3) rule = value("clock.large.days");
      if (c == 2) rule = clock_days(value("clock.small.days"));
    }
    if (rule == nullptr) return;
    LimitLine& l = line("clock", h.name() + ", " + h.facts.title + ", since " + to_string(h.since), rule);
    l.due = months ? returns::purge_day(h.since, rule->n) : returns::last_permitted(*rules_, h.since, rule->n);
    l.state = state_of_day(*l.due, day_);
    l.figures = std::to_string(rule->n) + (months ? " months, " : " days, ") + days_left(*l.due, day_);
    l.settle = "baybook pickup --from " + h.place->code + "=all ...";
    l.entries.push_back(h.first);
  }

  void counts() {
    std::int64_t airbags = 0;
    std::int64_t filters = 0;
    for (const OnHand& h : on_hand_) {
      if (h.stream != nullptr && h.stream->group == "airbags") airbags += h.pieces;
      if (h.facts.name == "oil-filters") filters += h.ug;
    }
    if (const RuleValue* most = value("airbags.max-count"); most != nullptr && airbags > 0) {
      LimitLine& l = line("on hand", "airbag modules and inflators", most);
      l.figures = std::to_string(airbags / 1) + " of " + most->text;
      l.state = airbags > most->n ? State::over : airbags * 100 / most->n >= kNearPercent ? State::near : State::fine;
      l.settle = "baybook pickup";
    }
    if (const RuleValue* most = value("filters.crushed.max-mass"); most != nullptr && filters > 0) {
      LimitLine& l = line("on hand", "crushed oil filters under the exemption", most);
      l.figures = kg(filters) + " of " + most->text;
      percent(l, filters, filters, most->n, false);
      l.settle = "baybook pickup";
    }
  }

  void oil_plan() {
    const RuleValue* limit = value("oil-plan.limit");
    const RuleValue* least = value("oil-plan.min-container");
    const RuleValue* word = value("oil-plan.comparison");
    if (limit == nullptr || least == nullptr || word == nullptr) return;
    std::int64_t sum = 0;
    struct P { std::string takes; std::int64_t size; };
    std::vector<P> places;
    {
      auto q = in_.db.query("SELECT takes, size FROM place WHERE role BETWEEN 2 AND 4 AND dimension = 0 AND size > 0");
      while (q.step()) places.push_back({q.text(0), q.num(1)});
    }
    for (const P& p : places) {
      const FluidClass* c = find_class(std::string_view(p.takes).substr(0, p.takes.find(' ')));
      const bool oil = c != nullptr && (c->group == "oil" || c->group == "petrol" || c->group == "diesel");
      if (oil && p.size >= least->n) sum += p.size;
    }
    if (sum == 0) return;
    LimitLine& l = line("oil plan", "above-ground oil containers of " + least->text + " or more, by their size", limit);
    l.figures = show(sum, Dimension::volume, in_.settings.units) + " of " + limit->text + " (" + (word->text == "at-least" ? "applies at that or more" : "exempt at that or less") + ")";
    const bool over = word->text == "at-least" ? sum >= limit->n : sum > limit->n;
    l.state = over ? State::over : sum * 100 / limit->n >= kNearPercent ? State::near : State::fine;
    l.settle = "a storage plan, if oil could reach navigable water";
  }

  void inspections() {
    const int c = out_.category;
    const RuleValue* rule = value(c == 3 ? "inspection.large.every-days" : c == 2 ? "inspection.small.every-days" : "inspection.every-days");
    std::map<std::string, std::pair<Day, std::vector<EntryRef>>> hazardous;
    for (const OnHand& h : on_hand_) {
      if (!h.hazardous() || h.place->area.empty()) continue;
      auto& [first, refs] = hazardous.try_emplace(h.place->area, h.since, std::vector<EntryRef>{}).first->second;
      first = std::min(first, h.since);
      refs.push_back(h.first);
    }
    struct Seen { Day day; std::int64_t next = 0; bool faults = false; EntryId entry; };
    std::map<std::string, Seen> seen;
    {
      auto q = in_.db.query("SELECT area, moment, next, faults, entry FROM inspected WHERE moment <= ? ORDER BY moment, recorded, entry");
      q.bind(log::last_moment(day_));
      while (q.step()) seen[q.text(0)] = {log::day_of_moment(q.num(1)), q.num(2), q.num(3) != 0, EntryId{q.num(4)}};
    }
    for (const auto& [area, s] : seen) {
      if (s.next != 0) hazardous.try_emplace(area, s.day, std::vector<EntryRef>{});
    }
    for (const auto& [area, since] : hazardous) {
      const auto s = seen.find(area);
      if (rule == nullptr && (s == seen.end() || s->second.next == 0)) continue;
      LimitLine& l = line("inspection", "area " + area, rule);
      if (s != seen.end()) {
        l.due = s->second.next != 0 ? Day{static_cast<std::int32_t>(s->second.next)} : Day{static_cast<std::int32_t>(s->second.day.n + rule->n)};
        l.figures = "last looked at on " + to_string(s->second.day) + (s->second.faults ? ", with something to put right" : "") + ", " + days_left(*l.due, day_);
        l.entries.push_back(book::ref_of(in_, s->second.entry));
      } else {
        l.due = Day{static_cast<std::int32_t>(since.first.n + rule->n)};
        l.figures = "never looked at, containers since " + to_string(since.first) + ", " + days_left(*l.due, day_);
        l.entries = since.second;
      }
      if (rule != nullptr) l.figures += ", every " + std::to_string(rule->n) + " days";
      l.state = *l.due < day_ ? State::over : l.due->n - day_.n <= 2 ? State::near : State::fine;
      l.settle = "baybook inspect " + area;
    }
  }

  void renewals() {
    if (!us_) return;
    const Month now = month_of(day_);
    int year = 0;
    for (int back = 0; back < 12; ++back) year = std::max(year, category(Month{now.n - back}));
    const auto cycle = [&](const char* what, const char* day_key, const char* first_key, const char* every_key) {
      const RuleValue* d = value(day_key);
      const RuleValue* first = value(first_key);
      const RuleValue* every = value(every_key);
      if (d == nullptr || first == nullptr || every == nullptr) return;
      LimitLine& l = line("renewal", what, d);
      l.due = returns::next_in_cycle(day_, d->n, first->n, every->n);
      l.state = state_of_day(*l.due, day_);
      l.figures = "every " + every->text + " years since " + first->text + ", " + days_left(*l.due, day_);
      l.settle = "the authority's form; baybook deadline add to keep its number";
    };
    if (year == 2) cycle("re-notification of a small quantity generator", "renewal.small.day", "renewal.small.first-year", "renewal.small.every-years");
    if (year == 3) cycle("biennial report of a large quantity generator", "report.large.day", "report.large.first-year", "report.large.every-years");
  }

  void papers() {
    struct P { EntryId entry; Day day; std::string document; };
    std::vector<P> open;
    {
      auto q = in_.db.query("SELECT p.entry, p.moment, p.document FROM pickup p WHERE p.moment <= ?1 AND NOT EXISTS (SELECT 1 FROM confirmed c WHERE c.pickup = p.entry AND c.moment <= ?1) ORDER BY p.moment, p.recorded, p.entry");
      q.bind(log::last_moment(day_));
      while (q.step()) open.push_back({EntryId{q.num(0)}, log::day_of_moment(q.num(1)), q.text(2)});
    }
    for (const P& p : open) {
      const RuleSet* then = office_.rules_on(p.day);
      const int c = then != nullptr && then->scheme == "us" ? category(month_of(p.day)) : 0;
      const auto add = [&](const char* key, const char* what) {
        const RuleValue* rule = then->value(key, p.day);
        if (rule == nullptr) return false;
        LimitLine& l = line("paper", p.document + ", picked up on " + to_string(p.day) + ": " + what, rule);
        l.due = Day{static_cast<std::int32_t>(p.day.n + rule->n)};
        l.state = state_of_day(*l.due, day_);
        l.figures = std::to_string(rule->n) + " days, " + days_left(*l.due, day_);
        l.settle = "baybook pickup confirm " + p.document + " --signed DATE";
        l.entries.push_back(book::ref_of(in_, p.entry));
        return true;
      };
      bool any = false;
      if (c == 3) {
        any = add("paper.large.ask-days", "ask where the signed copy is");
        any = add("paper.large.report-days", "report that no signed copy came") || any;
      } else if (c == 2) {
        any = add("paper.small.report-days", "report that no signed copy came");
      }
      if (!any) {
        LimitLine& l = line("paper", p.document + ", picked up on " + to_string(p.day) + ": the signed copy has not come", nullptr);
        l.figures = std::to_string(day_.n - p.day.n) + " days; the rules name no date";
        l.settle = "baybook pickup confirm " + p.document + " --signed DATE";
        l.entries.push_back(book::ref_of(in_, p.entry));
      }
    }
  }

  void own_deadlines() {
    struct D { std::int64_t id; std::string code; std::int64_t due; };
    std::vector<D> all;
    {
      auto q = in_.db.query("SELECT id, code, due FROM deadline ORDER BY code");
      while (q.step()) all.push_back({q.num(0), q.text(1), q.num(2)});
    }
    for (D& d : all) {
      const log::Fact fact = log::read_fact(in_.db, EntryId{d.id});
      if (fact.effect.moment > log::last_moment(day_)) continue;
      {
        auto q = in_.db.query("SELECT next FROM deadline_done WHERE deadline = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
        q.bind(d.id).bind(log::last_moment(day_));
        if (q.step()) d.due = q.num(0);
      }
      if (d.due == 0) continue;
      const std::string what = log::private_text(in_.db, fact, "what");
      LimitLine& l = line("deadline", d.code + (what.empty() ? "" : ", " + what), nullptr);
      l.due = Day{static_cast<std::int32_t>(d.due)};
      l.state = state_of_day(*l.due, day_);
      l.figures = days_left(*l.due, day_);
      l.sure = Sure::shop;
      if (fact.details.has("section")) l.section = fact.details.str("section");
      l.settle = "baybook deadline done " + d.code;
      l.entries.push_back(book::ref_of(in_, EntryId{d.id}));
    }
  }

  void keep() {
    struct P { EntryId entry; Day day; std::string document; };
    std::vector<P> all;
    {
      auto q = in_.db.query("SELECT entry, moment, document FROM pickup WHERE moment <= ? ORDER BY moment, recorded, entry");
      q.bind(log::last_moment(day_));
      while (q.step()) all.push_back({EntryId{q.num(0)}, log::day_of_moment(q.num(1)), q.text(2)});
    }
    const auto until = [&](std::string what, Day start, const RuleValue* rule, EntryId entry) {
      LimitLine l;
      l.group = "keep";
      l.what = std::move(what);
      l.section = rule->source.section;
      l.sure = rule->source.sure;
      l.due = returns::purge_day(start, rule->n);
      if (*l.due < day_) return;
      l.figures = std::to_string(rule->n) + " months from " + to_string(start);
      l.entries.push_back(book::ref_of(in_, entry));
      out_.keep.push_back(std::move(l));
    };
    for (const P& p : all) {
      const RuleSet* then = office_.rules_on(p.day);
      if (then == nullptr) continue;
      if (const RuleValue* rule = then->value("retention.pickup.months", p.day)) until("paper " + p.document + " of the pick-up", p.day, rule, p.entry);
    }
    const RuleValue* determination = value("retention.determination.months");
    if (determination == nullptr) return;
    // From when the waste was last sent off; a batch that is still here is kept anyway.
    struct D { EntryId entry; std::string stream; };
    std::vector<D> made;
    {
      auto q = in_.db.query("SELECT entry, stream FROM determined WHERE moment <= ? ORDER BY moment, recorded, entry");
      q.bind(log::last_moment(day_));
      while (q.step()) made.push_back({EntryId{q.num(0)}, q.text(1)});
    }
    for (const D& d : made) {
      std::optional<Day> last;
      for (const Office::WastePlace& p : office_.waste_places()) {
        if (office_.stream_for(p.stream, day_) != office_.stream_for(d.stream, day_)) continue;
        auto q = in_.db.query("SELECT max(l.moment) FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND f.source = ?1 AND f.target = 4 AND l.moment <= ?2 HAVING count(*) > 0");
        q.bind(p.id.n).bind(log::last_moment(day_));
        if (q.step() && (!last || *last < log::day_of_moment(q.num(0)))) last = log::day_of_moment(q.num(0));
      }
      if (last) until("determination of " + d.stream, *last, determination, d.entry);
    }
  }

  Book::Inside& in_;
  Office office_;
  Day day_;
  Limits out_;
  const RuleSet* rules_ = nullptr;
  bool us_ = false;
  std::vector<OnHand> on_hand_;
  std::map<std::int32_t, int> categories_;
};

}  // namespace

Result<Limits> limits(const Book& b, Day day) {
  return guarded<Limits>([&]() -> Result<Limits> {
    store::Snapshot snapshot(b.inside().db);
    return Clocks(b.inside(), day).work_out();
  });
}

}  // namespace baybook
