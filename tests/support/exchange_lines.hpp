// Exchange files in memory: made by one book, read by another.
#pragma once

#include "support/test_book.hpp"

#include <baybook/exchange.hpp>

#include <string>
#include <vector>

namespace baybook::test {

inline std::string file_of(const Book& book, const std::vector<std::string>& since = {}) {
  std::string out;
  const auto e = exchange_out(book, since, [&](std::string_view bytes) { out += bytes; });
  REQUIRE_MESSAGE(e.ok(), why(e));
  return out;
}

inline Lines lines_of(const std::string& file) {
  return [file, at = std::size_t{0}](std::string& line) mutable {
    if (at >= file.size()) return false;
    const std::size_t end = std::min(file.find('\n', at), file.size());
    line = file.substr(at, end - at);
    at = end + 1;
    return true;
  };
}

inline Result<ExchangeIn> take_in(TestBook& into, const std::string& file, const std::vector<std::string>& call = {}, bool dry_run = false) {
  return exchange_in(into.book(), lines_of(file), "other.exchange", call, dry_run);
}

inline ExchangeIn taken(TestBook& into, const std::string& file) {
  auto r = take_in(into, file);
  REQUIRE_MESSAGE(r.ok(), why(r));
  return std::move(r).value();
}

}  // namespace baybook::test
