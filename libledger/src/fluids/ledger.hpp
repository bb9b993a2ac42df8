// Movements applied to balances: the arithmetic of "every litre is somewhere".
//
// A Ledger lives inside one transaction. It resolves what an entry moves (which components leave a mixed place, what a gauge
// settled), keeps the result as flows, and sums flows into balances, accounts and tallies: in memory until flush(), so that
// one append and a rebuild of millions run the same code. F-numbers: docs/invariants.md.
#pragma once

#include "log/entry.hpp"

#include <baybook/places.hpp>

#include <array>
#include <map>
#include <optional>
#include <set>
#include <unordered_map>
#include <utility>
#include <vector>

namespace baybook::fluids {

/// Where a component came from: the job that drained it and the circuit (job id + circuit * 2^58),
/// 0 when from no job. Below nothing: a sum of what came from several jobs and is no longer told
/// apart (fluids/told_apart.hpp), of exact amounts and of estimates. Fixed in the file.
using Origin = std::int64_t;
inline constexpr Origin kSummed = -1;
inline constexpr Origin kSummedEstimates = -2;

struct Component {
  std::int64_t dimension = 0;
  std::int64_t fluid = 0;
  Origin origin = 0;
  friend constexpr auto operator<=>(const Component&, const Component&) = default;
};

struct Bounds {
  std::int64_t low = 0, best = 0, high = 0;
  [[nodiscard]] bool nothing() const { return low == 0 && best == 0 && high == 0; }
  /// Throws Malformed when a sum runs over: only a hostile book has so much.
  Bounds& operator+=(const Bounds& b) {
    if (__builtin_add_overflow(low, b.low, &low) || __builtin_add_overflow(best, b.best, &best) || __builtin_add_overflow(high, b.high, &high)) throw log::Malformed("a sum of amounts beyond 2^63");
    return *this;
  }
  friend bool operator==(const Bounds&, const Bounds&) = default;
};

/// How a flow's bounds leave its source: fixed in the file.
enum class Mode : std::int64_t {
  ordinary = 0,  ///< source loses (high, best, low): what is left is uncertain by both
  whole = 1,     ///< everything that was there: source loses its own bounds and is empty for certain
  gauge = 2,     ///< signed difference from the gauge's end into the place; bounds become those of the reading
};

struct Flow {
  std::int64_t line = 0;
  PlaceId source, target;
  Component what;          ///< origin: of the part that it becomes at the target
  Origin from_origin = 0;  ///< of the part that it leaves, or of the job that drained it
  Bounds amount;
  bool estimated = false;
  Fate fate = Fate::none;
  Mode mode = Mode::ordinary;
};

/// A rule that an entry breaks where it stands in effect order.
enum class Rule : std::int64_t { overdraw = 3, overfill = 4, wrong_fluid = 5 };
struct Breach {
  EntryId entry;
  PlaceId place;
  Rule rule;
  std::int64_t excess = 0;      ///< base units over
  std::int64_t had = 0;         ///< level before (overdraw), level after (overfill), class that was there (wrong_fluid)
  std::int64_t asked = 0;       ///< base units asked for; class that came (wrong_fluid)
  std::int64_t dimension = 0;
  bool all = false;             ///< it took all there was, and nothing is there
  std::int64_t fluid = 0;       ///< of which product on a shelf; 0: of everything there
};

struct PlaceInfo {
  Role role = Role::hold_catch;
  std::string code;
  std::int64_t size = -1;       ///< -1: not limited
  std::int64_t dimension = 0;   ///< of the size
  std::vector<std::int64_t> takes;  ///< class numbers; empty: one group at a time
};

class Ledger {
 public:
  explicit Ledger(store::Db& db) : db_(db) {}

  /// Puts an entry that moves something into its place in effect order, or takes it out of it, or changes it. `before` are the
  /// details it had until now (none: it is new), `after` those it has from now on (none: withdrawn). What comes later at the
  /// same places is resolved again. New breaches are listed in breaches().
  void place_in_order(const log::Effect& effect, const log::Fact* before, const log::Fact* after);
  /// Appends an entry known to be later than everything else at its places (rebuild, in effect order).
  void apply(const log::Fact& fact);

  /// Writes what changed in memory to the tables. Call before reading the tables or committing.
  void flush();
  /// Forgets what is kept in memory (after a rollback).
  void forget();

  /// Breaches of the entries resolved since the last clear; each with what was there before the change (0: new).
  struct Change {
    Breach breach;
    std::int64_t excess_before = 0;
  };
  [[nodiscard]] std::vector<Change> worse() const;
  void clear_changes();
  /// What the entries resolved again since then had moved before, in base units of each dimension.
  using Moved = std::array<std::int64_t, 3>;
  [[nodiscard]] const std::map<std::int64_t, Moved>& moved_before() const { return moved_before_; }

  /// From here on it is kept what places held before, until changes are cleared.
  void watch_levels() { watched_.emplace(); }
  /// Places of the shop and circuits whose levels are not what they were when watching began.
  [[nodiscard]] std::vector<PlaceId> moved_places();

  [[nodiscard]] Bounds level(PlaceId place, std::int64_t dimension);
  /// What it held, and what in all, just before an entry of that moment that is written now: later days are taken off again.
  [[nodiscard]] std::map<Component, Bounds> contents_before(PlaceId place, const log::Effect& effect);
  [[nodiscard]] Bounds level_before(PlaceId place, std::int64_t dimension, const log::Effect& effect);
  [[nodiscard]] std::vector<std::pair<Component, Bounds>> contents(PlaceId place);
  /// Whose fluid was summed in a place, as far back as its sums were last empty or for some
  /// movements at the most; of what came out of another sum, whose it was there. For what is asked
  /// before an entry is written: its work does not grow with the history.
  struct Lately {
    std::vector<std::pair<std::int64_t, Origin>> jobs;  ///< fluid and whose, newest first
    bool all = true;                                    ///< nobody else's is in the sums
  };
  [[nodiscard]] Lately summed_lately(PlaceId place, const log::Effect& before,
                                     const std::map<Component, Bounds>& contents);
  [[nodiscard]] const PlaceInfo& info(PlaceId place);
  [[nodiscard]] std::int64_t class_of(std::int64_t fluid);
  void definitions_changed();  ///< places or fluids were written: read them anew

