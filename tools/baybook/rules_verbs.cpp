// rules list, show, set, check; determine.
#include "context.hpp"
#include "render/table.hpp"
#include "sheet/sheet.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"

#include <baybook/returns.hpp>
#include <baybook/text.hpp>

namespace baybook::tool {

namespace {

constexpr std::size_t kMostRules = 256 * 1024;

Determination::Ground ground_of(const std::string& word) {
  using Ground = Determination::Ground;
  constexpr std::pair<std::string_view, Ground> kGrounds[] = {{"mixed", Ground::mixed}, {"halogens", Ground::halogens}, {"disposal", Ground::disposal}, {"conditions", Ground::conditions}};
  for (const auto& [name, ground] : kGrounds) {
    if (name == word) return ground;
  }
  refuse(Code::wrong_usage, "--ground " + visible(word) + " is not known", "it is one of: mixed, halogens, disposal, conditions", "--ground mixed");
}

std::string days_of(const Source& s) {
  std::string out = s.from ? "from " + to_string(*s.from) : "";
  if (s.until) out += (out.empty() ? "" : " ") + ("until " + to_string(*s.until));
  return out;
}

// What a row of an earlier file is called for people: it stands below the one that took its place.
report::Cell name_cell(const RuleRow& row, const std::string& name) {
  return row.is == RuleRow::Is::replaced ? report::Cell{"  in place of", name, false}
                                         : sheet::text(name);
}

// "holds", or "replaced by us-california.toml".
report::Cell state_cell(const RuleRow& row) {
  const std::string word(name_of(row.is));
  return {row.by.empty() ? word : word + ", by " + row.by, word, false};
}

report::Table values_of(const RuleSet& r) {
  report::Table t;
  t.caption = "Values";
  t.columns = {{"key", {}, false, "key"},         {"is", {}, false, "is"},
               {"section", {}, false, "section"}, {"how sure", {}, false, "sure"},
               {"holds", {}, false, "holds"},     {"state", {}, false, "state"},
               {"file", {}, false, "file"},       {"judged by it", {}, false, "judged"},
               {"note", {}, false, "note"}};
  for (const RuleRow& row : value_rows(r)) {
    const RuleValue& v = r.values[row.index];
    t.rows.push_back({name_cell(row, v.key), sheet::text(v.text), sheet::text(v.source.section),
                      sheet::text(std::string(name_of(v.source.sure))),
                      sheet::text(days_of(v.source)), state_cell(row), sheet::text(v.source.file),
                      sheet::text(only_told(v.key).empty() ? "yes" : "information"),
                      sheet::text(v.source.note)});
  }
  return t;
}

report::Table streams_of(const RuleSet& r) {
  report::Table t;
  t.caption = "Streams";
  t.columns = {{"stream", {}, false, "stream"},   {"title", {}, false, "title"},
               {"code", {}, false, "code"},       {"counts", {}, false, "counts"},
               {"density", {}, false, "density"}, {"section", {}, false, "section"},
               {"how sure", {}, false, "sure"},   {"holds", {}, false, "holds"},
               {"state", {}, false, "state"},     {"file", {}, false, "file"},
               {"why", {}, false, "why"}};
  const auto word = [](YesNo y) {
    return std::string(y == YesNo::yes ? "yes" : y == YesNo::no ? "no" : "by determination");
  };
  for (const RuleRow& row : stream_rows(r)) {
    const Stream& s = r.streams[row.index];
    t.rows.push_back(
        {name_cell(row, s.name), sheet::text(s.title),
         sheet::text(s.code + (s.mirror.empty() ? "" : " or " + s.mirror)),
         sheet::text(word(s.counted)),
         sheet::text(s.density
                         ? s.density->typed + " (" + std::string(words_for(s.density_sure)) + ")"
                         : ""),
         sheet::text(s.source.section), sheet::text(std::string(name_of(s.source.sure))),
         sheet::text(days_of(s.source)), state_cell(row), sheet::text(s.source.file),
         sheet::text(s.why)});
  }
  return t;
}

report::Table reportable_of(const RuleSet& r) {
  report::Table t;
  t.caption = "Quantities whose release is reportable";
  t.columns = {{"substance", {}, false, "substance"}, {"in", {}, false, "class"},
               {"quantity", {}, false, "quantity"},   {"within", {}, false, "within"},
               {"section", {}, false, "section"},     {"how sure", {}, false, "sure"},
               {"holds", {}, false, "holds"},         {"state", {}, false, "state"},
               {"file", {}, false, "file"},           {"note", {}, false, "note"}};
  for (const RuleRow& row : reportable_rows(r)) {
    const Reportable& x = r.reportable[row.index];
    t.rows.push_back({name_cell(row, x.substance), sheet::text(x.classes), sheet::text(x.typed),
                      sheet::text(x.window), sheet::text(x.source.section),
                      sheet::text(std::string(name_of(x.source.sure))),
                      sheet::text(days_of(x.source)), state_cell(row), sheet::text(x.source.file),
                      sheet::text(x.source.note)});
  }
  return t;
}

}  // namespace

int run_rules_list(Context& c) {
  if (c.json()) {
    Json j = c.document();
    j.objects("rule_sets", rule_set_names(), [&](std::string_view name) {
      const RuleSet r = need(read_rules(name));
      j.member("name", r.name);
      j.member("set", r.name);
      j.member("title", r.title);
      j.member("digest", r.digest);
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Table t;
  t.column("name");
  t.column("digest");
  t.column("title");
  for (const std::string_view name : rule_set_names()) {
    const RuleSet r = need(read_rules(name));
    t.row({r.name, r.digest.substr(0, 16), visible(r.title)});
  }
  c.out().text(t.text());
  return 0;
}

int run_rules_show(Context& c) {
  // A named set needs no book.
  const Day day = c.operands() > 0 ? Day{} : c.as_of_or_today();
  const RuleSet r = c.operands() > 0 ? need(read_rules(c.operand(0))) : need(rules(c.book(), day));
  report::Report out;
  out.kind = "rules";
  out.title = r.title;
  out.site = c.operands() > 0 ? "rule set " + r.name : c.book().settings().site;
  out.period = c.operands() > 0 ? "every day" : to_string(day);
  out.program = "baybook " BAYBOOK_VERSION;
  sheet::by_rules(out, r.name, r.digest, r.aid);
  out.blocks.emplace_back(values_of(r));
  out.blocks.emplace_back(streams_of(r));
  if (!r.reportable.empty()) out.blocks.emplace_back(reportable_of(r));
  out.notes.emplace_back(
      "Below what holds stands what it took the place of, with the file that said so. "
      "\"information\": nothing is judged by that value; docs/rules.md says why.");
  return sheet::deliver(c, out);
}

int run_rules_set(Context& c) {
  ChooseRules d;
  d.set = c.operand(0);
  d.from = c.day_option("from").value_or(c.today());
  if (const std::string* file = c.typed().get("file")) {
    d.file = read_file(c, *file, kMostRules);
    d.file_name = file_name(*file);
  }
  return c.write(d);
}

int run_rules_check(Context& c) {
  const std::string base = c.typed().has("set") ? c.typed().text("set") : "us-federal";
  const RuleSet r = need(read_rules(base, read_file(c, c.operand(0), kMostRules), c.operand(0)));
  if (c.json()) {
    Json j = c.document();
    j.member("set", r.name);
    j.member("digest", r.digest);
    c.print(j);
  } else if (!c.quiet()) {
    c.out().line(visible(c.operand(0)) + " can be read on top of " + r.name + "; together digest " + r.digest.substr(0, 16));
  }
  return 0;
}

int run_determine(Context& c) {
  const Typed& t = c.typed();
  Determination d;
  d.stream = c.operand(0);
  if (t.has("hazardous") == t.has("not-hazardous")) refuse(Code::wrong_usage, "it is not said whether the stream is hazardous", "", "--hazardous, or --not-hazardous");
  d.hazardous = t.has("hazardous");
  // Nobody is said to have tested what he only knows.
  const std::string basis = t.has("basis") ? t.text("basis") : t.has("laboratory") ? "test" : "knowledge";
  if (basis != "test" && basis != "knowledge") refuse(Code::wrong_usage, "--basis " + visible(basis) + " is not known", "it is one of: test, knowledge", "--basis test");
  d.basis = basis == "test" ? Determination::Basis::test : Determination::Basis::knowledge;
  if (t.has("place")) d.place = c.place(t.text("place"));
  d.codes = t.all("code");
  for (const std::string& f : t.all("found")) {
    const std::size_t is = f.find('=');
    if (is == std::string::npos || is == 0 || is + 1 == f.size())
      refuse(Code::wrong_usage, "--found " + visible(f) + " names no figure", "what was found, =, and how much with its unit", "--found lead=5.0mg/L");
    d.found.push_back({f.substr(0, is), f.substr(is + 1)});
  }
  if (t.has("ground")) d.ground = ground_of(t.text("ground"));
  d.rebuts = t.has("rebuts");
  d.reason = t.text("why");
  d.laboratory = t.text("laboratory");
  return c.write(d, d.reason);
}

}  // namespace baybook::tool
