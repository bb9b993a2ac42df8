// Which system calls can do what to a book.
#pragma once

#include "traced.hpp"

#include <string>

namespace baybook::faults {

enum class Class { write, sync, truncate, open, name, read, lock, map, other };

/// What kind of call it is. What the program prints (descriptors 0 to 2) is no writing here.
Class class_of(const Call& c);
const char* name_of(Class c);

/// Whether it can change a file, a name or a lock: killed just before any other call, the disk is as it was before the last of these.
bool changes_something(const Call& c);
bool prints(const Call& c);

}  // namespace baybook::faults
