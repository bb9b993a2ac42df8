// Where what a job let out of a circuit had gone by some day.
#pragma once

#include "book/inside.hpp"

#include <vector>

namespace baybook::book {

/// Where a part of an account is.
struct Where {
  std::int64_t place, low, best, high;
};

struct AccountThen {
  CarId car;
  JobId job;
  std::int64_t origin = 0;  ///< of the job and the circuit, as flows carry it
  std::int64_t dimension = 0;
  std::int64_t until = 0;  ///< the last moment that counts
};
/// The kept account has moved on, so what had happened by then is followed from the job's own
/// entries on, from place to place. Rows read: the legs of each place while some of it stood there,
/// not those of the book.
struct Followed {
  std::vector<Where> where;
  std::int64_t rows = 0;  ///< flows that were read for it
};
[[nodiscard]] Followed account_then(Book::Inside& in, const AccountThen& of);

}  // namespace baybook::book
