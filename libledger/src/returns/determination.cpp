#include "returns/determination.hpp"

#include "returns/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <array>

namespace baybook::returns {

using log::Built;
using log::Desk;
using log::Kind;
using log::Value;

namespace {

using Ground = Determination::Ground;

constexpr std::array<std::string_view, 5> kGrounds = {"", "mixed", "halogens", "disposal",
                                                      "conditions"};

std::string_view word_of(Ground g) { return kGrounds[static_cast<std::size_t>(g)]; }

bool is_used_oil(const Stream& s) { return s.name == "used-oil"; }

bool us(const RuleSet& rules) { return rules.scheme == "us"; }

std::string section_of(const Stream& s) {
  return " (" + with_words(s.source.section, s.source.sure) + ")";
}

// "baybook determine used-oil --hazardous --ground halogens --why \"...\""
std::string to_type(const Determination& d, const std::string& how) {
  return "baybook determine " + visible(d.stream) + " " + how + " --why \"...\"";
}

/// One determination on its way to the log: what it says, read and held against the rules.
class Case {
 public:
  Case(const Desk& desk, const Determination& draft, const Standing& now)
      : draft_(draft), now_(now), day_(day_of(desk)) {}

  [[nodiscard]] Result<Done> read() {
    said_.hazardous = draft_.hazardous;
    said_.rebuts = draft_.rebuts;
    said_.ground = word_of(draft_.ground);
    if (draft_.codes.size() > log::most::kWasteCodes || draft_.found.size() > log::most::kFindings)
      return refuse(Code::not_allowed,
                    std::to_string(draft_.codes.size()) + " codes and " + std::to_string(draft_.found.size()) + " figures",
                    "a determination has at most " + std::to_string(log::most::kWasteCodes) + " codes and " + std::to_string(log::most::kFindings) + " figures",
                    "two determinations, each of a container");
    const std::string_view scheme = now_.rules != nullptr ? now_.rules->scheme : std::string_view();
    for (const std::string& typed : draft_.codes) {
      const auto code = clean_waste_code(typed, scheme);
      if (!code) return no_code(typed, scheme);
      if (std::find(said_.codes.begin(), said_.codes.end(), *code) == said_.codes.end())
        said_.codes.push_back(*code);
    }
    for (const Determination::Found& f : draft_.found) {
      auto finding = read_finding(f.what, f.is);
      if (!finding.ok()) return std::move(finding).refusal();
      if (auto name = clean_code(f.what, "figure"); !name.ok()) return std::move(name).refusal();
      if (finding->typed.size() > log::most::kFinding)
        return refuse(Code::unclear, visible(f.what) + ": a figure of " + std::to_string(finding->typed.size()) + " characters is none", "", "\"5.0 mg/L\"");
      if (auto ok = known(*finding); !ok.ok()) return ok;
      said_.found.push_back(std::move(*finding));
    }
    if (now_.rules != nullptr) judged_ = judge_findings(*now_.rules, day_, said_.found);
    return Done{};
  }

  /// Whether it may be said, and has an effect. Nothing is known where the book goes by no rules, or
  /// the stream is the shop's own word.
  [[nodiscard]] Result<Done> check() {
    if (now_.rules == nullptr || now_.stream == nullptr) return Done{};
    if (auto ok = codes_agree(); !ok.ok()) return ok;
    return draft_.hazardous ? hazardous() : not_hazardous();
  }

  void write(Value& details) const {
    if (!said_.codes.empty()) {
      Value::Array codes;
      for (const std::string& c : said_.codes) codes.emplace_back(c);
      details["codes"] = Value(std::move(codes));
    }
    if (!said_.found.empty()) {
      Value::Array found;
      for (const Finding& f : said_.found) {
        Value row;
        row["is"] = f.typed;
        row["what"] = f.what;
        found.push_back(std::move(row));
      }
      details["found"] = Value(std::move(found));
    }
    if (!said_.ground.empty()) details["ground"] = said_.ground;
    if (said_.rebuts) details["rebuts"] = true;
  }

