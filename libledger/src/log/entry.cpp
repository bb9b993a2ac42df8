#include "log/entry.hpp"

#include "log/canonical.hpp"
#include "log/references.hpp"

#include <baybook/places.hpp>

#include <algorithm>
#include <charconv>

namespace baybook::log {

namespace {

std::int64_t whole(std::string_view text) {
  std::int64_t n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size()) throw Malformed("a whole number was expected: " + std::string(text));
  return n;
}

int hex_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  throw Malformed("an installation has 32 hexadecimal digits");
}

// A number beyond its 40 bits would run into the installation's, or turn into a circuit.
std::int64_t id_of(std::int64_t origin, std::int64_t number) {
  if (number < 1 || number >= std::int64_t{1} << 40) throw Malformed("there is no entry number " + std::to_string(number));
  return origin << 40 | number;
}

struct End {
  PlaceId place;
  std::string_view name;
};
constexpr End kEnds[] = {{kBefore, "before"},         {kSupplier, "supplier"},
                         {kGround, "ground"},         {kReceiver, "receiver"},
                         {kUsedUp, "used-up"},        {kDifference, "difference"},
                         {kMissing, "missing"}};

}  // namespace

std::optional<TimeOfDay> time_of_body(std::string_view body) {
  // Keys are in order, so "time" is the last but one; a quote inside a text is escaped, so nothing else can look like it.
  constexpr std::string_view before = ",\"time\":\"";
  constexpr std::size_t size = 11;  // 09:11+01:00
  const std::size_t at = body.rfind(before);
  // The quote behind it too: a longer text only begins like a time.
  if (at == std::string_view::npos || body.size() <= at + before.size() + size || body[at + before.size() + size] != '"') return std::nullopt;
  return read_time(body.substr(at + before.size(), size));
}

std::int64_t origin_of(std::string_view identity) {
  if (identity.size() != 32) throw Malformed("an installation has 32 hexadecimal digits");
  std::int64_t bits = 0;
  for (std::size_t i = 0; i < identity.size(); ++i) {
    const int digit = hex_value(identity[i]);
    if (i < 5) bits = bits * 16 + digit;
  }
  bits >>= 2;  // 20 bits to 18
  return bits == 0 ? 1 : bits;
}

bool is_identity(std::string_view identity) {
  if (identity.size() != 32 ||
      identity.find_first_not_of("0123456789abcdef") != std::string_view::npos)
    return false;
  return identity.substr(0, 5) >= "00004";
}

const Installation& Installations::own() const {
  for (const Installation& i : all) {
    if (i.own) return i;
  }
  throw Malformed("the book has no installation of its own");
}

std::string_view Installations::tag_of(std::int64_t origin) const {
  for (const Installation& i : all) {
    if (i.origin == origin) return i.tag;
  }
  return "?";
}

Installations installations(store::Db& db) {
  Installations out;
  auto q = db.query("SELECT origin, identity, tag, own FROM installation ORDER BY origin");
  while (q.step()) out.all.push_back({q.num(0), q.text(1), q.text(2), q.num(3) != 0});
  return out;
}

Value write_ref(std::int64_t id, const Installations& known) {
  const EntryId entry{id};
  for (const Installation& i : known.all) {
    if (i.origin != entry.origin()) continue;
    return i.own ? Value(entry.number()) : Value(i.identity + ":" + std::to_string(entry.number()));
  }
  throw Malformed("a reference to an installation that is not known here");
}

std::int64_t read_ref(const Value& ref, std::int64_t origin) {
  if (ref.is_int()) return id_of(origin, ref.as_int());
  const std::string& text = ref.as_string();
  const std::size_t colon = text.find(':');
  if (colon == std::string::npos) throw Malformed("a reference was expected: " + text);
  return id_of(origin_of(std::string_view(text).substr(0, colon)), whole(std::string_view(text).substr(colon + 1)));
}

const Circuit& circuit_at(PlaceId place) {
  const Circuit* circuit = find_circuit(place.n >> 58);
  if (circuit == nullptr) throw Malformed("a place that cannot be: " + std::to_string(place.n));
  return *circuit;
}

const FluidClass& class_at(std::int64_t number) {
  const FluidClass* c = find_class(FluidId{number});
  if (c == nullptr) throw Malformed("a fluid class that is not known: " + std::to_string(number));
  return *c;
}

Value write_place(PlaceId place, const Installations& known) {
  for (const End& end : kEnds) {
    if (end.place == place) return Value(end.name);
  }
  if (is_circuit(place)) {
    Value v;
    v["car"] = write_ref(car_of(place).n, known);
    v["circuit"] = circuit_at(place).name;
    return v;
  }
  return write_ref(place.n, known);
}

