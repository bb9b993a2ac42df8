// A report as one JSON object. Figures are text, exact, in the unit that the column names.
#include "../render/json.hpp"

#include "characters.hpp"

namespace baybook::tool::report {

namespace {

void rows(Json& j, const char* name, const Table& table, const std::vector<std::string>& keys, const std::vector<std::vector<Cell>>& list) {
  j.key(name).begin_array();
  for (const auto& row : list) {
    j.begin_object();
    for (std::size_t c = 0; c < table.columns.size(); ++c) {
      j.key(keys[c]);
      if (c < row.size()) j.string(machine_text(row[c]));
      else j.null();
      if (const std::string& also = table.columns[c].also; !also.empty())
        j.member(also, c < row.size() ? machine_text(row[c]) : "");
    }
    j.end_object();
  }
  j.end_array();
}

void put(Json& j, const Table& table) {
  const std::vector<std::string> keys = keys_of(table);
  j.member("type", "table");
  j.member("caption", table.caption);
  j.key("columns").begin_array();
  for (std::size_t c = 0; c < table.columns.size(); ++c) {
    j.begin_object();
    j.member("key", keys[c]);
    j.member("heading", table.columns[c].heading);
    j.member("unit", table.columns[c].unit);
    j.key("figure").boolean(table.columns[c].figure);
    j.end_object();
  }
  j.end_array();
  rows(j, "rows", table, keys, table.rows);
  rows(j, "sums", table, keys, table.foot);
}

void put(Json& j, const Bars& bars) {
  j.member("type", "bars");
  j.member("caption", bars.caption);
  j.member("unit", bars.unit);
  j.strings("categories", bars.categories);
  j.key("series").begin_array();
  for (const auto& s : bars.series) {
    j.begin_object();
    j.member("name", s.name);
    j.strings("values", machine_texts(s));
    j.end_object();
  }
  j.end_array();
}

void put(Json& j, const Text& text) {
  j.member("type", "text");
  j.member("heading", text.heading);
  j.strings("lines", text.lines);
}

void put(Json& j, const Facts& facts) {
  j.member("type", "facts");
  j.member("heading", facts.heading);
  j.key("rows").begin_array();
  for (const auto& [name, value] : facts.rows) {
    j.begin_object();
    j.member("name", name);
    j.member("value", value);
    j.end_object();
  }
  j.end_array();
}

}  // namespace

void as_json(Json& j, const Report& report) {
  j.begin_object();
  j.member("kind", report.kind);
  j.member("title", report.title);
  j.member("site", report.site);
  j.member("period", report.period);
  j.key("amended").boolean(report.amended);
  j.key("blocks").begin_array();
  for (const Block& block : report.blocks) {
    j.begin_object();
    std::visit([&](const auto& b) { put(j, b); }, block);
    j.end_object();
  }
  j.end_array();
  j.strings("notes", report.notes);
  j.member("rules", report.rules);
  j.member("rules_sha256", report.rules_digest);
  j.member("program", report.program);
  j.member("seal", report.seal);
  j.member("seal_sha256", report.seal_digest);
  j.strings("seals", report.seals);
  j.end_object();
}

}  // namespace baybook::tool::report
