// Papers of pick-ups whose signed copy has not come back, and returns of receivers that have not come.
#include "book/limits.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

struct Open {
  EntryId entry;
  Day day;
  std::string document;
};

std::vector<Open> unreturned(LimitSheet& sheet) {
  std::vector<Open> out;
  auto q = sheet.in.db.query("SELECT p.entry, p.moment, p.document FROM pickup p WHERE p.moment <= ?1 AND NOT EXISTS (SELECT 1 FROM confirmed c WHERE c.pickup = p.entry AND c.moment <= ?1) ORDER BY p.moment, p.recorded, p.entry");
  q.bind(log::last_moment(sheet.day));
  while (q.step()) out.push_back({EntryId{q.num(0)}, log::day_of_moment(q.num(1)), q.text(2)});
  return out;
}

// One number on two papers names neither: two books wrote it.
std::string to_type(LimitSheet& sheet, const Open& p) {
  auto q = sheet.in.db.query("SELECT count(*) FROM pickup WHERE document = ?");
  q.bind(p.document);
  return q.step() && q.num(0) == 1 ? as_typed(p.document) : entry_name(sheet.in, p.entry);
}

// In which way a report is filed, where the rules of the day on which it can be filed name one.
std::string only_way(LimitSheet& sheet, Day due) {
  const Day on = std::max(due, sheet.day);
  const RuleSet* rules = sheet.office.rules_on(on);
  const RuleValue* way = rules != nullptr ? rules->value("paper.report-way", on) : nullptr;
  return way != nullptr ? "; filed " + way->text + " (" + way->source.section + ")" : "";
}

class Papers {
 public:
  Papers(LimitSheet& sheet, const Open& p)
      : sheet_(sheet), p_(p), then_(sheet.office.rules_on(p.day)),
        report_(filed_about(sheet.filings, kExceptionReport, p.entry)) {
    settle_ = "baybook pickup confirm " + to_type(sheet, p) + " --signed DATE";
    if (then_ != nullptr && then_->scheme == "us") {
      own_ = sheet.category(month_of(p.day));
      category_ = category_of_pickup(sheet.office, p.entry, p.day,
                                     [&](Month m) { return sheet.category(m); });
    }
  }

  void lines() {
    if (report_ != nullptr && way_counts(sheet_.office, *report_)) return reported();
    bool any = false;
    if (category_ == 3) {
      any = dated("paper.large.ask-days", "ask where the signed copy is", false);
      any = dated("paper.large.report-days", "report that no signed copy came", true) || any;
    } else if (category_ == 2) {
      any = dated("paper.small.report-days", "report that no signed copy came", true);
    }
    if (any) return;
    LimitLine& l = line("the signed copy has not come", nullptr);
    l.figures = std::to_string(sheet_.day.n - p_.day.n) + " days; the rules name no date";
  }

 private:
  LimitLine& line(const std::string& what, const RuleValue* rule) {
    LimitLine& l = sheet_.line(
        "paper", p_.document + ", picked up on " + to_string(p_.day) + ": " + what, rule);
    l.settle = settle_;
    l.entries.push_back(ref_of(sheet_.in, p_.entry));
    return l;
  }

  void reported() {
    LimitLine& l = line("the signed copy has not come", nullptr);
    l.figures = "reported on " + to_string(report_->on) + ", " +
                std::to_string(report_->on.n - p_.day.n) + " days after it was picked up";
    l.entries.push_back(ref_of(sheet_.in, report_->entry));
  }

