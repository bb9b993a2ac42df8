// The reader of bodies against a general-purpose one: nlohmann's JSON library, which is in the tests only.
#include "log/canonical.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <cstdlib>
#include <random>
#include <string>
#include <string_view>

using namespace baybook;
using namespace baybook::log;

TEST_SUITE("log/read_json") {
namespace {

// What the other reader made of a document, as a body's value. Only for documents that a body can be.
Value other(const nlohmann::json& j) {
  if (j.is_string()) return Value(j.get<std::string>());
  if (j.is_boolean()) return Value(j.get<bool>());
  if (j.is_number_integer()) return Value(j.get<std::int64_t>());
  if (j.is_array()) {
    Value::Array items;
    for (const auto& item : j) items.push_back(other(item));
    return Value(std::move(items));
  }
  Value out;
  for (const auto& [key, item] : j.items()) out[key] = other(item);
  return out;
}

class Documents {
 public:
  explicit Documents(std::uint32_t seed) : random_(seed) {}
  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random_); }

  // Any JSON: with blanks, escapes, fractions, nulls, and keys in any order.
  std::string any(int levels) {
    static constexpr std::string_view scalars[] = {"0", "-1", "17", "-0", "1.5", "2e3", "9007199254740991", "9007199254740992", "true", "false", "null",
                                                   R"("")", R"("plain")", R"("\u0041\n\/")", R"("\ud83d\ude00")", R"("é€😀")", R"("\u0000\u001f")"};
    static constexpr std::string_view keys[] = {R"("a")", R"("b")", R"("kind")", R"("\u0061")", R"("é")", R"("")"};
    const auto gap = [this] { return std::string(below(4) == 0 ? below(3) : 0, " \t\n"[below(3)]); };
    if (levels == 0 || below(3) == 0) return std::string(scalars[below(std::size(scalars))]);
    const bool object = below(2) == 0;
    std::string out = object ? "{" : "[";
    for (std::size_t n = below(4), i = 0; i < n; ++i) {
      if (i != 0) out += "," + gap();
      if (object) out += std::string(keys[below(std::size(keys))]) + gap() + ":" + gap();
      out += any(levels - 1) + gap();
    }
    return out + (object ? "}" : "]");
  }

  std::string damaged(std::string text) {
    for (std::size_t n = 1 + below(2); n > 0 && !text.empty(); --n) {
      const std::size_t at = below(text.size());
      switch (below(4)) {
        case 0: text.erase(at, 1); break;
        case 1: text.insert(at, 1, "\"\\{}[],:0-.eEu \x80\xC3\x1F"[below(18)]); break;
        case 2: text[at] = static_cast<char>(1 + below(255)); break;
        default: text.resize(at); break;
      }
    }
    return text;
  }

 private:
  std::mt19937 random_;
};

}  // namespace

TEST_CASE("a code point becomes as many bytes as RFC 3629, section 3, gives it, at both edges of each length") {
  const std::pair<const char*, const char*> edges[] = {{R"("\u0001")", "\x01"}, {R"("\u007f")", "\x7f"}, {R"("\u0080")", "\xc2\x80"}, {R"("\u07ff")", "\xdf\xbf"}, {R"("\u0800")", "\xe0\xa0\x80"},
                                                      {R"("\ud7ff")", "\xed\x9f\xbf"}, {R"("\ue000")", "\xee\x80\x80"}, {R"("\uffff")", "\xef\xbf\xbf"},
                                                      {R"("\ud800\udc00")", "\xf0\x90\x80\x80"}, {R"("\udbff\udfff")", "\xf4\x8f\xbf\xbf"}};
  for (const auto& edge : edges) {
    CAPTURE(std::string(edge.first));
    const auto v = parse_json(edge.first);
    REQUIRE(v.ok());
    CHECK(v->as_string() == edge.second);
  }
}

TEST_CASE("a document is JSON to the reader of bodies exactly when it is to a general-purpose reader, and means the same to both") {
  const char* given = std::getenv("BAYBOOK_SEED");
  const auto seed = given != nullptr ? static_cast<std::uint32_t>(std::strtoul(given, nullptr, 10)) : std::random_device{}();
  MESSAGE("BAYBOOK_SEED=", seed);
  Documents make(seed);
  int taken = 0;
  int refused = 0;
  int outside = 0;
  for (int round = 0; round < 20'000; ++round) {
    std::string text = make.any(4);
    if (make.below(2) == 0) text = make.damaged(std::move(text));
    CAPTURE(text);
    if (text.starts_with("\xEF\xBB\xBF")) continue;  // the other reader skips it
    const Result<Value> ours = parse_json(text);
    const bool json = nlohmann::json::accept(text);
    if (ours.ok()) {
      REQUIRE(json);
      REQUIRE(*ours == other(nlohmann::json::parse(text)));
      ++taken;
    } else if (ours.refusal().what.starts_with("not JSON")) {
      REQUIRE_FALSE(json);
      ++refused;
    } else {
      ++outside;  // JSON so far, but not what a body holds: null, a fraction, a key twice
    }
  }
  // Every way out was taken often, or the comparison says little.
  CHECK(taken > 500);
  CHECK(refused > 2000);
  CHECK(outside > 2000);
}

TEST_CASE("what a body has wrong is repeated safe for a terminal, and no longer than a line") {
  CHECK(parse_json("{\"\xEF\xBB\xBF\":1}").refusal().what == "the key \"U+FEFF\" in a body");
  // A NUL in it does not end the sentence.
  CHECK(parse_json("{\"\\u0000a\":1,\"\\u0000a\":2}").refusal().what == "the key \"\\x00a\" occurs twice");
  CHECK(parse_json("{\"\\u001b[2J\":1,\"\\u001b[2J\":2}").refusal().what == "the key \"\\x1b[2J\" occurs twice");
  const std::string key(3000, 'k');
  CHECK(parse_json("{\"" + key + "\":1,\"" + key + "\":2}").refusal().what == "the key \"" + key.substr(0, 20) + "...\" occurs twice");
  CHECK(parse_json(R"({"a":1e5,"b":2})").refusal().what.starts_with("the number 1e5 in a body"));
  CHECK(parse_json(R"({"a":1.25,"b":2})").refusal().what.starts_with("the number 1.25 in a body"));
  const std::string longest(40, 'k');
  CHECK(parse_json("{\"" + longest + "\":1,\"" + longest + "\":2}").refusal().what == "the key \"" + longest + "\" occurs twice");
  CHECK(parse_json(std::string(100'000, '7')).refusal().what.size() < 120);
  CHECK(parse_json("{\"" + std::string(100'000, 'k') + "\xC3\xA9\":1}").refusal().what.size() < 120);
}
}
