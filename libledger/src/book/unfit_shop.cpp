#include "book/opening.hpp"
#include "book/unfit_kinds.hpp"

#include "book/office.hpp"
#include "log/chain.hpp"
#include "log/most.hpp"
#include "returns/build.hpp"
#include "returns/findings.hpp"

#include <baybook/rules.hpp>

#include <algorithm>

namespace baybook::book {

using log::Value;
namespace most = log::most;

namespace {

constexpr auto kAlways = Need::always;
constexpr auto kIfSaid = Need::if_said;

// A rule set that comes with the program. One that this program does not have may come with a newer
// one.
std::optional<std::string_view> rule_set(Fields& f, std::string_view key, Need need) {
  const auto name = f.code(key, need);
  if (!name) return std::nullopt;
  const auto all = rule_set_names();
  if (std::find(all.begin(), all.end(), *name) != all.end()) return name;
  f.wrong(key, "is " + shown(Value(*name)) + ", a rule set that this program does not have",
          Unfit::Sort::newer);
  return std::nullopt;
}

void units(Fields& f) {
  f.word("distance", kAlways, {"kilometre", "mile"});
  f.whole("estimate-percent", kAlways, 1, most::kEstimatePercent);
  f.word("gallon", kIfSaid, {"litre", "us-gallon", "imperial-gallon"});
  f.word("torque", kAlways, {"newton-metre", "pound-foot"});
  f.word("volume", kAlways, {"litre", "us-gallon", "imperial-gallon"});
}

// The zone database of another machine may know more names than this one's, so only their spelling
// is looked at (IANA, theory.html).
void zone(Fields& f) {
  const auto name = f.text("zone", kAlways, 100);
  if (!name) return;
  const bool fits = std::all_of(name->begin(), name->end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '/' ||
           c == '_' || c == '+' || c == '-';
  });
  if (!fits) f.wrong("zone", "is " + shown(Value(*name)) + ", which no time zone is named");
}

void continues(Fields& f) {
  f.hex("digest", kAlways, kDigest);
  const Value* last = f.any("last", kAlways);
  if (last == nullptr) return;
  // A number alone would be an entry of the installation that begins here.
  std::string fault =
      last->is_int()
          ? "is " + shown(*last) + ", not an entry of the installation that this one goes on from"
          : ref_fault(*last, f.reading());
  if (!fault.empty()) f.wrong("last", std::move(fault));
}

}  // namespace

void tag(Fields& f, std::string_view key) {
  const auto t = f.code(key, kAlways);
  if (t && !clean_tag(*t).ok()) f.wrong(key, "is " + shown(Value(*t)) + ", which is no tag");
}

void opening(Fields& f) {
  f.word("algorithm", kAlways, {"sha-256"});
  f.text("site", kAlways, most::kText);
  tag(f, "tag");
  zone(f);
  f.object("units", kAlways, units);
  f.word("date-order", kIfSaid, {"day-first", "month-first"});
  rule_set(f, "rules", kIfSaid);
  f.object("continues", kIfSaid, continues);
}

void place(Fields& f) {
  f.code("code", kAlways);
  const auto role = f.word("role", kAlways, {"catch", "reuse", "stock", "waste"});
  f.amount("size", kIfSaid, {});
  f.items("takes", kIfSaid, most::kTakes, [&](const Value& item, const Path& path) {
    const bool known =
        item.is_string() && find_class(std::string_view(item.as_string())) != nullptr;
    if (!known)
      f.reading().add(path, "is " + shown(item) + ", which is no class of fluid or waste",
                      word_sort(item));
  });
  const bool waste = role && *role == "waste";
  const auto stream = f.code("stream", waste ? kAlways : kIfSaid);
  if (stream && role && !waste) f.wrong("stream", "is said of a place that is not for waste");
  const auto area = f.code("area", kIfSaid);
  if (f.yes("bulk") && role && *role != "stock")
    f.wrong("bulk", "is said of a place that is not for stock");
  if (!f.yes("satellite")) return;
  if (role && !waste) f.wrong("satellite", "is said of a place that is not for waste");
  if (!area) f.wrong("satellite", "is said of a place in no area");
}