  bool dated(const char* key, const char* what, bool report) {
    const RuleValue* rule = then_->value(key, p_.day);
    if (rule == nullptr) return false;
    LimitLine& l = line(what, rule);
    l.due = Day{static_cast<std::int32_t>(p_.day.n + rule->n)};
    l.state = state_of_day(*l.due, sheet_.day);
    l.figures = std::to_string(rule->n) + " days, " + days_left(*l.due, sheet_.day);
    if (category_ > own_)
      l.figures += "; some of it is of a month in which the shop was a " +
                   returns::category_title(*then_, p_.day, category_);
    if (!report) return true;
    l.figures += only_way(sheet_, *l.due);
    if (report_ != nullptr) {
      l.figures += "; the report of " + to_string(report_->on) + " was on paper, which is none";
      l.entries.push_back(ref_of(sheet_.in, report_->entry));
    }
    l.settle += "  # or baybook filing add " + std::string(kExceptionReport) + " --about " +
                entry_name(sheet_.in, p_.entry) + " --filed DATE" +
                (only_way(sheet_, *l.due).empty() ? "" : " --electronic");
    return true;
  }

  LimitSheet& sheet_;
  const Open& p_;
  const RuleSet* then_;
  const FilingRow* report_;
  std::string settle_{};
  int own_ = 0, category_ = 0;
};

// The last day of the month after the period in which a day lies, and the period's name.
struct ReturnOf {
  std::string period;
  Day due;
};
std::optional<ReturnOf> return_of(Day day, std::int64_t months) {
  // A return is recorded for a quarter; other periods have no name to be recorded under.
  if (months != 3) return std::nullopt;
  const Month m = month_of(day);
  const int quarter = m.n % 12 / 3 + 1;
  const Month first{m.n - m.n % 3};
  return ReturnOf{to_string(Period{m.n / 12 + 1970, quarter}), last_of(Month{first.n + 3})};
}

// Quarters whose loads went to a receiver, with the days of the loads.
struct Expected {
  Day due;
  std::vector<EntryRef> loads{};
  const RuleValue* when = nullptr;
};

}  // namespace

void unreturned_papers(LimitSheet& sheet) {
  for (const Open& p : unreturned(sheet)) Papers(sheet, p).lines();
}

// SI 2005/894 regulation 53(4): a receiver of hazardous waste sends its return of a quarter by the end
// of the month after it, and the producer keeps it. It is the receiver's duty, so it is never over.
void returns_to_come(LimitSheet& sheet) {
  std::map<std::string, Expected> by;
  std::vector<std::pair<EntryId, Day>> all;
  {
    auto q = sheet.in.db.query("SELECT entry, moment FROM pickup WHERE moment <= ? AND receiver <> 0 ORDER BY moment, recorded, entry");
    q.bind(log::last_moment(sheet.day));
    while (q.step()) all.emplace_back(EntryId{q.num(0)}, log::day_of_moment(q.num(1)));
  }
  for (const auto& [entry, day] : all) {
    const RuleSet* then = sheet.office.rules_on(day);
    const RuleValue* every = then != nullptr ? then->value("consignee.return.months", day) : nullptr;
    const RuleValue* kept = then != nullptr ? then->value("retention.register.months", day) : nullptr;
    const auto of = every != nullptr ? return_of(day, every->n) : std::nullopt;
    if (!of || filed_for(sheet.filings, kReturnReceived, of->period) != nullptr) continue;
    // Nobody keeps what is that old, so nobody asks for it.
    if (kept != nullptr && returns::purge_day(of->due, kept->n) <= sheet.day) continue;
    Expected& e = by[of->period];
    e.due = of->due;
    e.when = then->value("consignee.return.due", day);
    e.loads.push_back(ref_of(sheet.in, entry));
  }
  for (auto& [period, e] : by) {
    LimitLine& l = sheet.line("paper", "return of the receiver for " + period, e.when);
    l.due = e.due;
    l.state = e.due < sheet.day ? State::near : state_of_day(e.due, sheet.day);
    l.figures = "the receiver sends it, and it is kept here";
    if (e.when != nullptr) l.figures += "; " + e.when->text;
    l.figures += "; " + days_left(e.due, sheet.day);
    l.settle = "ask the receiver; baybook filing add " + std::string(kReturnReceived) +
               " --period " + period + " --filed DATE";
    l.entries = std::move(e.loads);
  }
}

}  // namespace baybook::book
