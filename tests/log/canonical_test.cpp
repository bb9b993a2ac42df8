// The one spelling of a body, and everything that is not it.
//
// Vectors marked "RFC 8785, from memory" were written down without the text of the RFC at hand.
#include "log/canonical.hpp"

#include <doctest/doctest.h>

#include <stdio.h>

#include <cstdint>
#include <cstdlib>
#include <optional>
#include <random>
#include <string>
#include <string_view>
#include <vector>

using baybook::Code;
using baybook::Result;
using baybook::log::canonical;
using baybook::log::Malformed;
using baybook::log::max_depth;
using baybook::log::max_document_bytes;
using baybook::log::max_whole;
using baybook::log::parse_canonical;
using baybook::log::parse_json;
using baybook::log::Value;

namespace {

Value read(std::string_view text) {
  const Result<Value> parsed = parse_json(text);
  INFO("text: ", std::string(text));
  if (!parsed.ok()) FAIL("refused: ", parsed.refusal().what);
  return *parsed;
}

// Both readers refuse, with the one code and a message that holds `about`.
void check_refused(std::string_view text, std::string_view about) {
  CAPTURE(std::string(text.substr(0, 80)));
  const Result<Value> loose = parse_json(text);
  const Result<Value> strict = parse_canonical(text);
  REQUIRE_FALSE(loose.ok());
  REQUIRE_FALSE(strict.ok());
  CHECK(loose.refusal().code == Code::unsound);
  CHECK(strict.refusal().code == Code::unsound);
  CAPTURE(loose.refusal().what);
  CHECK(loose.refusal().what.find(about) != std::string::npos);
  CHECK_FALSE(loose.refusal().why.empty());
}

std::string nested(int levels) {
  return std::string(static_cast<std::size_t>(levels), '[') + std::string(static_cast<std::size_t>(levels), ']');
}

}  // namespace

TEST_SUITE_BEGIN("log/canonical");

TEST_CASE("a body is written in key order, without blanks") {
  Value body;
  body["number"] = 17;
  body["kind"] = "drain";
  body["details"]["nl"] = "5200000000";
  body["details"]["whole"] = true;
  body["details"]["lots"] = Value::array({-1, Value(), Value::array()});
  CHECK(canonical(body) == R"({"details":{"lots":[-1,{},[]],"nl":"5200000000","whole":true},"kind":"drain","number":17})");
  CHECK(canonical(Value()) == "{}");
  CHECK(canonical(Value(false)) == "false");
}

TEST_CASE("escapes are the shortest there are, and only where they must be") {
  // RFC 8785, 3.2.2.2 (from memory): \b \t \n \f \r \" \\, other controls \u00xx in lower case, everything else as it is.
  CHECK(canonical(Value(std::string("\0\x01\x07\b\t\n\x0B\f\r\x0E\x1F", 11))) ==
        R"("\u0000\u0001\u0007\b\t\n\u000b\f\r\u000e\u001f")");
  CHECK(canonical("\"\\/'<>&") == R"("\"\\/'<>&")");
  CHECK(canonical("\x7F \xC2\x80 \xE2\x80\xA8 \xEF\xBF\xBF \xF0\x9F\x98\x80") ==
        "\"\x7F \xC2\x80 \xE2\x80\xA8 \xEF\xBF\xBF \xF0\x9F\x98\x80\"");
  Value odd_key;
  odd_key["a\"\n"] = 1;
  CHECK(canonical(odd_key) == R"({"a\"\n":1})");
}

TEST_CASE("the string of the RFC's sample comes out as printed there") {
  // RFC 8785, 3.2.2 input and 3.2.3 output (from memory), without the null and the fractions that bodies do not have.
  const Value sample = read(R"({
    "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
    "literals": [true, false]
  })");
  CHECK(canonical(sample) == "{\"literals\":[true,false],\"string\":\"\xE2\x82\xAC$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
}

TEST_CASE("the RFC's sample as a whole is refused for what bodies do not have") {
  // RFC 8785, 3.2.2 (from memory).
  check_refused(R"({"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001]})", "333333333.33333329");
  check_refused(R"({"literals":[null,true,false]})", "null");
  for (const char* number : {"333333333.33333329", "1E30", "4.50", "2e-3", "0.000000000000000000000000001"}) {
    check_refused(number, number);
  }
}

