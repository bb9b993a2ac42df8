#include "log/sha256.hpp"

#include <doctest/doctest.h>

#include <optional>
#include <string>
#include <string_view>

using baybook::log::Digest;
using baybook::log::hex;
using baybook::log::Sha256;
using baybook::log::sha256;
using baybook::log::unhex;

TEST_SUITE_BEGIN("log/sha256");

TEST_CASE("the published messages have the published digests") {
  // NIST example values for FIPS 180-4, SHA-256: one block, two blocks, and the long messages of the same series
  // (from memory; recomputed with a second implementation).
  struct Row {
    std::string message;
    const char* digest;
  };
  const Row rows[] = {
      {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
      {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
      {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",  // 448 bits
       "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
      {"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu",  // 896
       "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1"},
      {std::string(1'000'000, 'a'), "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
  };
  for (const Row& row : rows) {
    CAPTURE(row.message.substr(0, 60));
    CHECK(hex(sha256(row.message)) == row.digest);
  }
}

TEST_CASE("a message cut in two anywhere has the digest of the whole") {
  std::string message;
  for (int i = 0; i < 200; ++i) message.push_back(static_cast<char>(i * 7));
  const std::string_view whole = message;
  for (std::size_t cut = 0; cut <= whole.size(); ++cut) {
    CAPTURE(cut);
    CHECK(Sha256().update(whole.substr(0, cut)).update(whole.substr(cut)).finish() == sha256(whole));
  }
  Sha256 by_bytes;
  for (std::size_t i = 0; i < whole.size(); ++i) by_bytes.update(whole.substr(i, 1)).update("");
  CHECK(by_bytes.finish() == sha256(whole));
}

TEST_CASE("after the digest the next message starts afresh") {
  Sha256 hash;
  CHECK(hash.update("first").finish() == sha256("first"));
  CHECK(hash.update("abc").finish() == sha256("abc"));
  CHECK(hash.finish() == sha256(""));
}

TEST_CASE("a copy goes on by itself") {
  Sha256 one;
  one.update("ab");
  Sha256 other = one;
  one.update("x");
  other.update("c");
  CHECK(other.finish() == sha256("abc"));
  CHECK(one.finish() == sha256("abx"));
}

TEST_CASE("a digest is read back from its digits") {
  Digest digest{};
  for (std::size_t i = 0; i < digest.size(); ++i) digest[i] = static_cast<std::uint8_t>(i * 8 + 5);
  CHECK(hex(digest) == "050d151d252d353d454d555d656d757d858d959da5adb5bdc5cdd5dde5edf5fd");
  CHECK(unhex(hex(digest)) == digest);
  CHECK(hex(Digest{}) == std::string(64, '0'));
}

TEST_CASE("only 64 lower-case digits are a digest") {
  const std::string good = hex(sha256("abc"));
  REQUIRE(unhex(good).has_value());
  CHECK_FALSE(unhex("").has_value());
  CHECK_FALSE(unhex(good.substr(1)).has_value());
  CHECK_FALSE(unhex(good + "0").has_value());
  CHECK_FALSE(unhex(good + "\n").has_value());
  for (const char wrong : {'A', 'F', 'g', '/', ':', '`', ' ', '\0'}) {
    for (const std::size_t at : {std::size_t{0}, std::size_t{31}, std::size_t{63}}) {
      std::string text = good;
      text[at] = wrong;
      CAPTURE(text);
      CHECK_FALSE(unhex(text).has_value());
    }
  }
}

TEST_SUITE_END();
