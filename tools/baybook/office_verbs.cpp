// What the office writes and prints: firms, rules, papers of pick-ups, inspections, determinations, deadlines, limits, register, closing, labels.
#include "context.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "sheet/sheet.hpp"
#include "span.hpp"
#include "verb_list.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::tool {

namespace {

int whole(const std::string& text, const char* what, const char* like) {
  int n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size() || n < 1) refuse(Code::wrong_usage, std::string(what) + " " + visible(text) + " is no whole number", "", like);
  return n;
}

std::string read_file(const std::string& path, std::size_t most) {
  struct stat st{};
  if (::stat(path.c_str(), &st) != 0 || !S_ISREG(st.st_mode)) refuse(Code::unreadable, visible(path) + " is not a file that can be read", "", "the path of the file");
  if (static_cast<std::size_t>(st.st_size) > most) refuse(Code::not_allowed, visible(path) + " has " + std::to_string(st.st_size) + " bytes", "at most " + std::to_string(most) + " are taken", "a smaller file");
  std::ifstream in(path, std::ios::binary);
  std::string out((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
  if (!in.good() && !in.eof()) refuse(Code::unreadable, visible(path) + " could not be read to the end", "", "the path of the file");
  return out;
}

std::string file_name(const std::string& path) { return path.substr(path.rfind('/') == std::string::npos ? 0 : path.rfind('/') + 1); }

// On a screen a line of a list is read faster than a table of seven columns: the day and how near it is, what, the figures, the way out.
void limits_text(Context& c, const Limits& l) {
  Out& out = c.out();
  out.line(visible(c.book().settings().site) + "  limits and deadlines on " + to_string(l.day));
  if (!l.category_title.empty()) out.line(to_string(month_of(l.day)) + " so far: " + l.category_title);
  const auto under = [&](const LimitLine& x, bool settle) {
    std::string more = x.figures;
    if (!x.section.empty()) more += "; " + x.section + (x.sure == Sure::confirmed || x.sure == Sure::shop ? "" : " (" + std::string(name_of(x.sure)) + ")");
    if (!x.entries.empty()) more += "; entry " + sheet::refs(c, x.entries);
    out.text(wrapped("                  ", visible(more)));
    if (settle && !x.settle.empty()) out.text(wrapped("                  type: ", visible(x.settle)));
  };
  out.line();
  for (const LimitLine& x : l.lines) {
    const char* state = x.state == LimitLine::State::over ? "OVER  " : x.state == LimitLine::State::near ? "near  " : "      ";
    out.text(wrapped((x.due ? to_string(*x.due) : std::string("no date   ")) + "  " + state, visible(x.group + ": " + x.what)));
    under(x, x.state != LimitLine::State::fine || x.due);
  }
  if (l.lines.empty()) out.line("nothing stands against a limit or a date");
  if (!l.keep.empty()) {
    out.line("\nkept until");
    for (const LimitLine& x : l.keep) out.text(wrapped(to_string(*x.due) + "        ", visible(x.what + ", " + x.figures + "; " + x.section + (x.sure == Sure::confirmed ? "" : " (" + std::string(name_of(x.sure)) + ")"))));
  }
  out.line();
  if (l.rules.empty()) out.text(wrapped("", "The book goes by no rule set, so nothing is judged: baybook rules set NAME --from DATE."));
  else out.text(wrapped("", "rules " + l.rules + " " + l.rules_digest.substr(0, 16) + ". " + visible(l.aid)));
  out.text(wrapped("", "\"near\" is within 14 days or from 80 percent on: common practice, no source."));
  out.line("seal " + c.book().seal());
}

constexpr std::size_t kMostRules = 256 * 1024;
constexpr std::size_t kMostPaper = 64 * 1024 * 1024;

}  // namespace

int run_firm_add(Context& c) {
  NewFirm f;
  f.code = c.operand(0);
  f.name = c.operand(1);
  f.contact = c.typed().text("contact");
  f.carries = c.typed().has("carries");
  f.receives = c.typed().has("receives");
  for (const std::string& n : c.typed().all("number")) {
    const std::size_t equals = n.find('=');
    if (equals == std::string::npos) refuse(Code::wrong_usage, "--number " + visible(n) + " does not say what it is", "", "--number \"permit=T-118\"");
    f.numbers.push_back({n.substr(0, equals), n.substr(equals + 1)});
  }
  return c.write(f, f.name);
}

int run_firm_list(Context& c) {
  const std::vector<FirmView> list = need(firms(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.key("firms").begin_array();
    for (const FirmView& f : list) {
      j.begin_object();
      j.member("code", f.code);
      j.member("name", f.name);
      j.key("carries").boolean(f.carries);
      j.key("receives").boolean(f.receives);
      j.key("numbers").begin_array();
      for (const NewFirm::Number& n : f.numbers) {
        j.begin_object();
        j.member("what", n.what);
        j.member("number", n.number);
        j.end_object();
      }
      j.end_array();
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line("no firm is in the book: baybook firm add quill-tarn \"Quill & Tarn Recovery\" --carries --receives");
    return 0;
  }
  Table t;
  t.column("code");
  t.column("name");
  t.column("does");
  t.column("numbers");
  for (const FirmView& f : list) {
    std::string numbers;
    for (const NewFirm::Number& n : f.numbers) numbers += (numbers.empty() ? "" : ", ") + n.what + " " + n.number;
    t.row({visible(f.code), visible(f.name), f.carries ? (f.receives ? "carries, receives" : "carries") : "receives", visible(numbers)});
  }
  c.out().text(t.text());
  return 0;
}

int run_rules_list(Context& c) {
  if (c.json()) {
    Json j = c.document();
    j.key("rule_sets").begin_array();
    for (const std::string_view name : rule_set_names()) {
      const RuleSet r = need(read_rules(name));
      j.begin_object();
      j.member("name", r.name);
      j.member("title", r.title);
      j.member("digest", r.digest);
      j.end_object();
    }
    j.end_array();
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
  const Day day = c.operands() > 0 ? Day{} : c.as_of().value_or(c.today());
  const RuleSet r = c.operands() > 0 ? need(read_rules(c.operand(0))) : need(rules(c.book(), day));
  report::Report out;
  out.kind = "rules";
  out.title = r.title;
  out.site = c.operands() > 0 ? "rule set " + r.name : c.book().settings().site;
  out.period = c.operands() > 0 ? "every day" : to_string(day);
  out.program = "baybook " BAYBOOK_VERSION;
  sheet::by_rules(out, r.name, r.digest, r.aid);
  report::Table values;
  values.caption = "Values";
  values.columns = {{"key", {}, false, "key"}, {"is", {}, false, "is"}, {"section", {}, false, "section"}, {"how sure", {}, false, "sure"}, {"holds", {}, false, "holds"}, {"note", {}, false, "note"}};
  for (const RuleValue& v : r.values) {
    std::string holds_text = v.source.from ? "from " + to_string(*v.source.from) : "";
    if (v.source.until) holds_text += (holds_text.empty() ? "" : " ") + ("until " + to_string(*v.source.until));
    values.rows.push_back({sheet::text(v.key), sheet::text(v.text), sheet::text(v.source.section), sheet::text(std::string(name_of(v.source.sure))), sheet::text(holds_text), sheet::text(v.source.note)});
  }
  out.blocks.emplace_back(std::move(values));
  report::Table streams_table;
  streams_table.caption = "Streams";
  streams_table.columns = {{"stream", {}, false, "stream"}, {"title", {}, false, "title"}, {"code", {}, false, "code"}, {"counts", {}, false, "counts"}, {"density", {}, false, "density"}, {"section", {}, false, "section"}, {"how sure", {}, false, "sure"}, {"why", {}, false, "why"}};
  const auto word = [](YesNo y) { return std::string(y == YesNo::yes ? "yes" : y == YesNo::no ? "no" : "by determination"); };
  for (const Stream& s : r.streams) {
    streams_table.rows.push_back({sheet::text(s.name), sheet::text(s.title), sheet::text(s.code + (s.mirror.empty() ? "" : " or " + s.mirror)), sheet::text(word(s.counted)), sheet::text(s.density ? s.density->typed + " (" + std::string(name_of(s.density_sure)) + ")" : ""), sheet::text(s.source.section), sheet::text(std::string(name_of(s.source.sure))), sheet::text(s.why)});
  }
  out.blocks.emplace_back(std::move(streams_table));
  return sheet::deliver(c, out);
}

int run_rules_set(Context& c) {
  ChooseRules d;
  d.set = c.operand(0);
  d.from = c.day_option("from").value_or(c.today());
  if (const std::string* file = c.typed().get("file")) {
    d.file = read_file(*file, kMostRules);
    d.file_name = file_name(*file);
  }
  return c.write(d);
}

int run_rules_check(Context& c) {
  const std::string base = c.typed().has("set") ? c.typed().text("set") : "us-federal";
  const RuleSet r = need(read_rules(base, read_file(c.operand(0), kMostRules), c.operand(0)));
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

int run_pickup_confirm(Context& c) {
  ConfirmPickup d;
  d.pickup = need(c.book().find_pickup(c.operand(0)));
  d.signed_on = c.day(c.required("signed"));
  d.note = c.typed().text("note");
  for (const std::string& m : c.typed().all("measured")) {
    const std::size_t equals = m.find('=');
    if (equals == std::string::npos) refuse(Code::wrong_usage, "--measured " + visible(m) + " does not name the line of the pick-up", "", "--measured 1=178L");
    d.measured.push_back({whole(m.substr(0, equals), "line", "--measured 1=178L"), need(parse_level(m.substr(equals + 1), c.units()))});
  }
  Receipt r = c.append(d);
  if (c.json()) {
    render::receipt(c, r);
    return 0;
  }
  render::receipt(c, r);
  if (c.quiet() || r.dry_run) return 0;
  for (const PickupView::Line& l : need(pickup(c.book(), d.pickup)).lines) {
    if (!l.measured) continue;
    const std::string place = l.place.substr(0, l.place.find('/'));
    c.out().text(wrapped("  ", "line " + std::to_string(l.number) + " " + visible(l.place) + ": booked " + show(l.best, l.dimension, c.units()) + ", measured " + show(l.measured->best, l.measured->dimension, c.units()) +
                                   (l.measured->dimension != l.dimension ? ", in another kind of quantity" : l.difference == 0 ? ", the same" : ", a difference of " + show(l.difference, l.dimension, c.units(), true) + "; settle it: baybook gauge " + place + " LEVEL --reason \"carrier measured " + show(l.measured->best, l.measured->dimension, c.units()) + "\"")));
  }
  return 0;
}

int run_pickup_list(Context& c) {
  const std::vector<PickupView> list = need(pickups(c.book(), c.typed().has("open")));
  if (c.json()) {
    Json j = c.document();
    j.key("pickups").begin_array();
    for (const PickupView& p : list) {
      j.begin_object();
      render::entry_ref(j, "entry", p.entry);
      j.member("day", to_string(p.day));
      j.member("document", p.document);
      j.member("carrier", p.carrier);
      j.member("receiver", p.receiver);
      j.key("confirmed");
      if (p.confirmed) j.string(to_string(*p.confirmed));
      else j.null();
      j.key("lines").begin_array();
      for (const PickupView::Line& l : p.lines) {
        j.begin_object();
        j.member("place", l.place);
        j.member("stream", l.stream);
        j.key("booked").exact(l.best, l.dimension);
        j.key("measured");
        if (l.measured) j.exact(l.measured->best, l.measured->dimension);
        else j.null();
        j.end_object();
      }
      j.end_array();
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line(c.typed().has("open") ? "every paper has come back" : "nothing was picked up yet");
    return 0;
  }
  Table t;
  t.column("paper");
  t.column("day");
  t.column("carrier");
  t.column("receiver");
  t.column("signed copy");
  t.column("entry", Align::right);
  for (const PickupView& p : list) t.row({visible(p.document), to_string(p.day), visible(p.carrier), visible(p.receiver), p.confirmed ? to_string(*p.confirmed) : "not yet", ref_text(p.entry, c.book().settings().tag)});
  c.out().text(t.text());
  return 0;
}

int run_inspect(Context& c) {
  Inspection d;
  d.area = c.operand(0);
  d.faults = c.typed().has("found");
  d.findings = d.faults ? c.typed().text("found") : c.typed().text("note");
  d.next = c.day_option("next");
  return c.write(d, d.findings);
}

int run_determine(Context& c) {
  const Typed& t = c.typed();
  Determination d;
  d.stream = c.operand(0);
  if (t.has("hazardous") == t.has("not-hazardous")) refuse(Code::wrong_usage, "it is not said whether the stream is hazardous", "", "--hazardous, or --not-hazardous");
  d.hazardous = t.has("hazardous");
  const std::string basis = t.has("basis") ? t.text("basis") : "test";
  if (basis != "test" && basis != "knowledge") refuse(Code::wrong_usage, "--basis " + visible(basis) + " is not known", "it is one of: test, knowledge", "--basis test");
  d.basis = basis == "test" ? Determination::Basis::test : Determination::Basis::knowledge;
  if (t.has("place")) d.place = c.place(t.text("place"));
  d.reason = t.text("why");
  d.laboratory = t.text("laboratory");
  return c.write(d, d.reason);
}

int run_paper_add(Context& c) {
  Paper d;
  d.about = need(c.book().find_entry(c.operand(0)));
  const std::string bytes = read_file(c.operand(1), kMostPaper);
  d.sha256 = sha256_hex(bytes);
  d.bytes = static_cast<std::int64_t>(bytes.size());
  d.title = c.typed().text("title");
  // The name is made from the digest: what a scanner or a person called the file may hold a name or a plate.
  std::string extension;
  const std::string name = file_name(c.operand(1));
  if (const std::size_t dot = name.rfind('.'); dot != std::string::npos && dot > 0 && name.size() - dot <= 6) {
    for (const char x : name.substr(dot + 1)) {
      if ((x >= 'a' && x <= 'z') || (x >= '0' && x <= '9')) extension += x;
      else if (x >= 'A' && x <= 'Z') extension += static_cast<char>(x - 'A' + 'a');
    }
  }
  d.file = d.sha256.substr(0, 32) + (extension.empty() ? "" : "." + extension);
  const std::string folder = papers_folder(c.book().path());
  const std::string path = folder + "/" + d.file;
  struct stat st{};
  const bool there = ::stat(path.c_str(), &st) == 0;
  const bool dry = c.typed().has("dry-run");
  if (!there && !dry) {
    if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST) refuse(Code::unwritable, visible(folder) + " cannot be made", "papers are kept beside the book", "a folder that can be written to");
    sheet::write_file(path, bytes, false);
  }
  try {
    return c.write(d, d.title);
  } catch (...) {
    if (!there && !dry) ::unlink(path.c_str());
    throw;
  }
}

int run_paper_list(Context& c) {
  const std::vector<PaperView> list = need(papers(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.key("papers").begin_array();
    for (const PaperView& p : list) {
      j.begin_object();
      render::entry_ref(j, "entry", p.entry);
      render::entry_ref(j, "about", p.about);
      j.member("file", p.file);
      j.member("sha256", p.sha256);
      j.key("bytes").number(p.bytes);
      j.member("title", p.title);
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Table t;
  t.column("about", Align::right);
  t.column("file");
  t.column("bytes", Align::right);
  t.column("title");
  for (const PaperView& p : list) t.row({ref_text(p.about, c.book().settings().tag), visible(p.file), std::to_string(p.bytes), visible(p.title)});
  c.out().text(list.empty() ? "no paper is on file\n" : t.text());
  return 0;
}

int run_deadline_add(Context& c) {
  const Typed& t = c.typed();
  Deadline d;
  d.code = c.operand(0);
  // A deadline is as a rule in the future, so it is no day on which something happened.
  const auto day = read_day(c.operand(1));
  if (!day) refuse(Code::unclear, visible(c.operand(1)) + " is not a day", "", "2027-03-01");
  d.due = *day;
  if (t.has("every")) {
    std::string every = t.text("every");
    if (!every.ends_with("mo")) refuse(Code::wrong_usage, "--every " + visible(every) + " is no number of months", "", "--every 12mo");
    every.resize(every.size() - 2);
    d.every_months = whole(every, "--every", "--every 12mo");
  }
  d.section = t.text("section");
  d.what = t.text("what");
  return c.write(d, d.what);
}

int run_deadline_done(Context& c) {
  DeadlineDone d;
  d.deadline = need(c.book().find_deadline(c.operand(0)));
  if (const std::string* next = c.typed().get("next")) {
    d.next = read_day(*next);
    if (!d.next) refuse(Code::unclear, visible(*next) + " is not a day", "", "--next 2027-03-01");
  }
  d.note = c.typed().text("note");
  return c.write(d, d.note);
}

int run_deadline_list(Context& c) {
  const std::vector<DeadlineView> list = need(deadlines(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.key("deadlines").begin_array();
    for (const DeadlineView& d : list) {
      j.begin_object();
      j.member("code", d.code);
      j.member("due", to_string(d.due));
      j.key("months").number(d.months);
      j.member("what", d.what);
      j.member("section", d.section);
      j.key("settled").boolean(d.settled);
      render::entry_ref(j, "entry", d.entry);
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Table t;
  t.column("code");
  t.column("due");
  t.column("every");
  t.column("what");
  for (const DeadlineView& d : list) t.row({visible(d.code), d.settled ? "settled" : to_string(d.due), d.months > 0 ? std::to_string(d.months) + " months" : "once", visible(d.what)});
  c.out().text(list.empty() ? "no deadline was set\n" : t.text());
  return 0;
}

int run_limits(Context& c) {
  const Limits l = need(limits(c.book(), c.as_of().value_or(c.today())));
  if (!c.json() && !c.typed().has("out") && !c.typed().has("form")) {
    if (!c.quiet()) limits_text(c, l);
    return 0;
  }
  return sheet::deliver(c, sheet::limits(c, l));
}

int run_register(Context& c) {
  const Span span = read_span(c, c.operands() > 0 ? c.operand(0) : "");
  return sheet::deliver(c, sheet::register_of(c, span.from, std::min(span.until, c.as_of().value_or(span.until))));
}

int run_close(Context& c) {
  CloseMonth d;
  d.month = need(parse_month(c.operand(0), c.today()));
  d.note = c.typed().text("note");
  return c.write(d, d.note);
}

int run_label(Context& c) {
  const Day day = c.as_of().value_or(c.today());
  std::vector<report::Label> labels;
  std::vector<LabelFacts> facts;
  for (std::size_t i = 0; i < c.operands(); ++i) facts.push_back(need(label(c.book(), c.place(c.operand(i)), day)));
  for (const LabelFacts& f : facts) {
    report::Label l;
    l.words = f.words;
    l.stream = f.stream.title + (f.code.empty() ? "" : ", " + f.code);
    l.hazards = f.hazard;
    if (f.since) l.since = to_string(*f.since);
    l.place = f.place;
    l.filling = f.filling;
    l.site = f.site;
    l.payload = f.payload;
    l.cautions = f.cautions;
    labels.push_back(std::move(l));
  }
  const std::string out = c.typed().text("out");
  if (out.empty()) {
    if (c.json()) {
      Json j = c.document();
      j.key("labels").begin_array();
      for (const LabelFacts& f : facts) {
        j.begin_object();
        j.member("place", f.place);
        j.member("filling", f.filling);
        j.strings("words", f.words);
        j.member("stream", f.stream.title);
        j.member("code", f.code);
        j.strings("hazard", f.hazard);
        j.key("since");
        if (f.since) j.string(to_string(*f.since));
        else j.null();
        j.member("payload", f.payload);
        j.member("rules", f.rules);
        j.end_object();
      }
      j.end_array();
      c.print(j);
      return 0;
    }
    for (const LabelFacts& f : facts) {
      if (c.quiet()) break;
      c.out().line(visible(f.filling) + "  " + visible(joined(f.words, " / ")));
      c.out().text(wrapped("  ", visible(f.stream.title + (f.code.empty() ? "" : ", " + f.code) + (f.hazard.empty() ? "" : "; " + joined(f.hazard)))));
      c.out().line("  since " + (f.since ? to_string(*f.since) : std::string("(empty: write the day on it)")) + "  " + f.payload);
    }
    if (!c.quiet()) c.out().text(wrapped("", visible(facts.front().aid)));
    return 0;
  }
  const report::Labels how = c.typed().has("sheet") ? report::Labels::eight_on_a_sheet : report::Labels::one_on_a_page;
  std::string bytes;
  if (out.ends_with(".pdf")) bytes = report::labels_pdf(labels, sheet::paper_of(c), how, "baybook " BAYBOOK_VERSION);
  else if (out.ends_with(".html")) bytes = report::labels_html(labels, sheet::paper_of(c), how);
  else refuse(Code::wrong_usage, visible(out) + " is neither a PDF nor a page", "", "--out labels.pdf, or labels.html");
  sheet::write_file(out, bytes, c.typed().has("force"));
  if (!c.quiet() && !c.json()) c.out().line("written to " + visible(out) + ", " + std::to_string(labels.size()) + " label" + (labels.size() == 1 ? "" : "s"));
  if (c.json()) {
    Json j = c.document();
    j.member("out", out);
    c.print(j);
  }
  return 0;
}

}  // namespace baybook::tool
