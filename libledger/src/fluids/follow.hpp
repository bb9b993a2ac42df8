// One job's part of what is no longer told apart, followed along the flows.
#pragma once

#include "fluids/ledger.hpp"

#include <vector>

namespace baybook::fluids {

/// Follows what a job brought into sums (fluids/told_apart.hpp) from one tank into the next,
/// movement by movement in effect order: of what leaves a sum, the job's part is shared out against
/// all the rest of it by the rule of docs/format.md. What it has in no tank it has at an end of the
/// world or in a car again.
///
/// Reads the legs of a tank only while some of the job's is in it, a few hundred at a time.
class Follower {
 public:
  Follower(store::Db& db, Ledger& ledger, Origin origin, std::int64_t dimension)
      : db_(db), ledger_(ledger), origin_(origin), dimension_(dimension) {}

  /// Adds to `out` where it is after the last movement up to `until`. Nothing of it left its
  /// circuit before `since`.
  void follow(std::int64_t since, std::int64_t until, std::map<PlaceId, Bounds>& out);

 private:
  struct Sum {
    Bounds mine, all;
  };
  using SumKey = std::pair<std::int64_t, Origin>;  ///< fluid, which of the two sums
  struct Tank {
    std::map<SumKey, Sum> sums;
    std::int64_t to_come =
        0;  ///< flows that bring in something of the job from where it is told apart
    std::vector<log::Effect> ahead;
    std::size_t next = 0;
    log::Effect read_to;
    bool more = true;
  };

  Tank begin(PlaceId place, const log::Effect& after);
  const log::Effect* head(PlaceId place, Tank& tank);
  [[nodiscard]] std::vector<Flow> flows_of(EntryId entry);
  void move(const log::Effect& effect, const std::vector<Flow>& flows);
  void settle_gauge(const Flow& flow, Sum& sum);
  void arrive(const log::Effect& effect, const std::vector<Flow>& flows, std::size_t i,
              const Bounds& mine);
  static void turn(Tank& tank, PlaceId place, const Flow& flow);
  [[nodiscard]] static bool holds_some(const Tank& tank);

  store::Db& db_;
  Ledger& ledger_;
  Origin origin_;
  std::int64_t dimension_;
  std::map<PlaceId, Tank> tanks_;
  std::map<PlaceId, int> begun_;    ///< a tank into which it comes again and again is read along to
                                    ///< the end, not begun each time
  std::map<PlaceId, Bounds> ends_;  ///< and circuits
};

}  // namespace baybook::fluids
