// The tables of a book, version 1. docs/format.md explains every column.
#pragma once

namespace baybook::store {

inline constexpr int kApplicationId = 0x42594231;  ///< "BYB1", in the SQLite header
inline constexpr int kVersion = 1;                 ///< user_version

/// The log and what lies beside it: never rebuilt.
extern const char* const kLogTables;
/// Everything derived from the log: dropped and made anew by rebuild.
extern const char* const kDerivedTables;
/// Views for people with the sqlite3 shell; never read by the program.
extern const char* const kViews;
/// Names of the derived tables, in the order in which `prove` compares them; ends with nullptr.
extern const char* const kDerivedNames[];

}  // namespace baybook::store
