// Names of files as SQLite may see them, and files that are made, synced and put into place.
#pragma once

#include <string>

namespace baybook::store {

/// SQLite must never see a name that it could take for a URI (file:...?vfs=unix-none opens without locks), nor an empty one.
[[nodiscard]] std::string absolute(const std::string& path);
/// The folder of a path; "." for a name alone.
[[nodiscard]] std::string folder_of(const std::string& path);
/// The same name as a URI that says nothing but the name and immutable=1: every byte that could mean more is escaped.
[[nodiscard]] std::string immutable_uri(const std::string& path);
/// Makes an empty file of exactly that mode, never over another and never through a link. Throws Failure.
void make_new(const std::string& path, unsigned mode);
/// Syncs a file or a folder; false when the system reports an error.
[[nodiscard]] bool sync_path(const std::string& path, bool folder);
/// Whether there is a file of that name with something in it.
[[nodiscard]] bool has_content(const std::string& path);
/// Makes an empty file of that mode beside `path`, under a passing name that nothing has, and tells it: a file gets its own name when it is
/// whole, so that one that was cut off stands in nobody's way. Throws Failure.
[[nodiscard]] std::string make_beside(const std::string& path, unsigned mode);
/// Gives the file `part` the name `path`, at once and never over another file. False: errno says why, EEXIST when there is one.
[[nodiscard]] bool name_it(const std::string& part, const std::string& path) noexcept;
/// Opens the folder of a file, to lock it; -1 when that cannot be done. The caller closes it.
[[nodiscard]] int open_folder_of(const std::string& file) noexcept;
/// Removes a SQLite file with what may lie beside it.
void remove_with_side_files(const std::string& path) noexcept;
/// "No space left on device" in words that name no function.
[[nodiscard]] std::string system_words(int error);

}  // namespace baybook::store
