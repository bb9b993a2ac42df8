#include <baybook/quantity.hpp>

#include <doctest/doctest.h>

#include <cstdlib>
#include <limits>
#include <numeric>
#include <random>
#include <vector>

namespace {

using namespace baybook;

std::vector<std::int64_t> shared(std::int64_t total, const std::vector<std::int64_t>& weights) {
  std::vector<std::int64_t> shares(weights.size(), -1);
  share_out(total, weights.data(), shares.data(), weights.size());
  return shares;
}

}  // namespace

TEST_SUITE("quantity/share_out") {
  TEST_CASE("what is left over goes to the largest remainders, ties to the earlier position") {
    using List = std::vector<std::int64_t>;
    CHECK(shared(10, {1, 1, 1}) == List{4, 3, 3});
    CHECK(shared(11, {1, 1, 1}) == List{4, 4, 3});
    CHECK(shared(10, {1, 2, 3}) == List{2, 3, 5});    // 1.67, 3.33, 5
    CHECK(shared(100, {3, 0, 4}) == List{43, 0, 57});  // 42.86, 0, 57.14
    CHECK(shared(1, {0, 0, 5, 5}) == List{0, 0, 1, 0});
    CHECK(shared(0, {1, 2}) == List{0, 0});
    CHECK(shared(7, {9}) == List{7});
  }

  TEST_CASE("the largest numbers do not overflow") {
    constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max();
    using List = std::vector<std::int64_t>;
    CHECK(shared(most, {most, most}) == List{most / 2 + 1, most / 2});
    CHECK(shared(most, {most}) == List{most});
    CHECK(shared(most, {most, 0}) == List{most, 0});
  }

  TEST_CASE("random shares add up to the total and each is within one of its exact share") {
    std::random_device device;
    const unsigned seed = device();
    CAPTURE(seed);
    std::mt19937_64 random{seed};
    for (int round = 0; round < 3'000; ++round) {
      const std::size_t n = 1 + random() % 12;
      std::vector<std::int64_t> weights(n);
      // Small numbers, so that the products below fit 64 bits without help from the code under test.
      for (auto& weight : weights) weight = static_cast<std::int64_t>(random() % 4 == 0 ? 0 : random() % 1'000'000);
      weights[random() % n] += 1;
      const auto total = static_cast<std::int64_t>(random() % 1'000'000'000);
      const std::int64_t sum = std::accumulate(weights.begin(), weights.end(), std::int64_t{0});
      const auto shares = shared(total, weights);
      CAPTURE(total);
      CHECK(std::accumulate(shares.begin(), shares.end(), std::int64_t{0}) == total);
      for (std::size_t i = 0; i < n; ++i) {
        CHECK(shares[i] >= 0);
        // |share - total * weight / sum| < 1, multiplied by the sum.
        CHECK(std::abs(shares[i] * sum - total * weights[i]) < sum);
      }
    }
  }
}
