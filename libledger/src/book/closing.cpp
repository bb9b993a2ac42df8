// Closing a month: its figures are frozen in an entry, with the seals of the log as it stood. What changes it later makes the reprint an
// amended one.
#include "book/asked.hpp"
#include "book/office.hpp"

#include "fluids/build.hpp"
#include "log/chain.hpp"
#include "log/sum.hpp"
#include "returns/build.hpp"
#include "returns/totals.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <iterator>

namespace baybook::book {

using log::Built;
using log::Desk;
using log::Kind;
using log::Value;

namespace {

struct Column {
  const char* name;
  Sum TotalsRow::* sum;
};
constexpr Column kColumns[] = {
    {"brought-in", &TotalsRow::brought_in}, {"closing", &TotalsRow::closing},   {"disposed", &TotalsRow::disposed},       {"drained", &TotalsRow::drained},
    {"filtered", &TotalsRow::filtered},     {"gauge", &TotalsRow::gauge},       {"lost-from-cars", &TotalsRow::lost_from_cars}, {"lost-here", &TotalsRow::lost_here},
    {"missing-from-cars", &TotalsRow::missing_from_cars},
    {"new-used", &TotalsRow::new_used},     {"opening", &TotalsRow::opening},   {"put-back", &TotalsRow::put_back},       {"received", &TotalsRow::received},
    {"recycled", &TotalsRow::recycled},     {"shipped-other", &TotalsRow::shipped_other}, {"to-waste", &TotalsRow::to_waste},   {"used-up", &TotalsRow::used_up},
};

constexpr auto kColumnNames = [] {
  std::array<std::string_view, std::size(kColumns)> names;
  std::transform(std::begin(kColumns), std::end(kColumns), names.begin(),
                 [](const Column& c) { return std::string_view(c.name); });
  return names;
}();

std::vector<TotalsRow> month_rows(Book::Inside& in, Month month) {
  const returns::Names names{[&](std::int64_t f) { return fluid_name(in.db, FluidId{f}); }, [&](std::int64_t f) { return in.ledger.class_of(f); }};
  return returns::rows(in.db, first_of(month), last_of(month), false, names);
}

Value frozen(const Sum& s) {
  Value v;
  v["best"] = std::to_string(s.best);
  if (s.low != s.best || s.high != s.best) {
    v["high"] = std::to_string(s.high);
    v["low"] = std::to_string(s.low);
  }
  return v;
}

std::int64_t number(const std::string& text) {
  std::int64_t n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size()) throw log::Malformed("a figure of a closed month is no number");
  return n;
}

Sum thawed(const Value& v) {
  Sum s;
  s.best = number(std::string(v.str("best")));
  s.low = v.has("low") ? number(std::string(v.str("low"))) : s.best;
  s.high = v.has("high") ? number(std::string(v.str("high"))) : s.best;
  return s;
}

// By what rules a month goes, and what it is by them.
ClosedMonth::Judged judged(Book::Inside& in, Month month) {
  ClosedMonth::Judged out;
  Office office(in);
  const Day last = last_of(month);
  const RuleSet* rules = office.rules_on(last);
  if (rules == nullptr) return out;
  out.rules = rules->name;
  out.rules_digest = rules->digest;
  const RuleValue* word = rules->value("counting.date", last);
  const Reading reading = read_month(office, month, word != nullptr ? word->text : "decided", nullptr, nullptr);
  if (reading.category == 0) return out;
  out.category = reading.title;
  out.counted_ug = reading.best_ug;
  return out;
}

// A later edition of the same rules by which the month is what it was is no change of the month.
void judge_again(Book::Inside& in, Month month, ClosedMonth& out) {
  ClosedMonth::Judged now = judged(in, month);
  if (now.rules != out.rules || now.category != out.category || now.counted_ug != out.counted_ug) out.judged_now = std::move(now);
}

// One seal of a closing: how far an installation had come. Another book may call that installation otherwise (exchange in --call), so
// it is known by the digest; the tag tells only when no entry here has it.
struct Sealed {
  std::string told;  ///< as this book says it
  std::int64_t origin = 0, number = 0;
};
Sealed read_seal(Book::Inside& in, const std::string& text) {
  const auto seal = log::parse_seal(text);
  if (!seal.ok()) throw log::Malformed("a closed month has a seal that is none");
  Sealed out{text, 0, seal->number};
  for (const log::Installation& i : in.known.all) {
    auto q = in.db.query("SELECT digest FROM entry WHERE id = ?");
    q.bind(i.origin << 40 | seal->number);
    if (!q.step() || !log::hex_of(q.blob(0)).starts_with(seal->head)) continue;
    return {i.tag + text.substr(seal->tag.size()), i.origin, seal->number};
  }
  for (const log::Installation& i : in.known.all) {
    if (i.tag == seal->tag) out.origin = i.origin;
  }
  return out;
}

bool balances(const TotalsRow& r) {
  const std::int64_t in = r.opening.best + r.drained.best + r.received.best + r.brought_in.best + r.gauge.best;
  const std::int64_t out = r.closing.best + r.put_back.best + r.new_used.best + r.lost_here.best + r.recycled.best + r.disposed.best + r.shipped_other.best + r.used_up.best;
  return in == out;
}

// What a place held at the end of a day, best values by dimension.
std::map<std::int64_t, std::int64_t> held_then(store::Db& db, PlaceId place, Day day) {
  std::map<std::int64_t, std::int64_t> out;
  auto q = db.query("SELECT f.source, f.dimension, f.best FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ? AND l.moment <= ? AND (f.source = l.place OR f.target = l.place)");
  q.bind(place.n).bind(log::last_moment(day));
  while (q.step()) log::add_to(out[q.num(1)], q.num(0) == place.n ? -1 : 1, q.num(2));
  return out;
}

// Jobs that began in the month or before it and are still open: what is written on them may yet
// belong to it.
void say_open_jobs(Book::Inside& in, Month month, std::vector<std::string>& warnings) {
  constexpr std::size_t kNamed = 8;
  std::vector<std::int64_t> ids;
  {
    auto q = in.db.query("SELECT id FROM job WHERE closed = 0 AND moment <= ? ORDER BY moment, id");
    q.bind(log::last_moment(last_of(month)));
    while (q.step()) ids.push_back(q.num(0));
  }
  std::string list;
  for (std::size_t i = 0; i < ids.size() && i < kNamed; ++i) {
    const auto row = service::job_row(in.db, JobId{ids[i]});
    if (!row) continue;
    list += (list.empty() ? "" : ", ") + service::job_name(in.known, *row) + " (" +
            visible(service::plate_of(in.db, row->car)) + ", since " +
            to_string(log::day_of_moment(row->moment)) + ")";
  }
  if (ids.empty()) return;
  if (ids.size() > kNamed) list += " and " + std::to_string(ids.size() - kNamed) + " more";
  warnings.push_back(std::string(ids.size() == 1 ? "a job is" : "jobs are") +
                     " still open since " + to_string(month) + " or before: " + list +
                     "; what is written on " + (ids.size() == 1 ? "it" : "them") +
                     " with a day in " + to_string(month) + " amends its print");
}

}  // namespace