PlaceId read_place(const Value& value, std::int64_t origin) {
  if (value.is_object()) {
    const Circuit* circuit = find_circuit(value.str("circuit"));
    if (circuit == nullptr) throw Malformed("no such circuit: " + std::string(value.str("circuit")));
    const Value* car = value.find("car");
    if (car == nullptr) throw Malformed("a circuit without its car");
    return circuit_of(CarId{read_ref(*car, origin)}, *circuit);
  }
  if (value.is_string()) {
    if (const auto end = end_of_world(value.as_string())) return *end;
  }
  return PlaceId{read_ref(value, origin)};
}

std::optional<PlaceId> end_of_world(std::string_view name) {
  for (const End& end : kEnds) {
    if (end.name == name) return end.place;
  }
  return std::nullopt;
}

Value write_fluid(FluidId fluid, const Installations& known) {
  if (const FluidClass* c = find_class(fluid)) return Value(c->name);
  return write_ref(fluid.n, known);
}

FluidId read_fluid(const Value& value, std::int64_t origin) {
  if (value.is_string() && value.as_string().find(':') == std::string::npos) {
    const FluidClass* c = find_class(std::string_view(value.as_string()));
    if (c == nullptr) throw Malformed("no such class: " + value.as_string());
    return FluidId{c->number};
  }
  return FluidId{read_ref(value, origin)};
}

std::int64_t read_day_number(std::string_view iso) {
  const auto day = read_day(iso);
  if (!day) throw Malformed("a day was expected: " + std::string(iso));
  return day->n;
}

Value write_amount(const Amount& a) {
  Value v;
  v["best"] = std::to_string(a.best);
  if (a.estimated) {
    v["high"] = std::to_string(a.high);
    v["low"] = std::to_string(a.low);
  }
  v["typed"] = a.typed;
  v["unit"] = base_unit(a.dimension);
  return v;
}

Amount read_amount(const Value& v) {
  Amount a;
  const std::string_view unit = v.str("unit");
  if (unit == "nl") a.dimension = Dimension::volume;
  else if (unit == "ug") a.dimension = Dimension::mass;
  else if (unit == "pcs") a.dimension = Dimension::count;
  else throw Malformed("unknown base unit: " + std::string(unit));
  a.best = a.low = a.high = whole(v.str("best"));
  if (v.has("low")) {
    a.low = whole(v.str("low"));
    a.high = whole(v.str("high"));
    a.estimated = true;
  }
  // What can be typed is far less; sums of what is below this bound cannot run over before a book is full.
  if (std::min(a.low, a.best) < -max_whole || std::max(a.best, a.high) > max_whole) throw Malformed("an amount beyond 2^53 - 1");
  if (a.low > a.best || a.best > a.high) throw Malformed("an amount whose bounds do not hold what is between them");
  a.typed = v.str("typed");
  return a;
}

Value write_units(const Units& u) {
  constexpr std::string_view volume[] = {"litre", "us-gallon", "imperial-gallon"};
  Value v;
  v["distance"] = u.distance == DistanceUnit::kilometre ? "kilometre" : "mile";
  v["estimate-percent"] = u.estimate_percent;
  if (u.gallon) v["gallon"] = volume[static_cast<std::size_t>(*u.gallon)];
  v["torque"] = u.torque == TorqueUnit::newton_metre ? "newton-metre" : "pound-foot";
  v["volume"] = volume[static_cast<std::size_t>(u.volume)];
  return v;
}

Units read_units(const Value& v) {
  const auto volume = [](std::string_view s) {
    return s == "us-gallon" ? VolumeUnit::us_gallon : s == "imperial-gallon" ? VolumeUnit::imperial_gallon : VolumeUnit::litre;
  };
  Units u;
  u.distance = v.str("distance") == "mile" ? DistanceUnit::mile : DistanceUnit::kilometre;
  const std::int64_t percent = v.num("estimate-percent");
  if (percent < 0 || percent > 100) throw Malformed("an estimate that is off by " + std::to_string(percent) + " percent");
  u.estimate_percent = static_cast<int>(percent);
  if (v.has("gallon")) u.gallon = volume(v.str("gallon"));
  u.torque = v.str("torque") == "pound-foot" ? TorqueUnit::pound_foot : TorqueUnit::newton_metre;
  u.volume = volume(v.str("volume"));
  return u;
}

std::optional<Row> read_row(store::Db& db, EntryId id) {
  auto q = db.query("SELECT recorded, moment, kind, who, body, digest FROM entry WHERE id = ?");
  q.bind(id.n);
  if (!q.step()) return std::nullopt;
  Row row{id, q.num(0), q.num(1), static_cast<Kind>(q.num(2)), q.num(3), q.text(4), q.blob(5)};
  if (q.num(2) < 1 || q.num(2) > kLastKind) throw store::Failure(Code::unsound, db.path() + ": an entry of an unknown kind", "baybook prove");
  return row;
}

