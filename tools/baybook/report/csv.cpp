// RFC 4180. One header row for each table; the first column of every row names its table.
#include "csv.hpp"

#include "characters.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool::report {

namespace {

// The file is UTF-8 whatever a message repeats: a stray byte is shown as visible() shows it, all else stays as it is.
std::string utf8(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const auto c = static_cast<unsigned char>(text[at]);
    if (c < 0x80) {
      out += text[at++];
      continue;
    }
    const std::size_t length = c >= 0xf0 ? 4 : c >= 0xe0 ? 3 : 2;
    const std::string_view one = text.substr(at, length);
    const std::string safe = visible(one);
    if (one.size() == length && safe.find("\\x") == std::string::npos) {
      out += one;
      at += length;
    } else if (one.size() >= 2 && c == 0xc2 && static_cast<unsigned char>(one[1]) >= 0x80 && static_cast<unsigned char>(one[1]) < 0xa0) {
      out += one.substr(0, 2);
      at += 2;
    } else {
      out += visible(text.substr(at, 1));
      ++at;
    }
  }
  return out;
}

void field(std::string& out, const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) {
    out += text;
    return;
  }
  out += '"';
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  out += '"';
}

void put(Csv& csv, const Table& table) {
  csv.cell("table", false);
  const std::vector<std::string> keys = keys_of(table);
  for (std::size_t c = 0; c < keys.size(); ++c) csv.cell(table.columns[c].unit.empty() ? keys[c] : keys[c] + " (" + table.columns[c].unit + ")", false);
  csv.end();
  const auto rows = [&](const std::vector<std::vector<Cell>>& list, const std::string& name) {
    for (const auto& row : list) {
      csv.cell(name, false);
      for (std::size_t c = 0; c < table.columns.size(); ++c) {
        if (c < row.size()) csv.cell(machine_text(row[c]), table.columns[c].figure);
        else csv.cell("", false);
      }
      csv.end();
    }
  };
  rows(table.rows, table.caption);
  // A name of their own, so that whoever adds up a column does not count everything twice.
  rows(table.foot, table.caption + " (sum)");
}

void put(Csv& csv, const Bars& bars) {
  csv.cell("table", false);
  csv.cell("category", false);
  for (const auto& s : bars.series) csv.cell(bars.unit.empty() ? s.name : s.name + " (" + bars.unit + ")", false);
  csv.end();
  for (std::size_t i = 0; i < bars.categories.size(); ++i) {
    csv.cell(bars.caption, false);
    csv.cell(bars.categories[i], false);
    for (const auto& s : bars.series) csv.cell(i < machine_texts(s).size() ? machine_texts(s)[i] : "", true);
    csv.end();
  }
}

void put(Csv& csv, const Facts& facts) {
  csv.cell("table", false);
  csv.cell("name", false);
  csv.cell("value", false);
  csv.end();
  for (const auto& [name, value] : facts.rows) {
    csv.cell(facts.heading, false);
    csv.cell(name, false);
    csv.cell(value, true);
    csv.end();
  }
}

void put(Csv& csv, const Text& text) {
  csv.cell("table", false);
  csv.cell("text", false);
  csv.end();
  for (const std::string& line : text.lines) {
    csv.cell(text.heading, false);
    csv.cell(line, false);
    csv.end();
  }
}

}  // namespace

bool begins_a_formula(std::string_view text) {
  // What import takes off again must not be ambiguous: an apostrophe before such a text gets one more.
  while (text.starts_with('\'')) text.remove_prefix(1);
  for (const std::string_view sign : {"=", "+", "-", "@", "\t", "\r", "\xef\xbc\x9d", "\xef\xbc\x8b", "\xef\xbc\x8d", "\xef\xbc\xa0"}) {
    if (text.starts_with(sign)) return true;
  }
  return false;
}

void Csv::cell(std::string_view text, bool figure) {
  std::string value = utf8(text);
  if (!raw_ && !(figure && is_number(text)) && begins_a_formula(text)) value.insert(value.begin(), '\'');
  row_.push_back(std::move(value));
}

void Csv::end() {
  widest_ = std::max(widest_, row_.size());
  rows_.push_back(std::move(row_));
  row_.clear();
}

std::string Csv::text() const {
  std::string out;
  for (const auto& row : rows_) {
    // "Each line should contain the same number of fields throughout the file" (RFC 4180, section 2, rule 4).
    for (std::size_t c = 0; c < widest_; ++c) {
      if (c != 0) out += ',';
      if (c < row.size()) field(out, row[c]);
    }
    out += "\r\n";
  }
  return out;
}

std::string as_csv(const Report& report, bool raw) {
  Csv csv(raw);
  for (const Block& block : report.blocks) std::visit([&](const auto& b) { put(csv, b); }, block);
  Facts head;
  head.heading = "report";
  const auto say = [&](const char* name, const std::string& value) {
    if (!value.empty()) head.rows.emplace_back(name, value);
  };
  say("title", title_of(report));
  say("site", report.site);
  say("period", report.period);
  say("rules", report.rules);
  say("rules_sha256", report.rules_digest);
  say("program", report.program);
  say("seal", report.seal);
  say("seal_sha256", report.seal_digest);
  for (const std::string& s : report.seals) say("seal_of_installation", s);
  for (const std::string& n : report.notes) say("note", n);
  put(csv, head);
  return csv.text();
}

}  // namespace baybook::tool::report