  std::vector<std::string> notes;

 private:
  [[nodiscard]] static Result<Done> no_code(const std::string& typed, std::string_view scheme) {
    const std::string form = scheme == "us"              ? "a letter and three digits, as D008 or F005"
                             : scheme == "list-of-waste" ? "six digits of the List of Waste, with its asterisk, as 16 01 14*"
                                                         : "D008, F005 or 16 01 14*";
    return refuse(Code::unclear, "\"" + visible(typed.substr(0, 40)) + "\" is no waste code", form,
                  "--code \"...\", with " + form);
  }

  [[nodiscard]] Result<Done> known(const Finding& f) const {
    if (now_.rules == nullptr) return Done{};
    const std::vector<std::string> names = names_of_findings(*now_.rules, day_);
    if (std::find(names.begin(), names.end(), f.what) != names.end()) return Done{};
    if (names.empty())
      return refuse(Code::not_allowed,
                    "the rules of " + now_.rules->name + " have no limits for figures of an analysis",
                    "a figure here would be compared with nothing",
                    "the figure in --why");
    const auto near = near_names(f.what, names);
    return refuse(Code::not_found, "the rules have no limit for " + visible(f.what),
                  "limits are known for " + all_of(names),
                  near.empty() ? "the figure in --why" : "--found \"" + near.front() + "=" + f.typed + "\"");
  }

  static std::string all_of(const std::vector<std::string>& names) {
    std::string out;
    for (const std::string& n : names) out += (out.empty() ? "" : ", ") + n;
    return out;
  }

  // An asterisk says hazardous, in the List of Waste as in what was typed.
  [[nodiscard]] Result<Done> codes_agree() const {
    if (us(*now_.rules)) {
      if (!draft_.hazardous && !said_.codes.empty())
        return refuse(Code::not_allowed,
                      listed(said_.codes) + " is a code of hazardous waste, and the determination says that it is not hazardous",
                      "the two contradict each other",
                      to_type(draft_, "--hazardous --code " + said_.codes.front()));
      return Done{};
    }
    for (const std::string& c : said_.codes) {
      if (c.ends_with('*') == draft_.hazardous) continue;
      return refuse(Code::not_allowed,
                    c + (draft_.hazardous ? " has no asterisk: it stands for waste that is not hazardous"
                                          : " has an asterisk: it stands for hazardous waste"),
                    "the code and the determination contradict each other" + section_of(*now_.stream),
                    draft_.hazardous ? to_type(draft_, "--hazardous --code \"...\"") + ", with its asterisk"
                                     : to_type(draft_, "--hazardous --code \"" + c + "\""));
    }
    return Done{};
  }

  [[nodiscard]] Result<Done> not_hazardous() {
    const Stream& s = *now_.stream;
    const RuleSet& rules = *now_.rules;
    if (draft_.ground != Ground::not_said)
      return refuse(Code::wrong_usage, "a ground is why waste is hazardous",
                    "the determination says that it is not", to_type(draft_, "--not-hazardous"));
    // A characteristic makes nothing of used oil that is managed as used oil; of a mixture it does.
    const bool by_characteristic = !is_used_oil(s) || s.hazardous != YesNo::no || now_.mixed;
    for (const Judged& j : judged_) {
      if (j.is != Judged::Is::at_limit && j.is != Judged::Is::not_shown) continue;
      if (!by_characteristic) continue;
      return refuse(Code::not_allowed, j.told, "the figures contradict \"not hazardous\"",
                    j.is == Judged::Is::at_limit
                        ? to_type(draft_, "--hazardous --code " + j.code)
                        : "a figure that shows it, or none");
    }
    if (auto ok = oil_is_clean(); !ok.ok()) return ok;
    if (!may_be_not_hazardous(s, rules, said_.codes)) return never_not_hazardous();
    if (now_.mixed_with_listed) {
      const RuleValue* v = rules.value("mixing.listed", day_);
      return refuse(Code::not_allowed,
                    "listed waste was poured into that container: no test makes the mixture other than hazardous",
                    v != nullptr ? v->text + " (" + with_words(v->source.section, v->source.sure) + ")" : std::string(),
                    "baybook pickup --from PLACE=all ...");
    }
    const bool changes = s.hazardous != YesNo::no || now_.determined || now_.mixed ||
                         !said_.codes.empty() || !said_.found.empty();
    if (changes) return Done{};
    return refuse(Code::not_allowed, s.title + ": not hazardous by the rules already" + section_of(s),
                  "a determination without a figure would change nothing",
                  is_used_oil(s) && us(rules)
                      ? "--found \"halogens=...\", with the figure of the analysis"
                      : "nothing, or --hazardous if it is");
  }

