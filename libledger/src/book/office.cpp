#include "book/office.hpp"

#include "book/circumstances.hpp"
#include "book/first_rules.hpp"
#include "book/of_event.hpp"

#include "fluids/build.hpp"

#include <algorithm>

namespace baybook::book {

using log::Value;

std::vector<std::string> seals(Book::Inside& in) {
  std::vector<std::string> out;
  for (const log::Installation& i : in.known.all) {
    auto q = in.db.query("SELECT id, digest FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1");
    q.bind((i.origin + 1) << 40);
    if (q.step() && EntryId{q.num(0)}.origin() == i.origin) out.push_back(i.tag + ":" + std::to_string(EntryId{q.num(0)}.number()) + ":" + log::hex_of(q.blob(1)).substr(0, 16));
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::string over_all_of(const std::vector<std::string>& seals, std::string* digest) {
  std::string lines;
  for (const std::string& s : seals) lines += s + "\n";
  const std::string hex = log::hex(log::sha256(lines));
  if (digest != nullptr) *digest = hex;
  return std::string(kOverAll) + ":" + std::to_string(seals.size()) + ":" + hex.substr(0, 16);
}

void Office::load_rulings() {
  if (loaded_) return;
  loaded_ = true;
  FirstRules first = first_rules(in_);
  has_first_ = !first.set.empty();
  if (has_first_) rulings_.push_back({Day{-1000000}, first.set, "", "", nullptr});
  for (auto& [month, set] : first.closed)
    closed_.emplace(month, Ruling{first_of(month), std::move(set), "", "", nullptr});
  std::vector<std::int64_t> ids;
  {
    // Of two rulings from the same day on, the later one holds.
    auto q = in_.db.query("SELECT entry FROM ruling ORDER BY day, moment, recorded, entry");
    while (q.step()) ids.push_back(q.num(0));
  }
  for (const std::int64_t id : ids) {
    const log::Fact fact = log::read_fact(in_.db, EntryId{id});
    const Value& d = fact.details;
    rulings_.push_back({*read_day(d.str("from")), std::string(d.str("set")), d.has("file") ? std::string(d.str("file")) : std::string(), d.has("file-name") ? std::string(d.str("file-name")) : std::string(), nullptr});
  }
}

const RuleSet* Office::rules_on(Day day) {
  load_rulings();
  Ruling* holds = nullptr;
  for (Ruling& r : rulings_) {
    if (r.from <= day) holds = &r;
  }
  if (holds == nullptr || (has_first_ && holds == rulings_.data())) {
    const auto kept = closed_.find(month_of(day));
    if (kept != closed_.end()) holds = &kept->second;
  }
  if (holds == nullptr || holds->set.empty()) return nullptr;
  if (!holds->read) {
    auto read = read_rules(holds->set, holds->file, holds->file_name);
    if (!read.ok()) throw store::Failure(Code::unclear, read.refusal().what, "baybook rules set NAME --from DATE  # one that can be read");
    holds->read = std::make_unique<RuleSet>(std::move(*read));
  }
  return holds->read.get();
}

const Stream* Office::stream_for(std::string_view place_stream, Day day) {
  const RuleSet* rules = rules_on(day);
  if (rules == nullptr) return nullptr;
  if (const Stream* s = rules->stream(place_stream, day)) return s;
  constexpr std::string_view waste = "waste-";
  if (place_stream.starts_with(waste)) return rules->stream_of(place_stream.substr(waste.size()), day);
  return rules->stream_of(place_stream, day);
}

std::optional<Office::Weight> Office::weight(std::int64_t fluid, const Stream* stream) {
  if (fluid >= 1000) {
    std::int64_t ppm = 0;
    {
      auto q = in_.db.query("SELECT density FROM fluid WHERE id = ?");
      q.bind(fluid);
      if (q.step()) ppm = q.num(0);
    }
    if (ppm > 0) {
      const log::Fact fact = log::read_fact(in_.db, EntryId{fluid});
      const Value& d = fact.details.at("density");
      return Weight{Density{ppm, std::string(d.str("typed"))}, std::string(d.str("typed")) + " (" + std::string(d.str("source")) + ")"};
    }
  }
  if (stream == nullptr || !stream->density) return std::nullopt;
  return Weight{*stream->density, stream->density->typed + " (" + stream->density_source + ", " + std::string(words_for(stream->density_sure)) + ")"};
}

std::optional<Office::Weight> Office::weight_in(std::int64_t fluid, const Stream* stream, Day day) {
  const FluidClass* c = find_class(FluidId{in_.ledger.class_of(fluid)});
  if (stream != nullptr && c != nullptr && std::find(stream->classes.begin(), stream->classes.end(), c->name) == stream->classes.end()) {
    const Stream* own = rules_on(day)->stream_of(c->name, day);
    if (own != nullptr && own->density) return weight(fluid, own);
  }
  return weight(fluid, stream);
}

std::optional<std::int64_t> Office::mass(std::int64_t n, std::int64_t dimension, const std::optional<Weight>& weight) {
  if (dimension == 1) return n;
  if (dimension != 0 || !weight) return std::nullopt;
  return mass_of(Volume{n}, weight->density).n;
}

std::optional<std::int64_t> Office::volume(std::int64_t n, std::int64_t dimension, const std::optional<Weight>& weight) {
  if (dimension == 0) return n;
  if (dimension != 1 || !weight) return std::nullopt;
  return volume_of(Mass{n}, weight->density).n;
}

const std::vector<Office::WastePlace>& Office::waste_places() {
  if (!have_places_) {
    have_places_ = true;
    auto q = in_.db.query("SELECT id, code, stream, area, satellite FROM place WHERE role = 4 ORDER BY code, id");
    while (q.step()) places_.push_back({PlaceId{q.num(0)}, q.text(1), q.text(2), q.text(3), q.num(4) != 0});
    // One book withdrew it while another put waste into it: what is in it is waste all the same, and of what stream its own entry says.
    std::vector<std::int64_t> without_row;
    {
      auto gone = in_.db.query("SELECT DISTINCT place FROM waste_tally WHERE place NOT IN (SELECT id FROM place) ORDER BY place");
      while (gone.step()) without_row.push_back(gone.num(0));
    }
    for (const std::int64_t id : without_row) {
      const auto fact = log::find_fact(in_.db, EntryId{id});
      if (!fact || fact->kind != log::Kind::place) continue;
      const auto said = [&](const char* key) { return fact->details.has(key) ? std::string(fact->details.str(key)) : std::string(); };
      places_.push_back({PlaceId{id}, said("code"), said("stream"), said("area"), fact->details.has("satellite")});
    }
  }
  return places_;
}

const Office::WastePlace* Office::waste_place(std::int64_t id) {
  for (const WastePlace& p : waste_places()) {
    if (p.id.n == id) return &p;
  }
  return nullptr;
}

void Office::each(Day from, Day until, const std::function<void(const WasteLine&, bool before)>& take) {
  store::Db& db = in_.db;
  // Read to their end before the first is handed on: what is done with a line may ask for other lines.
  std::vector<std::pair<WasteLine, bool>> lines;
  // Whole months from the tally; a month that the span cuts is summed by its flows (as in returns/totals.cpp).
  const Month first = month_of(from);
  const Month last = month_of(until);
  const bool cut_front = from != first_of(first);
  const bool cut_back = until != last_of(last);
  // The months in which a place was an event's are told flow by flow: the tally has no days.
  std::vector<std::pair<std::int64_t, Month>> by_day;
  const auto of_events = [&](std::int64_t place, std::int64_t month) {
    const Month m{static_cast<std::int32_t>(month)};
    for (const Event& e : events()) {
      if (!e.has(PlaceId{place}) || m < month_of(e.spell.day) || m > month_of(e.last)) continue;
      if (std::find(by_day.begin(), by_day.end(), std::pair(place, m)) == by_day.end())
        by_day.emplace_back(place, m);
      return true;
    }
    return false;
  };
  {
    auto q = db.query("SELECT month, place, way, other, dimension, fluid, fate, estimated, low, best, high FROM waste_tally WHERE month <= ?");
    q.bind(std::int64_t{cut_back ? last.n - 1 : last.n});
    while (q.step()) {
      const std::int64_t month = q.num(0);
      if (cut_front && month == first.n) continue;
      if (of_events(q.num(1), month)) continue;
      lines.emplace_back(WasteLine{q.num(1), q.num(2) != 0, static_cast<Role>(q.num(3)), q.num(4), q.num(5), static_cast<Fate>(q.num(6)), (q.num(7) & 1) != 0, (q.num(7) & 2) != 0, q.num(8), q.num(9), q.num(10)}, month < first.n);
    }
  }
  const auto by_flows = [&](Day a, Day b, bool before, std::int64_t only = 0) {
    if (b < a) return;
    for (const WastePlace& p : waste_places()) {
      if (only != 0 && p.id.n != only) continue;
      auto q = db.query(
          "SELECT f.source, f.target, f.dimension, f.fluid, f.fate, f.estimated, f.mode, f.low, f.best, f.high, "
          "coalesce((SELECT role FROM place WHERE id = CASE WHEN f.source = l.place THEN f.target ELSE f.source END), -1), l.moment "
          "FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ? AND l.moment BETWEEN ? AND ? AND (f.source = l.place OR f.target = l.place)");
      q.bind(p.id.n).bind(log::first_moment(a)).bind(log::last_moment(b));
      while (q.step()) {
        const bool out = q.num(0) == p.id.n;
        const std::int64_t other = out ? q.num(1) : q.num(0);
        const Role role = q.num(10) >= 0 ? static_cast<Role>(q.num(10)) : fluids::role_of(db, PlaceId{other});
        lines.emplace_back(WasteLine{p.id.n, out, role, q.num(2), q.num(3), static_cast<Fate>(q.num(4)), q.num(5) != 0, q.num(6) == 1, q.num(7), q.num(8), q.num(9), !out && of_event(*this, p.id, log::day_of_moment(q.num(11)))}, before);
      }
    }
  };
  for (const auto& [place, month] : by_day)
    by_flows(first_of(month), last_of(month), month < first, place);
  if (cut_front) {
    by_flows(first_of(first), Day{from.n - 1}, true);
    by_flows(from, first == last && cut_back ? until : std::min(until, last_of(first)), false);
  }
  if (cut_back && !(cut_front && first == last)) by_flows(first_of(last), until, false);
  for (const auto& [line, before] : lines) take(line, before);
}

std::optional<Day> Office::mixed_since(const WastePlace& p, Day day) {
  const StreamFacts now = facts(p.stream, p.id, day);
  if (!now.mixture || now.counted == stream_facts(p.stream, p.id, day).counted) return std::nullopt;
  std::optional<Day> out;
  for (const Mixture& m : mixtures(p)) {
    if (!m.there_on(day)) continue;
    for (const Pour& one : m.pours) {
      if (one.effect.moment > log::last_moment(day)) continue;
      const Day since = one.since.value_or(log::day_of_moment(one.effect.moment));
      if (!out || since < *out) out = since;
    }
  }
  return out;
}

}  // namespace baybook::book

namespace baybook {

std::string sha256_hex(std::string_view bytes) { return log::hex(log::sha256(bytes)); }

Result<Seals> seals(const Book& b) {
  return book::guarded<Seals>([&]() -> Result<Seals> {
    store::Snapshot snapshot(b.inside().db);
    Seals out;
    out.all = book::seals(b.inside());
    if (out.all.size() == 1) {
      out.seal = out.all.front();
      auto q = b.inside().db.query("SELECT digest FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1");
      q.bind((b.inside().known.own().origin + 1) << 40);
      if (q.step()) out.digest = log::hex_of(q.blob(0));
      return out;
    }
    out.seal = book::over_all_of(out.all, &out.digest);
    return out;
  });
}

Result<RuleSet> rules(const Book& b, Day day) {
  return book::guarded<RuleSet>([&]() -> Result<RuleSet> {
    store::Snapshot snapshot(b.inside().db);
    book::Office office(b.inside());
    if (const RuleSet* r = office.rules_on(day)) return *r;
    return Refusal{Code::not_found,
                   "the book goes by no rule set on " + to_string(day),
                   "limits, codes and retention come from rules",
                   "baybook rules set NAME --from " + to_string(day),
                   {}};
  });
}

}  // namespace baybook
