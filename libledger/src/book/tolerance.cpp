#include "book/tolerance.hpp"

#include <algorithm>

#include "book/office.hpp"

namespace baybook::book {

service::Tolerance tolerance_on(Book::Inside& in, Day day) {
  service::Tolerance out;
  Office office(in);
  const RuleSet* rules = office.rules_on(day);
  if (rules == nullptr) return out;
  if (const RuleValue* v = rules->value("job.tolerance.percent", day))
    out.percent = std::min<std::int64_t>(v->n, 100);
  if (const RuleValue* v = rules->value("job.tolerance.least", day)) out.least_nl = v->n;
  if (const RuleValue* v = rules->value("job.tolerance.refrigerant", day))
    out.refrigerant_ug = v->n;
  return out;
}

}  // namespace baybook::book