void place_mark(Fields& f) {
  f.ref("place", kAlways);
  f.word("what", kAlways, {"seal", "open", "retire", "bulk", "shelf"});
}

void fluid(Fields& f) {
  f.fluid_class("class", kAlways);
  f.code("code", kAlways);
  f.word("unit", kAlways, {"nl", "ug", "pcs"});
  f.text("product", kIfSaid, most::kProduct);
  f.density("density");
  shares(f);
}

void firm(Fields& f) {
  f.code("code", kAlways);
  const bool carries = f.yes("carries");
  const bool receives = f.yes("receives");
  if (!carries && !receives) f.wrong("neither carries nor receives waste");
  f.objects("numbers", kIfSaid, most::kNumbers, [](Fields& n) {
    n.text("number", kAlways, most::kFirmNumber);
    n.text("what", kAlways, most::kFirmNumber);
  });
  haul(f);
  f.word("receives-as", kIfSaid, {"collection-centre", "aggregation-point"});
  f.items("streams", kIfSaid, most::kFirmStreams, [&](const Value& item, const Path& path) {
    const auto code =
        item.is_string() ? clean_code(item.as_string(), "stream") : Result<std::string>(Refusal{});
    if (!code.ok() || *code != item.as_string())
      f.reading().add(path, "is " + shown(item) + ", which is no code", Unfit::Sort::form);
  });
  for (const std::string_view key : {"haul-m", "receives-as", "streams"}) {
    if (!receives && f.any(key, kIfSaid) != nullptr)
      f.wrong(key, "is said of a firm that receives nothing");
  }
  const auto registered = f.day("registered", kIfSaid);
  if (!registered) return;
  if (!carries) f.wrong("registered", "is said of a firm that carries nothing");
  if (*registered > f.reading().happened() && !f.reading().of_correction)
    f.wrong("registered", "is " + to_string(*registered) + ", after the day of the entry");
}

void rules(Fields& f) {
  f.day("from", kAlways);
  const auto set = rule_set(f, "set", kAlways);
  const Value* file = f.any("file", kIfSaid);
  const Value* name = f.any("file-name", file != nullptr ? kAlways : kIfSaid);
  if (name != nullptr) {
    const bool text = name->is_string();
    if (!text)
      f.malformed("file-name", "is " + shown(*name) + ", not a text");
    else if (!returns::is_file_name(name->as_string()))
      f.wrong("file-name", "is " + shown(*name) + ", which is no name of a file");
  }
  if (file == nullptr || !set) return;
  if (!file->is_string()) return f.malformed("file", "is " + shown(*file) + ", not a text");
  if (file->as_string().size() > most::kRuleFile) {
    return f.wrong("file", "has " + std::to_string(file->as_string().size()) +
                               " bytes, more than " + std::to_string(most::kRuleFile));
  }
  const auto read = read_rules(*set, file->as_string(), "the file");
  // A key or a class that a newer program knows reads like a slip.
  if (!read.ok())
    f.wrong("file", "is no rule file: " + read.refusal().what, Unfit::Sort::newer);
}

void confirm(Fields& f) {
  f.ref("pickup", kAlways);
  const auto signed_on = f.day("signed", kAlways);
  if (signed_on && *signed_on > f.reading().happened())
    f.wrong("signed", "is " + to_string(*signed_on) + ", after the day of the entry");
  std::vector<std::int64_t> lines;
  f.objects("measured", kIfSaid, most::kLines, [&](Fields& m) {
    m.amount("amount", kAlways, {.nothing = true});
    const auto line = m.whole("line", kAlways, 1, static_cast<std::int64_t>(most::kLines));
    if (!line) return;
    if (std::find(lines.begin(), lines.end(), *line) != lines.end())
      m.wrong("line", "is " + std::to_string(*line) + " for the second time");
    lines.push_back(*line);
  });
}

