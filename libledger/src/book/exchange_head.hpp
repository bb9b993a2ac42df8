// The first line of an exchange file: its form, and whose book wrote it.
#pragma once

#include "log/entry.hpp"

#include <string>
#include <string_view>

namespace baybook::book {

/// Form 1 does not say who wrote it; form 2 does.
inline constexpr std::int64_t kExchangeForm = 2;

/// The head without its line end. `by`: the identity of the installation; empty: of form 1.
[[nodiscard]] std::string exchange_head(std::string_view by);

struct ExchangeHead {
  enum class Is : std::uint8_t { known, newer, none } is = Is::none;
  std::string by{};
};
/// What a first line says.
[[nodiscard]] ExchangeHead read_exchange_head(std::string_view line);
[[nodiscard]] ExchangeHead read_exchange_head(const log::Value& line);
/// The identity in it; empty when it is no head, or of a form that does not say.
[[nodiscard]] std::string writer_of_exchange(std::string_view line);

}  // namespace baybook::book
