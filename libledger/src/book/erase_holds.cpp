// Whether a private text must still be kept: by the rules that held on the day of its record.
#include "book/erase.hpp"
#include "book/circumstances.hpp"
#include "book/filings.hpp"
#include "book/limits.hpp"

#include "log/json.hpp"
#include "log/references.hpp"
#include "returns/category.hpp"
#include "service/build.hpp"

#include <algorithm>
#include <limits>

namespace baybook::book {

using log::Fact;
using log::Kind;
using log::Value;

namespace {

class Keeper {
 public:
  Keeper(Book::Inside& in, Day today) : in_(in), db_(in.db), office_(in), today_(today), spells_(spells_until(in.db, log::last_moment(today))) {}

  std::optional<Holding> of(EntryId entry, std::string_view field) {
    held_.reset();
    auto fact = log::find_fact(db_, entry);
    // A correction's text is the text of what it corrects, and a paper or a signature belongs to its pick-up.
    for (int depth = 0; fact && depth < 64; ++depth) {
      const char* key = fact->kind == Kind::correction ? "target" : fact->kind == Kind::paper ? "about" : fact->kind == Kind::confirm ? "pickup" : nullptr;
      if (key == nullptr) break;
      fact = log::find_fact(db_, EntryId{log::read_ref(*fact->details.find(key), fact->kind == Kind::correction ? fact->id().origin() : fact->origin())});
    }
    // What did not happen is no record of anything.
    if (!fact || fact->withdrawn) return std::nullopt;
    const Day day = log::day_of_moment(fact->effect.moment);
    switch (fact->kind) {
      case Kind::movement:
        if (fact->details.str("verb") == "pickup") pickup(fact->id(), day);
        if (moves_refrigerant(fact->id())) hold("retention.refrigerant.months", day, day, "refrigerant work, entry " + entry_name(in_, fact->id()), "");
        break;
      case Kind::firm:
        if (field == "name") firm(fact->id());
        break;
      case Kind::person:
        if (field == "name" || field == "certificate") person(fact->id());
        break;
      case Kind::determination:
        determination(*fact, day);
        break;
      case Kind::filing:
        filing(fact->id());
        break;
      case Kind::circumstance:
        approval(fact->id());
        break;
      case Kind::car:
      case Kind::car_change:
        if (field == "plate" || field == "vin" || field == "keeper" || field == "keeper-contact") work_orders(*fact, field);
        break;
      default:
        break;
    }
    const service::Belongs belongs = service::belongs_to(db_, *fact);
    if (const auto job = service::job_row(db_, belongs.job); belongs.job && job && job->closed != -1) work_order(*job);
    return held_;
  }

 private:
  // `start`: none while the period has not begun; `waits` says for what.
  void hold(std::string_view key, Day record, std::optional<Day> start, std::string what, std::string waits) {
    const RuleSet* rules = office_.rules_on(record);
    const RuleValue* rule = rules ? rules->value(key, record) : nullptr;
    if (rule == nullptr) return;
    Holding h;
    h.what = std::move(what);
    h.section = rule->source.section;
    h.sure = rule->source.sure;
    h.until = std::move(waits);
    if (start) {
      const Day free = returns::purge_day(*start, rule->n);
      const Stretched held = stretches(key) ? stretched(spells_, free) : Stretched{free, {}};
      h.free = held.free;
      if (h.free && *h.free <= today_) return;
      h.until = h.free ? "until " + to_string(*h.free) : "while the enforcement action of entry " + entry_name(in_, held.by) + " is not resolved";
    }
    keep_longest(std::move(h));
  }

  // What a generator keeps of its waste, 40 CFR 262.40(d); a work order is none of it.
  static bool stretches(std::string_view key) {
    return key == "retention.pickup.months" || key == "retention.report.months" ||
           key == "retention.determination.months" || key == "retention.register.months" ||
           key == "retention.carrier.months" || key == "retention.consignee.months" ||
           key == "retention.event-approval.months";
  }

  void keep_longest(Holding h) {
    if (!held_ || (held_->free && (!h.free || *h.free > *held_->free))) held_ = std::move(h);
  }

  void pickup(EntryId entry, Day day) {
    const std::string what = "the paper of pick-up " + entry_name(in_, entry);
    hold("retention.pickup.months", day, day, what, "");
    hold("retention.register.months", day, day, what, "");
  }

  void filing(EntryId id) {
    for (const FilingRow& f : filings_until(db_, std::numeric_limits<std::int64_t>::max())) {
      if (f.entry != id) continue;
      const auto kept = kept_filing(office_, f);
      if (kept) hold(kept->rule->key, f.on, kept->start, f.what + (f.period.empty() ? "" : " " + f.period) + ", entry " + entry_name(in_, id), "");
    }
  }

  void approval(EntryId id) {
    for (const Event& e : events_on(office_, today_)) {
      if (e.spell.entry != id || !e.spell.petitioned) continue;
      hold("retention.event-approval.months", e.spell.day, e.last, "the approval of the event of " + to_string(e.spell.day), "");
    }
  }

  void firm(EntryId id) {
    std::vector<std::pair<EntryId, Day>> all;
    {
      auto q = db_.query("SELECT entry, moment FROM pickup WHERE carrier = ?1 OR receiver = ?1");
      q.bind(log::goes_by(db_, id.n));
      while (q.step()) all.emplace_back(EntryId{q.num(0)}, log::day_of_moment(q.num(1)));
    }
    for (const auto& [entry, day] : all) pickup(entry, day);
  }

