// What comes out of the printer, read back by other programs.
#include "report_samples.hpp"

#include <baybook/text.hpp>

using namespace baybook::test;
using report::Paper;

namespace {

std::string row_text(const std::vector<report::Cell>& row) {
  std::string out;
  for (const report::Cell& c : row) {
    if (!c.text.empty()) out += (out.empty() ? "" : " ") + c.text;
  }
  return out;
}

std::size_t pages_of(const Desk& desk, const std::string& pdf) { return std::stoul(desk.shell("pdfinfo " + pdf + " | sed -n 's/^Pages: *//p'")); }

}  // namespace

TEST_SUITE("tools/report pdf") {
  TEST_CASE("four hundred rows with long names and accents are all on the paper, whole and in order, on A4 and on Letter") {
    const Desk desk;
    report::Report r = a_report();
    const report::Table table = fluids(400);
    r.blocks = {table};
    for (const Paper paper : {Paper::a4, Paper::letter}) {
      CAPTURE(static_cast<int>(paper));
      static_cast<void>(desk.put("long.pdf", report::as_pdf(r, paper)));
      const std::string text = desk.text_of("long.pdf");
      std::size_t at = 0;
      for (const auto* part : {&table.rows, &table.foot}) {
        for (const auto& row : *part) {
          const std::string wanted = row_text(row);
          CAPTURE(wanted);
          at = text.find(wanted, at);
          REQUIRE(at != std::string::npos);
          at += wanted.size();
        }
      }
      CHECK(desk.misplaced("long.pdf") == "");
      const std::size_t pages = pages_of(desk, "long.pdf");
      CHECK(pages > 5);
      for (std::size_t n = 1; n <= pages; ++n) {
        CAPTURE(n);
        const std::string page = Desk::one_blank(desk.shell("pdftotext -raw -f " + std::to_string(n) + " -l " + std::to_string(n) + " long.pdf -"));
        // Every page says whose it is, by which rules, by which program, and its number; every page repeats the heading.
        for (const std::string& wanted : {r.site, r.period, "rules us-federal, SHA-256 " + r.rules_digest, std::string("baybook 0.1.0, page ") + std::to_string(n) + " of " + std::to_string(pages), "seal " + r.seal, std::string("drained (L)")}) {
          CAPTURE(wanted);
          CHECK(page.find(wanted) != std::string::npos);
        }
      }
      CHECK(desk.shell("pdfinfo long.pdf").find(paper == Paper::a4 ? "A4" : "letter") != std::string::npos);
    }
  }

  TEST_CASE("the same report gives the same bytes, and no date") {
    report::Report r = a_report();
    r.blocks = {fluids(30), a_year()};
    const std::string once = report::as_pdf(r, Paper::a4);
    CHECK(once == report::as_pdf(r, Paper::a4));
    CHECK(once.find("CreationDate") == std::string::npos);
    CHECK(once.find("/ID") == std::string::npos);
    CHECK(once != report::as_pdf(r, Paper::letter));
  }

  TEST_CASE("the fonts are in the file, with their letters") {
    const Desk desk;
    report::Report r = a_report();
    r.blocks = {fluids(3)};
    static_cast<void>(desk.put("fonts.pdf", report::as_pdf(r, Paper::a4)));
    const std::string fonts = desk.shell("pdffonts fonts.pdf");
    CAPTURE(fonts);
    CHECK(fonts.find("+DejaVuSans ") != std::string::npos);
    CHECK(fonts.find("+DejaVuSans-Bold ") != std::string::npos);
    CHECK(desk.shell("pdffonts fonts.pdf | awk 'NR>2 && !/yes yes yes/'") == "");
  }

  TEST_CASE("the seal's whole digest is read from the paper by a QR reader, on every page") {
    const Desk desk;
    report::Report r = a_report();
    r.blocks = {fluids(100)};
    static_cast<void>(desk.put("seal.pdf", report::as_pdf(r, Paper::a4)));
    const std::size_t pages = pages_of(desk, "seal.pdf");
    CHECK(pages > 1);
    for (std::size_t n = 1; n <= pages; ++n) {
      const std::string page = std::to_string(n);
      static_cast<void>(desk.shell("pdftoppm -r 200 -png -singlefile -f " + page + " -l " + page + " seal.pdf seal"));
      CHECK(desk.shell("zbarimg -q --raw seal.png") == "BAYBOOK:SEAL-BAY-24-0B92891B135C7A375F70BF18A086007016E948B04AED3B82103A36BEA41755B6\n");
    }
  }

  TEST_CASE("a wide table turns the page, a word that no page has room for goes on in the next line and loses nothing") {
    const Desk desk;
    report::Report r = a_report();
    report::Table wide;
    wide.caption = "wide";
    for (int c = 0; c < 14; ++c) wide.columns.push_back({"heading-" + std::to_string(c), "kg", c % 2 == 1});
    wide.rows.emplace_back();
    for (int c = 0; c < 14; ++c) wide.rows.back().push_back({c % 2 == 1 ? "12345." + std::to_string(c) : "name-" + std::to_string(c)});
    r.blocks = {wide};
    static_cast<void>(desk.put("wide.pdf", report::as_pdf(r, Paper::letter)));
    CHECK(desk.shell("pdfinfo wide.pdf").find("792 x 612") != std::string::npos);
    CHECK(desk.text_of("wide.pdf").find(row_text(wide.rows.front())) != std::string::npos);
    CHECK(desk.misplaced("wide.pdf") == "");

    std::string word;
    for (int i = 0; i < 1000; ++i) word += static_cast<char>('a' + i * i % 23);
    report::Table one;
    one.caption = "one long word";
    one.columns = {{"name"}, {"amount", "L", true}};
    one.rows = {{{word}, {"5.4"}}};
    r.blocks = {one};
    static_cast<void>(desk.put("word.pdf", report::as_pdf(r, Paper::a4)));
    std::string text = desk.shell("pdftotext -raw word.pdf -");
    std::erase(text, '\n');
    CHECK(text.find(word) != std::string::npos);
    CHECK(text.find("5.4") != std::string::npos);
    CHECK(desk.misplaced("word.pdf") == "");
  }

  TEST_CASE("a row that is higher than a page goes on over it") {
    const Desk desk;
    report::Report r = a_report();
    std::string text;
    std::vector<std::string> words;
    for (int i = 0; i < 3000; ++i) {
      words.push_back("w" + std::to_string(i));
      text += (text.empty() ? "" : " ") + words.back();
    }
    report::Table t;
    t.caption = "high";
    t.columns = {{"no", "", true}, {"remark"}, {"left", "L", true}};
    t.rows = {{{"1"}, {"short"}, {"2.5"}}, {{"2"}, {text}, {"3.5"}}, {{"3"}, {"short"}, {"4.5"}}};
    r.blocks = {t};
    static_cast<void>(desk.put("high.pdf", report::as_pdf(r, Paper::a4)));
    CHECK(pages_of(desk, "high.pdf") > 1);
    CHECK(desk.misplaced("high.pdf") == "");
    const std::string printed = " " + desk.text_of("high.pdf") + " ";
    std::size_t at = 0;
    for (const std::string& w : words) {
      CAPTURE(w);
      at = printed.find(" " + w + " ", at);
      REQUIRE(at != std::string::npos);
    }
  }

  TEST_CASE("a caption never stands alone at the end of a page") {
    const Desk desk;
    // Whatever comes before: at some length the second table begins near the end of the page.
    for (std::size_t lines = 30; lines < 62; lines += 1) {
      report::Report r = a_report();
      report::Text before;
      for (std::size_t i = 0; i < lines; ++i) before.lines.push_back("line");
      report::Table t = fluids(5);
      t.caption = "THE-CAPTION";
      r.blocks = {before, t};
      static_cast<void>(desk.put("caption.pdf", report::as_pdf(r, Paper::a4)));
      CAPTURE(lines);
      const std::string first = desk.shell("pdftotext -raw -f 1 -l 1 caption.pdf -");
      CHECK((first.find("THE-CAPTION") != std::string::npos) == (first.find("MÄRSCH-1") != std::string::npos));
    }
  }

  TEST_CASE("one row, no row, facts, text and a year are printed without a word over another") {
    const Desk desk;
    report::Report r = a_report();
    r.amended = true;
    report::Facts facts{"vehicle", {{"plate", "MÄRSCH-14"}, {"a name that is so long that it takes more than one line of its narrow column", "value"}, {"made by", "nobody, this is invented"}}};
    r.blocks = {facts, fluids(1), fluids(0), report::Text{"remarks", {"one line", "another"}}, a_year()};
    for (const Paper paper : {Paper::a4, Paper::letter}) {
      static_cast<void>(desk.put("mixed.pdf", report::as_pdf(r, paper)));
      CHECK(desk.misplaced("mixed.pdf") == "");
      const std::string text = desk.text_of("mixed.pdf");
      CAPTURE(text);
      for (const std::string wanted : {"Fluids, March 2026 (AMENDED)", "MÄRSCH-14", "nothing", "another", "Coolant, 2026 (L)", "December", "37.0", "drained put back sent off", r.notes.front().c_str()}) {
        CAPTURE(wanted);
        CHECK(text.find(wanted) != std::string::npos);
      }
    }
  }

  TEST_CASE("hostile text stays text on paper, and what the font has not is spelled out") {
    const Desk desk;
    report::Report r = a_report();
    report::Text text{"hostile", hostile()};
    r.blocks = {text};
    r.title = hostile().front();
    r.site = "</style>) Tj";
    static_cast<void>(desk.put("hostile.pdf", report::as_pdf(r, Paper::a4)));
    const std::string printed = desk.text_of("hostile.pdf");
    CAPTURE(printed);
    for (const std::string& h : hostile()) {
      std::string wanted = baybook::visible(h);
      if (h == "\u4E2D\u6587") wanted = "U+4E2DU+6587";
      if (h == "\xef\xbc\x9d" "1+1") wanted = "U+FF1D1+1";
      if (h == "\U0001F527") wanted = "U+1F527";
      CAPTURE(wanted);
      CHECK(printed.find(wanted) != std::string::npos);
    }
    CHECK(desk.misplaced("hostile.pdf") == "");
  }
}
