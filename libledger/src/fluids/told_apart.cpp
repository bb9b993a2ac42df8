#include "fluids/told_apart.hpp"

#include "fluids/ends.hpp"
#include "log/json.hpp"
#include "log/sum.hpp"

#include <algorithm>
#include <charconv>
#include <limits>

namespace baybook::fluids {

namespace {

/// How many movements of a place are looked back at for what was summed into it.
constexpr std::int64_t kLookBack = 32;
/// Of how many movements out of other sums it is looked up whose they were.
constexpr int kSumsBefore = 4;
/// For each job that is told apart, how many parts there may be of which only bounds are left.
constexpr std::size_t kOnlyBounds = 3;

template <class Parts>
bool has_room_for(const Parts& parts, const Component& what, std::size_t jobs) {
  if (jobs > std::numeric_limits<std::int32_t>::max()) return true;
  std::size_t there = 0;
  std::size_t only_bounds = 0;
  for (auto it = parts.lower_bound({what.dimension, what.fluid, 1});
       it != parts.end() && it->first.dimension == what.dimension && it->first.fluid == what.fluid;
       ++it) {
    if (it->second.sum.nothing()) continue;
    ++(it->second.sum.best > 0 ? there : only_bounds);
    if (there >= jobs || only_bounds >= kOnlyBounds * jobs) return false;
  }
  return true;
}

}  // namespace

std::optional<std::int64_t> told_apart_in(store::Db& db) {
  auto q = db.query("SELECT value FROM beside WHERE name = 'told-apart'");
  if (!q.step()) return std::nullopt;
  const std::string text = q.blob(0);
  std::int64_t n = 0;
  const auto r = std::from_chars(text.data(), text.data() + text.size(), n);
  if (r.ec != std::errc() || r.ptr != text.data() + text.size() || n < 1 ||
      std::to_string(n) != text) {
    throw log::Malformed("how many jobs a place tells apart is no number");
  }
  return n;
}

void tell_apart(store::Db& db) {
  const std::string n = std::to_string(kToldApart);
  auto q = db.query("INSERT OR REPLACE INTO beside(name, value) VALUES('told-apart', ?)");
  q.bind_blob(n.data(), n.size()).run();
}

Origin stored_origin(const Flow& flow) {
  return is_summed(flow.what.origin) && flow.from_origin > 0 ? -flow.from_origin : flow.from_origin;
}

void read_origin(Flow& flow, Origin stored) {
  if (stored == std::numeric_limits<Origin>::min()) throw log::Malformed("a flow is nobody's");
  const bool from_sum = stored == kSummed || stored == kSummedEstimates;
  flow.from_origin = stored < 0 && !from_sum ? -stored : stored;
  // A gauge settles the very part that it names.
  flow.what.origin = stored >= 0 || flow.mode == Mode::gauge ? stored : sum_for(flow.amount);
}

Bounds leaving(const Flow& flow, std::int64_t sign) {
  const Bounds& a = flow.amount;
  if (flow.mode == Mode::ordinary && !is_end(flow.source)) {
    return {sign * -a.high, sign * -a.best, sign * -a.low};
  }
  return {sign * -a.low, sign * -a.best, sign * -a.high};
}

std::size_t Ledger::told_apart() {
  if (!told_apart_) {
    const auto n = told_apart_in(db_);
    told_apart_ = n ? static_cast<std::size_t>(*n) : std::numeric_limits<std::size_t>::max();
  }
  return *told_apart_;
}

// Who came first is told apart until nothing of it is left: a choice that asks for nothing but what
// is there when the flow arrives, so that taking the flow back leaves what was there before. Parts
// of which only bounds are left, of estimates that were taken out again, stay until the place is
// gauged or emptied: they keep nobody out as long as they are not many.
void Ledger::arrive(Flow& flow) {
  if (flow.what.origin == 0 || !holds(info(flow.target).role)) return;
  if (flow.what.origin > 0) {
    const auto& parts = held(flow.target).parts;
    const auto own = parts.find(flow.what);
    if (own != parts.end() && !own->second.sum.nothing()) return;
    if (has_room_for(parts, flow.what, told_apart())) return;
  }
  flow.what.origin = sum_for(flow.amount);
}

std::vector<std::pair<log::Effect, Flow>> Ledger::flows_before(PlaceId place,
                                                               const log::Effect& before) {
  std::vector<std::pair<log::Effect, Flow>> out;
  auto q = db_.query(
      "SELECT l.moment, l.recorded, l.entry, f.source, f.target, f.dimension, f.fluid, f.low, "
      "f.best, f.high, f.mode, f.origin FROM (SELECT moment, recorded, entry FROM leg "
      "WHERE place = ?1 AND (moment, recorded, entry) < (?2, ?3, ?4) ORDER BY moment DESC, "
      "recorded DESC, entry DESC LIMIT ?5) l "
      "JOIN flow f ON f.entry = l.entry WHERE f.origin < 0 AND (f.source = ?1 OR f.target = ?1) "
      "ORDER BY l.moment DESC, l.recorded DESC, l.entry DESC, f.seq DESC");
  q.bind(place.n).bind(before.moment).bind(before.recorded).bind(before.id.n).bind(kLookBack);
  while (q.step()) {
    Flow f;
    f.source = PlaceId{q.num(3)};
    f.target = PlaceId{q.num(4)};
    f.what = {q.num(5), q.num(6), 0};
    f.amount = {q.num(7), q.num(8), q.num(9)};
    f.mode = static_cast<Mode>(q.num(10));
    read_origin(f, q.num(11));
    out.emplace_back(log::Effect{q.num(0), q.num(1), EntryId{q.num(2)}}, f);
  }
  return out;
}

bool Ledger::lately_moved(PlaceId place, const log::Effect& since) {
  auto q = db_.query(
      "SELECT count(*) FROM (SELECT 1 FROM leg WHERE place = ? AND (moment, recorded) > (?, ?) "
      "LIMIT ?)");
  q.bind(place.n).bind(since.moment).bind(since.recorded).bind(kLookBack + 1);
  return q.step_num() <= kLookBack;
}

// Going back, `older` is what of each sum had come before the flow that is looked at.
void Ledger::look_back(PlaceId place, const log::Effect& before,
                       std::map<Component, std::int64_t> older, int further, Lately& out) {
  for (const auto& [effect, f] : flows_before(place, before)) {
    if (older.empty()) break;
    Component at_source = f.what;
    at_source.origin = f.from_origin;
    const auto in = older.find(f.what);
    if (f.target == place && in != older.end()) {
      if (f.mode == Mode::gauge) {
        // It was somebody's already: a gauge makes the parts of a sum more or less, all alike.
      } else if (f.from_origin > 0) {
        out.jobs.emplace_back(f.what.fluid, f.from_origin);
      } else if (further > 0 && f.source != place) {
        // Out of another sum: whose it was there. What is left of that, if it is not long ago,
        // tells how much stood there; else it was no less.
        --further;
        std::int64_t there = f.amount.best;
        if (lately_moved(f.source, effect)) {
          log::add_to(there, 1, contents_before(f.source, effect)[at_source].best);
        } else if (f.mode != Mode::whole) {
          out.all = false;
        }
        look_back(f.source, effect, {{at_source, there}}, 0, out);
      } else {
        out.all = false;
      }
      log::add_to(in->second, -1, f.amount.best);
      if (in->second <= 0) older.erase(in);
    }
    if (const auto from = older.find(at_source); f.source == place && from != older.end()) {
      log::add_to(from->second, 1, f.amount.best);
    }
  }
  if (!older.empty()) out.all = false;
}

Ledger::Lately Ledger::summed_lately(PlaceId place, const log::Effect& before,
                                     const std::map<Component, Bounds>& contents) {
  Lately out;
  std::map<Component, std::int64_t> sums;
  for (const auto& [what, sum] : contents) {
    if (is_summed(what.origin) && sum.best > 0) sums[what] = sum.best;
  }
  if (!sums.empty()) look_back(place, before, std::move(sums), kSumsBefore, out);
  return out;
}

}  // namespace baybook::fluids