std::string figures_of(Book::Inside& in, Month month) {
  std::string out;
  for (const TotalsRow& r : month_rows(in, month)) {
    out += r.of_class + " " + std::string(base_unit(r.dimension));
    for (const Column& c : kColumns) {
      const Sum& s = r.*c.sum;
      out += " " + std::to_string(s.low) + " " + std::to_string(s.best) + " " +
             std::to_string(s.high);
    }
    out += "\n";
  }
  try {
    const ClosedMonth::Judged by = judged(in, month);
    out += by.rules + "\n" + by.category + "\n" + std::to_string(by.counted_ug);
  } catch (const store::Failure& f) {
    // A file of rules that cannot be read any more must not stop the entry that puts it right.
    if (f.code != Code::unclear) throw;
    out += "rules that cannot be read";
  }
  return out;
}

std::span<const std::string_view> closed_columns() noexcept { return kColumnNames; }

Result<Built> build_close(Book::Inside& in, Desk& desk, const CloseMonth& draft) {
  const std::string month = to_string(draft.month);
  const Day last = last_of(draft.month);
  // By the clock, whatever day the closing itself is given; and it does not happen before the month
  // is over.
  const Day today = std::min(desk.today, returns::day_of(desk));
  if (last >= today) {
    return returns::refuse(Code::in_future, month + " has not ended: its last day is " + to_string(last) + ", and this is written on " + to_string(today), "a month is closed when nothing more can happen in it", "from " + to_string(Day{last.n + 1}) + " on: baybook close " + month);
  }
  // A month that nobody filled in is the first of 1970.
  if (last < add_months(today, -12 * kYearsBack))
    return returns::refuse(
        Code::not_allowed,
        month + " ended more than " + std::to_string(kYearsBack) + " years ago",
        "a month so long past was not filled in, or is a slip (common practice, no source)",
        "the month that it is");
  {
    auto q = in.db.query("SELECT entry FROM closed WHERE month = ? LIMIT 1");
    q.bind(std::int64_t{draft.month.n});
    if (q.step()) {
      const std::string entry = entry_name(in, EntryId{q.num(0)});
      return returns::refuse(Code::already_there, month + " was closed by entry " + entry, "a month is closed once; what changes it later shows on the reprint as an amendment", "baybook totals " + month + "  # or baybook correct " + entry + " --withdraw --why \"...\" to open it again");
    }
  }
  std::string list;
  struct Place {
    std::int64_t id, role;
    std::string code;
  };
  std::vector<Place> places;
  {
    auto q = in.db.query("SELECT id, role, code FROM place WHERE role BETWEEN 1 AND 4 ORDER BY code");
    while (q.step()) places.push_back({q.num(0), q.num(1), q.text(2)});
  }
  std::string below;
  std::string first_pan;
  std::string emptied_later;  // the first entry that took something out of it after the month's end
  for (const Place& p : places) {
    for (const auto& [dimension, best] : held_then(in.db, PlaceId{p.id}, last)) {
      const std::string amount = show(best, static_cast<Dimension>(dimension), desk.units);
      if (p.role == static_cast<std::int64_t>(Role::hold_catch) && best > 0) {
        list += (list.empty() ? "" : ", ") + p.code + " " + amount;
        if (first_pan.empty()) {
          first_pan = place_to_type(in, PlaceId{p.id});
          auto q = in.db.query("SELECT l.entry FROM leg l JOIN flow f ON f.entry = l.entry AND f.source = l.place WHERE l.place = ? AND l.moment > ? ORDER BY l.moment, l.recorded, l.entry LIMIT 1");
          q.bind(p.id).bind(log::last_moment(last));
          if (q.step()) emptied_later = entry_name(in, EntryId{q.num(0)});
        }
      }
      if (best < 0) below += (below.empty() ? "" : ", ") + p.code + " " + amount;
    }
  }
  if (!list.empty()) {
    return returns::refuse(Code::not_allowed, "at the end of " + month + " it was undecided what becomes of: " + list, "what stands in a pan is neither waste nor kept, so the month's totals would not say what was made of it",
                           (emptied_later.empty() ? std::string() : "what was decided later, if it was decided by then: baybook correct " + emptied_later + " --withdraw --with-dependants --why \"...\", then ") + "baybook decant " + first_pan + " all --into PLACE --on " + to_string(last) + (emptied_later.empty() ? "  # or filter it" : ", or filter it, and what stood on it again"));
  }
  if (!below.empty()) return returns::refuse(Code::not_allowed, "at the end of " + month + " there was less than nothing in: " + below, "more was taken than the book had", in.known.all.size() > 1 ? "baybook settle list" : "baybook gauge PLACE LEVEL --reason \"...\" --on " + to_string(last));
  {
    auto q = in.db.query("SELECT b.entry FROM breach b JOIN entry e ON e.id = b.entry WHERE e.moment <= ? ORDER BY b.entry LIMIT 12");
    q.bind(log::last_moment(last));
    std::string broken;
    while (q.step()) broken += (broken.empty() ? "" : ", ") + entry_name(in, EntryId{q.num(0)});
    if (!broken.empty()) return returns::refuse(Code::not_allowed, "the books of " + month + " do not balance: entries " + broken + " break a rule of the book", "more taken than was there, over a size, or mixed", "baybook settle list");
  }
  const std::vector<TotalsRow> rows = month_rows(in, draft.month);
  for (const TotalsRow& r : rows) {
    if (!balances(r)) return returns::refuse(Code::not_allowed, "the books of " + month + " do not balance: " + r.of_class, "opening and what came in is not what went out and closing", "baybook prove");
  }
  Built out;
  out.kind = Kind::close;
  out.details["month"] = month;
  std::vector<Value> frozen_rows;
  for (const TotalsRow& r : rows) {
    Value v;
    v["fluid"] = r.of_class;
    v["unit"] = base_unit(r.dimension);
    for (const Column& c : kColumns) {
      const Sum& s = r.*c.sum;
      if (s.best != 0 || s.low != 0 || s.high != 0) v[c.name] = frozen(s);
    }
    frozen_rows.push_back(std::move(v));
  }
  out.details["rows"] = Value(std::move(frozen_rows));
  std::vector<Value> seal_list;
  for (const std::string& s : seals(in)) seal_list.emplace_back(s);
  out.details["seals"] = Value(std::move(seal_list));
  if (const ClosedMonth::Judged now = judged(in, draft.month); !now.rules.empty()) {
    Value v;
    v["digest"] = now.rules_digest;
    v["set"] = now.rules;
    out.details["rules"] = std::move(v);
    if (!now.category.empty()) {
      Value c;
      c["title"] = now.category;
      c["total"] = std::to_string(now.counted_ug);
      out.details["category"] = std::move(c);
    }
  }
  if (auto ok = returns::keep(out, "note", draft.note); !ok.ok()) return std::move(ok).refusal();
  say_open_jobs(in, draft.month, out.warnings);
  return out;
}

}  // namespace baybook::book

