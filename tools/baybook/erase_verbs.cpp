// erase: removing personal data. What is erased does not come back, so it is listed and asked for first.
#include "ask.hpp"
#include "context.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "terminal.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/erase.hpp>
#include <baybook/reports.hpp>
#include <baybook/returns.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <optional>

namespace baybook::tool {

namespace {

// What an erasure under this run's --once key was about: its name may have gone with it.
EntryId of_retry(Context& c) {
  const std::string* once = c.typed().get("once");
  return once == nullptr || once->empty() ? EntryId{} : c.book().erased_under_once(*once);
}

std::string name_of_car(Context& c, CarId car) {
  const EntryRef ref = need(entry(c.book(), EntryId{car.n})).ref;
  return "car:" + ref_text(ref, c.book().settings().tag);
}

// A car that was withdrawn is in no list, but its texts are in the book: by its number, or by a whole plate that no other such car wore.
std::optional<CarId> withdrawn_car(Context& c, const std::string& text) {
  constexpr std::string_view by_number = "car:";
  if (text.starts_with(by_number)) {
    const std::string number = text.substr(by_number.size());
    const auto id = if_there(c.book().find_entry(number));
    if (!id || number == "last" || need(entry(c.book(), *id)).kind != "car") return std::nullopt;
    return CarId{id->n};
  }
  const std::vector<CarId> wore = need(withdrawn_cars(c.book(), text));
  if (wore.empty()) return std::nullopt;
  if (wore.size() == 1) return wore.front();
  std::string all;
  for (const CarId car : wore) all += (all.empty() ? "" : ", ") + name_of_car(c, car);
  refuse(
      Code::ambiguous,
      visible(text) + " was worn by " + std::to_string(wore.size()) +
          " cars that were withdrawn: " + all,
      "each is erased by itself",
      "baybook erase car " + name_of_car(c, wore.front()) + " --dry-run, to see what it reaches");
}

std::string without_tag(Context& c, const std::string& text) {
  const std::size_t at = text.rfind('@');
  if (at == std::string::npos || at == 0) return text;
  const std::vector<std::string> all = need(seals(c.book())).all;
  const std::string tag = text.substr(at + 1) + ":";
  return std::any_of(all.begin(), all.end(), [&](const std::string& seal) { return seal.starts_with(tag); }) ? text.substr(0, at) : text;
}

// A car by its whole plate, one it wore, or its number. A part of a plate will do to look at a car, not to erase from it.
CarId whole_car(Context& c, const std::string& text) {
  auto found = c.book().find_car(text, Match::near);
  if (!found.ok()) {
    if (const EntryId about = of_retry(c); about.n != 0) return CarId{about.n};
    if (found.refusal().code == Code::not_found) {
      if (const auto car = withdrawn_car(c, text)) return *car;
    }
    throw Refused{std::move(found).refusal()};
  }
  const CarView v = need(car(c.book(), *found));
  // "MARSH-07@bay" of two that are called alike.
  const std::string key = plate_key(without_tag(c, text));
  const auto same = [&](const std::string& plate) { return plate_key(plate) == key; };
  if (text.starts_with("car:") || same(v.plate) || std::any_of(v.earlier_plates.begin(), v.earlier_plates.end(), same)) return *found;
  if (const EntryId about = of_retry(c); about.n != 0) return CarId{about.n};
  if (const auto car = withdrawn_car(c, text)) return *car;
  refuse(Code::not_found, "there is no car with the plate " + visible(text),
         "near it: " + visible(v.plate) +
             "; what is erased does not come back, so the whole plate is asked for",
         "baybook erase car " + as_typed(v.plate) + " --dry-run  # if that one is meant");
}

void held_json(Json& j, const std::optional<Holding>& h) {
  if (!h) {
    j.null();
    return;
  }
  j.begin_object();
  j.member("what", h->what);
  j.member("section", h->section);
  j.member("sure", name_of(h->sure));
  j.member("until", h->until);
  j.key("free");
  if (h->free) j.string(to_string(*h->free));
  else j.null();
  j.end_object();
}

std::string papers_left(const ErasurePlan& plan) {
  return plan.papers == 0 ? std::string() : std::to_string(plan.papers) + (plan.papers == 1 ? " paper kept beside the book belongs" : " papers kept beside the book belong") + " to these entries; a scan is a file of its own and is not erased";
}

std::string plan_text(Context& c, const ErasurePlan& plan) {
  const std::string own = c.book().settings().tag;
  Table t;
  t.column("entry", Align::right);
  t.column("day");
  t.column("verb");
  t.column("field");
  t.column("text");
  for (const ErasureLine& l : plan.lines) {
    std::string text = l.text;
    if (l.held) text += "  [held " + l.held->until + ": " + l.held->what + ", " + with_words(l.held->section, l.held->sure) + "]";
    t.row({ref_text(l.entry, own), to_string(l.happened), visible(l.verb), visible(l.field), visible(text)});
  }
  std::string out = t.text(2);
  if (plan.papers > 0) out += wrapped("", papers_left(plan));
  return out;
}

std::string of_texts(std::size_t n) { return std::to_string(n) + (n == 1 ? " text" : " texts"); }

std::string told_of_left(const std::vector<std::string>& cars) {
  std::string out;
  for (const std::string& name : cars) out += (out.empty() ? "" : "; ") + name + ", which was withdrawn, wore that plate too and is not reached: baybook erase car " + name;
  return out;
}

int show_plan(Context& c, const ErasurePlan& plan, bool when_allowed, const std::vector<std::string>& left_cars) {
  const int status = plan.held > 0 && !when_allowed ? 1 : 0;
  if (c.json()) {
    Json j = c.document();
    j.key("dry_run").boolean(true);
    j.member("about", plan.about);
    j.key("texts").begin_array();
    for (const ErasureLine& l : plan.lines) {
      j.begin_object();
      render::entry_ref(j, "entry", l.entry);
      j.member("happened", to_string(l.happened));
      j.member("day", to_string(l.happened));
      j.member("verb", l.verb);
      j.member("field", l.field);
      j.member("text", l.text);
      j.key("held");
      held_json(j, l.held);
      j.end_object();
    }
    j.end_array();
    j.key("held").number(static_cast<std::int64_t>(plan.held));
    j.key("papers").number(plan.papers);
    j.strings("not_reached", left_cars);
    c.print(j);
    return status;
  }
  if (c.quiet()) return status;
  c.out().line("would erase " + of_texts(plan.lines.size()) + " of " + visible(plan.about) + "; nothing was written");
  c.out().text(plan_text(c, plan));
  if (plan.held > 0) c.out().text(wrapped("", of_texts(plan.held) + (plan.held == 1 ? " is" : " are") + " held by a rule: " + (when_allowed ? "it would be put on record as asked" : "it would be refused")));
  if (!left_cars.empty()) c.out().text(wrapped("", told_of_left(left_cars)));
  return status;
}

void confirm(Context& c, const ErasurePlan& plan) {
  const std::string what = of_texts(plan.lines.size()) + " of " + visible(plan.about);
  ask_first(c, plan_text(c, plan), what + " would be erased for good",
            "what is erased does not come back", "erase " + what + " for good?",
            "nothing was erased");
}

// Cars that were withdrawn and wore the plate that was typed: the erasure of another car does not reach them.
std::vector<std::string> withdrawn_left(Context& c, const std::string& plate, CarId reached) {
  std::vector<std::string> out;
  if (plate.starts_with("car:")) return out;
  for (const CarId car : need(withdrawn_cars(c.book(), plate))) {
    if (car != reached) out.push_back(name_of_car(c, car));
  }
  return out;
}

// Entries and fields without a word of what stood there: to be kept with the backups.
std::string list_of(const ErasurePlan& plan, const std::string& own) {
  std::string out;
  std::string last;
  for (const ErasureLine& l : plan.lines) {
    const std::string entry = ref_text(l.entry, own);
    out += entry != last ? (out.empty() ? "entry " : "; entry ") + entry + " " + l.field : ", " + l.field;
    last = entry;
  }
  return out;
}

int erase(Context& c, Erasure d, const std::vector<std::string>& left_cars = {}) {
  const Typed& t = c.typed();
  d.when_allowed = t.has("when-allowed");
  if (const std::string* reason = t.get("reason")) {
    if (*reason != "request" && *reason != "expired") refuse(Code::wrong_usage, "--reason " + visible(*reason) + " is not known", "one of two words, for a text of its own could hold the very name", "--reason request, or --reason expired");
    if (*reason == "expired") d.reason = Erasure::Reason::expired;
  }
  std::string left;
  std::string erased;
  if (of_retry(c).n == 0) {
    const ErasurePlan plan = need(plan_erasure(c.book(), d, c.today()));
    if (t.has("dry-run")) {
      c.say_of_clock();
      return show_plan(c, plan, d.when_allowed, left_cars);
    }
    if (plan.held == 0) confirm(c, plan);
    left = papers_left(plan);
    erased = list_of(plan, c.book().settings().tag);
  }
  const Receipt r = c.append(d);
  const int status = r.unfinished ? 1 : 0;
  if (c.json()) {
    Json j = c.document();
    render::receipt_members(j, r);
    j.key("finished").boolean(!r.unfinished);
    j.strings("not_reached", left_cars);
    c.print(j);
    return status;
  }
  render::receipt(c, r);
  if (c.quiet() || r.dry_run || !r.summary.starts_with("erased")) return status;
  if (!left.empty()) c.out().text(wrapped("  ", left));
  if (!left_cars.empty()) c.out().text(wrapped("  ", told_of_left(left_cars)));
  if (!erased.empty()) c.out().text(wrapped("  ", "erased: " + erased));
  c.out().text(wrapped("  ", "pages printed and backups made before this still hold it: docs/personal-data.md. Note these entries and fields with them; the next baybook backup leaves the list beside its copy, and a restore names what has to be erased again"));
  return status;
}

}  // namespace

int run_erase_car(Context& c) {
  const Typed& t = c.typed();
  Erasure d;
  d.car = whole_car(c, c.operand(0));
  const bool all = t.has("all");
  d.plate = all || t.has("plate");
  d.vin = all || t.has("vin");
  d.texts = all || t.has("texts");
  d.keeper = all || t.has("keeper") || !(d.plate || d.vin || d.texts);
  return erase(c, d, withdrawn_left(c, c.operand(0), d.car));
}

int run_erase_person(Context& c) {
  Erasure d;
  auto found = c.book().find_person(c.operand(0));
  if (found.ok()) d.person = *found;
  else if (const EntryId about = of_retry(c); about.n != 0) d.person = PersonId{about.n};
  else throw Refused{std::move(found).refusal()};
  return erase(c, d);
}

int run_erase_firm(Context& c) {
  Erasure d;
  auto found = c.book().find_firm(c.operand(0));
  if (found.ok()) d.firm = *found;
  else if (const EntryId about = of_retry(c); about.n != 0) d.firm = FirmId{about.n};
  else throw Refused{std::move(found).refusal()};
  return erase(c, d);
}

int run_erase_entry(Context& c) {
  Erasure d;
  d.entry = need(c.book().find_entry(c.operand(0)));
  if (c.operands() > 1) d.field = c.operand(1);
  return erase(c, d);
}

int run_erase_asked(Context& c) {
  Erasure d;
  d.asked = need(c.book().find_entry(c.operand(0)));
  return erase(c, d);
}

int run_erase_finish(Context& c) {
  const bool unfinished = need(erasure_unfinished(c.book()));
  const bool dry = c.typed().has("dry-run");
  if (!dry) need(finish_erasures(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.key("was_unfinished").boolean(unfinished);
    j.key("finished").boolean(!dry || !unfinished);
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (dry) c.out().line(unfinished ? "an erasure is not finished; nothing was written" : "every erasure is finished; nothing was written");
  else c.out().line("the book was written anew: no file of it holds what was erased");
  return 0;
}

}  // namespace baybook::tool
