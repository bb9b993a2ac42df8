// drain, filter, fill, spill, decant, receive, discard, gauge, pickup.
#include "context.hpp"
#include "render/receipt.hpp"
#include "render/spill.hpp"
#include "render/text.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/returns.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool {

namespace {

Movement movement(Context& c, MoveVerb verb) {
  Movement m;
  m.verb = verb;
  m.mixing_reason = c.typed().text("mixing-reason");
  return m;
}

MoveLine line(PlaceId from, PlaceId to, std::optional<Amount> amount, FluidId fluid = {}) {
  MoveLine l;
  l.from = from;
  l.to = to;
  l.amount = std::move(amount);
  l.fluid = fluid;
  return l;
}

/// The product that is taken from a shelf, when it is said.
FluidId product(Context& c) {
  const Typed& t = c.typed();
  return t.has("fluid") ? need(c.book().find_fluid(t.text("fluid"))) : FluidId{};
}

/// What was picked up of a spill, and where it went.
struct PickedUp {
  Amount amount;
  FluidId material{};  ///< none: the fluid itself
  std::string word{};  ///< what soaked it up, where no class is called so: "granules"
  PlaceId into{};
};

/// `0.3L`, or a word for what soaked it up and how much of that: `granules 1.5kg`.
PickedUp read_picked_up(Context& c, const std::string& text) {
  PickedUp p;
  const std::size_t blank = text.find(' ');
  const bool has_word = !text.empty() && ((text[0] >= 'a' && text[0] <= 'z') || (text[0] >= 'A' && text[0] <= 'Z'));
  if (!has_word) {
    p.amount = c.amount(text);
    return p;
  }
  const std::string word = text.substr(0, blank);
  if (blank == std::string::npos) {
    refuse(Code::unclear, "--picked-up " + visible(text) + " has no amount", "the fluid itself, or what soaked it up, with how much", "--picked-up \"" + visible(word) + " 1.5kg\"");
  }
  const FluidClass* known = find_class(word);
  p.material = FluidId{known != nullptr ? known->number : find_class("absorbent")->number};
  if (known == nullptr) p.word = word;
  p.amount = c.amount(text.substr(blank + 1));
  return p;
}

}  // namespace

int run_drain(Context& c) {
  Movement m = movement(c, MoveVerb::drain);
  m.job = c.job(c.operand(0));
  const PlaceId circuit = need(c.book().find_circuit_of(m.job, c.operand(1)));
  const auto amount = c.amount_or_all(c.operand(2));
  m.lines.push_back(line(circuit, c.place(c.required("into")), amount));
  m.machine = c.typed().text("machine");
  return c.write(m);
}

int run_filter(Context& c) {
  Movement m = movement(c, MoveVerb::filter);
  const PlaceId from = c.place(c.operand(0));
  const auto amount = c.amount_or_all(c.operand(1));
  m.lines.push_back(line(from, c.place(c.required("into")), amount));
  m.note = c.typed().text("through");
  return c.write(m);
}

int run_fill(Context& c) {
  Movement m = movement(c, MoveVerb::fill);
  m.job = c.job(c.operand(0));
  const PlaceId circuit = need(c.book().find_circuit_of(m.job, c.operand(1)));
  m.machine = c.typed().text("machine");
  const std::string& from = c.required("from");
  if (from.starts_with("new:")) {
    if (c.typed().has("fluid"))
      refuse(Code::wrong_usage, "--from " + visible(from) + " says what it is already",
             "--fluid says which product of a shelf", "one of the two");
    const Amount amount = c.amount(c.operand(2));
    m.lines.push_back(line(kSupplier, circuit, amount, need(c.book().find_fluid(std::string_view(from).substr(4)))));
  } else {
    const auto amount = c.amount_or_all(c.operand(2));
    m.lines.push_back(line(c.place(from), circuit, amount, product(c)));
  }
  return c.write(m);
}