  bool moves_refrigerant(EntryId entry) {
    const std::int64_t refrigerant = find_class(std::string_view("refrigerant"))->number;
    auto q = db_.query("SELECT DISTINCT fluid FROM flow WHERE entry = ?");
    q.bind(entry.n);
    bool any = false;
    while (q.step()) any = any || in_.ledger.class_of(q.num(0)) == refrigerant;
    return any;
  }

  // Who wrote an entry stands in it as one of several entries that may have been settled to be one person.
  void person(EntryId id) {
    std::optional<Day> last;
    for (const std::int64_t who : log::all_that_are(db_, id.n)) {
      auto q = db_.query("SELECT max(e.moment) FROM entry e JOIN flow f ON f.entry = e.id WHERE e.who = ?1 AND (f.fluid = ?2 OR f.fluid IN (SELECT id FROM fluid WHERE class = ?2)) HAVING count(*) > 0");
      q.bind(who).bind(find_class(std::string_view("refrigerant"))->number);
      if (!q.step()) continue;
      const Day day = log::day_of_moment(q.num(0));
      if (!last || day > *last) last = day;
    }
    if (last) hold("retention.refrigerant.months", *last, last, "the refrigerant work of that person", "");
  }

  void determination(const Fact& fact, Day day) {
    const std::string stream(fact.details.str("stream"));
    // As the list of what is kept counts (limits_keep.cpp): never from before the determination was made.
    const std::optional<Day> last = last_sent_off(office_, stream, today_);
    hold("retention.determination.months", day, last ? std::optional(std::max(*last, day)) : std::nullopt, "the determination of " + stream, "while none of that waste was sent off");
  }

  void work_order(const service::JobRow& job) {
    const Day opened = log::day_of_moment(job.moment);
    const std::string name = service::job_name(in_.known, job);
    hold("retention.invoice.months", opened, job.closed > 0 ? std::optional(log::day_of_moment(job.closed_moment)) : std::nullopt, "the work order of job " + name, "while job " + name + " is open");
  }

  // Whose car it was stands on the work orders that were opened while that text held.
  void work_orders(const Fact& fact, std::string_view field) {
    const service::Belongs b = service::belongs_to(db_, fact);
    std::int64_t until = std::numeric_limits<std::int64_t>::max();
    std::vector<std::pair<std::int64_t, std::int64_t>> changes;
    {
      auto q = db_.query("SELECT entry, moment FROM history WHERE car = ?1 AND kind = 7 AND (moment, recorded, entry) > (?2, ?3, ?4) ORDER BY moment, recorded, entry");
      q.bind(b.car.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n);
      while (q.step()) changes.emplace_back(q.num(0), q.num(1));
    }
    for (const auto& [entry, moment] : changes) {
      const Value body = log::parse_body(log::row_of(db_, EntryId{entry}).body);
      const Value* committed = body.find("private");
      if (committed == nullptr || !committed->has(field)) continue;
      until = moment;
      break;
    }
    std::vector<service::JobRow> jobs;
    {
      auto q = db_.query("SELECT id, number, car, moment, closed, closed_moment FROM job WHERE car = ? AND closed <> -1");
      q.bind(b.car.n);
      while (q.step()) jobs.push_back({JobId{q.num(0)}, q.num(1), CarId{q.num(2)}, q.num(3), q.num(4), q.num(5)});
    }
    // The first text of a car holds for late-dated jobs before its registration, too.
    const std::int64_t from = fact.kind == Kind::car ? std::numeric_limits<std::int64_t>::min() : fact.effect.moment;
    for (const service::JobRow& job : jobs) {
      if (job.moment >= from && job.moment <= until) work_order(job);
    }
  }

  Book::Inside& in_;
  store::Db& db_;
  Office office_;
  Day today_;
  std::vector<Spell> spells_;
  std::optional<Holding> held_;
};

}  // namespace

void look_for_holds(Book::Inside& in, std::vector<PrivateText>& texts, Day today) {
  Keeper keeper(in, today);
  for (PrivateText& t : texts) t.held = keeper.of(t.entry, t.field);
}

std::vector<std::string> held_and_erased(Book::Inside& in, const std::vector<EntryId>& brought) {
  std::vector<std::string> out;
  const Words words(in.db);
  for (const EntryId id : brought) {
    const auto row = log::read_row(in.db, id);
    if (!row || row->kind != Kind::erasure) continue;
    const Value body = log::parse_body(row->body);
    const Value& details = body.at("details");
    if (details.has("asked")) continue;
    std::vector<PrivateText> texts = named_by_erasure(details, id.origin());
    std::erase_if(texts, [&](const PrivateText& t) {
      auto q = in.db.query("SELECT 1 FROM private WHERE entry = ? AND field = ?");
      q.bind(t.entry.n).bind(t.field);
      return !q.step() || !words.acts(id, t.entry, Reach::erasure);
    });
    look_for_holds(in, texts, log::day_of_moment(row->moment));
    const auto held = longest(texts);
    if (!held) continue;
    const auto n = std::count_if(texts.begin(), texts.end(), [](const PrivateText& t) { return t.held.has_value(); });
    out.push_back("entry " + entry_name(in, id) + " erased " + std::to_string(n) + (n == 1 ? " text" : " texts") + " of " + about_name(in, EntryId{log::read_ref(details.at("about"), id.origin())}) + " that a rule held here " + held->until + ": " +
                  held->what + ", " + with_words(held->section, held->sure));
  }
  return out;
}

}  // namespace baybook::book
