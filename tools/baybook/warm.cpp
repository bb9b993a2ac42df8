#include "warm.hpp"

#include <cstdint>
#include <cstdlib>

#if defined(__linux__) && defined(__GLIBC__)
#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>
#endif

namespace baybook::tool {

#if defined(__linux__) && defined(__GLIBC__) && defined(MADV_POPULATE_WRITE)

void warm_up() noexcept {
  // What `last` touches on a large book (docs/decisions/0003): each of these pages would be a fault of its own.
  constexpr int heap = 640 * 1024;
  mallopt(M_MMAP_THRESHOLD, 4 * heap);
  mallopt(M_TRIM_THRESHOLD, 4 * heap);
  // Given back at once, it stays at the top of the heap, where the next allocations come from.
  void* top = std::malloc(heap);
  const auto page = static_cast<std::uintptr_t>(::sysconf(_SC_PAGESIZE));
  const std::uintptr_t begin = (reinterpret_cast<std::uintptr_t>(top) + page - 1) / page * page;
  if (top != nullptr) ::madvise(reinterpret_cast<void*>(begin), heap - page, MADV_POPULATE_WRITE);
  std::free(top);
}

#else

void warm_up() noexcept {}

#endif

}  // namespace baybook::tool