int run_spill(Context& c) {
  Movement m = movement(c, MoveVerb::spill);
  m.note = c.typed().text("where");
  m.cleaned = c.typed().text("cleaned");
  if (const std::string* reached = c.typed().get("reached")) {
    if (*reached == "floor") m.reached = Reached::floor;
    else if (*reached == "drain") m.reached = Reached::drain;
    else if (*reached == "soil") m.reached = Reached::soil;
    else if (*reached == "water") m.reached = Reached::water;
    else refuse(Code::wrong_usage, "--reached " + visible(*reached) + " is not known", "it is one of: floor, drain, soil, water", "--reached floor");
  }
  m.shares = shares_option(c);
  PlaceId source;
  std::string name;
  if (c.operands() == 3) {
    m.job = c.job(c.operand(0));
    source = need(c.book().find_circuit_of(m.job, c.operand(1)));
    name = c.operand(1);
  } else {
    source = c.place(c.operand(0));
    name = c.operand(0);
  }
  const Amount spilled = c.amount(c.operand(c.operands() - 1));

  // --into holds for each --picked-up before it that has no place yet; given once, for all of them.
  std::vector<PickedUp> picked;
  std::vector<std::string> places;
  for (const auto& [option, value] : c.typed().options) {
    if (option == "picked-up") {
      picked.push_back(read_picked_up(c, value));
    } else if (option == "into") {
      places.push_back(value);
      const PlaceId into = c.place(value);
      for (PickedUp& p : picked) {
        if (!p.into) p.into = into;
      }
    }
  }
  if (!places.empty() && picked.empty()) refuse(Code::wrong_usage, "--into needs --picked-up: what of it was got back", "what was not picked up is gone to the ground", "--picked-up 0.3L --into " + visible(places.front()));
  for (PickedUp& p : picked) {
    if (p.into) continue;
    if (places.size() == 1) p.into = c.place(places.front());
    else refuse(Code::wrong_usage, "it is not said where what was picked up (" + visible(p.amount.typed) + ") went", "what is picked up is waste and needs its place", "--picked-up " + visible(p.amount.typed) + " --into drum-absorb");
  }

  // Absorbent is counted as such; the shop's own word for it stays beside it and is found.
  std::vector<std::string> soaked_up;
  for (const PickedUp& p : picked) {
    if (!p.word.empty()) soaked_up.push_back(p.word);
  }
  if (!m.cleaned.empty()) soaked_up.push_back(m.cleaned);
  m.cleaned = joined(soaked_up);

  // Each litre once: what was spilled is what was picked up and what is gone. Bounds of the rest are worst case.
  Amount gone = spilled;
  for (const PickedUp& p : picked) {
    if (p.material) continue;
    if (p.amount.dimension != spilled.dimension) refuse(Code::unclear, "spilled in one kind of quantity (" + visible(spilled.typed) + "), picked up in another (" + visible(p.amount.typed) + ")", "litres, kilograms and pieces are never added up; what soaked it up has a word before it", "--picked-up \"granules " + visible(p.amount.typed) + "\"");
    const std::int64_t low = gone.low - p.amount.high;
    const std::int64_t high = gone.high - p.amount.low;
    gone.best -= p.amount.best;
    if (gone.best < 0) refuse(Code::not_allowed, "more was picked up than was spilled: " + show(spilled, c.units()) + " spilled, " + show(-gone.best, gone.dimension, c.units(), true) + " too much picked up", "what was picked up is a part of what was spilled", "the amounts again");
    gone.low = std::clamp<std::int64_t>(low, 0, gone.best);
    gone.high = std::max(high, gone.best);
    gone.estimated = gone.low != gone.best || gone.high != gone.best;
    gone.typed += " - " + p.amount.typed;
  }
  const FluidId spilt = product(c);
  if (gone.best > 0) m.lines.push_back(line(source, kGround, gone, spilt));
  for (const PickedUp& p : picked)
    m.lines.push_back(
        line(p.material ? kSupplier : source, p.into, p.amount, p.material ? p.material : spilt));
  const Receipt r = c.append(m);
  // What the rules say about such a loss.
  const SpillAdvice advice = r.dry_run ? SpillAdvice{} : need(spill_advice(c.book(), r.entry.id));
  if (c.json()) {
    Json j = c.document();
    render::receipt_members(j, r);
    render::spill_members(j, advice);
    c.print(j);
    return 0;
  }
  render::receipt_text(c, r);
  // It is said aloud, on the stream that is read first.
  for (const std::string& a : advice.lines) c.err().text(wrapped("spill: ", visible(a)));
  return 0;
}

int run_decant(Context& c) {
  Movement m = movement(c, MoveVerb::decant);
  const PlaceId from = c.place(c.operand(0));
  const auto amount = c.amount_or_all(c.operand(1));
  m.lines.push_back(line(from, c.place(c.required("into")), amount, product(c)));
  return c.write(m);
}

int run_receive(Context& c) {
  Movement m = movement(c, MoveVerb::receive);
  const FluidId fluid = need(c.book().find_fluid(c.operand(0)));
  const Amount amount = c.amount(c.operand(1));
  m.lines.push_back(line(kSupplier, c.place(c.required("into")), amount, fluid));
  m.lines.back().lot = c.typed().text("lot");
  m.document = c.typed().text("doc");
  m.carrier = c.typed().text("from");
  return c.write(m);
}

int run_discard(Context& c) {
  Movement m = movement(c, MoveVerb::discard);
  const FluidId fluid = need(c.book().find_fluid(c.operand(0)));
  const Amount amount = c.amount(c.operand(1));
  m.lines.push_back(line(kSupplier, c.place(c.required("into")), amount, fluid));
  m.note = c.typed().text("note");
  return c.write(m);
}

