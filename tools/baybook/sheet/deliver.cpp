// Handing a report over: on the screen, or as a file that is whole or not there.
#include "sheet.hpp"

#include "../render/text.hpp"
#include "../whole_file.hpp"

#include <baybook/text.hpp>

#include <unistd.h>

namespace baybook::tool::sheet {

namespace {

enum class Form { text, csv, json, html, pdf };

Form form_of(Context& c) {
  const Typed& t = c.typed();
  std::string word = t.text("form");
  if (word.empty()) {
    const std::string out = t.text("out");
    const std::size_t dot = out.rfind('.');
    if (out.empty() || out == "-") return Form::text;
    word = dot == std::string::npos ? "" : out.substr(dot + 1);
    if (word == "htm") word = "html";
    if (word == "txt") word = "text";
  }
  if (word == "text") return Form::text;
  if (word == "csv") return Form::csv;
  if (word == "json") return Form::json;
  if (word == "html") return Form::html;
  if (word == "pdf") return Form::pdf;
  refuse(Code::wrong_usage, word.empty() ? "the name of --out does not say the form" : visible(word) + " is no form of a report", "it is one of: text, csv, json, html, pdf", "--out march.pdf, or --form pdf");
}

}  // namespace

report::Paper paper_of(Context& c) {
  const std::string word = c.typed().text("page");
  if (word.empty() || word == "a4") return report::Paper::a4;
  if (word == "letter") return report::Paper::letter;
  refuse(Code::wrong_usage, "--page " + visible(word) + " is not known", "it is one of: a4, letter", "--page a4");
}

void write_file(const std::string& path, std::string_view bytes, Placing how) {
  WholeFile file(path, std::move(how));
  file.write(bytes);
  file.finish();
}

int deliver(Context& c, const report::Report& r) {
  const Typed& t = c.typed();
  const std::string out = t.text("out");
  const Form form = c.json() && !t.has("form") && out.empty() ? Form::json : form_of(c);
  std::string bytes;
  switch (form) {
    case Form::text: bytes = report::as_text(r, static_cast<std::size_t>(text_width())); break;
    case Form::csv: bytes = report::as_csv(r, t.has("csv-raw")); break;
    case Form::html: bytes = report::as_html(r, paper_of(c)); break;
    case Form::pdf: bytes = report::as_pdf(r, paper_of(c)); break;
    case Form::json: {
      Json j = c.document();
      j.key("report");
      report::as_json(j, r);
      j.end_object();
      bytes = j.text() + "\n";
      break;
    }
  }
  if ((out.empty() || out == "-") && form == Form::pdf && ::isatty(1) == 1) refuse(Code::wrong_usage, "a PDF is not for a terminal", "", "--out FILE.pdf");
  return hand_over(c, bytes, r.seal);
}

int hand_over(Context& c, const std::string& bytes, const std::string& seal) {
  const std::string out = c.typed().text("out");
  if (out.empty() || out == "-") {
    if (!c.quiet()) c.out().text(bytes);
    return 0;
  }
  write_file(out, bytes, c.placing("another --out"));
  if (c.json()) {
    Json j = c.document();
    j.member("out", out);
    j.key("bytes").number(static_cast<std::int64_t>(bytes.size()));
    j.member("seal", seal);
    c.print(j);
  } else if (!c.quiet()) {
    c.out().line("written to " + visible(out) + ", " + std::to_string(bytes.size()) + " bytes, seal " + seal);
  }
  return 0;
}

}  // namespace baybook::tool::sheet
