// Linked into a copy of the command (tests/CMakeLists.txt): its n-th allocation fails, once or from then on. The linker sends every call of
// malloc, calloc and realloc here, the ones inside SQLite and the C++ library as well.
#include <cerrno>
#include <cstddef>
#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <unistd.h>

extern "C" {

void* __real_malloc(std::size_t size);
void* __real_calloc(std::size_t count, std::size_t size);
void* __real_realloc(void* old, std::size_t size);
int __real_main(int count, char** values);
void* __wrap_malloc(std::size_t size);
void* __wrap_calloc(std::size_t count, std::size_t size);
void* __wrap_realloc(void* old, std::size_t size);
int __wrap_main(int count, char** values);

}

namespace {

// Before main nothing is counted, unless it is asked for: the C++ library sets itself up there.
bool counting = false;
long done = 0;
long nth = 0;
bool for_good = false;

bool fails() {
  if (!counting) return false;
  ++done;
  if (nth == 0 || !(done == nth || (for_good && done > nth))) return false;
  errno = ENOMEM;
  return true;
}

void read_wish() {
  if (const char* n = std::getenv("SCARCE_NTH")) nth = std::strtol(n, nullptr, 10);
  for_good = std::getenv("SCARCE_FOR_GOOD") != nullptr;
  counting = true;
}

// After the command's own first constructor (tools/baybook/no_memory.cpp, 101), before all others.
[[gnu::constructor(102)]] void from_the_start() {
  if (std::getenv("SCARCE_EARLY") != nullptr) read_wish();
}

void tell() {
  const char* path = std::getenv("SCARCE_COUNT");
  if (path == nullptr) return;
  char text[32];
  const int n = std::snprintf(text, sizeof text, "%ld", done);
  const int fd = ::open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (fd >= 0 && ::write(fd, text, static_cast<std::size_t>(n)) == n) ::close(fd);
}

}  // namespace

extern "C" {

void* __wrap_malloc(std::size_t size) { return fails() ? nullptr : __real_malloc(size); }
void* __wrap_calloc(std::size_t count, std::size_t size) { return fails() ? nullptr : __real_calloc(count, size); }
void* __wrap_realloc(void* old, std::size_t size) { return fails() ? nullptr : __real_realloc(old, size); }

int __wrap_main(int count, char** values) {
  if (!counting) read_wish();
  const int status = __real_main(count, values);
  counting = false;
  tell();
  return status;
}

}
