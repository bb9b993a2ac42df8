// Whether a file lies on a disk of this machine: SQLite's locks and its shared index need one.
#pragma once

#include <baybook/keep.hpp>

#include <string>

namespace baybook::store {

/// The kind of file system by the number that statfs(2) gives it.
[[nodiscard]] Share share_of_type(unsigned long type) noexcept;
/// Of the folder that `path` is in; what cannot be asked is taken for local.
[[nodiscard]] Share share_of(const std::string& path);

}  // namespace baybook::store