void inspection(Fields& f) {
  f.code("area", kAlways);
  if (f.yes("faults") && !f.reading().has_private("findings"))
    f.wrong("faults", "is true, and no text says which");
  const auto next = f.day("next", kIfSaid);
  if (next && *next <= f.reading().happened())
    f.wrong("next", "is " + to_string(*next) + ", not after the day of the entry");
}

void determination(Fields& f) {
  f.code("stream", kAlways);
  f.ref("place", kIfSaid);
  f.flag("hazardous", kAlways);
  f.word("basis", kAlways, {"test", "knowledge"});
  f.word("ground", kIfSaid, {"mixed", "halogens", "disposal", "conditions"});
  f.yes("rebuts");
  f.items("codes", kIfSaid, most::kWasteCodes, [&](const Value& code, const Path& at) {
    const auto clean = code.is_string() ? returns::clean_waste_code(code.as_string(), "") : std::nullopt;
    if (!clean || *clean != code.as_string()) f.reading().add(at, "is " + shown(code) + ", which is no waste code");
  });
  f.objects("found", kIfSaid, most::kFindings, [](Fields& row) {
    const auto what = row.code("what", kAlways);
    const auto is = row.text("is", kAlways, most::kFinding);
    if (what && is && !returns::read_finding(*what, *is).ok()) row.wrong("is", "is no figure of an analysis");
  });
}

void paper(Fields& f) {
  f.ref("about", kAlways);
  f.whole("bytes", kAlways, 0, log::max_whole);
  const auto file = f.text("file", kAlways, most::kFileName);
  if (file && !returns::is_paper_name(*file))
    f.wrong("file", "is " + shown(Value(*file)) + ", which is no name in the folder of papers");
  f.hex("sha256", kAlways, kDigest);
}

void deadline(Fields& f) {
  f.code("code", kAlways);
  f.day("due", kAlways);
  f.whole("months", kIfSaid, 1, most::kDeadlineMonths);
  f.text("section", kIfSaid, most::kSection);
}

void deadline_done(Fields& f) {
  f.ref("deadline", kAlways);
  f.day("next", kIfSaid);
}

namespace {

// Sums: what a gauge found missing is below nothing, and what it settled has its bounds the other
// way round.
void closed_row(Fields& row) {
  row.fluid_class("fluid", Need::always);
  row.word("unit", Need::always, {"nl", "ug", "pcs"});
  for (const std::string_view name : closed_columns()) {
    row.object(name, Need::if_said, [](Fields& sum) {
      sum.decimal("best", Need::always);
      const bool bounds =
          sum.any("low", Need::if_said) != nullptr || sum.any("high", Need::if_said) != nullptr;
      if (!bounds) return;
      sum.decimal("low", Need::always);
      sum.decimal("high", Need::always);
    });
  }
}

}  // namespace

void close(Fields& f) {
  const Value* month = f.any("month", kAlways);
  if (month != nullptr) {
    const auto first = month->is_string() ? read_day(month->as_string() + "-01") : std::nullopt;
    if (!first)
      f.malformed("month", "is " + shown(*month) + ", not a month");
    else if (last_of(month_of(*first)) >= f.reading().happened())
      f.wrong("month",
              "is " + month->as_string() + ", which had not ended on the day of the entry");
  }
  f.objects("rows", kAlways, fluid_classes().size() * 3, closed_row, true);
  f.items("seals", kAlways, 1000, [&](const Value& item, const Path& path) {
    const auto seal =
        item.is_string() ? log::parse_seal(item.as_string()) : Result<log::Seal>(Refusal{});
    if (!seal.ok() || seal->tag.size() > most::kTag)
      f.reading().add(path, "is " + shown(item) + ", which is no seal", Unfit::Sort::form);
  });
  f.object("rules", kIfSaid, [](Fields& r) {
    r.hex("digest", kAlways, kDigest);
    rule_set(r, "set", kAlways);
  });
  f.object("category", kIfSaid, [](Fields& c) {
    c.text("title", kAlways, most::kInterval);
    c.decimal("total", kAlways);
  });
}

}  // namespace baybook::book
