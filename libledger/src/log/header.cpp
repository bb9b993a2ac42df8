#include "log/header.hpp"

#include <algorithm>

namespace baybook::log {

Header read_header(const Value& body) {
  Header out;
  out.format = body.num("format");
  out.version = body.num("version");
  out.identity = body.str("installation");
  const bool hex = out.identity.size() == 32 && std::all_of(out.identity.begin(), out.identity.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
  if (!hex) throw Malformed("the installation is not 32 hexadecimal digits");
  const std::int64_t number = body.num("number");
  if (number < 1 || number >= std::int64_t{1} << 40) throw Malformed("the number of an entry is between 1 and 2^40");
  out.row.id = EntryId{origin_of(out.identity) << 40 | number};
  const auto kind = read_kind(body.str("kind"));
  if (!kind) throw Malformed("its kind is unknown: " + std::string(body.str("kind")));
  out.row.kind = *kind;
  const auto recorded = read_instant(body.str("recorded"));
  if (!recorded || to_string(*recorded) != body.str("recorded")) throw Malformed("the recorded time is none");
  out.row.recorded = recorded->ms;
  const auto happened = read_day(body.str("happened"));
  if (!happened || to_string(*happened) != body.str("happened")) throw Malformed("the day on which it happened is none");
  std::optional<TimeOfDay> at;
  if (body.has("time")) {
    at = read_time(body.str("time"));
    if (!at || to_string(*at) != body.str("time")) throw Malformed("the time of day is none");
  }
  out.row.moment = moment_of(*happened, at);
  out.row.who = body.has("by") ? read_ref(*body.find("by"), out.row.id.origin()) : 0;
  return out;
}

}  // namespace baybook::log
