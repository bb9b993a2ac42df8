// The rules that a book goes by on days that no entry of `rules set` reaches.
//
// Every installation may have chosen some when it was begun. Which of them hold is a function of the
// entries, the same in every book that has them (decision 0037): those of the opening that comes
// first in effect order and chose any. A month that is closed keeps what its closing was judged by,
// so that meeting another installation amends nothing.
#pragma once

#include "book/inside.hpp"

#include <map>
#include <string>

namespace baybook::book {

struct FirstRules {
  std::string set;  ///< of every day; empty: none were chosen
  /// Closed months that go by another set than `set`, or by none.
  std::map<Month, std::string> closed;
};
/// Reads the openings, and where they differ the closings.
[[nodiscard]] FirstRules first_rules(Book::Inside& in);

}  // namespace baybook::book
