// Values as they are built and asked by the code that makes and folds entries.
#include "log/json.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

using baybook::log::Malformed;
using baybook::log::max_whole;
using baybook::log::Value;

TEST_SUITE_BEGIN("log/json");

// What must not compile.
static_assert(!std::is_constructible_v<Value, double>, "a fraction would be cut");
static_assert(!std::is_constructible_v<Value, float>, "a fraction would be cut");
static_assert(!std::is_constructible_v<Value, std::nullptr_t>, "there is no null");
static_assert(!std::is_constructible_v<Value, void*>, "a pointer is not a bool");
static_assert(!std::is_constructible_v<Value, const int*>, "a pointer is not a bool");
static_assert(!std::is_constructible_v<Value, char>, "a letter is not a number");
static_assert(!std::is_constructible_v<Value, std::uint64_t>, "2^63 would turn negative");
template <class T>
concept can_lend_text = requires(T&& value) { static_cast<T&&>(value).str("key"); };
static_assert(can_lend_text<const Value&> && !can_lend_text<Value>, "a view into a temporary would dangle");
// What must be cheap.
static_assert(std::is_nothrow_move_constructible_v<Value> && std::is_nothrow_move_assignable_v<Value>);
static_assert(sizeof(Value) <= 40, "a string and its tag");

TEST_CASE("a value without an argument is an empty object") {
  const Value value;
  REQUIRE(value.is_object());
  CHECK(value.as_object().empty());
}

TEST_CASE("each argument makes the type it looks like, and only that one") {
  const char* pointer = "text";
  CHECK(Value(pointer).as_string() == "text");
  CHECK(Value("text").is_string());
  CHECK_FALSE(Value("text").is_bool());
  CHECK(Value(std::string("text")).as_string() == "text");
  CHECK(Value(std::string_view("text, cut").substr(0, 4)).as_string() == "text");
  CHECK(Value(7).as_int() == 7);
  CHECK(Value(std::int64_t{-7}).as_int() == -7);
  CHECK_FALSE(Value(1).is_bool());
  CHECK(Value(true).as_bool());
  CHECK_FALSE(Value(false).as_bool());
  CHECK_FALSE(Value(true).is_int());
  CHECK(Value(std::vector<Value>{1, "two", false}).as_array().size() == 3);
  CHECK(Value::array().is_array());
  CHECK_FALSE(Value::array().is_object());
}

TEST_CASE("whole numbers end at 2^53 - 1 on both sides") {
  CHECK(Value(max_whole).as_int() == 9007199254740991);
  CHECK(Value(-max_whole).as_int() == -9007199254740991);
  CHECK_THROWS_AS(Value(max_whole + 1), Malformed);
  CHECK_THROWS_AS(Value(-max_whole - 1), Malformed);
  CHECK_THROWS_AS(Value(INT64_MIN), Malformed);
}

TEST_CASE("members stand in the order of their keys however they came") {
  Value value;
  for (const char* key : {"recorded", "", "by", "kind2", "kind", "Kind", "_", "10", "9"}) value[key] = key;
  std::vector<std::string> keys;
  for (const auto& [key, item] : value.as_object()) {
    keys.push_back(key);
    CHECK(item.as_string() == key);
  }
  CHECK(keys == std::vector<std::string>{"", "10", "9", "Kind", "_", "by", "kind", "kind2", "recorded"});

  Value::Object backwards(value.as_object().rbegin(), value.as_object().rend());
  CHECK(Value::object(backwards) == value);
}

TEST_CASE("asking for a key again gives the same member, not a second one") {
  Value value;
  value["number"] = 1;
  value["number"] = 2;
  CHECK(value.as_object().size() == 1);
  CHECK(value.num("number") == 2);
  value["details"]["place"]["number"] = 3;
  CHECK(value.find("details")->find("place")->num("number") == 3);
}

TEST_CASE("a key twice or a key beyond ASCII makes no object") {
  CHECK_THROWS_AS(static_cast<void>(Value::object({{"a", 1}, {"b", 2}, {"a", 1}})), Malformed);
  CHECK_THROWS_AS(static_cast<void>(Value::object({{"\xC3\xB6l", 1}})), Malformed);
  Value value;
  CHECK_THROWS_AS(value["\xC3\xB6l"], Malformed);
  CHECK(value.as_object().empty());
}

TEST_CASE("only what is there is found") {
  Value value;
  value["b"] = "here";
  CHECK(value.has("b"));
  for (const char* absent : {"", "a", "ba", "B", "c"}) {
    CAPTURE(absent);
    CHECK_FALSE(value.has(absent));
    CHECK(value.find(absent) == nullptr);
  }
  CHECK(Value("b").find("b") == nullptr);
  CHECK(Value::array({"b"}).find("b") == nullptr);
}

TEST_CASE("a member that is missing or of another type is malformed, and the message names it") {
  Value value;
  value["text"] = "1";
  value["number"] = 1;
  value["flag"] = true;
  value["list"] = Value::array({1, 2});
  CHECK(value.str("text") == "1");
  CHECK(value.num("number") == 1);
  CHECK(value.flag("flag"));
  CHECK(value.list("list").size() == 2);
  CHECK_THROWS_WITH_AS(static_cast<void>(value.str("number")), "\"number\": wanted text, found a number", Malformed);
  CHECK_THROWS_WITH_AS(static_cast<void>(value.num("text")), "\"text\": wanted a number, found text", Malformed);
  CHECK_THROWS_WITH_AS(static_cast<void>(value.num("flag")), "\"flag\": wanted a number, found yes or no", Malformed);
  CHECK_THROWS_WITH_AS(static_cast<void>(value.flag("list")), "\"list\": wanted yes or no, found a list", Malformed);
  CHECK_THROWS_WITH_AS(static_cast<void>(value.list("text")), "\"text\": wanted a list, found text", Malformed);
  CHECK_THROWS_WITH_AS(static_cast<void>(value.str("by")), "\"by\" is missing", Malformed);
}

TEST_CASE("a value read as another type is malformed") {
  CHECK_THROWS_AS(static_cast<void>(Value(1).as_string()), Malformed);
  CHECK_THROWS_AS(static_cast<void>(Value("1").as_int()), Malformed);
  CHECK_THROWS_AS(static_cast<void>(Value(1).as_bool()), Malformed);
  CHECK_THROWS_AS(static_cast<void>(Value().as_array()), Malformed);
  CHECK_THROWS_AS(static_cast<void>(Value::array().as_object()), Malformed);
  Value number(1);
  CHECK_THROWS_AS(number["key"], Malformed);
  CHECK(number.as_int() == 1);
}

TEST_CASE("values are equal when type and contents are") {
  CHECK(Value("1") == Value("1"));
  CHECK_FALSE(Value("1") == Value(1));
  CHECK_FALSE(Value(1) == Value(true));
  CHECK_FALSE(Value() == Value::array());
  CHECK_FALSE(Value::array({1, 2}) == Value::array({2, 1}));
  Value left;
  left["a"] = 1;
  left["b"] = Value::array({"x"});
  Value right;
  right["b"] = Value::array({"x"});
  right["a"] = 1;
  CHECK(left == right);
  right["b"].as_array()[0] = "y";
  CHECK_FALSE(left == right);
}

TEST_CASE("a copy lives by itself") {
  Value first;
  first["a"] = 1;
  Value second = first;
  second["a"] = 2;
  CHECK(first.num("a") == 1);
  CHECK(second.num("a") == 2);
}

TEST_SUITE_END();
