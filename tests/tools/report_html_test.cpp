// The page in a browser, and what the browser prints.
#include "report_samples.hpp"

#include <baybook/text.hpp>

#include <report/svg.hpp>

using namespace baybook::test;
using report::Paper;

namespace {

// What a parser finds in a page: elements and their attributes, and whether anything is live in it.
constexpr const char* kLook = R"(
import sys, xml.etree.ElementTree as E
tree = E.parse(sys.argv[1]).getroot()
allowed = set('html head meta title style body header div h1 h2 p main section table caption thead tbody tr th td strong figure figcaption svg desc defs pattern rect path circle text footer article span'.split())
for e in tree.iter():
    name = e.tag.split('}')[1]
    if name not in allowed: print('element', name)
    for k, v in e.attrib.items():
        if k.startswith('on') or k in ('href', 'src', '{http://www.w3.org/1999/xlink}href'): print('attribute', name, k, v)
        if 'url(' in v and not v.startswith('url(#plot'): print('outside', v)
ids = [e.get('id') for e in tree.iter() if e.get('id')]
if len(ids) != len(set(ids)): print('two of one id')
for e in tree.iter('{http://www.w3.org/1999/xhtml}th'):
    if e.get('scope') not in ('col', 'row'): print('th without scope')
for e in tree.iter('{http://www.w3.org/2000/svg}svg'):
    if e.get('role') != 'img' or e.find('{http://www.w3.org/2000/svg}title') is None: print('picture without a name')
if tree.get('lang') != 'en': print('no language')
)";

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_SUITE("tools/report html") {
  TEST_CASE("the page is well-formed, fetches nothing, runs nothing, and tells a screen reader what is what") {
    const Desk desk;
    report::Report r = a_report();
    r.blocks = {report::Facts{"vehicle", {{"plate", "MÄRSCH-14"}}}, fluids(5), a_year(), a_year(), report::Text{"remarks", {"one"}}};
    const std::string page = report::as_html(r, Paper::a4);
    static_cast<void>(desk.put("page.html", page));
    CHECK(desk.python(kLook, "page.html") == "");
    CHECK(page.starts_with("<!DOCTYPE html>\n<html lang=\"en\""));
    CHECK(page.find("<head><meta charset=\"utf-8\"/><meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\"/>") != std::string::npos);
    CHECK(page.find("<caption>by car and product</caption>") != std::string::npos);
    CHECK(page.find("<th scope=\"row\"><span class=\"k\">MÄRSCH-0</span></th>") != std::string::npos);
    CHECK(page.find("<desc id=\"plot1d\">January: drained 0.0 L") != std::string::npos);
    CHECK(page == report::as_html(r, Paper::a4));
  }

  TEST_CASE("hostile text is text wherever it stands in the page") {
    const Desk desk;
    report::Report r = a_report();
    for (const std::string& h : hostile()) {
      report::Table t;
      t.caption = h;
      t.columns = {{h, h}, {h, h, true}};
      t.rows = {{{h}, {h}}, {{h, h, true}, {h, h, true}}};
      t.foot = {{{h}, {h}}};
      report::Bars b;
      b.caption = b.unit = h;
      b.categories = {h};
      b.series = {{h, {1.0}, {h}}};
      r.blocks.push_back(t);
      r.blocks.push_back(b);
      r.blocks.push_back(report::Text{h, {h}});
      r.blocks.push_back(report::Facts{h, {{h, h}}});
      r.notes.push_back(h);
    }
    for (const std::string& h : hostile()) {
      CAPTURE(h);
      r.title = r.site = r.period = r.rules = r.program = h;
      static_cast<void>(desk.put("page.html", report::as_html(r, Paper::letter)));
      CHECK(desk.python(kLook, "page.html") == "");
    }
    // And none of it is lost: a parser gets the text back.
    const std::string texts = desk.python("import sys, xml.etree.ElementTree as E\nprint(''.join(E.parse(sys.argv[1]).getroot().itertext()))", "page.html");
    for (const std::string& h : hostile()) CHECK(count(texts, baybook::visible(h)) >= 10);
  }

  TEST_CASE("a browser prints the page with every row whole, headings repeated, pages counted and the seal on each") {
    const Desk desk;
    report::Report r = a_report();
    const report::Table table = fluids(400);
    r.blocks = {table, a_year()};
    for (const Paper paper : {Paper::a4, Paper::letter}) {
      const std::string pdf = desk.print_html(report::as_html(r, paper), "page");
      CHECK(desk.misplaced(pdf) == "");
      CHECK(desk.shell("pdfinfo page.pdf | grep '^Page size'").find(paper == Paper::a4 ? "A4" : "letter") != std::string::npos);
      const std::size_t pages = std::stoul(desk.shell("pdfinfo page.pdf | sed -n 's/^Pages: *//p'"));
      CHECK(pages > 5);
      std::string all;
      for (std::size_t n = 1; n <= pages; ++n) {
        const std::string one = Desk::one_blank(desk.shell("pdftotext -raw -f " + std::to_string(n) + " -l " + std::to_string(n) + " page.pdf -"));
        CAPTURE(one);
        CHECK(one.find("page " + std::to_string(n) + " of " + std::to_string(pages)) != std::string::npos);
        for (const std::string& wanted : {r.site, r.period, "seal " + r.seal, r.rules_digest, r.program}) {
          CAPTURE(wanted);
          CHECK(one.find(wanted) != std::string::npos);
        }
        all += one + " ";
      }
      CHECK(count(all, "put back (L)") >= pages - 1);
      for (const auto& row : table.rows) {
        std::string wanted;
        for (const report::Cell& c : row) {
          if (!c.text.empty()) wanted += (wanted.empty() ? "" : " ") + c.text;
        }
        CAPTURE(wanted);
        CHECK(all.find(wanted) != std::string::npos);
      }
    }
  }

  TEST_CASE("a plot is a picture by itself") {
    const Desk desk;
    static_cast<void>(desk.put("plot.svg", report::as_svg(a_year(), 1)));
    const std::string found = desk.python(R"(
import sys, xml.etree.ElementTree as E
s = E.parse('plot.svg').getroot()
ns = '{http://www.w3.org/2000/svg}'
print(s.find(ns + 'title').text, len(s.findall(ns + 'rect')), len({r.get('fill') for r in s.findall(ns + 'rect')}))
for t in s.findall(ns + 'text'):
    if not (0 <= float(t.get('x')) <= 720): print('outside', t.text)
)",
                                          "");
    // 36 bars, of which one is nothing, and three in the legend; three fills.
    CHECK(found == "Coolant, 2026 38 3\n");
  }
}
