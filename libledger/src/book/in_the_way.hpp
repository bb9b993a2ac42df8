// What lies where a file is to be put, and whether it may go.
#pragma once

#include <baybook/keep.hpp>

#include <functional>
#include <optional>
#include <string>

namespace baybook::book {

/// Asked of a file that says of itself that it is a book: none, and it may go; or why it stays.
/// `file` is where it lies now, `path` its name.
using MayGo =
    std::function<std::optional<Refusal>(const std::string& file, const std::string& path)>;

/// Why `path` is no name for a file of its own: it is part of a book or of a folder of papers.
[[nodiscard]] std::optional<Refusal> belongs_to_another(const std::string& path,
                                                        const Placing& how);
/// Why nothing may get the name `path`, whether or not a file is there yet: it is what SQLite would
/// take for a part of a book, or is in a folder of papers. A new book asks this too.
[[nodiscard]] std::optional<Refusal> taken_name(const std::string& path, const Placing& how);
/// may_take_name, but with `may_go` a book is not refused unasked.
[[nodiscard]] std::optional<Refusal> in_the_way(const std::string& path, const Placing& how,
                                                const MayGo& may_go = {});
/// take_name likewise.
[[nodiscard]] std::optional<Refusal> put_in_place(const std::string& part, const std::string& path,
                                                  const Placing& how, const MayGo& may_go = {});

}  // namespace baybook::book
