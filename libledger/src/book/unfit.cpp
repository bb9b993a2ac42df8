#include "book/unfit_kinds.hpp"

#include "book/inside.hpp"
#include "log/canonical.hpp"
#include "log/private_fields.hpp"
#include "log/version.hpp"
#include "service/build.hpp"

#include <baybook/vin.hpp>

#include <algorithm>

namespace baybook::book {

using log::Kind;
using log::Value;

void read_details(Kind kind, Fields& f) {
  switch (kind) {
    case Kind::opening: return opening(f);
    case Kind::place: return place(f);
    case Kind::place_mark: return place_mark(f);
    case Kind::fluid: return fluid(f);
    case Kind::person: return;
    case Kind::car: return car(f);
    case Kind::car_change: return car_change(f);
    case Kind::job: return job(f);
    case Kind::job_close: return job_close(f);
    case Kind::odometer: return odometer(f);
    case Kind::code: return code(f);
    case Kind::work: return work(f);
    case Kind::fit: return fit(f);
    case Kind::torque: return torque(f);
    case Kind::movement: return movement(f);
    case Kind::gauge: return gauge(f);
    case Kind::correction: return correction(f);
    case Kind::firm: return firm(f);
    case Kind::rules: return rules(f);
    case Kind::confirm: return confirm(f);
    case Kind::inspection: return inspection(f);
    case Kind::determination: return determination(f);
    case Kind::paper: return paper(f);
    case Kind::deadline: return deadline(f);
    case Kind::deadline_done: return deadline_done(f);
    case Kind::filing: return filing(f);
    case Kind::circumstance: return circumstance(f);
    case Kind::close: return close(f);
    case Kind::schedule: return schedule(f);
    case Kind::task_done: return task_done(f);
    case Kind::put_off: return put_off(f);
    case Kind::recheck_done: return recheck_done(f);
    case Kind::hours: return hours(f);
    case Kind::settle: return settle(f);
    case Kind::erasure: return erasure(f);
    case Kind::peer: return peer(f);
  }
}

namespace {

// One that this program does not know is read no further: its fields are those of another program.
bool read_version(Fields& f, const log::Header& header, const Value& body) {
  const std::string is = "is " + std::to_string(header.version);
  if (header.version > log::kLastVersion) {
    f.wrong("version", is + ", of which this program knows nothing", Unfit::Sort::newer);
    return false;
  }
  const std::int64_t of =
      body.find("details") != nullptr ? log::version_of_body(body) : header.version;
  if (header.version != of)
    f.wrong("version", is + ", and what it says is of version " + std::to_string(of));
  return true;
}

constexpr std::int64_t kDayMs = 86'400'000;
constexpr std::int64_t kMinuteMs = 60'000;
/// The furthest that a clock on a wall stands before UTC (TimeOfDay::offset_minutes).
constexpr std::int64_t kMostOffset = 959;

// An entry holds what has happened. The zone of whoever wrote it is not looked up: another
// machine's database may not have it.
void read_moment(Fields& f, const log::Header& header, const Value& body) {
  const Day day = log::day_of_moment(header.row.moment);
  if (before_its_day(header.row))
    return f.wrong("happened", "is " + to_string(day) + ", after it was recorded");
  const auto at = body.has("time") ? read_time(body.str("time")) : std::nullopt;
  // Clocks of the years before standard time stood some seconds off the minute.
  if (at && std::int64_t{day.n} * kDayMs + (at->minute.n - at->offset_minutes - 1) * kMinuteMs >
                header.row.recorded)
    f.wrong("time", "is " + to_string(*at) + ", after it was recorded");
}

// Ends of other chains: each by its identity, once, in the order of their numbers.
void read_seen(Fields& f, const log::Header& header) {
  std::int64_t before = 0;
  f.items("seen", Need::if_said, log::most::kInstallations, [&](const Value& item, const Path& path) {
    if (std::string fault = ref_fault(item, f.reading()); !fault.empty())
      return f.reading().add(path, std::move(fault), ref_sort(item));
    const EntryId id{log::read_ref(item, header.row.id.origin())};
    if (id.origin() == header.row.id.origin())
      f.reading().add(path, "is of the installation that writes");
    else if (id.origin() <= before)
      f.reading().add(path, "does not come after the one before it");
    before = id.origin();
  });
}

// A correction may bring the main text of what it corrects; which that is, unfit_named knows.
bool may_have(Kind kind, std::string_view field) {
  if (log::private_field(kind, field) != nullptr) return true;
  if (kind != Kind::correction) return false;
  for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
    if (main_field(static_cast<Kind>(k)) == field) return true;
  }
  return false;
}

void read_private(Fields& f, Kind kind) {
  for (const log::PrivateField& field : log::private_fields(kind)) {
    if (field.always && !f.reading().has_private(field.name))
      f.wrong("private", "has no " + std::string(field.name));
  }
  const Value* all = f.any("private", Need::if_said);
  if (all == nullptr) return;
  f.object("private", Need::if_said, [&](Fields& p) {
    if (all->as_object().empty()) p.wrong("is empty: where there is nothing the field is left out");
    for (const auto& [field, digest] : all->as_object()) {
      p.hex(field, Need::always, 64);
      if (!may_have(kind, field))
        p.wrong(field, "is a text that no " + std::string(log::name_of(kind)) + " has",
                Unfit::Sort::newer);
    }
  });
}

}  // namespace

