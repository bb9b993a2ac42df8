// What two books have not settled when a month is closed, and how fresh the others are.
#pragma once

#include "render/json.hpp"

#include <baybook/exchange.hpp>
#include <baybook/peers.hpp>

#include <vector>

namespace baybook::tool {

class Context;

struct Unsettled {
  std::int64_t all = 0;
  std::vector<Conflict> of_month{};  ///< those with an entry that happened in it
  std::vector<Peer> others{};
};
[[nodiscard]] Unsettled unsettled_of(Context& c, Month month);
void say_unsettled(Context& c, const Unsettled& u, Month month);
void unsettled_members(Json& j, Context& c, const Unsettled& u);

}  // namespace baybook::tool
