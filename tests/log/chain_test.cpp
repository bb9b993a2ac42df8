#include "log/chain.hpp"

#include <doctest/doctest.h>

#include <cstdint>
#include <stdexcept>
#include <string>

using baybook::Code;
using baybook::Result;
using baybook::log::chain_digest;
using baybook::log::Digest;
using baybook::log::genesis;
using baybook::log::hex;
using baybook::log::parse_seal;
using baybook::log::Seal;
using baybook::log::seal;
using baybook::log::sha256;

TEST_SUITE_BEGIN("log/chain");

TEST_CASE("a chain can be recomputed with sha256sum alone") {
  // Outside source: sha256sum of GNU coreutils and Python's hashlib on the same bytes:
  //   printf '%s\n%s' 0000(64 zeros)0000 '{"kind":"opening","number":1}' | sha256sum
  const Digest first = chain_digest(genesis, R"({"kind":"opening","number":1})");
  CHECK(hex(first) == "c03fbb8ae988d1d3473cd4d7b7e810636d83d90ff4ff42ca9aac8fe079cf05c4");
  const Digest second = chain_digest(first, R"({"kind":"note","number":2})");
  CHECK(hex(second) == "9d7bfa58aed04c528f125a7922f79f826ed838533494e87fae16f949fa9c7adc");
}

TEST_CASE("the chain starts at 64 zeros") {
  CHECK(hex(genesis) == std::string(64, '0'));
  CHECK(chain_digest(genesis, "{}") == sha256(std::string(64, '0') + "\n{}"));
}

TEST_CASE("a digest depends on every bit of the one before and of the body") {
  const std::string body = R"({"kind":"note"})";
  const Digest before = sha256("before");
  const Digest good = chain_digest(before, body);
  for (std::size_t bit = 0; bit < 256; ++bit) {
    Digest other = before;
    other[bit / 8] = static_cast<std::uint8_t>(other[bit / 8] ^ (1U << bit % 8));
    CHECK_FALSE(chain_digest(other, body) == good);
  }
  for (std::size_t bit = 0; bit < 8 * body.size(); ++bit) {
    std::string other = body;
    other[bit / 8] = static_cast<char>(other[bit / 8] ^ (1 << bit % 8));
    CHECK_FALSE(chain_digest(before, other) == good);
  }
  CHECK_FALSE(chain_digest(before, body + "\n") == good);
}

TEST_CASE("a seal is the tag, the number and the first 16 digits, and is read back") {
  const Digest digest = sha256("abc");
  CHECK(seal("bay", 17, digest) == "bay:17:ba7816bf8f01cfea");
  for (const char* tag : {"a", "7", "bay", "bay-2", "0-0", "a234567890123456789012345678901234567890"}) {
    for (const std::int64_t number : {std::int64_t{1}, std::int64_t{10}, std::int64_t{9007199254740991}}) {
      const Result<Seal> back = parse_seal(seal(tag, number, digest));
      REQUIRE(back.ok());
      CHECK(*back == Seal{tag, number, "ba7816bf8f01cfea"});
    }
  }
}

TEST_CASE("no seal is made that could not be read back") {
  for (const char* tag : {"", "Bay", "-bay", "bay-", "b:y", "b y", "b\xC3\xA4y", "a2345678901234567890123456789012345678901"}) {
    CAPTURE(tag);
    CHECK_THROWS_AS(static_cast<void>(seal(tag, 1, genesis)), std::invalid_argument);
    CHECK_FALSE(parse_seal(std::string(tag) + ":1:0000000000000000").ok());
  }
  for (const std::int64_t number : {std::int64_t{0}, std::int64_t{-1}, std::int64_t{9007199254740992}}) {
    CAPTURE(number);
    CHECK_THROWS_AS(static_cast<void>(seal("bay", number, genesis)), std::invalid_argument);
    CHECK_FALSE(parse_seal("bay:" + std::to_string(number) + ":0000000000000000").ok());
  }
}

TEST_CASE("what only resembles a seal is unclear, and the refusal shows one") {
  for (const char* text :
       {"", ":", "::", "bay", "bay:17", "bay:17:", ":17:ba7816bf8f01cfea", "bay::ba7816bf8f01cfea", "bay:017:ba7816bf8f01cfea",
        "bay:+17:ba7816bf8f01cfea", "bay:17 :ba7816bf8f01cfea", "bay: 17:ba7816bf8f01cfea", "bay:1x:ba7816bf8f01cfea",
        "bay:99999999999999999999:ba7816bf8f01cfea", "bay:17:ba7816bf8f01cfe", "bay:17:ba7816bf8f01cfea4",
        "bay:17:BA7816BF8F01CFEA", "bay:17:ga7816bf8f01cfea", "bay:17:ba7816bf8f01cfea ", " bay:17:ba7816bf8f01cfea",
        "bay:17:ba7816bf8f01cfea:", "x:bay:17:ba7816bf8f01cfea"}) {
    CAPTURE(text);
    const Result<Seal> parsed = parse_seal(text);
    REQUIRE_FALSE(parsed.ok());
    CHECK(parsed.refusal().code == Code::unclear);
    CHECK(parsed.refusal().what == "\"" + std::string(text) + "\" is not a seal");
    CHECK_FALSE(parsed.refusal().why.empty());
    CHECK(parsed.refusal().instead.find("bay:17:0a1b2c3d4e5f6071") != std::string::npos);
  }
  CHECK(parse_seal("bay:17:0a1b2c3d4e5f6071").ok());  // what the refusal shows is one
}

TEST_CASE("what is no seal is repeated safe for a terminal, and no longer than a line") {
  CHECK(parse_seal("bay:\x1b[2J:\xff").refusal().what == "\"bay:\\x1b[2J:\\xff\" is not a seal");
  CHECK(parse_seal(std::string(100'000, 'a')).refusal().what.size() < 120);
}

TEST_SUITE_END();
