#include "log/private_fields.hpp"

#include "log/most.hpp"

#include <charconv>

namespace baybook::log {

namespace {

constexpr std::size_t kLong = 4000;
constexpr std::string_view kRecheck = "recheck-";

constexpr PrivateField kNote[] = {{"note", kLong, false}};
constexpr PrivateField kPerson[] = {
    {"name", 120, true}, {"contact", kLong, false}, {"certificate", kLong, false}};
constexpr PrivateField kCar[] = {{"plate", 40, true},
                                 {"vin", 17, false},
                                 {"keeper", kLong, false},
                                 {"keeper-contact", kLong, false}};
constexpr PrivateField kCarChange[] = {{"plate", 40, false},
                                       {"vin", 17, false},
                                       {"keeper", kLong, false},
                                       {"keeper-contact", kLong, false},
                                       {"note", kLong, false}};
constexpr PrivateField kJob[] = {{"complaint", kLong, false}, {"reason", kLong, false}};
constexpr PrivateField kJobClose[] = {
    {"result", kLong, false}, {"as-is", kLong, false}, {kRecheck, kLong, false}};
constexpr PrivateField kReason[] = {{"reason", kLong, false}};
constexpr PrivateField kWork[] = {{"text", kLong, true}};
constexpr PrivateField kFit[] = {{"description", kLong, false}};
constexpr PrivateField kTorque[] = {{"fastener", 200, true}};
constexpr PrivateField kMovement[] = {{"note", kLong, false},
                                      {"carrier", kLong, false},
                                      {"receiver", kLong, false},
                                      {"mixing", kLong, false},
                                      {"cleaned", kLong, false}};
constexpr PrivateField kWhyAlways[] = {{"why", kLong, true}};
constexpr PrivateField kFirm[] = {{"name", kLong, true}, {"contact", kLong, false}};
constexpr PrivateField kInspection[] = {{"findings", kLong, false}};
constexpr PrivateField kDetermination[] = {{"reason", kLong, true}, {"laboratory", kLong, false}};
constexpr PrivateField kPaper[] = {{"title", kLong, false}};
constexpr PrivateField kDeadline[] = {{"what", kLong, false}};
constexpr PrivateField kSettle[] = {{"why", kLong, false}};

}  // namespace

std::span<const PrivateField> private_fields(Kind kind) {
  switch (kind) {
    case Kind::person: return kPerson;
    case Kind::car: return kCar;
    case Kind::car_change: return kCarChange;
    case Kind::job: return kJob;
    case Kind::job_close: return kJobClose;
    case Kind::odometer:
    case Kind::gauge:
    case Kind::hours: return kReason;
    case Kind::work: return kWork;
    case Kind::fit: return kFit;
    case Kind::torque: return kTorque;
    case Kind::movement: return kMovement;
    case Kind::correction:
    case Kind::put_off: return kWhyAlways;
    case Kind::firm: return kFirm;
    case Kind::inspection: return kInspection;
    case Kind::determination: return kDetermination;
    case Kind::paper: return kPaper;
    case Kind::deadline: return kDeadline;
    case Kind::settle: return kSettle;
    case Kind::place_mark:
    case Kind::code:
    case Kind::confirm:
    case Kind::deadline_done:
    case Kind::close:
    case Kind::task_done:
    case Kind::recheck_done:
    case Kind::filing:
    case Kind::circumstance: return kNote;
    case Kind::opening:
    case Kind::place:
    case Kind::fluid:
    case Kind::rules:
    case Kind::schedule:
    case Kind::erasure:
    case Kind::peer: break;
  }
  return {};
}

std::optional<std::size_t> recheck_of(std::string_view field) {
  if (!field.starts_with(kRecheck)) return std::nullopt;
  const std::string_view digits = field.substr(kRecheck.size());
  std::size_t n = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), n);
  const bool whole = error == std::errc() && end == digits.data() + digits.size();
  // "recheck-01" would be a second name of the first.
  if (!whole || digits.front() == '0' || n > most::kRechecks) return std::nullopt;
  return n;
}

const PrivateField* private_field(Kind kind, std::string_view field) {
  for (const PrivateField& f : private_fields(kind)) {
    if (f.name == field && f.name != kRecheck) return &f;
    if (f.name == kRecheck && recheck_of(field)) return &f;
  }
  return nullptr;
}

std::size_t most_private(Kind kind, std::string_view field) {
  const PrivateField* f = private_field(kind, field);
  return f != nullptr ? f->most : kLong;
}

}  // namespace baybook::log
