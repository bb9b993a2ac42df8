#include "book/unfit_kinds.hpp"

#include "fluids/build.hpp"
#include "log/most.hpp"
#include "returns/build.hpp"

namespace baybook::book {

using log::Value;
namespace most = log::most;

namespace {

constexpr auto kAlways = Need::always;
constexpr auto kIfSaid = Need::if_said;

// Numbers that stand in the open: letters, digits, blanks and a few signs.
void token(Fields& f, std::string_view key, Need need) {
  const auto text = f.text(key, need, most::kToken);
  if (text && !fluids::open_token(*text, key).ok())
    f.wrong(key, "is " + shown(Value(*text)) + ", with a character that no such number has");
}

// Corrections took any text of 80 bytes for a paper's number once, and such entries stay readable.
void document(Fields& f, Need need) {
  if (f.reading().of_correction)
    f.text("document", need, most::kPart);
  else
    token(f, "document", need);
}

void line_of(Fields& line, MoveVerb verb) {
  const bool all = line.yes("all");
  line.amount("amount", kAlways, {.computed = all});
  line.place("from", kAlways);
  line.place("to", kAlways);
  const Value* from = line.any("from", kIfSaid);
  const bool supplied = from != nullptr && *from == Value("supplier");
  const bool alone = line.yes("alone");
  line.fluid("fluid", supplied || alone ? kAlways : kIfSaid);
  if (alone && verb != MoveVerb::fill && verb != MoveVerb::decant && verb != MoveVerb::spill)
    line.wrong("alone", "is said of what was not taken from a shelf");
  if (line.yes("beside") && verb != MoveVerb::receive && verb != MoveVerb::decant)
    line.wrong("beside", "is said of what was not put on a shelf");
  if (all && from != nullptr && !from->is_int() &&
      (!from->is_string() || log::end_of_world(from->as_string())))
    line.wrong("all", "is said of what has no known content");
  if (line.word("fate", kIfSaid, {"recycled", "disposed"}) && verb != MoveVerb::pickup)
    line.wrong("fate", "is said of what no receiver took");
  token(line, "treatment", kIfSaid);
  token(line, "lot", kIfSaid);
  if (line.yes("soaked") && verb != MoveVerb::spill)
    line.wrong("soaked", "is said of what was not spilled");
  if (line.amount("measured", kIfSaid, {.nothing = true}) && verb != MoveVerb::pickup)
    line.wrong("measured", "is said of what no carrier took");
}

}  // namespace

void shares(Fields& f) {
  constexpr std::int64_t whole = 1'000'000;
  f.objects("shares", kIfSaid, most::kShares, [](Fields& s) {
    s.text("substance", kAlways, most::kSubstance);
    s.typed("typed", kAlways);
    const auto low = s.whole("low", kAlways, 0, whole);
    const auto best = s.whole("best", kAlways, 0, whole);
    const auto high = s.whole("high", kAlways, 1, whole);
    if (low && best && high && (*low > *best || *best > *high))
      s.wrong("best", "is " + std::to_string(*best) + ", outside its bounds");
  });
}

void haul(Fields& f) { f.distance("haul-m", "haul-typed", kIfSaid); }

void movement(Fields& f) {
  const Value* word = f.any("verb", kAlways);
  const auto verb =
      word != nullptr && word->is_string() ? fluids::read_verb(word->as_string()) : std::nullopt;
  if (word != nullptr && !verb)
    f.wrong("verb", "is " + shown(*word) + ", which is no movement", word_sort(*word));
  const MoveVerb v = verb.value_or(MoveVerb::decant);
  const bool pickup = v == MoveVerb::pickup;
  f.ref("job", v == MoveVerb::drain || v == MoveVerb::fill ? kAlways : kIfSaid);
  f.objects("lines", kAlways, most::kLines, [v](Fields& line) { line_of(line, v); });
  document(f, pickup ? kAlways : kIfSaid);
  if (f.yes("mixing") && !f.reading().has_private("mixing"))
    f.wrong("mixing", "is true, and no text says why");
  if (pickup && !f.reading().has_private("carrier")) f.wrong("is a pick-up that names no carrier");
  for (const std::string_view key : {"carrier-firm", "receiver-firm"}) {
    if (f.ref(key, kIfSaid) && !pickup) f.wrong(key, "is said of what was not picked up");
  }
  if (f.text("transport", kIfSaid, most::kTransport) && !pickup)
    f.wrong("transport", "is said of what was not picked up");
  if (f.word("reached", kIfSaid, {"floor", "drain", "soil", "water"}) && v != MoveVerb::spill)
    f.wrong("reached", "is said of what was not spilled");
  f.text("machine", kIfSaid, most::kMachine);
  shares(f);
  if (f.any("shares", kIfSaid) != nullptr && v != MoveVerb::spill)
    f.wrong("shares", "is said of what was not spilled");
  if (f.yes("own-vehicle") && !pickup) f.wrong("own-vehicle", "is said of what was not picked up");
  haul(f);
  if (f.any("haul-m", kIfSaid) != nullptr && !pickup)
    f.wrong("haul-m", "is said of what was not picked up");
}

void gauge(Fields& f) {
  f.ref("place", kAlways);
  const bool weighed = f.any("gross", kIfSaid) != nullptr || f.any("tare", kIfSaid) != nullptr;
  const auto level = f.amount("level", kAlways, {.nothing = true, .computed = weighed});
  f.fluid("fluid", f.yes("alone") ? kAlways : kIfSaid);
  const auto density = f.density("density");
  if (!weighed) {
    if (density) f.wrong("density", "is said of what was not weighed");
    return;
  }
  const auto gross = f.amount("gross", kAlways, {.nothing = true, .of = Dimension::mass});
  const auto tare = f.amount("tare", kAlways, {.nothing = true, .of = Dimension::mass});
  if (!level || !gross || !tare) return;
  if (gross->best < tare->best) return f.wrong("tare", "is more than the gross weight");
  const Mass net{gross->best - tare->best};
  const bool fits =
      density ? level->dimension == Dimension::volume && level->best == volume_of(net, *density).n
              : level->dimension == Dimension::mass && level->best == net.n;
  if (!fits) f.wrong("level", "does not follow from what was weighed");
}

}  // namespace baybook::book
