// When a task was last done on a car, found in the log.
#pragma once

#include "log/entry.hpp"

namespace baybook::due {

struct Anchor {
  std::int64_t entry = 0;
  Day day;
  std::int64_t moment = 0;
  std::int64_t metres = -1, minutes = -1;  ///< as the one who settled it said; -1: by the readings
  bool filtered = false;
};

/// What makes a task done.
struct DoneBy {
  std::string task;
  std::int64_t circuit = 0;     ///< a job that drained and filled it; 0: none
  std::vector<std::string> parts;  ///< keys of part numbers, one of which was fitted
};

/// The latest of: a closed job that drained this circuit (half of its capacity or more, where that is known: common practice, no source)
/// and filled it; a closed job that fitted one of the parts; an entry that says so. A job counts once it is closed.
[[nodiscard]] std::optional<Anchor> last_done(store::Db& db, CarId car, const DoneBy& by, std::int64_t until);

}  // namespace baybook::due
