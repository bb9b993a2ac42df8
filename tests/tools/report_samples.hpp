// Reports to print, and other people's programs to read the print back with.
#pragma once

#include "run_program.hpp"

#include <report/label.hpp>
#include <report/report.hpp>

#include <doctest/doctest.h>

#include <array>

namespace baybook::test {

namespace report = baybook::tool::report;

/// An empty folder for what is printed; gone afterwards.
class Desk {
 public:
  Desk() {
    std::string name = (std::filesystem::temp_directory_path() / "baybook-print-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
    root_ = name;
  }
  ~Desk() {
    std::error_code ignored;
    std::filesystem::remove_all(root_, ignored);
  }
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;
  [[nodiscard]] std::string put(const std::string& name, const std::string& bytes) const {
    std::ofstream(root_ / name, std::ios::binary) << bytes;
    return (root_ / name).string();
  }
  [[nodiscard]] std::string file(const std::string& name) const { return (root_ / name).string(); }
  /// Standard output of a command of the shell, run in the folder. The test fails when the command does.
  [[nodiscard]] std::string shell(const std::string& command) const {
    const std::string all = "cd '" + root_.string() + "' && HOME='" + root_.string() + "' TMPDIR='" + root_.string() + "' && export HOME TMPDIR && (" + command + ") 2>errors";
    FILE* pipe = ::popen(all.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::string out;
    std::array<char, 65536> part{};
    while (const std::size_t n = std::fread(part.data(), 1, part.size(), pipe)) out.append(part.data(), n);
    const int status = ::pclose(pipe);
    INFO(command << "\n" << bytes_of(root_ / "errors"));
    REQUIRE(status == 0);
    return out;
  }
  [[nodiscard]] std::string python(const std::string& script, const std::string& arguments) const {
    const std::string path = put("script.py", script);
    return shell("python3 script.py " + arguments);
  }
  /// Prints the page as a browser does; the name of the PDF.
  [[nodiscard]] std::string print_html(const std::string& html, const std::string& name) const {
    const std::string page = put(name + ".html", html);
    static_cast<void>(shell("chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage --no-first-run --user-data-dir=profile --no-pdf-header-footer --print-to-pdf=" + name + ".pdf file://" + page));
    return name + ".pdf";
  }
  /// Text in the order in which it was drawn, every run of blanks as one.
  [[nodiscard]] std::string text_of(const std::string& pdf) const { return one_blank(shell("pdftotext -raw " + pdf + " -")); }

  static std::string one_blank(const std::string& text) {
    std::string out;
    for (const char c : text) {
      const bool blank = c == ' ' || c == '\n' || c == '\r' || c == '\f' || c == '\t';
      if (!blank) out += c;
      else if (!out.empty() && out.back() != ' ') out += ' ';
    }
    return out;
  }
  /// What is wrong with the places of the words: outside the page, or one over another. Empty: nothing.
  [[nodiscard]] std::string misplaced(const std::string& pdf) const {
    return python(R"(
import subprocess, sys, xml.etree.ElementTree as E
tree = E.fromstring(subprocess.run(['pdftotext', '-bbox', sys.argv[1], '-'], capture_output=True, check=True).stdout)
ns = '{http://www.w3.org/1999/xhtml}'
words = 0
for n, page in enumerate(tree.iter(ns + 'page'), 1):
    w, h = float(page.get('width')), float(page.get('height'))
    boxes = []
    for word in page.iter(ns + 'word'):
        words += 1
        b = [float(word.get(k)) for k in ('xMin', 'yMin', 'xMax', 'yMax')]
        if b[0] < 12 or b[1] < 8 or b[2] > w - 12 or b[3] > h - 8:
            print('page', n, 'outside:', word.text, b)
        # The boxes are as high as the highest letter of the font: the letters take the middle of it.
        third = (b[3] - b[1]) / 4
        boxes.append((b[0] + 0.4, b[1] + third, b[2] - 0.4, b[3] - third, word.text))
    for i, a in enumerate(boxes):
        for b in boxes[i + 1:]:
            if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]:
                print('page', n, 'over each other:', a, b)
if words == 0: print('no word at all')
)",
                  pdf);
  }

 private:
  std::filesystem::path root_;
};

inline report::Report a_report() {
  report::Report r;
  r.kind = "totals";
  r.title = "Fluids, March 2026";
  r.site = "Demo workshop, invented";
  r.period = "2026-03-01 to 2026-03-31";
  r.rules = "us-federal";
  r.rules_digest = "5f70bf18a086007016e948b04aed3b82103a36bea41755b6cddfaf10ace3c6ef";
  r.program = "baybook 0.1.0";
  r.seal = "bay:24:0b92891b135c7a37";
  r.seal_digest = "0b92891b135c7a375f70bf18a086007016e948b04aed3b82103a36bea41755b6";
  r.notes = {"This is an aid. What the law of the place demands is for a licensed person to say."};
  return r;
}

inline report::Table fluids(std::size_t rows) {
  report::Table t;
  t.caption = "by car and product";
  t.columns = {{"car"}, {"product"}, {"drained", "L", true}, {"put back", "L", true}, {"sent off", "L", true, "sent_off"}, {"remark"}};
  const std::vector<std::string> remarks = {"", "Kühlmittel trüb, Dichtung am Thermostatgehäuse undicht", "garde-boue dévissé, pompe à eau remplacée après contrôle de pression", "žluťoučký kůň, naïve façade, Ærøskøbing", "ok"};
  for (std::size_t i = 0; i < rows; ++i) {
    const std::string n = std::to_string(i);
    t.rows.push_back({{"MÄRSCH-" + n}, {i % 3 == 0 ? "Frostschutzkonzentrat-violett-G" + n : "coolant " + n}, {n + ".25", n + ".250000001"}, {std::to_string(i * 7) + ".5"}, {i % 4 == 0 ? "" : "0.75"}, {remarks[i % remarks.size()]}});
  }
  if (rows > 0) t.foot = {{{"sum"}, {""}, {"1234.25"}, {"567.5"}, {"99.75"}, {""}}};
  return t;
}

inline report::Bars a_year() {
  report::Bars b;
  b.caption = "Coolant, 2026";
  b.unit = "L";
  b.categories = {"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"};
  for (const char* name : {"drained", "put back", "sent off"}) {
    report::Bars::Series s;
    s.name = name;
    for (std::size_t m = 0; m < b.categories.size(); ++m) {
      const std::size_t tenths = (m * 37 + b.series.size() * 53) % 400;
      s.values.push_back(static_cast<double>(tenths) / 10);
      s.texts.push_back(std::to_string(tenths / 10) + "." + std::to_string(tenths % 10));
    }
    b.series.push_back(s);
  }
  return b;
}

/// What somebody types who means harm, or does not know better.
inline const std::vector<std::string>& hostile() {
  static const std::vector<std::string> list = {
      "<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>", "</style><b>x</b>", "</title></svg><script>", "=cmd|'/c calc'!A0", "+1+1", "-2+3", "@SUM(A1)",
      "\xef\xbc\x9d" "1+1", "\tx", "'=1", "\x1b[31mred\x1b]0;title\x07", "a\u202Eb", "zero\u200Bwidth", "not \xff\xfe utf", "&amp; &lt;", "a,b\"c", "two\r\nlines", ") Tj ET q (", "\u4E2D\u6587", "\U0001F527"};
  return list;
}

}  // namespace baybook::test