TEST_CASE("the RFC's sorting sample is refused for its keys, and its ASCII part is sorted as printed there") {
  // RFC 8785, 3.2.3 (from memory).
  check_refused(R"({"\u20ac":"Euro Sign","\r":"Carriage Return","\ufb33":"Hebrew Letter Dalet With Dagesh","1":"One",)"
                R"("\ud83d\ude00":"Emoji: Grinning Face","\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis"})",
                "key");
  for (const char* key : {R"(\u20ac)", R"(\ufb33)", R"(\ud83d\ude00)", R"(\u0080)", R"(\u00f6)"}) {
    check_refused(std::string("{\"") + key + "\":1}", "key");
  }
  CHECK(canonical(read(R"({"1":"One","\r":"Carriage Return"})")) == R"({"\r":"Carriage Return","1":"One"})");
}

TEST_CASE("numbers of the RFC's table that are no safe whole numbers are refused") {
  // RFC 8785, appendix B, column "JSON representation" (from memory).
  for (const char* number :
       {"5e-324", "-5e-324", "1.7976931348623157e+308", "-1.7976931348623157e+308", "9007199254740992", "-9007199254740992",
        "295147905179352830000", "9.999999999999997e+22", "1e+23", "1.0000000000000001e+23", "999999999999999700000",
        "999999999999999900000", "1e+21", "9.999999999999997e-7", "0.000001", "333333333.3333332", "333333333.33333325",
        "333333333.3333333", "333333333.3333334", "333333333.33333343", "-0.0000033333333333333333", "1424953923781206.2"}) {
    check_refused(number, number);
    check_refused(std::string("{\"n\":[") + number + "]}", number);
  }
  check_refused("-0", "-0");  // the table's second row: minus zero
  check_refused("[-0]", "-0");
}

TEST_CASE("whole numbers are read up to 2^53 - 1 and not beyond, whatever their length") {
  for (const std::int64_t number : {std::int64_t{0}, std::int64_t{1}, std::int64_t{-1}, max_whole, -max_whole}) {
    const Result<Value> parsed = parse_canonical(std::to_string(number));
    REQUIRE(parsed.ok());
    CHECK(parsed->as_int() == number);
  }
  CHECK(canonical(max_whole) == "9007199254740991");
  for (const char* number : {"9007199254740993", "9223372036854775807", "9223372036854775808", "18446744073709551615",
                             "18446744073709551616", "-9223372036854775808", "-9223372036854775809",
                             "100000000000000000000000000000000000000000000000000"}) {
    check_refused(number, number);
  }
  check_refused(std::string(400, '9'), "");                       // no double is that large
  for (const char* whole : {"1.0", "1e0", "0e0", "-0.0", "10E-1"}) check_refused(whole, whole);
}

TEST_CASE("what is not JSON is refused") {
  for (const char* text : {"", " ", "{", "}", "[1,]", "{\"a\":1,}", "{\"a\"}", "{a:1}", "{1:1}", "'a'", "\"a", "01", "+1", ".5",
                           "1.", "tru", "True", "NaN", "Infinity", "-", "1 2", "{} {}", "[1] ]", "// note\n1", "/**/1", "\"\\x\"",
                           "\"\\u12\"", "\"a\nb\"", "\"a\tb\""}) {
    check_refused(text, "not JSON");
  }
}

TEST_CASE("bytes that a parser may skip unread are refused, for they would be hashed") {
  check_refused(std::string_view("{}\0", 3), "zero byte");
  check_refused(std::string_view("{}\0{\"a\":1}", 10), "zero byte");
  check_refused(std::string_view("\"a\0b\"", 5), "zero byte");
  check_refused("\xEF\xBB\xBF{}", "byte order mark");
}

