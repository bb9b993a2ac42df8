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

/// The tags of the installations in a file that are not in the book, as `call` has them here.
inline std::vector<std::string> strangers_in(Book& into, const std::string& file,
                                             const std::vector<std::string>& call) {
  std::vector<std::string> out;
  constexpr std::string_view identity = "\"installation\":\"";
  constexpr std::string_view tag = "\"tag\":\"";
  for (std::size_t at = file.find("\n{\"after\":"); at != std::string::npos;
       at = file.find("\n{\"after\":", at + 1)) {
    const std::size_t id = file.find(identity, at);
    const std::size_t named = file.find(tag, at);
    if (id == std::string::npos || named == std::string::npos) break;
    const std::string who = file.substr(id + identity.size(), 32);
    std::string name =
        file.substr(named + tag.size(), file.find('"', named + tag.size()) - named - tag.size());
    for (const std::string& c : call) {
      if (c.starts_with(name + "=")) name = c.substr(name.size() + 1);
    }
    const auto& all = into.inside().known.all;
    if (std::none_of(all.begin(), all.end(), [&](const log::Installation& i) {
          return i.identity == who || i.tag == name;
        }))
      out.push_back(name);
  }
  return out;
}

/// Without a word about whom it comes from: who is new here is met, and not accepted.
inline Result<ExchangeIn> meet(TestBook& into, const std::string& file,
                               const ExchangeOptions& options = {}) {
  return exchange_in(into.book(), lines_of(file), "other.exchange", into.stamp(), options);
}

/// As between books that trust each other: who is new here is accepted.
inline Result<ExchangeIn> take_in(TestBook& into, const std::string& file, const std::vector<std::string>& call = {}, bool dry_run = false) {
  return meet(into, file, {call, strangers_in(into.book(), file, call), dry_run});
}

inline ExchangeIn taken(TestBook& into, const std::string& file) {
  auto r = take_in(into, file);
  REQUIRE_MESSAGE(r.ok(), why(r));
  return std::move(r).value();
}

}  // namespace baybook::test
