// libFuzzer's door to one target. BAYBOOK_FUZZ_TARGET is its name (CMakeLists.txt).
#include "targets.hpp"

#include <cstddef>
#include <cstdint>

// libFuzzer finds it by this name.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  baybook::fuzz::BAYBOOK_FUZZ_TARGET(std::string_view(reinterpret_cast<const char*>(data), size));
  return 0;
}
