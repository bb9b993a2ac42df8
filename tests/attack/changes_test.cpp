#include "attack/changes.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"

#include <algorithm>
#include <functional>

namespace baybook::test {

using log::Value;

namespace {

using Maybe = std::vector<Value>;  ///< one value, or none: taken out
using Whole = std::function<Value(Maybe)>;
using Instead = std::function<std::vector<Maybe>(const Value&)>;

struct Answers {
  std::vector<Maybe> all{Maybe()};
  void add(Value v) { all.push_back(Maybe(1, std::move(v))); }
};

// Calls `instead` for every value inside `v` and keeps the whole with each answer in its place.
void each(const Value& v, const std::string& path, const Whole& whole, const Instead& instead, Changed& out) {
  if (!path.empty()) {
    int n = 0;
    for (Maybe x : instead(v)) {
      const std::string shown = x.empty() ? std::string("taken out") : log::canonical(Value::array(Value::Array(1, x.front()))).substr(0, 60);
      try {
        out.emplace_back(path + " #" + std::to_string(n++) + " " + shown, whole(std::move(x)));
      } catch (const log::Malformed&) {
      }
    }
  }
  if (v.is_object()) {
    for (const auto& [key, inner] : v.as_object()) {
      const std::string name = key;
      each(inner, path + "/" + name, [&v, &whole, name](Maybe x) {
        Value::Object members;
        for (const auto& m : v.as_object()) {
          if (m.first != name) members.push_back(m);
          else if (!x.empty()) members.emplace_back(name, x.front());
        }
        return whole(Maybe(1, Value::object(std::move(members))));
      }, instead, out);
    }
  } else if (v.is_array()) {
    for (std::size_t i = 0; i < v.as_array().size(); ++i) {
      each(v.as_array()[i], path + "/" + std::to_string(i), [&v, &whole, i](Maybe x) {
        Value::Array items;
        for (std::size_t k = 0; k < v.as_array().size(); ++k) {
          if (k != i) items.push_back(v.as_array()[k]);
          else if (!x.empty()) items.push_back(x.front());
        }
        return whole(Maybe(1, Value::array(std::move(items))));
      }, instead, out);
    }
  }
}

Value list_of(const Value& v, std::size_t n) { return Value::array(Value::Array(n, v)); }

}  // namespace

Changed slight_changes(const Value& body) {
  Changed out;
  each(body, "", [](Maybe x) { return x.front(); }, [](const Value& v) -> std::vector<Maybe> {
    Answers to;
    if (v.is_string()) to.add(v.as_string() + "x");
    else if (v.is_int()) to.add(v.as_int() + 1);
    else if (v.is_bool()) to.add(!v.as_bool());
    else if (v.is_array()) to.add(Value::array());
    else to.add(Value());
    return to.all;
  }, out);
  // What is empty stays what it was.
  std::erase_if(out, [&](const auto& c) { return c.second == body; });
  return out;
}

Changed absurd_changes(const Value& body) {
  Changed out;
  const Value* details = body.find("details");
  if (details == nullptr) return out;
  each(*details, "", [&body](Maybe x) {
    Value copy = body;
    copy["details"] = x.front();
    return copy;
  }, [](const Value& v) -> std::vector<Maybe> {
    // References: to none, to the opening, to the last, to what cannot be, to a strange installation; amounts, days, names, lists.
    Answers to;
    for (const Value& x : {Value(0), Value(-1), Value(1), Value(2), Value(31), Value(999999), Value(log::max_whole), Value(std::int64_t{1} << 40), Value(true), Value(""), Value("x"), Value(), Value::array()}) to.add(x);
    for (const char* text : {"9223372036854775807", "-9223372036854775808", "9007199254740991", "-5", "0", "9999-12-31", "2999-12-31", "1900-01-01", "0000-00-00", "2026-13", "ffffffffffffffffffffffffffffffff:1", "zz:1", ":", "before", "supplier", "difference", "circuit", "unknown", "../../etc/passwd"}) to.add(text);
    to.add(std::string(300000, 'y'));
    to.add(list_of(v, 3));
    if (v.is_array() && !v.as_array().empty()) to.add(list_of(v.as_array().front(), 2000));
    if (v.is_object()) {
      Value place;
      place["car"] = 3;
      place["circuit"] = "urea-tank";
      to.add(place);
    }
    return to.all;
  }, out);
  return out;
}

void rechain_one(Shell& shell, std::int64_t id) {
  const std::string before = shell.one("SELECT digest FROM entry WHERE id = " + std::to_string(id - 1));
  log::Digest previous = log::genesis;
  if (before.size() == previous.size()) std::transform(before.begin(), before.end(), previous.begin(), [](char c) { return static_cast<std::uint8_t>(c); });
  const log::Digest digest = log::chain_digest(previous, shell.one("SELECT body FROM entry WHERE id = " + std::to_string(id)));
  shell.run("UPDATE entry SET digest = x'" + log::hex(digest) + "' WHERE id = " + std::to_string(id));
}

}  // namespace baybook::test
