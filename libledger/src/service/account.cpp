#include "service/account.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace baybook::service {

namespace {

std::int64_t magnitude(std::int64_t n) { return n < 0 ? -n : n; }

// What is used up by driving: filling it up is no question of what became of the rest.
bool used_by_driving(const Circuit& c) {
  constexpr std::array<std::string_view, 4> kTanks = {"petrol-tank", "diesel-tank", "washer",
                                                      "urea-tank"};
  return std::find(kTanks.begin(), kTanks.end(), c.name) != kTanks.end();
}

std::int64_t within_of(const Account& a, const Tolerance& t) {
  if (a.of.second == static_cast<std::int64_t>(Dimension::count)) return 0;
  const bool refrigerant = a.circuit().takes == "refrigerant";
  const std::int64_t least = refrigerant ? t.refrigerant_ug : t.least_nl;
  const std::int64_t share = a.capacity > 0 ? a.capacity / 100 * t.percent : 0;
  return std::max(least, share);
}

std::int64_t swing_of(const Net& n) {
  std::int64_t level = 0;
  std::int64_t least = 0;
  std::int64_t most = 0;
  for (const Net::Line& l : n.lines) {
    if (l.booked) continue;
    level += l.in ? l.best : -l.best;
    least = std::min(least, level);
    most = std::max(most, level);
  }
  return most - least;
}

// By how much the job before this one left the circuit short: that much is no surprise.
std::int64_t left_short_before(store::Db& db, CarId car, JobId job, const NetOf& of) {
  std::int64_t before = 0;
  {
    auto q = db.query(
        "SELECT h.job FROM leg l JOIN history h ON h.car = ?1 AND h.moment = l.moment AND "
        "h.recorded = l.recorded AND h.entry = l.entry JOIN entry o ON o.id = ?3 "
        "WHERE l.place = ?2 AND h.job <> ?3 AND h.job <> 0 AND (l.moment, l.recorded, l.entry) < "
        "(o.moment, o.recorded, o.id) ORDER BY l.moment DESC, l.recorded DESC, l.entry DESC "
        "LIMIT 1");
    q.bind(car.n).bind(of.first).bind(job.n);
    if (q.step()) before = q.num(0);
  }
  if (before == 0) return 0;
  const std::map<NetOf, Net> nets = nets_of(db, car, JobId{before});
  const auto at = nets.find(of);
  return at == nets.end() ? 0 : std::max<std::int64_t>(0, -at->second.best);
}

Account::State state_of(const Account& a) {
  if (a.net.even()) return Account::State::agrees;
  if (a.net.best < 0)
    return a.net.high >= -a.within ? Account::State::agrees : Account::State::short_of;
  if (a.net.low <= a.within + a.left_short) return Account::State::agrees;
  const bool filled_up = used_by_driving(a.circuit()) && a.can_have_been_low();
  return filled_up ? Account::State::agrees : Account::State::over;
}

}  // namespace

bool Account::can_have_been_low() const { return capacity < 0 || swing <= capacity + within; }

bool Account::can_be_missing() const {
  return net.left > 0 && (capacity < 0 || net.best <= capacity + within);
}

std::vector<Account> accounts_of(store::Db& db, fluids::Ledger& ledger, CarId car, JobId job,
                                 const ToleranceOf& tolerance) {
  std::vector<Account> out;
  std::optional<Tolerance> asked;
  for (auto& [of, net] : nets_of(db, car, job)) {
    Account a;
    a.of = of;
    a.net = net;
    if (!a.net.even()) {
      if (!asked) asked = tolerance();
      const fluids::PlaceInfo& info = ledger.info(PlaceId{of.first});
      if (info.size >= 0 && info.dimension == of.second) a.capacity = info.size;
      a.within = within_of(a, *asked);
      a.swing = swing_of(a.net);
      if (a.net.low > a.within) a.left_short = left_short_before(db, car, job, of);
      a.state = state_of(a);
    }
    out.push_back(std::move(a));
  }
  return out;
}

namespace {

// A line that stands beside its fellows by a power of ten: with the point elsewhere the account
// comes to what is measured, and the line is none that the circuit could not hold.
std::optional<Suspect> power_of_ten(const Account& a) {
  const Net& n = a.net;
  // Sums that only a hostile book has are left alone: what follows could run over.
  constexpr std::int64_t beyond = std::int64_t{1} << 60;
  if (n.left == 0 || n.in == 0 || std::max(n.left, n.in) > beyond) return std::nullopt;
  std::optional<Suspect> out;
  std::int64_t least = 0;
  for (const Net::Line& l : n.lines) {
    if (l.booked) continue;
    for (const std::int64_t times : {10, 100, 1000, -10, -100, -1000}) {
      if (times < 0 && l.best > (std::int64_t{1} << 53) / -times) continue;
      const std::int64_t meant = times > 0 ? l.best / times : l.best * -times;
      if (meant <= 0 || (a.capacity > 0 && meant > a.capacity + a.within)) continue;
      const std::int64_t other = n.best + (l.in ? meant - l.best : l.best - meant);
      const std::int64_t moved =
          std::max(n.in + (l.in ? meant - l.best : 0), n.left + (l.in ? 0 : meant - l.best));
      // What is left over then is of the size of a circuit that was a little low.
      if (magnitude(other) > std::max(a.within, moved / 6)) continue;
      if (magnitude(other) > magnitude(n.best) / 3) continue;
      // Of two ways to mend it the one that leaves less; of equal ones the larger amount, where the
      // circuit is known to hold it.
      const bool better =
          !out || magnitude(other) < least ||
          (magnitude(other) == least && a.capacity > 0 && times < 0 && out->times > 0);
      if (!better) continue;
      least = magnitude(other);
      out = Suspect{Suspect::Why::power_of_ten, l, times};
    }
  }
  return out;
}

const Net::Line* largest(const Net& n, bool in) {
  const Net::Line* out = nullptr;
  for (const Net::Line& l : n.lines) {
    if (l.in == in && !l.booked && (out == nullptr || l.best > out->best)) out = &l;
  }
  return out;
}

}  // namespace

std::optional<Suspect> suspect_in(const Account& a) {
  if (a.state == Account::State::agrees) return std::nullopt;
  if (auto slip = power_of_ten(a)) return slip;
  const bool over = a.state == Account::State::over;
  const Net::Line* most = largest(a.net, over);
  if (most == nullptr) return std::nullopt;
  const bool too_much =
      a.capacity >= 0 && (most->best > a.capacity + a.within || (over && !a.can_have_been_low()));
  if (too_much) return Suspect{Suspect::Why::more_than_it_holds, *most};
  if (over && a.net.left == 0 && a.left_short == 0)
    return Suspect{Suspect::Why::nothing_drained, *most};
  return std::nullopt;
}

}  // namespace baybook::service