bool before_its_day(const log::Row& row) {
  return std::int64_t{log::day_of_moment(row.moment).n} * kDayMs >
         row.recorded + kMostOffset * kMinuteMs;
}

std::vector<Unfit> unfit_in(const log::Header& header, const Value& body) {
  Reading reading(header);
  const Value* privates = body.find("private");
  reading.privates = privates != nullptr && privates->is_object() ? privates : nullptr;
  Fields f(body, {}, reading);
  // Read already, with the header: whoever has none of them has no entry.
  for (const char* key :
       {"format", "version", "installation", "number", "kind", "recorded", "happened", "time"})
    f.any(key, Need::if_said);
  if (!read_version(f, header, body)) return reading.take();
  if (!log::is_identity(header.identity))
    f.wrong("installation",
            "is \"" + header.identity + "\", an identity whose number belongs to nobody");
  f.ref("by", Need::if_said);
  f.yes("clock-behind");
  read_seen(f, header);
  read_moment(f, header, body);
  read_private(f, header.row.kind);
  f.object("details", Need::always,
           [&](Fields& details) { read_details(header.row.kind, details); });
  f.end();
  return reading.take();
}

namespace {

// Of a correction's text for which the target is not known, the longest of any kind that has it.
std::size_t longest(Kind kind, std::string_view field) {
  if (kind != Kind::correction || field == "why") return log::most_private(kind, field);
  std::size_t most = 0;
  for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
    const auto* of = log::private_field(static_cast<Kind>(k), field);
    if (of != nullptr) most = std::max(most, of->most);
  }
  return most;
}

}  // namespace

Kind kind_of_text(Kind kind, std::string_view field, const log::Value& body, std::int64_t origin,
                  const NamedRow& named) {
  if (kind != Kind::correction || field == "why") return kind;
  const Value* details = body.find("details");
  const Value* target = details != nullptr ? details->find("target") : nullptr;
  if (target == nullptr) return kind;
  try {
    const auto row = named(EntryId{log::read_ref(*target, origin)});
    return row ? row->kind : kind;
  } catch (const log::Malformed&) {
    return kind;  // told of the target itself
  }
}

std::optional<Unfit> unfit_text(Kind kind, std::string_view field, std::string_view text) {
  const std::string where = "private/" + std::string(field);
  if (!may_have(kind, field))
    return Unfit{where, "is a text that no " + std::string(log::name_of(kind)) + " has", Unfit::Sort::newer};
  const std::size_t most = longest(kind, field);
  if (std::string fault = text_fault(text, most); !fault.empty())
    return Unfit{where, std::move(fault)};
  const std::string typed(text);
  if (field == "vin") {
    const auto vin = read_vin(text);
    if (!vin.ok() || vin->text != text)
      return Unfit{where, "is no VIN: 17 characters, capitals without I, O and Q, and digits"};
  }
  if (field == "plate" && !service::clean_plate(typed).ok())
    return Unfit{where,
                 "is no plate: one has a letter or digit, and begins with neither - nor car:"};
  const bool person = field == "name" && kind == Kind::person;
  if (person && !service::person_can_be_named(typed))
    return Unfit{where,
                 "is no name: person: and a number is how a person is named whose name was erased"};
  return std::nullopt;
}

NamedRow rows_of(store::Db& db) {
  return [&db](EntryId id) { return log::read_row(db, id); };
}

std::optional<Refusal> refuse_unfit(store::Db& db, const Value& body, const log::Built& built) {
  const log::Header header = log::read_header(body);
  std::vector<Unfit> all = unfit_in(header, body);
  const NamedRow named = rows_of(db);
  for (const auto& [field, text] : built.privates) {
    const Kind kind = kind_of_text(built.kind, field, body, header.row.id.origin(), named);
    if (auto bad = unfit_text(kind, field, text)) all.push_back(std::move(*bad));
  }
  if (all.empty()) all = unfit_named(header.row, body, named);
  if (all.empty()) return std::nullopt;
  const Unfit& first = all.front();
  Refusal r;
  r.code = Code::not_allowed;
  r.what = "no entry of kind " + std::string(log::name_of(built.kind)) +
           " can say this: " + first.sentence();
  r.why =
      "what is written is held to the limits of what is taken in from elsewhere (docs/format.md)";
  r.instead = "the same entry with another " + first.field.substr(first.field.rfind('/') + 1);
  if (all.size() > 1) {
    for (const Unfit& u : all) r.lines.push_back(u.sentence());
  }
  return r;
}

}  // namespace baybook::book
