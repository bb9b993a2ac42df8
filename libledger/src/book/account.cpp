#include "book/account.hpp"

#include "fluids/ends.hpp"
#include "log/sum.hpp"

#include <limits>
#include <map>
#include <queue>
#include <set>
#include <tuple>

namespace baybook::book {

namespace {

using log::Effect;

// One flow of the account, and where it stands in effect order.
struct Step {
  Effect effect;
  std::int64_t seq = 0, source = 0, target = 0, low = 0, best = 0, high = 0;
  fluids::Mode mode = fluids::Mode::ordinary;
  bool arrives = true;  ///< false: it is summed there and told apart no longer (fluids/told_apart.hpp)
  bool operator>(const Step& o) const { return std::tie(effect, seq) > std::tie(o.effect, o.seq); }
};

class Following {
 public:
  Following(Book::Inside& in, const AccountThen& of) : in_(in), of_(of) {}

  Followed all() {
    first_steps();
    while (!arrived_.empty()) {
      const Step step = arrived_.top();
      arrived_.pop();
      // Whatever leaves a place leaves it after it came: steps come out in effect order, so a place
      // is looked at once for each time that something of the account stood there.
      if (holds(in_.ledger.info(PlaceId{step.target}).role)) look_at(step.target, step.effect);
    }
    Followed out;
    out.rows = rows_;
    for (const auto& [place, w] : at_) out.where.push_back(w);
    return out;
  }

 private:
  // What the job's own entries moved.
  void first_steps() {
    auto q = in_.db.query(
        "SELECT h.moment, h.recorded, h.entry, f.seq, f.source, f.target, f.low, f.best, f.high, f.mode, f.origin "
        "FROM history h JOIN flow f ON f.entry = h.entry "
        "WHERE h.car = ? AND h.job = ? AND h.moment <= ? AND f.origin IN (?, ?) AND f.dimension = ?");
    q.bind(of_.car.n).bind(of_.job.n).bind(of_.until).bind(of_.origin).bind(-of_.origin).bind(of_.dimension);
    while (q.step()) take(row(q));
  }

  Step row(store::Query& q) {
    ++rows_;
    return {{q.num(0), q.num(1), EntryId{q.num(2)}},
            q.num(3),
            q.num(4),
            q.num(5),
            q.num(6),
            q.num(7),
            q.num(8),
            static_cast<fluids::Mode>(q.num(9)),
            q.num(10) == of_.origin};
  }

  // The legs of a place from an arrival on, until nothing of the account is left there.
  void look_at(std::int64_t place, const Effect& from) {
    if (const auto seen = seen_until_.find(place);
        seen != seen_until_.end() && from <= seen->second)
      return;
    Where held{place, 0, 0, 0};
    std::vector<Step> found;
    Effect last = {of_.until, std::numeric_limits<std::int64_t>::max(),
                   EntryId{std::numeric_limits<std::int64_t>::max()}};
    {
      auto q = in_.db.query(
          "SELECT l.moment, l.recorded, l.entry, f.seq, f.source, f.target, f.low, f.best, f.high, f.mode, f.origin, f.dimension "
          "FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND (l.moment, l.recorded, l.entry) >= (?2, ?3, ?4) AND l.moment <= ?5 "
          "AND (f.source = ?1 OR f.target = ?1) ORDER BY l.moment, l.recorded, l.entry, f.seq");
      q.bind(place).bind(from.moment).bind(from.recorded).bind(from.id.n).bind(of_.until);
      Effect before = from;
      while (q.step()) {
        const Step step = row(q);
        const bool nothing = held.low == 0 && held.best == 0 && held.high == 0;
        if (before < step.effect && nothing) {
          last = before;
          break;
        }
        before = step.effect;
        const bool of_it = q.num(10) == of_.origin || q.num(10) == -of_.origin;
        if (!of_it || q.num(11) != of_.dimension) continue;
        count(held, step);
        found.push_back(step);
      }
    }
    seen_until_[place] = last;
    for (const Step& step : found) take(step);
  }

  // As fluids/post.cpp does: what leaves takes its uncertainty the other way round, unless a level
  // was found or all of it went.
  static void count(Where& w, const Step& s) {
    if (s.target == w.place && s.arrives) add(w, 1, s.low, s.best, s.high);
    if (s.source != w.place) return;
    const bool ordinary = s.mode == fluids::Mode::ordinary;
    add(w, -1, ordinary ? s.high : s.low, s.best, ordinary ? s.low : s.high);
  }
  static void add(Where& w, int sign, std::int64_t low, std::int64_t best, std::int64_t high) {
    log::add_to(w.low, sign, low);
    log::add_to(w.best, sign, best);
    log::add_to(w.high, sign, high);
  }
  Where& at(std::int64_t place) {
    return at_.try_emplace(place, Where{place, 0, 0, 0}).first->second;
  }

  void take(const Step& s) {
    if (!taken_.insert({s.effect.id.n, s.seq}).second) return;
    if (s.arrives) add(at(s.target), 1, s.low, s.best, s.high);
    if (s.mode == fluids::Mode::gauge)
      add(at(kDifference.n), -1, s.low, s.best, s.high);
    else if (holds(in_.ledger.info(PlaceId{s.source}).role)) {
      const bool ordinary = s.mode == fluids::Mode::ordinary;
      add(at(s.source), -1, ordinary ? s.high : s.low, s.best, ordinary ? s.low : s.high);
    }
    if (s.arrives) arrived_.push(s);
  }

  Book::Inside& in_;
  const AccountThen& of_;
  std::int64_t rows_ = 0;
  std::map<std::int64_t, Where> at_;
  std::map<std::int64_t, Effect> seen_until_;
  std::set<std::pair<std::int64_t, std::int64_t>> taken_;
  std::priority_queue<Step, std::vector<Step>, std::greater<>> arrived_;
};

}  // namespace

Followed account_then(Book::Inside& in, const AccountThen& of) { return Following(in, of).all(); }

}  // namespace baybook::book
