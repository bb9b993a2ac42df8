// Papers of pick-ups whose signed copy has not come back.
#include "book/limits.hpp"

namespace baybook::book {

void unreturned_papers(LimitSheet& sheet) {
  struct P { EntryId entry; Day day; std::string document; };
  std::vector<P> open;
  {
    auto q = sheet.in.db.query("SELECT p.entry, p.moment, p.document FROM pickup p WHERE p.moment <= ?1 AND NOT EXISTS (SELECT 1 FROM confirmed c WHERE c.pickup = p.entry AND c.moment <= ?1) ORDER BY p.moment, p.recorded, p.entry");
    q.bind(log::last_moment(sheet.day));
    while (q.step()) open.push_back({EntryId{q.num(0)}, log::day_of_moment(q.num(1)), q.text(2)});
  }
  // One number on two papers names neither: two books wrote it.
  const auto to_type = [&](const P& p) {
    auto q = sheet.in.db.query("SELECT count(*) FROM pickup WHERE document = ?");
    q.bind(p.document);
    return q.step() && q.num(0) == 1 ? as_typed(p.document) : entry_name(sheet.in, p.entry);
  };
  for (const P& p : open) {
    const RuleSet* then = sheet.office.rules_on(p.day);
    const int c = then != nullptr && then->scheme == "us" ? sheet.category(month_of(p.day)) : 0;
    const auto add = [&](const char* key, const char* what) {
      const RuleValue* rule = then->value(key, p.day);
      if (rule == nullptr) return false;
      LimitLine& l = sheet.line("paper", p.document + ", picked up on " + to_string(p.day) + ": " + what, rule);
      l.due = Day{static_cast<std::int32_t>(p.day.n + rule->n)};
      l.state = state_of_day(*l.due, sheet.day);
      l.figures = std::to_string(rule->n) + " days, " + days_left(*l.due, sheet.day);
      // How it is filed is by the rules of the day on which it would be.
      const RuleValue* way =
          sheet.rules != nullptr && std::string_view(key).ends_with("report-days")
              ? sheet.rules->value("paper.report-way", *l.due)
              : nullptr;
      if (way != nullptr)
        l.figures += "; reported " + way->text + " (" + way->source.section +
                     (way->source.sure == Sure::confirmed
                          ? ""
                          : ", " + std::string(words_for(way->source.sure))) +
                     ")";
      l.settle = "baybook pickup confirm " + to_type(p) + " --signed DATE";
      l.entries.push_back(ref_of(sheet.in, p.entry));
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
      LimitLine& l = sheet.line("paper", p.document + ", picked up on " + to_string(p.day) + ": the signed copy has not come", nullptr);
      l.figures = std::to_string(sheet.day.n - p.day.n) + " days; the rules name no date";
      l.settle = "baybook pickup confirm " + to_type(p) + " --signed DATE";
      l.entries.push_back(ref_of(sheet.in, p.entry));
    }
  }
}

}  // namespace baybook::book
