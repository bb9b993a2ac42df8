#include "log/kind_version.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace baybook::log {

namespace {

struct Since {
  Kind kind;
  std::string_view field;
  std::int64_t version;
};
// A row stays for ever: it says what the version in a hashed body stands for.
constexpr std::array kFields = {
    Since{Kind::work, "takes-out", 2},
    Since{Kind::fit, "takes-out", 2},
};

template <class OfKind>
std::int64_t version_by(const Value& details, const OfKind& of_kind) {
  std::int64_t version = 1;
  for (const Since& s : kFields) {
    if (of_kind(s.kind) && details.find(s.field) != nullptr) version = std::max(version, s.version);
  }
  return version;
}

}  // namespace

std::int64_t version_of(Kind kind, const Value& details) {
  if (!details.is_object()) return 1;
  if (kind != Kind::correction) return version_by(details, [&](Kind k) { return k == kind; });
  // What is replaced is of the kind of its target, which the details do not name; a field that is
  // of no kind in the table says nothing.
  const Value* inner = details.find("details");
  if (inner == nullptr || !inner->is_object()) return 1;
  return version_by(*inner, [](Kind) { return true; });
}

std::int64_t last_version_of(Kind kind) noexcept {
  std::int64_t version = 1;
  for (const Since& s : kFields) {
    if (s.kind == kind || kind == Kind::correction) version = std::max(version, s.version);
  }
  return version;
}

}  // namespace baybook::log
