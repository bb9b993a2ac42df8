// The rows of a file in tests/data, by column name.
#pragma once

#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#ifndef BAYBOOK_TEST_DATA
#define BAYBOOK_TEST_DATA "tests/data"
#endif

namespace baybook_test {

using CsvRow = std::map<std::string, std::string>;

/// RFC 4180, section 2: fields with commas are quoted, a quote inside is doubled. No line breaks inside fields here.
inline std::vector<std::string> csv_fields(const std::string& line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"' && quoted && i + 1 < line.size() && line[i + 1] == '"') {
      fields.back() += c;
      ++i;
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else if (c != '\r') {
      fields.back() += c;
    }
  }
  return fields;
}

/// Throws when the file is not there or a row has other columns than the first: a test must not pass on no data.
inline std::vector<CsvRow> csv_rows(const std::string& name) {
  std::ifstream file(std::string(BAYBOOK_TEST_DATA) + "/" + name);
  if (!file) throw std::runtime_error("no file " + name + " in " BAYBOOK_TEST_DATA);
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> columns = csv_fields(line);
  std::vector<CsvRow> rows;
  while (std::getline(file, line)) {
    const std::vector<std::string> fields = csv_fields(line);
    if (fields.size() != columns.size()) throw std::runtime_error(name + ": other columns in " + line);
    CsvRow& row = rows.emplace_back();
    for (std::size_t i = 0; i < columns.size(); ++i) row[columns[i]] = fields[i];
  }
  return rows;
}

}  // namespace baybook_test