namespace baybook {

using book::guarded;
using log::Value;

Result<std::optional<ClosedMonth>> closed_month(const Book& b, Month month) {
  month = book::asked(month);
  return guarded<std::optional<ClosedMonth>>([&]() -> Result<std::optional<ClosedMonth>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    EntryId id;
    {
      // Of two closings the earlier: its figures were given out first, and what came after them is an amendment.
      auto q = in.db.query("SELECT entry FROM closed WHERE month = ? ORDER BY moment, recorded, entry LIMIT 1");
      q.bind(std::int64_t{month.n});
      if (!q.step()) return std::optional<ClosedMonth>();
      id = EntryId{q.num(0)};
    }
    const log::Fact fact = log::read_fact(in.db, id);
    const Value& d = fact.details;
    ClosedMonth out;
    out.entry = book::ref_of(in, id);
    out.closed_on = log::day_of_moment(fact.effect.moment);
    if (fact.who != 0) out.by = service::person_name(in.db, EntryId{fact.who});
    if (const Value* r = d.find("rules")) {
      out.rules = r->str("set");
      out.rules_digest = r->str("digest");
    }
    if (const Value* c = d.find("category")) out.category = c->str("title");
    std::map<std::int64_t, std::int64_t> upto;
    for (const Value& s : d.list("seals")) {
      const book::Sealed sealed = book::read_seal(in, s.as_string());
      out.seal += (out.seal.empty() ? "" : " ") + sealed.told;
      if (sealed.origin != 0) upto[sealed.origin] = sealed.number;
    }
    if (const Value* c = d.find("category")) out.counted_ug = book::number(std::string(c->str("total")));
    book::judge_again(in, month, out);
    // Figures then and now.
    using Row = std::map<std::string, Sum>;
    std::map<std::pair<std::string, std::int64_t>, std::pair<Row, Row>> both;
    for (const Value& v : d.list("rows")) {
      const std::int64_t dimension = v.str("unit") == "nl" ? 0 : v.str("unit") == "ug" ? 1 : 2;
      Row& row = both[{std::string(v.str("fluid")), dimension}].first;
      for (const book::Column& c : book::kColumns) {
        if (const Value* s = v.find(c.name)) row[c.name] = book::thawed(*s);
      }
    }
    for (const TotalsRow& r : book::month_rows(in, month)) {
      Row& row = both[{r.of_class, static_cast<std::int64_t>(r.dimension)}].second;
      for (const book::Column& c : book::kColumns) row[c.name] = r.*c.sum;
    }
    for (auto& [key, rows] : both) {
      for (const book::Column& c : book::kColumns) {
        const Sum& then = rows.first[c.name];
        const Sum& now = rows.second[c.name];
        if (then.best == now.best && then.low == now.low && then.high == now.high) continue;
        out.differences.push_back({key.first, c.name, static_cast<Dimension>(key.second), then.best, now.best, then.low, then.high, now.low, now.high});
      }
    }
    // What came after the closing and reaches into the month or before it.
    std::vector<std::int64_t> causes;
    const std::int64_t last = log::last_moment(last_of(month));
    for (const log::Installation& i : in.known.all) {
      const auto known = upto.find(i.origin);
      const std::int64_t after = i.origin << 40 | (known != upto.end() ? known->second : 0);
      auto q = in.db.query(
          "SELECT e.id FROM entry e WHERE e.id > ?1 AND e.id < ?2 AND e.id <> ?3 AND "
          "((e.kind IN (9, 13, 15, 16) AND e.moment <= ?4) OR (?5 AND (e.kind IN (19, 36) OR (e.kind "
          "= 22 AND e.moment <= ?4) OR (e.kind = 35 AND EXISTS (SELECT 1 FROM task_done d WHERE "
          "d.car = 0 AND d.entry = e.id AND d.task = 'event-notice ')))) OR (e.kind IN (17, 32) AND EXISTS (SELECT 1 FROM correction c JOIN entry "
          "t ON t.id = c.target WHERE c.entry = e.id AND c.withdrawn IN (0, 1, 8) AND t.moment <= ?4))) "
          "ORDER BY e.id");
      q.bind(after).bind((i.origin + 1) << 40).bind(id.n).bind(last).bind(std::int64_t{out.judged_now.has_value()});
      while (q.step()) causes.push_back(q.num(0));
    }
    out.causes = book::views_of(in, causes, true);
    return std::optional<ClosedMonth>(std::move(out));
  });
}

}  // namespace baybook
