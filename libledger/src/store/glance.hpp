// The first and last bytes of a file that may be a book, looked at without harm to whoever has it
// open.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace baybook::store {

struct Glance {
  std::int64_t size = 0;
  std::string head,
      tail;  ///< at most so many bytes as were asked for; of a short file they overlap
};
/// None when the file cannot be opened or read. Read by SQLite's own means: in a process that has
/// the book open, closing another descriptor of it would drop SQLite's locks (POSIX). Only for what
/// is known to be a file: a pipe would be waited for.
[[nodiscard]] std::optional<Glance> glance(const std::string& path, std::size_t bytes);

/// What a file says of itself by the bytes it begins with, whatever its name is.
enum class Looks : std::uint8_t {
  other,
  book,       ///< a SQLite database with the application id of a book, of whatever version; also a
              ///< backup
  database,   ///< another SQLite database
  log,        ///< a write-ahead log or a rollback journal of one
  part_book,  ///< the head is damaged, but the tables of a book follow
};
[[nodiscard]] Looks looks_of(const std::string& head);

}  // namespace baybook::store