  // Halogens and the specification, of used oil alone.
  [[nodiscard]] Result<Done> oil_is_clean() {
    const Stream& s = *now_.stream;
    if (!is_used_oil(s)) {
      return draft_.rebuts ? Result<Done>(refuse(Code::wrong_usage, "a rebuttal is of the halogens of used oil",
                                                 "no presumption is made of " + s.title,
                                                 to_type(draft_, "--not-hazardous")))
                           : Result<Done>(Done{});
    }
    const auto halogens = halogens_in(*now_.rules, day_, said_.found);
    if (halogens && halogens->presumed && !draft_.rebuts)
      return refuse(Code::not_allowed, halogens->told,
                    "the presumption stands until it is rebutted, for example by an analysis that shows no significant listed halogenated constituent",
                    to_type(draft_, "--hazardous --ground halogens") +
                        "; or, with an analysis that rebuts it as the reason, --not-hazardous --rebuts");
    if (draft_.rebuts && !(halogens && halogens->presumed) && !now_.hazardous_by_that)
      return refuse(Code::wrong_usage, "there is no presumption to rebut",
                    halogens ? halogens->told : "no figure of halogens was given",
                    "--found \"halogens=...\", with the figure of the analysis");
    if (halogens) notes.push_back(halogens->told + (draft_.rebuts && halogens->presumed ? "; rebutted" : ""));
    for (const std::string& off : off_specification(*now_.rules, day_, said_.found)) {
      if (s.until_determined)
        return refuse(Code::not_allowed, "it does not meet the specification: " + off,
                      s.why, to_type(draft_, "--hazardous"));
      notes.push_back("off specification: " + off);
    }
    return Done{};
  }

  [[nodiscard]] Result<Done> never_not_hazardous() const {
    const Stream& s = *now_.stream;
    const bool list = !us(*now_.rules);
    if (list && s.hazardous == YesNo::by_determination)
      return refuse(Code::not_allowed, s.code + " has no mirror entry in the rules: which code it then has is not known",
                    "waste that is not hazardous needs a code without an asterisk" + section_of(s),
                    to_type(draft_, "--not-hazardous --code \"...\""));
    return refuse(Code::not_allowed,
                  s.title + ": hazardous by " + (list ? "its code " + s.code + ", which has no mirror entry" : "the rules") + section_of(s),
                  list ? "only an entry with a mirror is hazardous or not by what is in it"
                       : s.why,
                  list ? to_type(draft_, "--hazardous --code \"...\"") + ", if another code fits"
                       : "a rule file of the shop's own where the state says otherwise: docs/rules.md");
  }

  [[nodiscard]] Result<Done> hazardous() {
    if (draft_.rebuts)
      return refuse(Code::wrong_usage, "a rebuttal says that it is not hazardous",
                    "the determination says that it is", to_type(draft_, "--hazardous"));
    take_codes_of_figures();
    if (auto ok = ground_fits(); !ok.ok()) return ok;
    if (auto ok = has_effect(); !ok.ok()) return ok;
    say_contradictions();
    return Done{};
  }

