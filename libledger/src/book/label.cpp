// What stands on a container.
#include "book/asked.hpp"
#include "book/circumstances.hpp"
#include "book/differing.hpp"
#include "book/kept_since.hpp"
#include "book/limits.hpp"

#include <algorithm>

namespace baybook {

using book::guarded;
using log::Value;

namespace {

// Upper-case letters, digits and hyphens, 40 at most; no address, nothing personal (docs/format.md, QR payload).
std::string payload_of(const Book::Inside& in, const std::string& code, PlaceId place, std::int64_t filling) {
  const auto upper = [](const std::string& s) {
    std::string out;
    for (const char c : s) out += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') ? c : '-';
    return out;
  };
  constexpr std::size_t most = 40;
  const std::string head = "BAYBOOK:" + upper(in.settings.tag).substr(0, 12) + "-";
  const std::string tail = "-" + std::to_string(filling);
  std::string out = head + upper(code) + tail;
  if (out.size() > most) out = head + "P" + std::to_string(EntryId{place.n}.number()) + tail;
  return out;
}

constexpr std::string_view kHazardousWords = "Hazardous Waste";
// 40 CFR 262.232(a)(4), seen in a secondary article: these words, the hazard, and the start date.
constexpr std::string_view kEpisodicWords = "Episodic Hazardous Waste";

// What counts towards the category carries the words when it was determined to be hazardous, of whatever group it is (40 CFR 262.11,
// 262.16(b)(6), 262.17(a)(5)); what was determined not to be hazardous does not.
void words_by_determination(const Stream& stream, const StreamFacts& facts, std::vector<std::string>& words) {
  const auto at = std::find(words.begin(), words.end(), kHazardousWords);
  if (facts.hazardous == YesNo::no && at != words.end()) words.erase(at);
  if (facts.hazardous != YesNo::yes || (facts.counted == YesNo::no && stream.group != "hazardous-waste")) return;
  // The words of wipes, used oil, airbags, universal waste and batteries stand for an exclusion, which what
  // is counted is not under (40 CFR 261.4(a)(26), 261.4(b)(18), 262.13(c), 279.22(c)).
  if (stream.group == "wipes" || (facts.counted != YesNo::no && facts.group != stream.group)) words.clear();
  if (std::find(words.begin(), words.end(), kHazardousWords) == words.end()) words.insert(words.begin(), std::string(kHazardousWords));
}

// The event whose container it is on that day, while its waste does not count.
const book::Event* event_of(book::Office& office, PlaceId place, Day day) {
  for (const book::Event& e : office.events()) {
    if (e.counts.empty() && e.has(place) && e.runs_on(day)) return &e;
  }
  return nullptr;
}

// At the point of generation no clock runs; wipes under their exclusion, airbags and universal waste have days of their own wherever they stand,
// and what is not counted while it goes to reclamation is none of it.
bool at_point_of_generation(const book::Office::WastePlace& place, const Stream& stream, const StreamFacts& facts) {
  const bool own_days = (stream.group == "wipes" && facts.hazardous != YesNo::yes) || facts.group == "airbags" || facts.group == "universal-waste";
  return place.satellite && facts.hazardous != YesNo::no && facts.counted != YesNo::no && !own_days;
}

// The day since which the area has held more than it may, which is marked on its containers (40 CFR 262.15(a)(6)); none below the limit.
std::optional<Day> over_since(Book::Inside& in, const std::string& area, Day day) {
  book::LimitSheet sheet(in, day);
  book::read_on_hand(sheet);
  std::erase_if(sheet.on_hand, [&](const book::OnHand& h) { return h.place->area != area; });
  book::satellites(sheet);
  for (const LimitLine& l : sheet.out.lines) {
    if (l.due && !l.entries.empty()) return log::day_of_moment(log::read_fact(in.db, l.entries.front().id).effect.moment);
  }
  return std::nullopt;
}

}  // namespace

Result<LabelFacts> label(const Book& b, PlaceId place, Day day) {
  day = book::asked(day);
  return guarded<LabelFacts>([&]() -> Result<LabelFacts> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    book::Office office(in);
    LabelFacts out;
    const book::Office::WastePlace* p = office.waste_place(place.n);
    out.place = b.name_of_place(place);
    if (p == nullptr && out.place == "?") return Refusal{Code::not_found, "there is no such place (" + std::to_string(place.n) + ")", "a label says what waste a container holds", "a waste place from `baybook levels`", {}};
    if (p == nullptr) return Refusal{Code::not_allowed, out.place + " is not a waste place", "a label says what waste a container holds", "a waste place from `baybook levels`", {}};
    const RuleSet* rules = office.rules_on(day);
    if (rules == nullptr)
      return Refusal{Code::not_found,
                     "the book goes by no rule set on " + to_string(day),
                     "the words on a label come from the rules",
                     "baybook rules set NAME --from " + to_string(day),
                     {}};
    out.stream = office.facts(p->stream, place, day);
    out.rules = rules->name;
    out.rules_digest = rules->digest;
    out.aid = rules->aid;
    out.site = book::site_of(in.db, EntryId{place.n}.origin());
    const Stream* s = office.stream_for(p->stream, day);
    if (s == nullptr) return Refusal{Code::not_found, "rule set " + rules->name + " has no stream for " + p->code + " (" + p->stream + ")", "the words on a label come from the rules", "a shop's own rule file with that stream, or another stream for the place", {}};
    out.words = s->label;
    const bool us = rules->scheme == "us";
    const book::Event* event = us ? event_of(office, place, day) : nullptr;
    if (us) words_by_determination(*s, out.stream, out.words);
    if (event != nullptr) out.words = {std::string(kEpisodicWords)};
    for (std::string& w : out.words) {
      if (w == s->code && !out.stream.code.empty()) w = out.stream.code;
    }
    if (out.words.empty()) out.words.push_back(s->title);
    out.hazard = s->hazard;
    if (const auto& m = out.stream.mixture) {
      out.hazard.push_back("Mixed with " + m->with);
      out.cautions.push_back(m->told);
    }
    out.code = out.stream.code;
    for (const std::string& c : s->classes) {
      const FluidClass* k = find_class(std::string_view(c));
      if (k == nullptr || k->caution.empty() || std::find(out.cautions.begin(), out.cautions.end(), k->caution) != out.cautions.end()) continue;
      if (out.cautions.size() < 2) out.cautions.emplace_back(k->caution);
    }
    const bool satellite = us && at_point_of_generation(*p, *s, out.stream);
    if (satellite) {
      const RuleValue* most = rules->value("satellite.max-volume", day);
      out.cautions.push_back("Satellite accumulation area: to be dated when it is moved to a central area" + (most != nullptr ? ", or when the area holds more than " + most->text + " (" + most->source.section + ")" : std::string()));
    }
    std::int64_t filling = 0;
    {
      auto q = in.db.query("SELECT number, moment, until_entry, until_moment FROM filling WHERE place = ? AND moment <= ? ORDER BY number DESC LIMIT 1");
      q.bind(place.n).bind(log::last_moment(day));
      if (q.step()) {
        filling = q.num(0);
        if (q.num(2) == 0 || q.num(3) > log::last_moment(day)) out.since = satellite ? over_since(in, p->area, day) : book::kept_since(in, place, log::last_moment(day));
        else ++filling;  // the container that stands there now is the next one
      } else {
        filling = 1;
      }
    }
    if (event != nullptr) out.since = event->spell.day;
    out.filling = out.place + "/" + std::to_string(filling);
    out.payload = payload_of(in, p->code, place, filling);
    return out;
  });
}

}  // namespace baybook
