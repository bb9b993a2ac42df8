// How a child that a test forked ends.
#pragma once

#include <sys/resource.h>
#include <unistd.h>

// There where branches are counted (tests/quality/coverage.sh), and nowhere else.
extern "C" int __llvm_profile_write_file() __attribute__((weak));

namespace baybook::test {

/// Ends this process at once: no handlers and no buffers of its parent's. What it did is counted first, where that is asked for.
[[noreturn]] inline void leave(int status) {
  if (__llvm_profile_write_file != nullptr) {
    const rlimit none{RLIM_INFINITY, RLIM_INFINITY};
    ::setrlimit(RLIMIT_FSIZE, &none);
    __llvm_profile_write_file();
  }
  ::_exit(status);
}

}  // namespace baybook::test
