// What a stream is on a day: by the rules, by the determinations on record, and by what was poured in.
#include "book/office.hpp"

#include "returns/determination.hpp"

namespace baybook::book {

namespace {

void hazardous(StreamFacts& out, const Stream& s, const RuleSet& rules, const returns::Said& said, Day day) {
  out.hazardous = YesNo::yes;
  if (s.counted == YesNo::by_determination) out.counted = YesNo::yes;
  if (s.counted == YesNo::no && returns::leaves_exclusion(s, rules, said)) out.counted = YesNo::yes;
  if (!said.codes.empty()) out.code = returns::listed(said.codes);
  // Under no exclusion it has no days or words of its own.
  const bool of_its_own = s.group == "used-oil" || s.group == "universal-waste" || s.group == "battery" || s.group == "airbags" || s.group == "wipes";
  if (rules.scheme == "us" && of_its_own && out.counted == YesNo::yes) out.group = "hazardous-waste";
  for (const std::string& c : said.codes) {
    if (returns::code_is(rules, day, "codes.acute", c)) out.group = "acute";
  }
}

void not_hazardous(StreamFacts& out, const Stream& s, const returns::Said& said) {
  out.hazardous = YesNo::no;
  out.counted = YesNo::no;
  if (!said.codes.empty()) out.code = returns::listed(said.codes);
  else if (!s.mirror.empty()) out.code = s.mirror;
  else if (s.hazardous == YesNo::by_determination) out.code.clear();  // the code of what it is not
}

}  // namespace

Office::Decided Office::decided(const Stream& s, PlaceId place, Day day) {
  // The newest determination up to that day; one of this very place before one of every batch.
  Decided out;
  auto q = in_.db.query("SELECT stream, place, entry, moment FROM determined WHERE moment <= ? ORDER BY moment, recorded, entry");
  q.bind(log::last_moment(day));
  while (q.step()) {
    const Stream* about = stream_for(q.text(0), day);
    if (about != &s || (q.num(1) != 0 && q.num(1) != place.n)) continue;
    if (out.of_place && q.num(1) == 0) continue;
    out.of_place = q.num(1) != 0;
    out.entry = EntryId{q.num(2)};
    out.moment = q.num(3);
  }
  return out;
}

StreamFacts Office::by_determination(const Stream& s, const RuleSet& rules, const Decided& by, Day day) {
  StreamFacts out;
  out.known = true;
  out.name = s.name;
  out.title = s.title;
  out.code = s.code;
  out.hazardous = s.hazardous;
  out.counted = s.counted;
  out.why = s.why;
  out.section = s.source.section;
  out.sure = s.source.sure;
  out.note = s.note;
  out.group = s.group;
  if (by.entry.n != 0) {
    const log::Fact fact = log::read_fact(in_.db, by.entry);
    const returns::Said said = returns::read_determination(fact.details);
    // One from before this was refused says nothing that the rules let anybody say.
    if (said.hazardous || returns::may_be_not_hazardous(s, rules, said.codes)) {
      if (said.hazardous) hazardous(out, s, rules, said, day);
      else not_hazardous(out, s, said);
      out.determined = ref_of(in_, by.entry);
      const std::string reason = log::private_text(in_.db, fact, "reason");
      out.why = std::string(said.hazardous ? "determined to be hazardous" : "determined not to be hazardous") + ", entry " + entry_name(in_, by.entry) + (reason.empty() ? "" : ": " + reason);
      if (said.hazardous && out.counted == YesNo::no && rules.scheme == "us") out.why += "; not counted while it is managed " + s.managed;
      return out;
    }
  }
  if (s.until_determined && s.hazardous == YesNo::by_determination) {
    out.hazardous = YesNo::yes;
    out.why = "hazardous until there is evidence: `baybook determine " + s.name + "` with --not-hazardous. " + s.why;
  }
  return out;
}

StreamFacts Office::stream_facts(std::string_view place_stream, PlaceId place, Day day) {
  StreamFacts out;
  out.name = place_stream;
  out.title = place_stream;
  const Stream* s = stream_for(place_stream, day);
  if (s == nullptr) {
    out.why = "the rules have no stream of this name";
    return out;
  }
  return by_determination(*s, *rules_on(day), decided(*s, place, day), day);
}

StreamFacts Office::facts(std::string_view place_stream, PlaceId place, Day day) {
  const auto key = std::tuple(std::string(place_stream), place.n, day.n, apart_only_);
  const auto known = facts_.find(key);
  if (known != facts_.end()) return known->second;
  StreamFacts out = stream_facts(place_stream, place, day);
  const WastePlace* p = apart_only_ || !place ? nullptr : waste_place(place.n);
  const Stream* s = stream_for(place_stream, day);
  if (p != nullptr && s != nullptr) mix(out, *s, *p, day, decided(*s, place, day));
  return facts_.emplace(key, std::move(out)).first->second;
}

}  // namespace baybook::book