Row row_of(store::Db& db, EntryId id) {
  auto row = read_row(db, id);
  if (!row) throw store::Failure(Code::unsound, db.path() + ": entry " + std::to_string(id.number()) + " is listed and not there", "baybook prove");
  return std::move(*row);
}

EntryId first_recorded_since(store::Db& db, std::int64_t origin, Instant since) {
  std::int64_t low = 1;
  std::int64_t past = 1;
  {
    auto q = db.query("SELECT id FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1");
    q.bind((origin + 1) << 40);
    if (q.step() && EntryId{q.num(0)}.origin() == origin) past = EntryId{q.num(0)}.number() + 1;
  }
  while (low < past) {
    const std::int64_t middle = low + (past - low) / 2;
    auto q = db.query("SELECT recorded FROM entry WHERE id = ?");
    q.bind(origin << 40 | middle);
    if (!q.step()) return EntryId{origin << 40 | 1};  // a gap: a damaged log, read it all
    if (q.num(0) >= since.ms) past = middle;
    else low = middle + 1;
  }
  return EntryId{origin << 40 | low};
}

Value parse_body(const std::string& body) {
  auto parsed = parse_json(body);
  if (!parsed.ok()) throw Malformed(parsed.refusal().what);
  return std::move(parsed).value();
}

Fact read_fact(store::Db& db, const Row& row) {
  Fact fact;
  fact.effect = {row.moment, row.recorded, row.id};
  fact.kind = row.kind;
  fact.who = row.who;
  fact.source = row.id;
  {
    auto q = db.query("SELECT entry, withdrawn FROM amended WHERE target = ?");
    q.bind(row.id.n);
    if (q.step()) {
      fact.withdrawn = q.num(1) != 0;
      if (!fact.withdrawn) fact.source = EntryId{q.num(0)};
    }
  }
  if (fact.source == row.id) {
    const Value body = parse_body(row.body);
    if (const Value* d = body.find("details")) fact.details = *d;
  } else {
    const auto correction = read_row(db, fact.source);
    if (!correction) throw store::Failure(Code::unsound, db.path() + ": a correction is missing", "baybook prove");
    const Value body = parse_body(correction->body);
    const Value* d = body.find("details");
    const Value* inner = d ? d->find("details") : nullptr;
    if (inner == nullptr) throw store::Failure(Code::unsound, db.path() + ": a correction has no details", "baybook prove");
    fact.details = *inner;
  }
  go_by_settlements(db, fact);
  return fact;
}

std::optional<Fact> find_fact(store::Db& db, EntryId id) {
  const auto row = read_row(db, id);
  if (!row) return std::nullopt;
  return read_fact(db, *row);
}

Fact read_fact(store::Db& db, EntryId id) {
  auto fact = find_fact(db, id);
  if (!fact) throw store::Failure(Code::unsound, db.path() + ": an entry that others refer to is missing", "baybook prove");
  return std::move(*fact);
}

namespace {
std::optional<std::string> own_private(store::Db& db, EntryId entry, std::string_view field) {
  auto q = db.query("SELECT value FROM private WHERE entry = ? AND field = ?");
  q.bind(entry.n).bind(field);
  if (!q.step()) return std::nullopt;
  return q.text(0);
}
}  // namespace

bool erased(store::Db& db, EntryId entry, std::string_view field) {
  auto q =
      db.query("SELECT 1 FROM erased WHERE entry = ? AND field = ? AND asked IN (0, 2, 4) LIMIT 1");
  q.bind(entry.n).bind(field);
  return q.step();
}

namespace {
struct Text {
  std::string text;
  bool erased = false;
};
Text find_text(store::Db& db, EntryId source, EntryId entry, std::string_view field) {
  for (const EntryId of : {source, entry}) {
    if (auto text = own_private(db, of, field)) return {std::move(*text), false};
    if (erased(db, of, field)) return {"", true};
    if (source == entry) break;
  }
  return {};
}
std::string shown(Text t) { return t.erased ? std::string(kErased) : std::move(t.text); }
}  // namespace

std::string private_text(store::Db& db, const Fact& fact, std::string_view field) { return shown(find_text(db, fact.source, fact.id(), field)); }

std::string surviving_text(store::Db& db, const Fact& fact, std::string_view field) { return find_text(db, fact.source, fact.id(), field).text; }

std::string private_text(store::Db& db, EntryId entry, std::string_view field) {
  EntryId source = entry;
  {
    auto q = db.query("SELECT entry, withdrawn FROM amended WHERE target = ?");
    q.bind(entry.n);
    if (q.step() && q.num(1) == 0) source = EntryId{q.num(0)};
  }
  return shown(find_text(db, source, entry, field));
}

}  // namespace baybook::log
