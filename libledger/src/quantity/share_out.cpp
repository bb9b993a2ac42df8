#include <baybook/quantity.hpp>

#include "quantity/decimal.hpp"

#include <algorithm>
#include <cassert>
#include <vector>

namespace baybook {

void share_out(std::int64_t total, const std::int64_t* weights, std::int64_t* shares, std::size_t n) {
  using quantity::i128;
  assert(total >= 0);
  i128 sum = 0;
  for (std::size_t i = 0; i < n; ++i) {
    assert(weights[i] >= 0);
    sum += weights[i];
  }
  assert(sum > 0);

  struct Remainder {
    i128 rest;
    std::size_t position;
  };
  std::vector<Remainder> remainders(n);
  std::int64_t left = total;
  for (std::size_t i = 0; i < n; ++i) {
    const i128 product = static_cast<i128>(total) * weights[i];  // below 2^126
    shares[i] = static_cast<std::int64_t>(product / sum);
    remainders[i] = {product % sum, i};
    left -= shares[i];
  }
  // Fewer units are left over than there are remainders above zero, so a weight of zero never gets one.
  std::stable_sort(remainders.begin(), remainders.end(), [](const Remainder& a, const Remainder& b) { return a.rest > b.rest; });
  for (std::size_t i = 0; left > 0; ++i, --left) ++shares[remainders[i].position];
}

}  // namespace baybook