  void take_codes_of_figures() {
    for (const Judged& j : judged_) {
      if (j.code.empty() || std::find(said_.codes.begin(), said_.codes.end(), j.code) != said_.codes.end()) continue;
      said_.codes.push_back(j.code);
    }
    for (const Judged& j : judged_) notes.push_back(j.told);
  }

  [[nodiscard]] Result<Done> ground_fits() {
    const Stream& s = *now_.stream;
    const bool excluded = us(*now_.rules) && !s.managed.empty();
    const auto halogens = halogens_in(*now_.rules, day_, said_.found);
    if (halogens) notes.push_back(halogens->told);
    if (draft_.ground != Ground::not_said && !excluded)
      return refuse(Code::wrong_usage,
                    "a ground is said of what an exclusion keeps out of the count; " + s.title + " is under none",
                    s.why, to_type(draft_, "--hazardous"));
    if (draft_.ground == Ground::halogens && !is_used_oil(s))
      return refuse(Code::wrong_usage, "halogens are a ground of used oil", s.why,
                    to_type(draft_, "--hazardous --ground \"...\""));
    if (draft_.ground == Ground::halogens && halogens && !halogens->presumed)
      return refuse(Code::not_allowed, halogens->told, "the figure contradicts the ground",
                    to_type(draft_, "--hazardous --ground \"...\"") + ", with the one that holds");
    if (excluded && is_used_oil(s) && draft_.ground == Ground::not_said)
      return refuse(Code::wrong_usage,
                    s.title + " is not counted while it is managed " + s.managed + "; why it no longer is, is not said",
                    "mixed with hazardous waste; its halogens not rebutted; to be disposed of; or the conditions are not kept",
                    to_type(draft_, "--hazardous --ground \"...\"") +
                        ", with mixed, halogens, disposal or conditions");
    return Done{};
  }

  [[nodiscard]] Result<Done> has_effect() const {
    const Stream& s = *now_.stream;
    const bool changes = s.hazardous != YesNo::yes || now_.determined || !said_.codes.empty() ||
                         draft_.ground != Ground::not_said;
    if (changes) return Done{};
    std::string instead = to_type(draft_, "--hazardous --code \"...\"") + ", if another code fits";
    if (us(*now_.rules) && !s.managed.empty())
      instead += "; or --ground disposal, if it is not managed " + s.managed;
    return refuse(Code::not_allowed, s.title + ": hazardous by the rules already" + section_of(s),
                  s.managed.empty() ? "a determination without a code would change nothing"
                                    : "it is not counted while it is managed " + s.managed + ", and without a code or a ground nothing would change",
                  std::move(instead));
  }

  // To say more than the figures do is the careful side: it is told, not refused.
  void say_contradictions() {
    if (judged_.empty()) return;
    for (const std::string& code : said_.codes) {
      for (const Constituent& c : now_.rules->constituents) {
        if (c.code != code) continue;
        const bool typed = std::any_of(said_.found.begin(), said_.found.end(), [&](const Finding& f) { return f.what == c.name && f.unit == c.unit; });
        const bool shown = std::any_of(judged_.begin(), judged_.end(), [&](const Judged& j) { return j.code == code; });
        if (typed && !shown) {
          notes.push_back("the code " + code + " is said, and the figure of " + c.name + " does not reach it");
          break;
        }
      }
    }
    const bool any = std::any_of(judged_.begin(), judged_.end(), [](const Judged& j) { return j.is == Judged::Is::at_limit; });
    if (!any && draft_.ground == Ground::not_said)
      notes.push_back("no figure reaches its limit: that it is hazardous stands on the words alone");
  }

