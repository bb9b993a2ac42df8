// An exchange file as somebody with a text editor and the format page can make it: bodies changed,
// everything that follows from them computed anew.
#pragma once

#include "support/exchange_lines.hpp"

#include "log/canonical.hpp"
#include "log/commitment.hpp"
#include "log/sha256.hpp"
#include "log/version.hpp"

#include <algorithm>
#include <functional>

namespace baybook::test {

/// A copy of an object without one of its members.
inline log::Value without(const log::Value& object, std::string_view key) {
  log::Value::Object members;
  for (const auto& m : object.as_object()) {
    if (m.first != key) members.push_back(m);
  }
  return log::Value::object(std::move(members));
}

class Forged {
 public:
  explicit Forged(const std::string& file) {
    for (std::size_t at = 0; at < file.size();) {
      const std::size_t end = file.find('\n', at);
      lines_.push_back(file.substr(at, end - at));
      at = end + 1;
    }
    lines_.pop_back();  // the last line is made anew
  }

  /// The n-th entry of that kind, from 1: its line in the file, from 1; 0 when there is none.
  [[nodiscard]] std::size_t line_of(std::string_view kind, int n = 1) const {
    const std::string wanted = ",\"kind\":\"" + std::string(kind) + "\",\"number\":";
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      if (lines_[i].find(wanted) != std::string::npos && --n == 0) return i + 1;
    }
    return 0;
  }
  [[nodiscard]] log::Value body(std::size_t line) const {
    return log::parse_canonical(lines_.at(line - 1)).value();
  }
  [[nodiscard]] bool is_entry(std::size_t line) const {
    return lines_.at(line - 1).find("\"format\":1,") != std::string::npos;
  }
  [[nodiscard]] std::size_t size() const { return lines_.size(); }

  void put(std::size_t line, const log::Value& body) { lines_.at(line - 1) = log::canonical(body); }
  Forged& change(std::size_t line, const std::function<void(log::Value&)>& how) {
    REQUIRE(line != 0);
    log::Value b = body(line);
    how(b);
    put(line, b);
    return *this;
  }
  /// In the version that fits what is said then.
  Forged& details(std::size_t line, const std::function<void(log::Value&)>& how) {
    return change(line, [&](log::Value& b) {
      how(b["details"]);
      b["version"] = log::version_of_body(b);
    });
  }
  /// The entry as one that never had that private text.
  Forged& without_text(std::size_t line, const std::string& field) {
    change(line, [&](log::Value& b) { b["private"] = without(b["private"], field); });
    for (std::size_t at = line; at < lines_.size() && lines_[at].starts_with("{\"field\":"); ++at) {
      if (!lines_[at].starts_with("{\"field\":\"" + field + "\"")) continue;
      lines_.erase(lines_.begin() + static_cast<std::ptrdiff_t>(at));
      break;
    }
    return *this;
  }
  /// Another private text of the entry, or one that it did not have, with the commitment that fits.
  Forged& text(std::size_t line, const std::string& field, const std::string& text) {
    REQUIRE(line != 0);
    const log::Salt salt{};
    change(line,
           [&](log::Value& b) { b["private"][field] = log::hex(log::commit(field, salt, text)); });
    log::Value v;
    v["field"] = field;
    v["salt"] = std::string(64, '0');
    v["text"] = text;
    std::size_t at = line;
    for (; at < lines_.size() && lines_[at].starts_with("{\"field\":"); ++at) {
      if (lines_[at].starts_with("{\"field\":\"" + field + "\"")) {
        lines_[at] = log::canonical(v);
        return *this;
      }
    }
    lines_.insert(lines_.begin() + static_cast<std::ptrdiff_t>(at), log::canonical(v));
    return *this;
  }
  /// The whole file with the last line that fits it.
  [[nodiscard]] std::string file() const {
    std::string out;
    std::int64_t entries = 0;
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      out += lines_[i] + "\n";
      entries += is_entry(i + 1) ? 1 : 0;
    }
    log::Value end;
    end["entries"] = entries;
    end["sha256"] = log::hex(log::sha256(out));
    return out + log::canonical(end) + "\n";
  }

 private:
  std::vector<std::string> lines_{};
};

}  // namespace baybook::test