TEST_CASE("invalid UTF-8 is refused in both directions") {
  // The Unicode Standard, table 3-7: what lies just outside each row.
  for (const char* bytes : {"\x80", "\xBF", "\xC0\x80", "\xC1\xBF", "\xC2", "\xC2\x7F", "\xC2\xC0", "\xE0\x9F\xBF", "\xE0\xA0",
                            "\xED\xA0\x80", "\xED\xBF\xBF", "\xE1\x80\x7F", "\xF0\x8F\xBF\xBF", "\xF0\x90\x80", "\xF4\x90\x80\x80",
                            "\xF1\x80\x80\xC0", "\xF5\x80\x80\x80", "\xFF", "\xFE"}) {
    const std::string text = std::string("ab") + bytes;
    check_refused("\"" + text + "\"", "not JSON");
    check_refused("{\"" + text + "\":1}", "not JSON");
    CHECK_THROWS_AS(static_cast<void>(canonical(text)), Malformed);
    CHECK_THROWS_AS(static_cast<void>(canonical(text + "c")), Malformed);
  }
  for (const char* bytes : {"\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80", "\xEF\xBF\xBF",
                            "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"}) {
    const std::string text = std::string("\"") + bytes + "\"";
    REQUIRE(parse_canonical(text).ok());
    CHECK(canonical(bytes) == text);
  }
}

TEST_CASE("half a surrogate pair is refused") {
  for (const char* text : {R"("\ud800")", R"("\udc00")", R"("\ud83dx")", R"("\ud83d\u0041")", R"("\ude00\ud83d")"}) {
    check_refused(text, "not JSON");
  }
  CHECK(read(R"("\ud83d\ude00")").as_string() == "\xF0\x9F\x98\x80");
}

TEST_CASE("a key that stands twice is refused, also when it is spelled in two ways or deep inside") {
  check_refused(R"({"a":1,"a":1})", "\"a\" occurs twice");
  check_refused(R"({"a":1,"b":2,"\u0061":3})", "\"a\" occurs twice");
  check_refused(R"([{"x":{"kind":1,"b":2,"kind":2}}])", "\"kind\" occurs twice");
  CHECK(read(R"([{"a":1},{"a":1}])").as_array().size() == 2);
}

