#include "log/chain.hpp"
#include "property.hpp"
#include "targets.hpp"

namespace baybook::fuzz {

void seal(std::string_view text) {
  const auto read = log::parse_seal(text);
  if (!read) return told_with_instead(read.refusal(), text);
  hold(read->tag + ":" + std::to_string(read->number) + ":" + read->head == text, "a seal has one spelling");
  log::Digest digest{};
  for (std::size_t i = 0; i < 8; ++i) digest[i] = static_cast<std::uint8_t>(std::stoi(read->head.substr(i * 2, 2), nullptr, 16));
  hold(log::seal(read->tag, read->number, digest) == text, "a seal that is read is one that is printed");
}

}  // namespace baybook::fuzz
