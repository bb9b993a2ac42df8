#include "log/json.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::log {
namespace {

bool before(const Value::Member& member, std::string_view key) noexcept { return std::string_view(member.first) < key; }

// RFC 8785 sorts by UTF-16 code units, std::string by bytes. For ASCII the two agree, so no other key is let in.
void check_key(std::string_view key) {
  for (const char c : key) {
    if (static_cast<unsigned char>(c) >= 0x80) throw Malformed("a key is not ASCII");
  }
}

}  // namespace

Value::Value(std::int64_t number) : held_(number) {
  if (number > max_whole || number < -max_whole) {
    throw Malformed("the number " + std::to_string(number) + " is beyond 2^53 - 1");
  }
}

Value Value::object(Object members) {
  for (const Member& member : members) check_key(member.first);
  const auto by_key = [](const Member& a, const Member& b) { return a.first < b.first; };
  // Stored bodies arrive sorted; sorting them again would move every member for nothing.
  if (!std::is_sorted(members.begin(), members.end(), by_key)) std::sort(members.begin(), members.end(), by_key);
  const auto twice = std::adjacent_find(members.begin(), members.end(),
                                        [](const Member& a, const Member& b) { return a.first == b.first; });
  // A long key would be all that is left of the message on its line.
  if (twice != members.end()) throw Malformed("the key \"" + visible(twice->first.size() > 40 ? twice->first.substr(0, 20) + "..." : twice->first) + "\" occurs twice");
  Value made;
  made.held_ = std::move(members);
  return made;
}

const char* Value::type() const noexcept {
  if (is_object()) return "an object";
  if (is_array()) return "a list";
  if (is_string()) return "text";
  if (is_int()) return "a number";
  return "yes or no";
}

template <class T>
const T& Value::held(const char* wanted) const {
  if (const T* there = std::get_if<T>(&held_)) return *there;
  throw Malformed(std::string("wanted ") + wanted + ", found " + type());
}

template <class T>
const T& Value::member(std::string_view key, const char* wanted) const {
  const Value* value = find(key);
  if (value == nullptr) throw Malformed("\"" + std::string(key) + "\" is missing");
  if (const T* there = std::get_if<T>(&value->held_)) return *there;
  throw Malformed("\"" + std::string(key) + "\": wanted " + wanted + ", found " + value->type());
}

const std::string& Value::as_string() const { return held<std::string>("text"); }
std::int64_t Value::as_int() const { return held<std::int64_t>("a number"); }
bool Value::as_bool() const { return held<bool>("yes or no"); }
const Value::Array& Value::as_array() const { return held<Array>("a list"); }
Value::Array& Value::as_array() { return const_cast<Array&>(held<Array>("a list")); }
const Value::Object& Value::as_object() const { return held<Object>("an object"); }

Value& Value::operator[](std::string_view key) {
  Object* members = std::get_if<Object>(&held_);
  if (members == nullptr) throw Malformed(std::string("wanted an object, found ") + type());
  const auto place = std::lower_bound(members->begin(), members->end(), key, before);
  if (place != members->end() && place->first == key) return place->second;
  check_key(key);
  return members->emplace(place, std::string(key), Value())->second;
}

const Value* Value::find(std::string_view key) const noexcept {
  const Object* members = std::get_if<Object>(&held_);
  if (members == nullptr) return nullptr;
  const auto place = std::lower_bound(members->begin(), members->end(), key, before);
  return place != members->end() && place->first == key ? &place->second : nullptr;
}

const Value& Value::at(std::string_view key) const {
  const Value* there = find(key);
  if (there == nullptr) throw Malformed("\"" + std::string(key) + "\" is missing");
  return *there;
}

std::string_view Value::str(std::string_view key) const& { return member<std::string>(key, "text"); }
std::int64_t Value::num(std::string_view key) const { return member<std::int64_t>(key, "a number"); }
bool Value::flag(std::string_view key) const { return member<bool>(key, "yes or no"); }
const Value::Array& Value::list(std::string_view key) const& { return member<Array>(key, "a list"); }

bool operator==(const Value& left, const Value& right) { return left.held_ == right.held_; }

}  // namespace baybook::log