TEST_CASE("nesting is allowed to the last level and refused one beyond, in both directions") {
  REQUIRE(parse_canonical(nested(max_depth)).ok());
  check_refused(nested(max_depth + 1), "levels");
  check_refused(std::string(500'000, '['), "levels");

  Value value = Value::array();
  for (int level = 1; level < max_depth; ++level) value = Value::array({std::move(value)});
  CHECK(canonical(value) == nested(max_depth));
  Value deeper;
  deeper["a"] = value;
  CHECK_THROWS_AS(static_cast<void>(canonical(deeper)), Malformed);
  value.as_array().emplace_back("a scalar is no level");
  CHECK_NOTHROW(static_cast<void>(canonical(value)));
}

TEST_CASE("a document is allowed up to its last byte and refused one beyond, in both directions") {
  const std::string largest(max_document_bytes - 2, 'x');
  REQUIRE(parse_canonical("\"" + largest + "\"").ok());
  CHECK(canonical(largest).size() == max_document_bytes);
  check_refused("\"" + largest + "x\"", "1048577 bytes");
  CHECK_THROWS_AS(static_cast<void>(canonical(largest + "x")), Malformed);
}

TEST_CASE("every other spelling of a body is read, but is not canonical") {
  const std::string_view body = R"({"a":"A\n\u001f","b":[1,2],"c":{"x":true,"y":"/"}})";
  REQUIRE(parse_canonical(body).ok());
  const Value value = *parse_canonical(body);
  const char* const others[] = {
      R"( {"a":"A\n\u001f","b":[1,2],"c":{"x":true,"y":"/"}})",       // blank before
      "{\"a\":\"A\\n\\u001f\",\"b\":[1,2],\"c\":{\"x\":true,\"y\":\"/\"}}\n",  // line end after
      R"({"a": "A\n\u001f","b":[1,2],"c":{"x":true,"y":"/"}})",       // blank after a colon
      R"({"a":"A\n\u001f","b":[1, 2],"c":{"x":true,"y":"/"}})",       // blank after a comma
      "{\"a\":\"A\\n\\u001f\",\"b\":[1,\t2],\"c\":{\"x\":true,\"y\":\"/\"}}",  // tab
      R"({"b":[1,2],"a":"A\n\u001f","c":{"x":true,"y":"/"}})",        // key order outside
      R"({"a":"A\n\u001f","b":[1,2],"c":{"y":"/","x":true}})",        // key order inside
      R"({"a":"\u0041\n\u001f","b":[1,2],"c":{"x":true,"y":"/"}})",   // escape without need
      R"({"\u0061":"A\n\u001f","b":[1,2],"c":{"x":true,"y":"/"}})",   // the same in a key
      R"({"a":"A\u000a\u001f","b":[1,2],"c":{"x":true,"y":"/"}})",    // long escape where there is a short one
      R"({"a":"A\n\u001F","b":[1,2],"c":{"x":true,"y":"/"}})",        // upper-case digits
      R"({"a":"A\n\u001f","b":[1,2],"c":{"x":true,"y":"\/"}})",       // escaped slash
  };
  for (const char* other : others) {
    CAPTURE(other);
    const Result<Value> loose = parse_json(other);
    REQUIRE(loose.ok());
    CHECK(*loose == value);
    CHECK(canonical(*loose) == body);
    const Result<Value> strict = parse_canonical(other);
    REQUIRE_FALSE(strict.ok());
    CHECK(strict.refusal().code == Code::unsound);
    CHECK(strict.refusal().what.find("canonical") != std::string::npos);
  }
}

TEST_CASE("the refusal of a spelling names the first byte that is off") {
  CHECK(parse_canonical(R"({"a":1, "b":2})").refusal().what == "a body not in canonical form at byte 8");
  CHECK(parse_canonical("{} ").refusal().what == "a body not in canonical form at byte 3");
}

namespace {

// Values within the limits, with a liking for the ends of ranges and for characters that need care.
class Maker {
 public:
  explicit Maker(std::uint32_t seed) : random_(seed) {}

  Value value(int levels) {
    switch (below(levels > 0 ? 5 : 3)) {
      case 0: return text();
      case 1: return number();
      case 2: return below(2) == 0;
      case 3: {
        Value::Array items;
        for (auto n = below(5); n > 0; --n) items.push_back(value(levels - 1));
        return items;
      }
      default: {
        Value object;
        for (auto n = below(6); n > 0; --n) object[key()] = value(levels - 1);
        return object;
      }
    }
  }

 private:
  std::uint32_t below(std::uint32_t end) { return std::uniform_int_distribution<std::uint32_t>(0, end - 1)(random_); }

  Value number() {
    const std::int64_t edge[] = {0, 1, -1, max_whole, -max_whole};
    if (below(3) == 0) return edge[below(5)];
    return std::uniform_int_distribution<std::int64_t>(-max_whole, max_whole)(random_);
  }

  std::string key() {
    std::string made;
    for (auto n = below(5); n > 0; --n) made.push_back(static_cast<char>(below(0x80)));
    return made;
  }

  std::string text() {
    std::string made;
    for (auto n = below(12); n > 0; --n) {
      switch (below(4)) {
        case 0: append(made, below(0x80)); break;
        case 1: append(made, 0x80 + below(0x800 - 0x80)); break;
        case 2: append(made, below(2) == 0 ? 0x800 + below(0xD800 - 0x800) : 0xE000 + below(0x2000)); break;
        default: append(made, 0x10000 + below(0x100000)); break;
      }
    }
    return made;
  }

  static void append(std::string& out, std::uint32_t c) {
    const auto byte = [&](std::uint32_t b) { out.push_back(static_cast<char>(static_cast<unsigned char>(b))); };
    if (c < 0x80) return byte(c);
    if (c < 0x800) {
      byte(0xC0 | c >> 6);
    } else if (c < 0x10000) {
      byte(0xE0 | c >> 12);
      byte(0x80 | (c >> 6 & 0x3F));
    } else {
      byte(0xF0 | c >> 18);
      byte(0x80 | (c >> 12 & 0x3F));
      byte(0x80 | (c >> 6 & 0x3F));
    }
    byte(0x80 | (c & 0x3F));
  }

  std::mt19937 random_;
};

std::uint32_t chosen_seed() {
  if (const char* given = std::getenv("BAYBOOK_SEED")) return static_cast<std::uint32_t>(std::strtoul(given, nullptr, 10));
  return std::random_device{}();
}

}  // namespace

TEST_CASE("whatever is written is read back as the same value, from the same bytes") {
  const std::uint32_t seed = chosen_seed();
  MESSAGE("BAYBOOK_SEED=", seed);
  Maker make(seed);
  for (int round = 0; round < 3000; ++round) {
    CAPTURE(round);
    const Value value = make.value(5);
    const std::string bytes = canonical(value);
    CAPTURE(bytes);
    const Result<Value> back = parse_canonical(bytes);
    REQUIRE(back.ok());
    REQUIRE(*back == value);
    REQUIRE(canonical(*back) == bytes);
  }
}

TEST_CASE("one byte changed in a body never gives the same value again") {
  const std::uint32_t seed = chosen_seed();
  MESSAGE("BAYBOOK_SEED=", seed);
  Maker make(seed);
  std::mt19937 random(seed);
  int read_back = 0;
  for (int round = 0; round < 3000; ++round) {
    const Value value = make.value(3);
    std::string bytes = canonical(value);
    const std::size_t at = std::uniform_int_distribution<std::size_t>(0, bytes.size() - 1)(random);
    bytes[at] = static_cast<char>(bytes[at] ^ (1 << std::uniform_int_distribution<int>(0, 7)(random)));
    CAPTURE(bytes);
    const Result<Value> back = parse_canonical(bytes);
    if (!back.ok()) {
      REQUIRE(back.refusal().code == Code::unsound);
      continue;
    }
    ++read_back;
    REQUIRE_FALSE(*back == value);
    REQUIRE(canonical(*back) == bytes);
  }
  CHECK(read_back > 0);  // else the checks above never ran
}

namespace {

std::string as_hex(std::string_view bytes) {
  std::string out;
  for (const char c : bytes) {
    out.push_back("0123456789abcdef"[static_cast<unsigned char>(c) >> 4]);
    out.push_back("0123456789abcdef"[static_cast<unsigned char>(c) & 15]);
  }
  return out;
}

// Standard output of a command; nothing if it did not end well.
std::optional<std::string> output_of(const std::string& command) {
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return std::nullopt;
  std::string out;
  char buffer[4096];
  for (std::size_t n = 0; (n = fread(buffer, 1, sizeof buffer, pipe)) > 0;) out.append(buffer, n);
  return pclose(pipe) == 0 ? std::optional(out) : std::nullopt;
}

}  // namespace

TEST_CASE("another implementation writes the same bytes") {
  // Outside source: Python's json module, which agrees with RFC 8785 for ASCII keys and whole numbers.
  if (!output_of("python3 -c pass 2>/dev/null")) {
    MESSAGE("no python3 here: the comparison with another implementation was not made");
    return;
  }
  for (const char* text :
       {R"({ "number" : 17, "kind":"drain", "by":{"n":3,"at":"bay"}, "Kind":[], "a b":{}, "":true })",
        R"(["\u0000\u0001\b\t\n\u000b\f\r\u001F\u007f\"\\\/","\u00e9\u20AC\ud83d\ude00\u2028\ufeff"])",
        R"({"z":[9007199254740991,-9007199254740991,0,-1],"y":[true,false,[[[]]]],"\n":"","~":"","!":""})",
        R"({"10":1,"9":2,"1":3,"_":4,"A":5,"a":6,"aa":7,"a\"":8,"a\\":9,"\u007f":10,"\u0000":11})"}) {
    CAPTURE(text);
    const auto other = output_of(
        "python3 -c 'import sys,json;v=json.loads(bytes.fromhex(sys.argv[1]));"
        "print(json.dumps(v,sort_keys=True,separators=(\",\",\":\"),ensure_ascii=False).encode().hex(),end=\"\")' " +
        as_hex(text));
    REQUIRE(other.has_value());
    CHECK(as_hex(canonical(read(text))) == *other);
  }
}

TEST_SUITE_END();
