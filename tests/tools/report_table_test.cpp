// The same report for other programs (CSV, JSON) and for a terminal.
#include "report_samples.hpp"

#include <baybook/text.hpp>

#include <render/json.hpp>
#include <report/columns.hpp>

#include <nlohmann/json.hpp>

using namespace baybook::test;

namespace {

using Rows = std::vector<std::vector<std::string>>;

// What Python's csv module reads.
Rows read_back(const Desk& desk, const std::string& csv) {
  static_cast<void>(desk.put("table.csv", csv));
  const std::string json = desk.python(R"(
import csv, json
with open('table.csv', newline='', encoding='utf-8') as f:
    print(json.dumps(list(csv.reader(f, strict=True))))
)",
                                       "");
  return nlohmann::json::parse(json).get<Rows>();
}

nlohmann::json as_value(const report::Report& r) {
  baybook::tool::Json j;
  report::as_json(j, r);
  return nlohmann::json::parse(j.text());
}

}  // namespace

TEST_SUITE("tools/report tables") {
  TEST_CASE("a table is read back from CSV cell by cell, figures exact, units in the header") {
    const Desk desk;
    report::Report r = a_report();
    const report::Table t = fluids(400);
    r.blocks = {t};
    const std::string csv = report::as_csv(r, false);
    const Rows rows = read_back(desk, csv);
    CHECK(rows.front() == std::vector<std::string>{"table", "car", "product", "drained (L)", "put back (L)", "sent_off (L)", "remark"});
    for (std::size_t i = 0; i < t.rows.size(); ++i) {
      CAPTURE(i);
      CHECK(rows[i + 1][0] == "by car and product");
      CHECK(rows[i + 1][1] == t.rows[i][0].text);
      CHECK(rows[i + 1][3] == std::to_string(i) + ".250000001");
      CHECK(rows[i + 1][6] == t.rows[i][5].text);
    }
    CHECK(rows[401] == std::vector<std::string>{"by car and product (sum)", "sum", "", "1234.25", "567.5", "99.75", ""});
    for (const auto& row : rows) CHECK(row.size() == 7);
    // RFC 4180: every line ends with CRLF; a lone LF stands nowhere.
    for (std::size_t at = csv.find('\n'); at != std::string::npos; at = csv.find('\n', at + 1)) REQUIRE(csv[at - 1] == '\r');
    const Rows last(rows.begin() + 402, rows.end());
    CHECK(last.front() == std::vector<std::string>{"table", "name", "value", "", "", "", ""});
    for (const std::vector<std::string>& wanted : std::vector<std::vector<std::string>>{{"site", r.site}, {"period", r.period}, {"rules", r.rules}, {"rules_sha256", r.rules_digest}, {"program", r.program}, {"seal", r.seal}}) {
      CHECK(std::find(last.begin(), last.end(), std::vector<std::string>{"report", wanted[0], wanted[1], "", "", "", ""}) != last.end());
    }
  }

  TEST_CASE("no text cell begins a formula, figures below nothing stay figures, and raw leaves all as it is") {
    const Desk desk;
    report::Report r = a_report();
    report::Table t;
    t.caption = "=caption";
    t.columns = {{"text"}, {"figure", "L", true}};
    for (const std::string& h : hostile()) t.rows.push_back({{h}, {"-1.5"}});
    t.rows.push_back({{"plain"}, {"=1+1"}});
    t.rows.push_back({{"\xef\xbc\xa0x"}, {"-1.5-1"}});
    r.blocks = {t};
    const Rows rows = read_back(desk, report::as_csv(r, false));
    for (std::size_t i = 0; i < t.rows.size(); ++i) {
      const std::string& text = t.rows[i][0].text;
      const std::string& got = rows[i + 1][1];
      CAPTURE(text);
      CHECK(rows[i + 1][0] == "'=caption");
      const bool guarded = got == "'" + text;
      if (text.find("utf") == std::string::npos) CHECK((guarded || got == text));
      for (const char* sign : {"=", "+", "-", "@", "\t", "\r", "\xef\xbc\x9d", "\xef\xbc\x8b", "\xef\xbc\x8d", "\xef\xbc\xa0"}) CHECK_FALSE(got.starts_with(sign));
    }
    CHECK(rows[1][2] == "-1.5");
    CHECK(rows[t.rows.size() - 1][2] == "'=1+1");
    CHECK(rows[t.rows.size()][2] == "'-1.5-1");
    // An apostrophe that was typed before a sign survives the one that import takes off.
    CHECK(read_back(desk, report::as_csv(r, false))[11][1] == "''=1");
    const Rows raw = read_back(desk, report::as_csv(r, true));
    CHECK(raw[5][1] == "=cmd|'/c calc'!A0");
    CHECK(raw[1][0] == "=caption");
  }

  TEST_CASE("the JSON value keeps the exact text and the exact figures, under names that differ") {
    report::Report r = a_report();
    report::Table t = fluids(2);
    t.columns.push_back({"car"});
    for (auto& row : t.rows) row.push_back({hostile()[11]});
    r.blocks = {t, a_year(), report::Text{"h", {"a", "b"}}, report::Facts{"f", {{"n", "v"}}}};
    r.seals = {"a:1:0", "b:2:0"};
    const auto j = as_value(r);
    CHECK(j["kind"] == "totals");
    CHECK(j["amended"] == false);
    CHECK(j["rules_sha256"] == r.rules_digest);
    CHECK(j["seals"].size() == 2);
    CHECK(j["blocks"][0]["rows"][1] == nlohmann::json{{"car", "MÄRSCH-1"}, {"product", "coolant 1"}, {"drained", "1.250000001"}, {"put back", "7.5"}, {"sent_off", "0.75"}, {"remark", t.rows[1][5].text}, {"car_2", hostile()[11]}});
    CHECK(j["blocks"][0]["columns"][2] == nlohmann::json{{"key", "drained"}, {"heading", "drained"}, {"unit", "L"}, {"figure", true}});
    CHECK(j["blocks"][0]["sums"][0]["drained"] == "1234.25");
    CHECK(j["blocks"][1]["series"][1]["values"].size() == 12);
    CHECK(j["blocks"][2]["lines"] == nlohmann::json{"a", "b"});
    CHECK(j["blocks"][3]["rows"][0]["value"] == "v");
  }

  TEST_CASE("on a terminal no line is wider than the screen, nothing is lost and no control byte gets through") {
    report::Report r = a_report();
    report::Table wide = fluids(6);
    r.blocks = {wide, report::Text{"hostile", hostile()}, a_year(), report::Facts{"facts", {{"a", "b"}}}, fluids(0)};
    for (const std::size_t width : {40U, 60U, 80U, 132U}) {
      CAPTURE(width);
      const std::string text = report::as_text(r, width);
      std::size_t at = 0;
      while (at < text.size()) {
        const std::size_t end = text.find('\n', at);
        const std::string line = text.substr(at, end - at);
        CAPTURE(line);
        CHECK(baybook::display_width(line) <= static_cast<int>(width));
        CHECK(baybook::visible(line) == line);
        at = end + 1;
      }
      const std::string flat = Desk::one_blank(text);
      for (const auto& row : wide.rows) {
        // A word wider than the screen goes on in the next line.
        if (width < 60) break;
        for (const report::Cell& c : row) {
          std::string word = c.text.substr(0, c.text.find(' '));
          CAPTURE(word);
          CHECK(flat.find(word) != std::string::npos);
        }
      }
      CHECK(flat.find("seal bay:24:0b92891b135c7a37") != std::string::npos);
    }
  }

  TEST_CASE("a word too wide for its column goes on behind a hyphen or a stroke where it has one, and anywhere where it has none") {
    const report::Measure letters = [](std::string_view s) { return static_cast<double>(baybook::display_width(s)); };
    CHECK(report::lines_of("Garage de l'Évêché-sur-Mürz", 16, letters) == std::vector<std::string>{"Garage de", "l'Évêché-sur-", "Mürz"});
    CHECK(report::lines_of("BSD-2026-00000041", 12, letters) == std::vector<std::string>{"BSD-2026-", "00000041"});
    CHECK(report::lines_of("drum-coolant/17", 14, letters) == std::vector<std::string>{"drum-coolant/", "17"});
    CHECK(report::lines_of("Kühlmittelpumpe", 6, letters) == std::vector<std::string>{"Kühlmi", "ttelpu", "mpe"});
    CHECK(report::lines_of("16-01", 6, letters) == std::vector<std::string>{"16-01"});
  }

  TEST_CASE("a table on a terminal looks like this") {
    report::Report r = a_report();
    report::Table t;
    t.caption = "by product";
    t.columns = {{"product"}, {"drained", "L", true}};
    t.rows = {{{"coolant"}, {"5.4"}}, {{"oil"}, {"12.25"}}};
    t.foot = {{{"sum"}, {"17.65"}}};
    r.blocks = {t};
    r.notes.clear();
    r.rules_digest = "5f70";
    CHECK(report::as_text(r, 80) ==
          "Fluids, March 2026\n"
          "Demo workshop, invented, 2026-03-01 to 2026-03-31\n"
          "\n"
          "by product\n"
          "product  drained (L)\n"
          "--------------------\n"
          "coolant          5.4\n"
          "oil            12.25\n"
          "--------------------\n"
          "sum            17.65\n"
          "\n"
          "rules us-federal, SHA-256 5f70\n"
          "baybook 0.1.0, seal bay:24:0b92891b135c7a37\n");
  }
}
