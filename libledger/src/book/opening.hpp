// The first entry of an installation, in a new book or in a copy that goes on.
#pragma once

#include "book/inside.hpp"

namespace baybook::book {

/// A tag as it is kept, or why it is none: a short name of 12 characters at most.
[[nodiscard]] Result<std::string> clean_tag(std::string_view typed);
/// What an opening chose, from its details.
[[nodiscard]] Settings read_settings(const log::Value& details);
/// What a copy that goes on was made of, in the details of its opening.
struct Continues {
  EntryId entry;       ///< the last of the installation it was
  std::string digest;  ///< 64 hexadecimal digits
};
/// Puts the rows of a new installation of its own and its opening into the book, inside the caller's transaction. Another that was the book's own
/// is one of the others from then on. Answers the origin.
std::int64_t open_installation(Book::Inside& in, const Settings& settings, const LocalDay& local, Instant now, const std::optional<Continues>& continues = {});

}  // namespace baybook::book
