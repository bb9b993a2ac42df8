#include "log/canonical.hpp"
#include "property.hpp"
#include "targets.hpp"

#include "book/unfit.hpp"
#include "log/chain.hpp"
#include "log/entry.hpp"

#include <baybook/text.hpp>

#include <nlohmann/json.hpp>

#include <algorithm>

namespace baybook::fuzz {

namespace {

using log::Value;

int depth_of(const Value& v) {
  int deepest = 0;
  if (v.is_array()) {
    for (const Value& item : v.as_array()) deepest = std::max(deepest, depth_of(item));
  } else if (v.is_object()) {
    for (const auto& [key, item] : v.as_object()) deepest = std::max(deepest, depth_of(item));
  } else {
    return 0;
  }
  return deepest + 1;
}

/// Whether a general-purpose reader takes the text for JSON, and nothing in it is what a body does not have.
class Other : public nlohmann::json::json_sax_t {
 public:
  bool fits = true;  ///< no null, no fraction, no number past 2^53 - 1, ASCII keys, 32 levels

  bool null() override { return fits = false, true; }
  bool boolean(bool) override { return true; }
  bool number_integer(number_integer_t n) override { return whole(n >= -log::max_whole && n < 0); }
  bool number_unsigned(number_unsigned_t n) override { return whole(n <= static_cast<number_unsigned_t>(log::max_whole)); }
  bool number_float(number_float_t, const string_t&) override { return whole(false); }
  bool string(string_t&) override { return true; }
  bool binary(binary_t&) override { return true; }
  bool start_object(std::size_t) override { return open(); }
  bool key(string_t& k) override {
    for (const char c : k) {
      if (static_cast<unsigned char>(c) >= 0x80) fits = false;
    }
    return true;
  }
  bool end_object() override { return --depth_, true; }
  bool start_array(std::size_t) override { return open(); }
  bool end_array() override { return --depth_, true; }
  bool parse_error(std::size_t, const std::string&, const nlohmann::detail::exception&) override { return false; }

 private:
  bool whole(bool in_range) {
    if (!in_range) fits = false;
    return true;
  }
  bool open() {
    if (++depth_ > log::max_depth) fits = false;
    return true;
  }
  int depth_ = 0;
};

// Whatever a body says, what is unfit in it is told in words that a terminal can show; and what is
// fit names only what can be looked up.
void told_apart(const Value& body) {
  std::optional<log::Header> header;
  try {
    header = log::read_header(body);
  } catch (const log::Malformed&) {
    return;
  }
  const std::vector<book::Unfit> found = book::unfit_in(*header, body);
  hold(found.size() <= book::kMostUnfit, "of one body no more is told than can be read");
  for (const book::Unfit& u : found) {
    hold(!u.field.empty() && !u.what.empty(), "what is unfit has a place and a sentence");
    hold(visible(u.sentence()) == u.sentence(),
         "what is unfit is told safely: " + visible(u.sentence()));
  }
  if (!found.empty()) return;
  const auto none = [](EntryId) -> std::optional<log::Row> { return std::nullopt; };
  hold(book::unfit_named(header->row, body, none).empty(),
       "a fit body is read to its last reference");
}

}  // namespace

void body(std::string_view text) {
  const auto read = log::parse_json(text);
  const auto strict = log::parse_canonical(text);
  if (!read) {
    told(read.refusal());
    hold(!strict.ok(), "what is no body is no canonical body");
  } else {
    const std::string bytes = log::canonical(*read);
    const auto again = log::parse_canonical(bytes);
    hold(again.ok() && *again == *read, "a body goes round through its canonical bytes");
    hold(bytes.size() <= log::max_document_bytes && depth_of(*read) <= log::max_depth, "a body is not too long and not too deep");
    hold(strict.ok() == (bytes == text), "a body is canonical exactly when its bytes are the canonical ones");
    if (!strict) told(strict.refusal());
    if (strict) {
      hold(log::canonical(*strict) == text, "an accepted body is written as the same bytes");
      (void)log::chain_digest(log::genesis, text);
      told_apart(*strict);
      // What is looked for in the bytes is what stands in the value, for a body of the form that append writes.
      const Value* time = strict->find("time");
      const std::size_t keys = strict->is_object() ? strict->as_object().size() : 0;
      const bool header = keys >= 3 && strict->as_object()[keys - 1].first == "version" && strict->as_object()[keys - 1].second.is_int() && strict->as_object()[keys - 2].first == "time";
      if (header && time->is_string()) {
        hold(log::time_of_body(text) == read_time(time->as_string()), "the time in the bytes is the time in the value");
      }
    }
  }
  if (text.size() > 65'536) return;
  Other other;
  const bool json = text.find('\0') == std::string_view::npos && !text.starts_with("\xEF\xBB\xBF") && nlohmann::json::sax_parse(text, &other);
  if (read.ok()) hold(json && other.fits, "a general-purpose reader takes every body");
  // -0 and a key twice are read by the other and are no body; nothing else is.
  if (!read.ok() && json && other.fits) {
    const std::string& what = read.refusal().what;
    hold(what.find("-0") != std::string::npos || what.find("occurs twice") != std::string::npos, "a body is refused for a reason that the other reader knows: " + what);
  }
}

}  // namespace baybook::fuzz