  /// Cars of which a flow was resolved again since this was last asked: one that changed, or one that comes later than a new one.
  [[nodiscard]] std::set<CarId> take_cars() { return std::exchange(cars_, {}); }

  /// The places other than ends of the world that an entry touches.
  [[nodiscard]] static std::vector<PlaceId> places_of(const log::Fact& fact);
  /// Warnings of the entry resolved last: a bound does not fit, a circuit over its capacity.
  [[nodiscard]] const std::vector<std::string>& warnings() const { return warnings_; }

 private:
  struct Part {
    Bounds sum;
    bool dirty = false;
    bool stored = false;  ///< has a row: a part of nothing that has none is dropped at once, else a year of jobs piles up in a batch
  };
  struct Held {
    std::map<Component, Part> parts;
    bool listed = false;  ///< in changed_: a flush looks at these alone, not at every place there is
  };
  struct TallyKey {
    std::int64_t month, dimension, fluid, source, target, fate, estimated;
    friend auto operator<=>(const TallyKey&, const TallyKey&) = default;
  };
  struct WasteKey {
    std::int64_t month, place, way, other, dimension, fluid, fate, estimated;
    friend auto operator<=>(const WasteKey&, const WasteKey&) = default;
  };
  struct AccountKey {
    std::int64_t origin, place, dimension;
    friend auto operator<=>(const AccountKey&, const AccountKey&) = default;
  };
  struct Count {
    Bounds sum;
    std::int64_t flows = 0;
  };
  struct Filling {
    std::int64_t number = 0;
    bool open = false;
  };

  Held& held(PlaceId place);
  void add(PlaceId place, const Component& what, const Bounds& delta);
  [[nodiscard]] Bounds total(PlaceId place, std::int64_t dimension);
  [[nodiscard]] bool has_anything(PlaceId place);
  bool anything_after(const std::vector<PlaceId>& places, const log::Effect& effect);

  void apply_lines(const log::Fact& fact, std::vector<Flow>& done);
  void apply_gauge(const log::Fact& fact, std::vector<Flow>& done);
  /// How a line takes from its source.
  struct Draw {
    bool all = false;
    FluidId fluid{};      ///< from an end of the world: what it is
    FluidId only{};       ///< from a shelf: of this product alone
  };
  void take(const log::Fact& fact, Flow base, const Amount& amount, const Draw& draw,
            std::vector<Flow>& done);
  /// What is asked where a line arrives (F5).
  enum class Ask : std::uint8_t { nothing, class_only, neighbours };
  void check_target(const log::Fact& fact, PlaceId to, const std::vector<Flow>& done,
                    std::size_t first, Ask ask);
  [[nodiscard]] bool takes_absorbent(PlaceId place);
  void check_room(const log::Fact& fact, PlaceId to, std::int64_t dimension);
  /// Read again in every transaction: another program may have made the tables anew.
  [[nodiscard]] std::size_t told_apart();
  void arrive(Flow& flow);
  [[nodiscard]] std::vector<std::pair<log::Effect, Flow>> flows_before(PlaceId place,
                                                                       const log::Effect& before);
  void look_back(PlaceId place, const log::Effect& before, std::map<Component, std::int64_t> older,
                 int further, Lately& out);
  [[nodiscard]] bool lately_moved(PlaceId place, const log::Effect& since);
  void put(const log::Effect& effect, const Flow& flow, std::int64_t sign);
  void post(const log::Effect& effect, const std::vector<Flow>& flows);
  void undo(const log::Effect& effect, const std::vector<PlaceId>& places);
  Filling& filling(PlaceId place);
  void note_filling(const log::Effect& effect, PlaceId place, bool had);
  void reopen_fillings(PlaceId place, const log::Effect& from);
  void breach(const Breach& b);

  store::Db& db_;
  std::unordered_map<std::int64_t, Held> held_;
  std::vector<std::int64_t> changed_;
  std::map<TallyKey, Count> tally_;
  std::map<WasteKey, Count> waste_;
  std::map<AccountKey, Count> account_;
  std::unordered_map<std::int64_t, PlaceInfo> info_;
  std::unordered_map<std::int64_t, std::int64_t> class_;
  std::unordered_map<std::int64_t, Filling> filling_;
  std::map<std::tuple<std::int64_t, std::int64_t, std::int64_t>, Breach> breaches_now_;
  std::map<std::tuple<std::int64_t, std::int64_t, std::int64_t>, std::int64_t> breaches_before_;
  std::map<std::int64_t, Moved> moved_before_;
  std::set<std::pair<std::int64_t, std::int64_t>> had_lines_;         ///< entry and line that moved something before
  std::map<std::pair<std::int64_t, std::int64_t>, Breach> emptied_;  ///< lines that took all there was and have nothing to take now: asked when written, kept in no table
  std::optional<std::map<std::int64_t, std::array<Bounds, 3>>> watched_;  ///< what each place held; not kept by folds of a whole log
  std::vector<std::string> warnings_;
  std::optional<std::size_t> told_apart_;
  std::set<CarId> cars_;
  bool again_ = false;  ///< flows are being resolved again
};

}  // namespace baybook::fluids
