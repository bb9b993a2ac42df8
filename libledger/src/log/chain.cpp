#include "log/chain.hpp"

#include "log/json.hpp"

#include <baybook/text.hpp>

#include <charconv>
#include <stdexcept>
#include <system_error>

namespace baybook::log {
namespace {

constexpr std::size_t head_digits = 16;
constexpr std::size_t longest_shown = 80;  // a seal has 73 bytes at most

bool is_tag(std::string_view tag) noexcept {
  if (tag.empty() || tag.size() > 40 || tag.front() == '-' || tag.back() == '-') return false;
  return tag.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string_view::npos;
}

bool is_number(std::int64_t number) noexcept { return number >= 1 && number <= max_whole; }

Refusal no_seal(std::string_view text, std::string why) {
  return {.code = Code::unclear,
          .what = "\"" + visible(text.substr(0, longest_shown)) + (text.size() > longest_shown ? "..." : "") + "\" is not a seal",
          .why = std::move(why),
          .instead = "a seal as printed, such as bay:17:0a1b2c3d4e5f6071",
          .figures = {}};
}

}  // namespace

Digest chain_digest(const Digest& previous, std::string_view body) noexcept {
  const auto before = hex_digits(previous);
  return Sha256().update({before.data(), before.size()}).update("\n").update(body).finish();
}

std::string seal(std::string_view tag, std::int64_t number, const Digest& digest) {
  if (!is_tag(tag)) throw std::invalid_argument("a seal for a tag that is none");
  if (!is_number(number)) throw std::invalid_argument("a seal for a number that no entry has");
  const auto digits = hex_digits(digest);
  std::string text(tag);
  text.append(":").append(std::to_string(number)).append(":").append(digits.data(), head_digits);
  return text;
}

Result<Seal> parse_seal(std::string_view text) {
  const std::size_t first = text.find(':');
  const std::size_t second = first == std::string_view::npos ? first : text.find(':', first + 1);
  if (second == std::string_view::npos) return no_seal(text, "a seal has three parts with : between them");
  const std::string_view tag = text.substr(0, first);
  const std::string_view number_text = text.substr(first + 1, second - first - 1);
  const std::string_view head = text.substr(second + 1);

  if (!is_tag(tag)) return no_seal(text, "the tag is 1 to 40 of a-z, 0-9 and -, with a letter or digit at both ends");
  std::int64_t number = 0;
  const char* const end = number_text.data() + number_text.size();
  const auto [stop, error] = std::from_chars(number_text.data(), end, number);
  if (error != std::errc() || stop != end || number_text.front() == '0' || !is_number(number)) {
    return no_seal(text, "the number of the entry is 1 or more, without leading zeros");
  }
  if (head.size() != head_digits || head.find_first_not_of("0123456789abcdef") != std::string_view::npos) {
    return no_seal(text, "the last part is the first 16 digits of the digest, 0-9 and a-f");
  }
  return Seal{.tag = std::string(tag), .number = number, .head = std::string(head)};
}

}  // namespace baybook::log
