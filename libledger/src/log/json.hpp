// The values an entry's body can be made of: strings, whole numbers, booleans, arrays, objects. Nothing else.
//
// There is no null and no fraction, so that a body has one spelling only (see canonical.hpp). An object keeps its
// members sorted at all times: two equal values look the same in memory, and writing one needs no sorting.
#pragma once

#include <concepts>
#include <cstddef>
#include <cstdint>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace baybook::log {

/// A value is not what its reader or its maker takes it for: a missing key, another type, a number out of range. It never
/// leaves the library: reading a stored entry turns it into a Refusal with Code::unsound.
class Malformed : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// The largest whole number that every JSON reader keeps exactly: 2^53 - 1 (RFC 8785, appendix D). Larger ones are strings.
inline constexpr std::int64_t max_whole = (std::int64_t{1} << 53) - 1;

/// One JSON value. Moves are cheap, scalars need no heap (short strings included). A moved-from value may only be assigned
/// to or destroyed. Not safe for one thread to change while another reads.
class Value {
 public:
  using Array = std::vector<Value>;
  using Member = std::pair<std::string, Value>;
  using Object = std::vector<Member>;

  /// An empty object.
  Value() : held_(std::in_place_type<Object>) {}
  Value(const Value& other) : held_(copy_of(other.held_)) {}
  Value(Value&& other) noexcept = default;
  /// When memory runs out the value stays what it was.
  Value& operator=(const Value& other) {
    if (this != &other) held_ = copy_of(other.held_);
    return *this;
  }
  Value& operator=(Value&& other) noexcept = default;
  ~Value() = default;

  // Implicit on purpose, so that `body["kind"] = "opening"` reads like the entry it makes.
  Value(std::string text) : held_(std::move(text)) {}                    // NOLINT(google-explicit-constructor)
  Value(std::string_view text) : held_(std::in_place_type<std::string>, text) {}  // NOLINT(google-explicit-constructor)
  Value(const char* text) : held_(std::in_place_type<std::string>, text) {}       // NOLINT(google-explicit-constructor)
  /// Throws Malformed beyond +-max_whole.
  Value(std::int64_t number);                                            // NOLINT(google-explicit-constructor)
  Value(int number) : Value(std::int64_t{number}) {}                     // NOLINT(google-explicit-constructor)
  /// Beware of `Array{other_array}`: braces make an array with one array in it.
  Value(Array items) : held_(std::move(items)) {}                        // NOLINT(google-explicit-constructor)
  /// Only a real bool: every pointer turns into bool by itself, and a `char*` must stay text.
  template <std::same_as<bool> Bool>
  Value(Bool yes) : held_(static_cast<bool>(yes)) {}                     // NOLINT(google-explicit-constructor)

  Value(std::nullptr_t) = delete;  // there is no null, and as a char* it would be a crash
  Value(char) = delete;            // 'a' would become the number 97

  /// An object of these members in any order. Throws Malformed if a key occurs twice or is not ASCII.
  [[nodiscard]] static Value object(Object members);
  [[nodiscard]] static Value array(Array items = {}) { return Value(std::move(items)); }

  [[nodiscard]] bool is_string() const noexcept { return std::holds_alternative<std::string>(held_); }
  [[nodiscard]] bool is_int() const noexcept { return std::holds_alternative<std::int64_t>(held_); }
  [[nodiscard]] bool is_bool() const noexcept { return std::holds_alternative<bool>(held_); }
  [[nodiscard]] bool is_array() const noexcept { return std::holds_alternative<Array>(held_); }
  [[nodiscard]] bool is_object() const noexcept { return std::holds_alternative<Object>(held_); }

  // Each throws Malformed when the value is of another type.
  [[nodiscard]] const std::string& as_string() const;
  [[nodiscard]] std::int64_t as_int() const;
  [[nodiscard]] bool as_bool() const;
  [[nodiscard]] const Array& as_array() const;
  [[nodiscard]] Array& as_array();
  /// Members in ascending order of their keys. Constant: changing a key from outside would break that order.
  [[nodiscard]] const Object& as_object() const;

  /// The member of that name; a new one is an empty object. Throws Malformed if this is no object or the key is not ASCII.
  /// The reference holds until the next member is added.
  Value& operator[](std::string_view key);
  /// The member of that name, or nullptr; nullptr too if this is no object.
  [[nodiscard]] const Value* find(std::string_view key) const noexcept;
  [[nodiscard]] bool has(std::string_view key) const noexcept { return find(key) != nullptr; }
  /// The member of that name; throws Malformed when there is none. What a stored body should have is never taken for granted.
  [[nodiscard]] const Value& at(std::string_view key) const;

  // The member of that name as text, number, yes or no, list. Each throws Malformed when it is missing or of another type.
  /// The view holds as long as the member does.
  [[nodiscard]] std::string_view str(std::string_view key) const&;
  std::string_view str(std::string_view key) && = delete;  // the view would dangle: the text dies with the value
  [[nodiscard]] std::int64_t num(std::string_view key) const;
  [[nodiscard]] bool flag(std::string_view key) const;
  [[nodiscard]] const Array& list(std::string_view key) const&;
  const Array& list(std::string_view key) && = delete;  // would dangle, as above

  friend bool operator==(const Value& left, const Value& right);

 private:
  template <class T>
  const T& held(const char* wanted) const;
  template <class T>
  const T& member(std::string_view key, const char* wanted) const;
  [[nodiscard]] const char* type() const noexcept;

  using Held = std::variant<Object, Array, std::string, std::int64_t, bool>;
  /// Copied outside of the variant and moved in, which cannot fail. Where a copy fails within one, libstdc++ 12 destroys what was never made:
  /// it takes a variant of vectors and strings for one that always holds a value, and visits it at the index of none.
  static Held copy_of(const Held& held) {
    return std::visit(
        []<class T>(const T& one) {
          T copy = one;
          return Held(std::in_place_type<T>, std::move(copy));
        },
        held);
  }

  Held held_;
};

}  // namespace baybook::log
