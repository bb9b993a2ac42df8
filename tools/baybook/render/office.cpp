#include "office.hpp"

#include "../context.hpp"
#include "receipt.hpp"
#include "text.hpp"

#include <algorithm>
#include <map>

namespace baybook::tool::render {

namespace {

void refs_member(Json& j, const std::vector<EntryRef>& refs) {
  j.objects("entries", refs, [&](const EntryRef& r) {
    j.key("number").number(r.number());
    j.member("tag", r.tag);
  });
}

// null where the book goes by no rules.
void rules_member(Json& j, const std::string& set, const std::string& digest, const std::string& aid) {
  j.key("rules");
  if (set.empty()) {
    j.null();
    return;
  }
  j.begin_object();
  j.member("set", set);
  j.member("digest", digest);
  if (!aid.empty()) j.member("aid", aid);
  j.end_object();
}

void limit_members(Json& j, const LimitLine& l, bool kept) {
  j.member("group", l.group);
  j.member("what", l.what);
  j.day("due", l.due);
  j.day("day", l.due);
  j.member("figures", l.figures);
  j.member("section", l.section);
  // A line that stands on no rule has nothing to be sure of.
  j.key("sure");
  if (l.section.empty() && l.sure != Sure::shop) j.null();
  else j.string(name_of(l.sure));
  if (!kept) {
    j.member("state", l.state == LimitLine::State::over ? "over" : l.state == LimitLine::State::near ? "near" : "fine");
    j.member("settle", l.settle);
  }
  refs_member(j, l.entries);
}

void mass_member(Json& j, std::string_view name, const std::optional<std::int64_t>& ug) {
  j.key(name);
  if (ug) j.exact(*ug, Dimension::mass);
  else j.null();
}

// null where nothing of another stream was poured in.
void mixture_member(Json& j, const StreamFacts& s) {
  j.key("mixture");
  if (!s.mixture) {
    j.null();
    return;
  }
  j.begin_object();
  entry_ref(j, "entry", s.mixture->entry);
  j.member("with", s.mixture->with);
  j.member("reason", s.mixture->reason);
  j.member("told", s.mixture->told);
  j.end_object();
}

std::string_view hazard_key(const StreamFacts& s) {
  if (!s.known) return "unknown";
  return s.hazardous == YesNo::yes ? "hazardous" : s.hazardous == YesNo::no ? "not-hazardous" : "not-determined";
}

}  // namespace

void limits_members(Context& c, Json& j, const Limits& l) {
  j.member("site", c.book().settings().site);
  j.member("day", to_string(l.day));
  rules_member(j, l.rules, l.rules_digest, l.aid);
  j.key("category");
  if (l.category_title.empty()) {
    j.null();
  } else {
    j.begin_object();
    j.member("month", to_string(month_of(l.day)));
    j.member("title", l.category_title);
    j.end_object();
  }
  j.objects("limits", l.lines, [&](const LimitLine& x) { limit_members(j, x, false); });
  j.objects("keep", l.keep, [&](const LimitLine& x) { limit_members(j, x, true); });
  j.member("seal", c.book().seal());
}

void register_members(Context& c, Json& j, Day from, Day until) {
  const std::vector<RegisterRow> rows = need(waste_register(c.book(), from, until));
  const Units& units = c.units();
  j.member("site", c.book().settings().site);
  j.member("from", to_string(from));
  j.member("until", to_string(until));
  if (const auto set = if_there(rules(c.book(), until))) rules_member(j, set->name, set->digest, set->aid);
  else rules_member(j, "", "", "");
  std::map<std::string, std::int64_t> collections;
  j.objects("register", rows, [&](const RegisterRow& x) {
    const bool collected = x.out && !x.document.empty();
    if (collected) ++collections[x.stream.title];
    entry_ref(j, "entry", x.entry);
    j.member("day", to_string(x.day));
    j.member("way", x.out ? "out" : "in");
    j.key("collected").boolean(collected);
    j.member("container", x.place);
    j.key("stream").begin_object();
    j.member("name", x.stream.name);
    j.member("title", x.stream.title);
    j.member("code", x.stream.code);
    j.member("hazard", hazard_key(x.stream));
    mixture_member(j, x.stream);
    j.end_object();
    j.key("amount").bounded(x.low, x.best, x.high, x.dimension);
    j.member("amount_shown", bounded(x.low, x.best, x.high, x.dimension, units));
    j.key("estimated").boolean(x.estimated);
    mass_member(j, "weight", x.best_ug);
    j.member("origin", x.origin);
    j.member("destination", x.destination);
    j.member("carrier", x.carrier);
    j.member("transport", x.transport);
    j.member("document", x.document);
    j.member("treatment", x.treatment);
    j.member("fate", x.fate);
    j.key("measured");
    if (x.measured) j.bounded(x.measured->low, x.measured->best, x.measured->high, x.measured->dimension);
    else j.null();
    j.key("measured_shown");
    if (x.measured) j.string(show(*x.measured, units));
    else j.null();
    j.day("confirmed", x.confirmed);
  });
  j.objects("collections", collections, [&](const auto& of_stream) {
    j.member("stream", of_stream.first);
    j.key("count").number(of_stream.second);
  });
  j.member("seal", c.book().seal());
}

bool closed_member(Context& c, Json& j, Day from, Day until) {
  std::vector<std::pair<Month, ClosedMonth>> list;
  for (Month m = month_of(from); m <= month_of(until); m.n += 1) {
    if (auto closed = need(closed_month(c.book(), m))) list.emplace_back(m, std::move(*closed));
  }
  const auto changed = [](const ClosedMonth& m) {
    return !m.differences.empty() || m.judged_now.has_value();
  };
  j.objects("closed", list, [&](const std::pair<Month, ClosedMonth>& one) {
    const ClosedMonth& m = one.second;
    j.member("month", to_string(one.first));
    entry_ref(j, "entry", m.entry);
    j.member("closed_on", to_string(m.closed_on));
    j.member("by", m.by);
    j.member("seal", m.seal);
    rules_member(j, m.rules, m.rules_digest, "");
    j.member("category", m.category);
    j.key("counted").exact(m.counted_ug, Dimension::mass);
    j.key("amended").boolean(changed(m));
    j.key("judged_now");
    if (const auto& now = m.judged_now) {
      j.begin_object();
      rules_member(j, now->rules, now->rules_digest, "");
      j.member("category", now->category);
      j.key("counted").exact(now->counted_ug, Dimension::mass);
      j.end_object();
    } else {
      j.null();
    }
    j.objects("differences", m.differences, [&](const Difference& d) {
      j.member("fluid", d.fluid);
      j.member("figure", d.column);
      j.key("closed_at").exact(d.closed_at, d.dimension);
      j.key("now").exact(d.now, d.dimension);
      j.key("difference").exact(d.now - d.closed_at, d.dimension);
      j.key("closed_low").exact(d.closed_low, d.dimension);
      j.key("closed_high").exact(d.closed_high, d.dimension);
      j.key("now_low").exact(d.now_low, d.dimension);
      j.key("now_high").exact(d.now_high, d.dimension);
      // As the rows of `totals` name it.
      std::string key = d.column;
      std::replace(key.begin(), key.end(), '-', '_');
      j.member("key", key);
    });
    j.objects("causes", m.causes, [&](const EntryView& e) {
      entry_ref(j, "entry", e.ref);
      j.member("recorded", to_string(e.recorded));
      j.member("happened", to_string(e.happened));
      j.member("day", to_string(e.happened));
      j.member("by", e.by);
      j.member("verb", e.verb);
      j.member("summary", e.summary);
      j.member("text", e.text);
    });
  });
  return std::any_of(list.begin(), list.end(),
                     [&](const auto& one) { return changed(one.second); });
}

}  // namespace baybook::tool::render
