// Labels for containers, as a printer makes them and as a reader's camera sees them.
#include "report_samples.hpp"

#include <baybook/text.hpp>

using namespace baybook::test;
using report::Label;
using report::Labels;
using report::Paper;

namespace {

Label a_label(int n) {
  Label l;
  l.words = {"HAZARDOUS WASTE"};
  l.stream = "Kühlmittel, verbraucht: éthylène glycol";
  l.hazards = {"Toxic", "Keep closed"};
  l.since = "2026-03-05";
  l.place = "drum-coolant-" + std::to_string(n);
  l.filling = "drum-" + std::to_string(n) + "/7";
  l.site = "Demo workshop, invented";
  l.payload = "BAYBOOK:DRUM-" + std::to_string(n) + "-7";
  l.cautions = {"Sweet and toxic: a little can kill a child or an animal.", "Ask a licensed practice."};
  return l;
}

std::vector<Label> labels(int count) {
  std::vector<Label> out;
  for (int n = 1; n <= count; ++n) out.push_back(a_label(n));
  return out;
}

void complete(const Desk& desk, const std::string& pdf, const std::vector<Label>& list) {
  CHECK(desk.misplaced(pdf) == "");
  const std::string text = desk.text_of(pdf);
  CAPTURE(text);
  for (const Label& l : list) {
    for (const std::string& wanted : {l.words.front(), l.stream, l.hazards.front(), l.since, l.place, l.filling, l.site, l.payload, l.cautions.front(), l.since_name}) {
      CAPTURE(wanted);
      CHECK(text.find(baybook::visible(wanted)) != std::string::npos);
    }
  }
  // Every QR is read from the picture, and says what stands below it.
  static_cast<void>(desk.shell("pdftoppm -r 200 -png " + pdf + " seen"));
  const std::string found = desk.shell("for f in seen*.png; do zbarimg -q --raw $f; done; rm seen*.png");
  std::size_t lines = 0;
  for (const char c : found) lines += c == '\n' ? 1U : 0U;
  CHECK(lines == list.size());
  for (const Label& l : list) CHECK(("\n" + found).find("\n" + l.payload + "\n") != std::string::npos);
}

}  // namespace

TEST_SUITE("tools/report label") {
  TEST_CASE("nine labels on sheets of eight, and each on a page of its own: every word and every QR is there") {
    const Desk desk;
    const auto list = labels(9);
    for (const Paper paper : {Paper::a4, Paper::letter}) {
      for (const Labels how : {Labels::eight_on_a_sheet, Labels::one_on_a_page}) {
        CAPTURE(static_cast<int>(paper));
        CAPTURE(static_cast<int>(how));
        const std::string bytes = report::labels_pdf(list, paper, how, "baybook 0.1.0");
        CHECK(bytes == report::labels_pdf(list, paper, how, "baybook 0.1.0"));
        static_cast<void>(desk.put("labels.pdf", bytes));
        CHECK(desk.shell("pdfinfo labels.pdf | sed -n 's/^Pages: *//p'") == (how == Labels::eight_on_a_sheet ? "2\n" : "9\n"));
        complete(desk, "labels.pdf", list);
      }
    }
  }

  TEST_CASE("a browser prints the same labels") {
    const Desk desk;
    const auto list = labels(9);
    for (const Labels how : {Labels::eight_on_a_sheet, Labels::one_on_a_page}) {
      const std::string pdf = desk.print_html(report::labels_html(list, Paper::a4, how), "labels");
      CHECK(desk.shell("pdfinfo labels.pdf | sed -n 's/^Pages: *//p'") == (how == Labels::eight_on_a_sheet ? "2\n" : "9\n"));
      complete(desk, pdf, list);
    }
  }

  TEST_CASE("the words that a rule demands are the largest on the label") {
    const Desk desk;
    static_cast<void>(desk.put("one.pdf", report::labels_pdf(labels(1), Paper::letter, Labels::eight_on_a_sheet, "")));
    const std::string sizes = desk.python(R"(
import subprocess, xml.etree.ElementTree as E
tree = E.fromstring(subprocess.run(['pdftotext', '-bbox', 'one.pdf', '-'], capture_output=True, check=True).stdout)
words = [(float(w.get('yMax')) - float(w.get('yMin')), w.text) for w in tree.iter('{http://www.w3.org/1999/xhtml}word')]
words.sort(reverse=True)
print(sorted(t for s, t in words[:2]), words[1][0] > 1.5 * words[2][0])
)",
                                          "");
    CHECK(sizes == "['HAZARDOUS', 'WASTE'] True\n");
  }

  TEST_CASE("a label with more text than a part of the sheet holds gets a page of its own, and nothing is cut") {
    const Desk desk;
    auto list = labels(3);
    std::string much;
    for (int i = 0; i < 400; ++i) much += (i == 0 ? "" : " ") + std::string("word") + std::to_string(i);
    list[1].cautions.push_back(much);
    static_cast<void>(desk.put("much.pdf", report::labels_pdf(list, Paper::a4, Labels::eight_on_a_sheet, "")));
    CHECK(desk.shell("pdfinfo much.pdf | sed -n 's/^Pages: *//p'") == "3\n");
    CHECK(desk.text_of("much.pdf").find(much) != std::string::npos);
    complete(desk, "much.pdf", list);
  }

  TEST_CASE("hostile text on a label is text, and a payload of another form is not printed at all") {
    const Desk desk;
    std::vector<Label> list;
    for (const std::string& h : hostile()) {
      Label l = a_label(static_cast<int>(list.size()));
      l.stream = l.site = l.place = h;
      l.hazards = {h};
      list.push_back(l);
    }
    const std::string html = report::labels_html(list, Paper::letter, Labels::eight_on_a_sheet);
    static_cast<void>(desk.put("labels.html", html));
    const std::string texts = desk.python(R"(
import sys, xml.etree.ElementTree as E
root = E.parse('labels.html').getroot()
for e in root.iter():
    if e.tag.split('}')[1] not in 'html head meta title style body main div article h2 p svg rect path span'.split(): print('element', e.tag)
print(''.join(root.itertext()))
)",
                                          "");
    CHECK(texts.find("element ") == std::string::npos);
    for (const std::string& h : hostile()) CHECK(texts.find(baybook::visible(h)) != std::string::npos);
    static_cast<void>(desk.put("hostile.pdf", report::labels_pdf(list, Paper::letter, Labels::eight_on_a_sheet, "")));
    CHECK(desk.misplaced("hostile.pdf") == "");
    for (const std::string payload : {"BAYBOOK:", "BAYBOOK:drum", "BAYBOOK:A B", "http://x", "BAYBOOK:ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", "BAYBOOK:\xC3\x84"}) {
      CAPTURE(payload);
      Label l = a_label(1);
      l.payload = payload;
      CHECK_THROWS_AS(static_cast<void>(report::labels_pdf({l}, Paper::a4, Labels::one_on_a_page, "")), std::invalid_argument);
    }
  }
}