int run_gauge(Context& c) {
  const Typed& t = c.typed();
  Gauge g;
  g.place = c.place(c.operand(0));
  const bool weighed = t.has("gross") || t.has("tare");
  if (weighed == (c.operands() == 2)) {
    refuse(Code::wrong_usage,
           weighed ? "a level and weights were given" : "neither a level nor weights were given",
           "a gauge reading is a level, or a gross and a tare weight",
           weighed ? "one of the two"
                   : "baybook gauge " + visible(c.operand(0)) + " LEVEL --reason \"...\"");
  }
  if (weighed) {
    g.gross = need(parse_level(c.required("gross"), c.units()));
    g.tare = need(parse_level(c.required("tare"), c.units()));
  } else {
    g.level = need(parse_level(c.operand(1), c.units()));
  }
  if (t.has("density")) {
    if (!weighed) refuse(Code::wrong_usage, "a density turns a weight into a volume, and no weight was given", "", "--gross 84kg --tare 17kg");
    g.density = need(parse_density(t.text("density"), c.units()));
  }
  g.density_source = t.text("source");
  if (t.has("fluid")) g.fluid = need(c.book().find_fluid(t.text("fluid")));
  g.reason = t.text("reason");
  return c.write(g);
}

int run_pickup(Context& c) {
  const Typed& t = c.typed();
  Movement m = movement(c, MoveVerb::pickup);
  m.own_vehicle = t.has("own-vehicle");
  m.haul = c.distance_option("distance");
  // Who carries his own load is the carrier of it.
  m.carrier = m.own_vehicle && !t.has("carrier") ? c.book().settings().site : c.required("carrier");
  if (auto firm = c.book().find_firm(m.carrier); !firm.ok() && firm.refusal().code == Code::ambiguous) throw Refused{std::move(firm).refusal()};
  else if (const auto known = if_there(std::move(firm))) m.carrier_firm = *known;
  m.receiver = t.text("receiver");
  m.transport = t.text("transport");
  // Waste goes to a receiver that is known, or the register cannot say where it went.
  if (!m.receiver.empty()) m.receiver_firm = need(c.book().find_firm(m.receiver));
  m.document = c.required("doc");
  // --fate and --treatment hold for the --from before them; given once, for all.
  std::vector<std::optional<Fate>> fates;
  std::vector<std::optional<std::string>> treatments;
  std::optional<Fate> only_fate;
  std::optional<std::string> only_treatment;
  const std::size_t fate_count = t.all("fate").size();
  const std::size_t treatment_count = t.all("treatment").size();
  for (const auto& [option, value] : t.options) {
    if (option == "from") {
      const std::size_t equals = value.find('=');
      if (equals == std::string::npos)
        refuse(Code::wrong_usage, "--from " + visible(value) + " does not say how much",
               "a pick-up names the amount, or all",
               "--from " + visible(value) + "=AMOUNT, or =all if all of it went");
      const auto amount = c.amount_or_all(std::string_view(value).substr(equals + 1));
      m.lines.push_back(line(c.place(std::string_view(value).substr(0, equals)), kReceiver, amount));
      fates.emplace_back();
      treatments.emplace_back();
    } else if (option == "measured") {
      if (m.lines.empty())
        refuse(Code::wrong_usage, "--measured " + visible(value) + " stands before any --from",
               "each --measured belongs to the --from before it",
               "--from PLACE=AMOUNT --measured " + visible(value));
      m.lines.back().measured = need(parse_level(value, c.units()));
    } else if (option == "fate") {
      const auto fate = read_fate(value);
      if (!fate) refuse(Code::wrong_usage, "--fate " + visible(value) + " is not known", "it is one of: recycle, dispose", "--fate recycle");
      only_fate = fate;
      if (fate_count > 1) {
        if (fates.empty())
          refuse(Code::wrong_usage, "--fate " + visible(value) + " stands before any --from",
                 "each --fate belongs to the --from before it",
                 "--from PLACE=AMOUNT --fate " + visible(value));
        fates.back() = fate;
      }
    } else if (option == "treatment") {
      only_treatment = value;
      if (treatment_count > 1) {
        if (treatments.empty())
          refuse(Code::wrong_usage, "--treatment " + visible(value) + " stands before any --from",
                 "each --treatment belongs to the --from before it",
                 "--from PLACE=AMOUNT --treatment " + visible(value));
        treatments.back() = value;
      }
    }
  }
  if (m.lines.empty()) (void)c.required("from");
  for (std::size_t i = 0; i < m.lines.size(); ++i) {
    m.lines[i].fate = fate_count == 1 ? *only_fate : fates[i].value_or(Fate::none);
    m.lines[i].treatment = treatment_count == 1 ? *only_treatment : treatments[i].value_or("");
  }
  return c.write(m);
}

}  // namespace baybook::tool
