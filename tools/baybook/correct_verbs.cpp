// correct, prove.
#include "context.hpp"
#include "part_verbs.hpp"
#include "progress.hpp"
#include "render/receipt.hpp"
#include "render/text.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/text.hpp>

#include <charconv>

namespace baybook::tool {

namespace {

std::string counted(std::int64_t n, std::string_view one, std::string_view many) { return std::to_string(n) + " " + std::string(n == 1 ? one : many); }

}  // namespace

int run_correct(Context& c) {
  const Typed& t = c.typed();
  Correction d;
  d.why = c.required("why");
  d.target = need(c.book().find_entry(c.operand(0)));
  d.withdraw = t.has("withdraw");
  d.with_dependants = t.has("with-dependants");
  Patch& p = d.patch;
  bool patched = false;
  const auto text = [&](std::string_view name, std::optional<std::string>& into) {
    if (const std::string* v = t.get(name)) {
      into = *v;
      patched = true;
    }
  };
  p.amount = c.amount_option("amount");
  p.odometer = c.distance_option("odo");
  if (t.has("from")) p.from = c.place(t.text("from"));
  if (t.has("into")) p.into = c.place(t.text("into"));
  if (t.has("fluid")) p.fluid = need(c.book().find_fluid(t.text("fluid")));
  if (t.has("torque")) p.torque = need(parse_torque(t.text("torque"), c.units()));
  text("text", p.text);
  text("code", p.code);
  text("part", p.part);
  text("lot", p.lot);
  text("doc", p.document);
  if (t.has("takes-out")) {
    const EntryView e = need(entry(c.book(), d.target));
    if (e.kind != "work" && e.kind != "fit")
      refuse(Code::not_allowed,
             "entry " + visible(c.operand(0)) + " (" + e.kind + ") takes out no part",
             "work and a fitted part do", "baybook entries --car CAR  # for the one that does");
    p.takes_out = taken_out(c, need(c.book().car_of_job(need(c.book().find_job(e.job)))));
    patched = true;
  }
  if (t.has("replaced") || t.has("rolled-over")) p.dial = dial_option(t);
  p.no_odometer = t.has("no-odo");
  if (t.has("share")) p.shares = shares_option(c);
  p.haul = c.distance_option("distance");
  patched = patched || p.amount || p.odometer || p.dial || p.no_odometer || p.from || p.into ||
            p.fluid || p.torque || p.shares || p.haul;
  if (const std::string* line = t.get("line")) {
    const auto [end, error] = std::from_chars(line->data(), line->data() + line->size(), p.line);
    if (error != std::errc() || end != line->data() + line->size() || p.line < 1) refuse(Code::wrong_usage, "--line " + visible(*line) + " is not the number of a line", "lines are counted from 1", "--line 1");
  }
  if (d.withdraw && patched) refuse(Code::wrong_usage, "--withdraw and new details exclude each other", "an entry is withdrawn, or its details are replaced", "one of the two");
  if (!d.withdraw && !patched)
    refuse(
        Code::wrong_usage, "it is not said what is right instead",
        "an entry is withdrawn, or its details are replaced",
        "baybook correct " + visible(c.operand(0)) +
            " --withdraw --why \"...\"  # or --amount, --from, --into, --fluid, --odo, --replaced, "
            "--rolled-over, --no-odo, --text, --code, --part, --lot, --doc, --torque, --takes-out, "
            "--share, --distance");
  return c.write(d);
}

namespace {

void finding_json(Json& j, const Finding& f) {
  j.member("what", f.what);
  j.key("entry");
  if (f.entry) {
    j.begin_object();
    j.key("number").number(f.entry->number());
    j.member("tag", f.entry->tag);
    j.end_object();
  } else {
    j.null();
  }
  j.member("instead", f.instead);
}

void say_unfit(Out& out, const Proof& p) {
  if (p.unfit_found == 0) return;
  const bool one = p.unfit_found == 1;
  out.line(counted(p.unfit_found, "entry", "entries") + (one ? " holds and says" : " hold and say") +
           " what no entry can; an older version took " + (one ? "it" : "them") + " in");
  for (const Finding& f : p.unfit) {
    out.text(wrapped("  - ", visible(f.what)));
    if (!f.instead.empty()) out.text(to_be_typed("    type: ", visible(f.instead)));
  }
  if (p.unfit_found > std::ssize(p.unfit))
    out.line("  and " + std::to_string(p.unfit_found - std::ssize(p.unfit)) + " more");
}

int prove_it(Context& c) {
  const Typed& t = c.typed();
  if (t.has("as-of")) refuse(Code::wrong_usage, "prove looks at the whole log", "a chain is proved from its first entry to its last", "baybook prove");
  std::string seal;
  if (const std::string* typed = t.get("seal")) {
    if (typed->empty()) refuse(Code::wrong_usage, "--seal needs a seal", "it stands at the end of every printed page", "--seal bay:214:3f9a0c12d4e5b678");
    seal = *typed;
  }
  // The log is never touched by this: only what is derived from it is made anew.
  if (t.has("rebuild")) need(c.book_for_writing().rebuild());
  Proof p;
  {
    ProgressLine line;
    p = need(prove(c.book(), seal, line.callback()));
  }
  const std::string own = c.book().settings().tag;
  const bool beside = c.close_book();
  // What an older version took in and can be put right is a problem found; the log is sound all the
  // same.
  const int status = p.findings.empty() && p.unfit_open == 0 ? 0 : 1;
  if (c.json()) {
    Json j = c.document();
    j.key("sound").boolean(p.findings.empty());
    j.key("entries").number(p.entries);
    j.key("good").number(p.good);
    j.strings("seals", p.seals);
    j.strings("good_seals", p.good_seals);
    j.key("papers").number(p.papers);
    j.key("papers_elsewhere").number(p.papers_elsewhere);
    j.key("found").number(p.found);
    j.objects("closed_months", p.months, [&](const ProvedMonth& m) {
      j.member("month", to_string(m.month));
      render::entry_ref(j, "entry", m.entry);
      j.member("closed_on", to_string(m.closed_on));
      j.key("differences").number(m.differences);
      j.key("judged_otherwise").boolean(m.judged_otherwise);
      j.key("causes").begin_array();
      for (const EntryRef& e : m.causes) {
        j.begin_object();
        j.key("number").number(e.number());
        j.member("tag", e.tag);
        j.end_object();
      }
      j.end_array();
    });
    j.key("seal_checked").boolean(p.seal_checked);
    j.key("tables_compared").boolean(p.tables_compared);
    j.key("log_beside").boolean(beside);
    j.key("conflicts").number(p.conflicts);
    j.key("unfit_found").number(p.unfit_found);
    j.key("unfit_open").number(p.unfit_open);
    j.objects("unfit", p.unfit, [&](const Finding& f) { finding_json(j, f); });
    j.objects("findings", p.findings, [&](const Finding& f) { finding_json(j, f); });
    c.print(j);
    return status;
  }
  if (c.quiet()) return status;
  Out& out = c.out();
  if (p.findings.empty()) {
    out.text(wrapped("", "sound: " + counted(p.entries, "entry", "entries") + ", every digest follows from the one before" + (p.tables_compared ? ", every table agrees with the log" : "") + (p.papers == 0 ? "" : ", " + counted(p.papers, "paper", "papers") + " on file")));
  } else {
    out.line("NOT SOUND: " + counted(p.found, "finding", "findings") + " in " + counted(p.entries, "entry", "entries") + "; good before the first: " + std::to_string(p.good));
    for (const Finding& f : p.findings) {
      out.text(wrapped("  - ", visible(f.what)));
      if (!f.instead.empty()) out.text(to_be_typed("    type: ", visible(f.instead)));
    }
    if (p.found > std::ssize(p.findings)) out.line("  and " + std::to_string(p.found - std::ssize(p.findings)) + " more");
    for (const std::string& s : p.good_seals) out.line("good up to seal " + s);
    if (!p.tables_compared) out.text(wrapped("", "The tables were not compared with the log, because of what was found."));
  }
  say_unfit(out, p);
  out.text(conflicts_line(p.conflicts));
  for (const ProvedMonth& m : p.months) {
    std::string line = "month " + to_string(m.month) + " closed on " + to_string(m.closed_on) + " by entry " + ref_text(m.entry, own);
    if (m.differences == 0 && m.causes.empty() && !m.judged_otherwise) {
      line += ", unchanged since";
    } else {
      line += m.differences == 0 ? ", its figures unchanged" : ", amended: " + counted(m.differences, "figure", "figures");
      if (m.judged_otherwise) line += ", judged otherwise by the rules (baybook totals " + to_string(m.month) + ")";
      std::string causes;
      for (std::size_t i = 0; i < m.causes.size() && i < 5; ++i) causes += (causes.empty() ? "" : ", ") + ref_text(m.causes[i], own);
      if (m.causes.size() > 5) causes += " and " + std::to_string(m.causes.size() - 5) + " more";
      if (!causes.empty()) line += (m.causes.size() == 1 ? "; later entry " : "; later entries ") + causes;
    }
    out.text(wrapped("", line));
  }
  for (const std::string& s : p.seals) out.line("seal " + s);
  if (p.seal_checked && p.findings.empty()) out.text(wrapped("", "The seal agrees: nothing up to its entry was cut off or written anew. What came after it is not covered by it."));
  if (!p.seal_checked) out.text(wrapped("", "Without a printed seal this does not show a cut end, nor a log written anew from its first entry: compare one with --seal."));
  return status;
}

}  // namespace

int run_prove(Context& c) {
  try {
    return prove_it(c);
  } catch (Refused& refused) {
    // What cannot even be read is not mended by proving it once more.
    Refusal& r = refused.refusal;
    if (r.code == Code::unsound && r.instead.starts_with("baybook prove")) {
      if (r.why.empty()) r.why = "keep this file as it is; a restored backup goes on in its place, and this one is put aside";
      r.instead = "baybook backup restore THE-NEWEST-BACKUP --book " + as_typed(c.book_path());
    }
    throw;
  }
}

}  // namespace baybook::tool