  const Determination& draft_;
  const Standing& now_;
  Day day_;
  Said said_;
  std::vector<Judged> judged_;
};

}  // namespace

Said read_determination(const Value& details) {
  Said out;
  out.hazardous = details.flag("hazardous");
  out.rebuts = details.has("rebuts");
  if (details.has("ground")) out.ground = details.str("ground");
  if (details.has("codes")) {
    for (const Value& c : details.list("codes")) out.codes.emplace_back(c.as_string());
  }
  if (details.has("found")) {
    for (const Value& f : details.list("found")) {
      auto finding = read_finding(f.str("what"), f.str("is"));
      if (finding.ok()) out.found.push_back(std::move(*finding));
    }
  }
  return out;
}

bool may_be_not_hazardous(const Stream& s, const RuleSet& rules, const std::vector<std::string>& codes) {
  if (s.hazardous == YesNo::yes && s.mirror.empty()) return false;
  const bool starred = rules.scheme == "list-of-waste" && s.code.ends_with('*');
  return !starred || !s.mirror.empty() || !codes.empty();
}

bool leaves_exclusion(const Stream& s, const RuleSet& rules, const Said& said) {
  if (rules.scheme != "us") return false;
  // An entry from before grounds were asked for says none, and used oil that is called hazardous is
  // not managed as used oil (the careful reading).
  return !said.ground.empty() || s.managed.empty() || is_used_oil(s);
}

std::string listed(const std::vector<std::string>& codes) {
  std::string out;
  for (const std::string& c : codes) out += (out.empty() ? "" : ", ") + c;
  return out;
}

namespace {

[[nodiscard]] Result<std::string> known_stream(Desk& desk, const Determination& draft, const Standing& now) {
  auto stream = clean_code(draft.stream, "stream");
  if (!stream.ok()) return stream;
  bool known = std::find(now.streams.begin(), now.streams.end(), *stream) != now.streams.end();
  if (!known) {
    auto q = desk.db.query("SELECT 1 FROM place WHERE stream = ? LIMIT 1");
    q.bind(*stream);
    known = q.step();
  }
  if (known) return stream;
  const auto near = near_names(*stream, now.streams);
  return refuse(Code::not_found, "there is no stream named " + *stream,
                near.empty() ? "neither in the rules nor at a waste place" : "near it: " + near.front(),
                near.empty() ? "baybook rules show, under streams" : near.front());
}

}  // namespace

Result<Built> build(Desk& desk, fluids::Ledger& ledger, const Determination& draft, const Standing& now) {
  auto stream = known_stream(desk, draft, now);
  if (!stream.ok()) return std::move(stream).refusal();
  if (draft.reason.empty())
    return refuse(Code::wrong_usage, "a determination needs its reason",
                  "the result of the test, or what is known and from where",
                  "--why \"lead 1.2 mg/L, below 5.0\"");
  Case one(desk, draft, now);
  if (auto ok = one.read(); !ok.ok()) return std::move(ok).refusal();
  Built out;
  out.kind = Kind::determination;
  out.details["stream"] = *stream;
  if (draft.place) {
    const fluids::PlaceInfo info = ledger.info(draft.place);
    if (info.role != Role::waste)
      return refuse(Code::not_allowed, info.code + " is not a waste place",
                    "a batch is what stands in a waste place",
                    "a waste place, or none for every batch");
    out.details["place"] = log::write_place(draft.place, desk.known);
  }
  if (auto ok = one.check(); !ok.ok()) return std::move(ok).refusal();
  one.write(out.details);
  out.details["hazardous"] = draft.hazardous;
  out.details["basis"] = draft.basis == Determination::Basis::test ? "test" : "knowledge";
  if (auto ok = keep(out, "reason", draft.reason); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = keep(out, "laboratory", draft.laboratory); !ok.ok()) return std::move(ok).refusal();
  for (std::string& n : one.notes) out.warnings.push_back(std::move(n));
  return out;
}

}  // namespace baybook::returns
