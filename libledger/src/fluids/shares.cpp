#include "fluids/shares.hpp"

#include "log/most.hpp"

#include <baybook/text.hpp>

namespace baybook::fluids {

using log::refuse;
using log::Value;

Result<Value> write_shares(const std::vector<MassShare>& shares) {
  constexpr std::int64_t whole = 1'000'000;
  if (shares.size() > log::most::kShares)
    return refuse(Code::not_allowed, std::to_string(shares.size()) + " shares of one fluid",
                  "an entry has at most " + std::to_string(log::most::kShares),
                  "those whose release may have to be reported");
  std::vector<Value> out;
  std::vector<std::string> named;
  std::int64_t least = 0;
  for (const MassShare& s : shares) {
    auto substance = clean_text(s.substance, "substance", log::most::kSubstance);
    if (!substance.ok()) return std::move(substance).refusal();
    for (const std::string& other : named) {
      if (same_substance(other, *substance))
        return refuse(Code::already_there, *substance + " is named twice",
                      "each substance has one share", "each of them once");
    }
    named.push_back(*substance);
    least += s.low_ppm;
    Value v;
    v["best"] = s.best_ppm;
    v["high"] = s.high_ppm;
    v["low"] = s.low_ppm;
    v["substance"] = *substance;
    v["typed"] = s.typed;
    out.push_back(std::move(v));
  }
  if (least > whole)
    return refuse(Code::not_allowed, "the shares are more than 100 percent together",
                  "they are parts of one mass", "the shares again, by mass");
  return Value(std::move(out));
}

std::vector<MassShare> read_shares(const Value& details) {
  std::vector<MassShare> out;
  const Value* list = details.find("shares");
  if (list == nullptr) return out;
  for (const Value& v : list->as_array())
    out.push_back({std::string(v.str("substance")), v.num("low"), v.num("best"), v.num("high"),
                   std::string(v.str("typed"))});
  return out;
}

}  // namespace baybook::fluids
