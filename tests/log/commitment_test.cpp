#include "log/commitment.hpp"

#include <doctest/doctest.h>

#include <cstdint>
#include <stdexcept>
#include <string>
#include <string_view>

using baybook::log::commit;
using baybook::log::Digest;
using baybook::log::hex;
using baybook::log::keyed;
using baybook::log::Salt;
using baybook::log::sha256;

namespace {

Salt counting() {
  Salt salt{};
  for (std::size_t i = 0; i < salt.size(); ++i) salt[i] = static_cast<std::uint8_t>(i);
  return salt;
}

}  // namespace

TEST_SUITE_BEGIN("log/commitment");

TEST_CASE("a commitment is the SHA-256 of name, zero byte, salt, text") {
  // Outside source: Python's hashlib, sha256(b'plate\0' + bytes(range(32)) + 'BAY 17 \u00e9'.encode()), and
  // sha256(b'complaint\0' + bytes(32)).
  CHECK(hex(commit("plate", counting(), "BAY 17 \xC3\xA9")) == "c19edeb4ecec5f6c7ce819ba89fad24f3838c8bbc8d284f42462fec724e7bd96");
  CHECK(hex(commit("complaint", Salt{}, "")) == "d8273cadd7a9c24812dc7b58207c69aba55dd053ff5ecb8e34b918e9f3c0e217");
}

TEST_CASE("another name, salt or text gives another commitment") {
  const Digest good = commit("plate", counting(), "BAY 17");
  CHECK_FALSE(commit("plates", counting(), "BAY 17") == good);
  CHECK_FALSE(commit("vin", counting(), "BAY 17") == good);
  CHECK_FALSE(commit("plate", counting(), "BAY 18") == good);
  CHECK_FALSE(commit("plate", counting(), "BAY 17 ") == good);
  for (std::size_t at = 0; at < Salt{}.size(); ++at) {
    Salt other = counting();
    other[at] ^= 0x80;
    CAPTURE(at);
    CHECK_FALSE(commit("plate", other, "BAY 17") == good);
  }
}

TEST_CASE("a name that could run into the salt is not taken") {
  CHECK_THROWS_AS(static_cast<void>(commit("", Salt{}, "text")), std::invalid_argument);
  CHECK_THROWS_AS(static_cast<void>(commit(std::string_view("a\0b", 3), Salt{}, "text")), std::invalid_argument);
}

TEST_CASE("the published keys and messages have the published HMAC") {
  // RFC 4231, 4.2 to 4.8 (from memory; recomputed with a second implementation). Case 5 is published cut to 128 bits.
  struct Row {
    int number;
    std::string key;
    std::string message;
    std::string_view digest;
  };
  std::string counted_key;
  for (char c = 1; c <= 25; ++c) counted_key.push_back(c);
  const Row rows[] = {
      {1, std::string(20, '\x0b'), "Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"},
      {2, "Jefe", "what do ya want for nothing?", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"},
      {3, std::string(20, '\xaa'), std::string(50, '\xdd'), "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"},
      {4, counted_key, std::string(50, '\xcd'), "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b"},
      {5, std::string(20, '\x0c'), "Test With Truncation", "a3b6167473100ee06e0c796c2955552b"},
      {6, std::string(131, '\xaa'), "Test Using Larger Than Block-Size Key - Hash Key First",
       "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54"},
      {7, std::string(131, '\xaa'),
       "This is a test using a larger than block-size key and a larger than block-size data. The key needs to be hashed before "
       "being used by the HMAC algorithm.",
       "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2"},
  };
  for (const Row& row : rows) {
    CAPTURE(row.number);
    CHECK(hex(keyed(row.key, row.message)).substr(0, row.digest.size()) == row.digest);
  }
}

TEST_CASE("a key of one block is used as it is, a longer one by its digest") {
  // Outside source: Python's hmac module with 64 and 65 times 'k', message 'edge'.
  CHECK(hex(keyed(std::string(64, 'k'), "edge")) == "01aff17ef5e74f80ba23ab0da9066302e79e7f1190c82e30e2f6efb9d4e400e7");
  CHECK(hex(keyed(std::string(65, 'k'), "edge")) == "636761aa0aca084843194250bab59077582294b3d305e5803b81af095596492a");
}

TEST_CASE("a once-key under another secret is another one, and never the bare hash") {
  const std::string secret(32, '\x42');
  const Digest good = keyed(secret, "till-2026-03-05");
  CHECK_FALSE(keyed(std::string(32, '\x43'), "till-2026-03-05") == good);
  CHECK_FALSE(keyed(secret, "till-2026-03-06") == good);
  CHECK_FALSE(sha256("till-2026-03-05") == good);
  CHECK_FALSE(sha256(secret + "till-2026-03-05") == good);
}

TEST_SUITE_END();
