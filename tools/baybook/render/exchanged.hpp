// What came in with an exchange file, on the screen and as JSON, and how fresh the installations
// are.
#pragma once

#include "json.hpp"

#include <baybook/exchange.hpp>
#include <baybook/peers.hpp>

#include <string>
#include <vector>

namespace baybook::tool {
class Context;
}

namespace baybook::tool::render {

/// "1 entry", "12 entries".
[[nodiscard]] std::string count_of(std::int64_t n, const char* one, const char* many);
/// In words that the file brings nothing, with how old it is beside what is here.
[[nodiscard]] std::string nothing_new(Context& c, const ExchangeIn& e);
/// What somebody should know of: papers, texts, pick-ups, what changed, who was met. One form for a
/// file and for a folder.
void exchanged(Context& c, const ExchangeIn& e);
/// What has to be settled and agreed to, after all that came in.
void to_be_settled(Context& c, std::int64_t conflicts, std::int64_t waiting);
/// In what the installations differ: site, zone, units, first rules.
void differing(Context& c);
/// The members of the answer.
void exchanged_members(Json& j, Context& c, const ExchangeIn& e);

/// The installations that another machine writes for: not this book's own, nor one that it goes on
/// from and that has written nothing since.
[[nodiscard]] std::vector<Peer> others(Context& c);
/// "newest 17:42 today" or "nothing for 3 days, newest Saturday 12:05".
[[nodiscard]] std::string freshness(Context& c, const Peer& p);
/// The members "tag", "newest" and "days" of one.
void fresh_members(Json& j, Context& c, const Peer& p);

}  // namespace baybook::tool::render
