#include "book/news.hpp"

#include "book/clock.hpp"
#include "book/office.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

using log::Kind;
using log::Value;

namespace {

// Clocks of two machines that nobody sets by hand are this far apart and no more: common practice,
// no source.
constexpr std::int64_t kClocksApart = 2 * 60 * 1000;

// The job that an entry is about, down to what was corrected in the end; 0: none. Reads the log
// alone, so that it can be asked before anything is folded.
JobId job_of(store::Db& db, EntryId entry) {
  constexpr int kDeep = 20;  // a correction of a correction, as deep as people are stubborn
  for (int depth = 0; depth < kDeep; ++depth) {
    const auto row = log::read_row(db, entry);
    if (!row) return {};
    const Value body = log::parse_body(row->body);
    const Value& details = body.at("details");
    if (row->kind == Kind::correction) {
      entry = EntryId{log::read_ref(details.at("target"), entry.origin())};
      continue;
    }
    if (!log::moves(row->kind) && row->kind != Kind::job_close) return {};
    const Value* job = details.find("job");
    return job == nullptr ? JobId{} : JobId{log::read_ref(*job, entry.origin())};
  }
  return {};
}

// The jobs that an entry can move the accounts of: what a correction withdraws with it as well.
std::set<JobId> jobs_of(store::Db& db, EntryId entry) {
  std::set<JobId> out;
  if (const JobId job = job_of(db, entry)) out.insert(job);
  const log::Row row = log::row_of(db, entry);
  if (row.kind != Kind::correction) return out;
  const Value body = log::parse_body(row.body);
  for (const EntryId target : targets_of(body.at("details"), entry.origin())) {
    if (const JobId job = job_of(db, target)) out.insert(job);
  }
  return out;
}

std::string says_of_waste(bool hazardous) {
  return hazardous ? "that it is hazardous" : "that it is not hazardous";
}

}  // namespace

News::News(Book::Inside& in, const std::vector<EntryId>& taken, Instant now)
    : in_(in), taken_(taken), brought_(taken.begin(), taken.end()), now_(now), before_(verdicts()) {
  // Rule files are read only where they can have changed.
  may_rule_ = std::any_of(taken.begin(), taken.end(), [&](EntryId id) {
    const Kind kind = log::row_of(in.db, id).kind;
    return kind == Kind::rules || kind == Kind::correction;
  });
  if (may_rule_) rules_ = rules_today();
  for (const EntryId id : taken) {
    for (const JobId job : jobs_of(in.db, id)) {
      const auto row = service::job_row(in.db, job);
      if (!row || row->closed <= 0) continue;
      about_[job].insert(id);
      if (!jobs_.contains(job)) jobs_[job] = off_though_closed(in, job);
    }
  }
}

News::Verdicts News::verdicts() const {
  Verdicts out;
  auto q = in_.db.query(
      "SELECT stream, place, entry, hazardous FROM determined ORDER BY moment, recorded, entry");
  while (q.step()) out[{q.text(0), q.num(1)}] = {EntryId{q.num(2)}, q.num(3) != 0};
  return out;
}

std::vector<Changed> News::since() const {
  std::vector<Changed> out;
  add_determined(out);
  add_unbalanced(out);
  add_rules(out);
  add_clocks(out);
  return out;
}

void News::add_determined(std::vector<Changed>& out) const {
  for (const auto& [what, says] : verdicts()) {
    const auto was = before_.find(what);
    if (was == before_.end() || was->second.hazardous == says.hazardous) continue;
    // Where one was withdrawn an older one holds again: it is told by what was withdrawn.
    const std::string place =
        what.second == 0 ? "" : " of " + place_name(in_, PlaceId{what.second});
    Changed c{Changed::What::determined, {}, {ref_of(in_, says.entry)}};
    c.text = visible(what.first) + place + ": entry " + entry_name(in_, says.entry) + " says " +
             says_of_waste(says.hazardous) +
             (is_new(says.entry) ? ", over entry " : ", now that entry ") +
             entry_name(in_, was->second.entry) +
             (is_new(says.entry) ? ", which says " : " does not hold, which said ") +
             says_of_waste(was->second.hazardous);
    out.push_back(std::move(c));
  }
}

void News::add_unbalanced(std::vector<Changed>& out) const {
  for (const auto& [job, before] : jobs_) {
    const std::string now = off_though_closed(in_, job);
    if (now.empty() || now == before) continue;
    Changed c{Changed::What::unbalanced, now, {}};
    for (const EntryId id : about_.at(job)) c.entries.push_back(ref_of(in_, id));
    out.push_back(std::move(c));
  }
}

std::string News::rules_today() const {
  const auto today = local_now(in_, now_);
  if (!today.ok()) return "";
  Office office(in_);
  const RuleSet* rules = office.rules_on(today->day);
  return rules == nullptr ? "none" : rules->name;
}

void News::add_rules(std::vector<Changed>& out) const {
  const std::string now = may_rule_ ? rules_today() : rules_;
  if (now == rules_) return;
  Changed c{Changed::What::rules, {}, {}};
  c.text = "the rules in force today are " + visible(now) + ", they were " + visible(rules_) +
           ": limits, categories and what is due are judged by them";
  for (const EntryId id : taken_) {
    if (log::row_of(in_.db, id).kind == Kind::rules) c.entries.push_back(ref_of(in_, id));
  }
  out.push_back(std::move(c));
}

void News::add_clocks(std::vector<Changed>& out) const {
  // One that came after a later one has that one's time, and says nothing of its clock.
  std::map<std::int64_t, log::Row> newest;
  for (const EntryId id : taken_) {
    log::Row row = log::row_of(in_.db, id);
    if (id.origin() == in_.known.own().origin || row.recorded <= now_.ms + kClocksApart) continue;
    if (log::parse_body(row.body).has("clock-behind")) continue;
    const auto at = newest.find(id.origin());
    if (at == newest.end() || at->second.recorded < row.recorded)
      newest[id.origin()] = std::move(row);
  }
  for (const auto& [origin, row] : newest) {
    const std::string tag(in_.known.tag_of(origin));
    Changed c{Changed::What::clock, {}, {ref_of(in_, row.id)}};
    c.text = "the clock of " + tag + " is at least " + time_apart(row.recorded - now_.ms) +
             " ahead of this one (entry " + entry_name(in_, row.id) +
             "): set the one that is wrong, for entries stand in the order of their times";
    out.push_back(std::move(c));
  }
}

}  // namespace baybook::book

namespace baybook {

std::string_view name_of(Changed::What what) noexcept {
  switch (what) {
    case Changed::What::determined: return "determined";
    case Changed::What::unbalanced: return "unbalanced";
    case Changed::What::rules: return "rules";
    case Changed::What::clock: break;
  }
  return "clock";
}

}  // namespace baybook
