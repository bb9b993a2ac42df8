#include "no_memory.hpp"

#include "out.hpp"

#include <baybook/result.hpp>

#include <cstdio>
#include <cstdlib>
#include <exception>
#include <new>
#include <string_view>
#include <unistd.h>

namespace baybook::tool {

namespace {

bool as_json = false;

constexpr std::string_view kWhy =
    "baybook: there is not enough memory\nwhy:  the machine, or a limit of this session, gave no "
    "more\n";

// What the C++ library and the libraries linked in make before main would otherwise end in abort():
// nobody could catch it there.
[[noreturn]] void at_start() noexcept {
  constexpr std::string_view text =
      "baybook: there is not enough memory to start\nwhy:  the machine, or a limit of this "
      "session, gave no more\ntype: ulimit -v, to see the limit of this session\n";
  write_at_once(2, text.data(), text.size());
  ::_exit(3);
}

// An exception needs memory as well. When there is none for it, the C++ library ends the program
// here.
[[noreturn]] void at_end() noexcept {
  bool memory = std::current_exception() == nullptr;
  if (!memory) {
    try {
      throw;
    } catch (const std::bad_alloc&) {
      memory = true;
    } catch (...) {
    }
  }
  if (memory) ::_exit(say_no_memory({}, as_json));
  std::abort();  // a fault of the program: the system is to keep what it can of it
}

// 101 is the first that a program may take; what has no number comes after it.
[[gnu::constructor(101)]] void before_everything() noexcept {
  std::set_new_handler(at_start);
  std::set_terminate(at_start);
}

}  // namespace

void begin_with_memory(int count, char** values) noexcept {
  for (int i = 1; i < count; ++i) {
    const std::string_view word = values[i];
    if (word == "--") break;
    as_json = as_json || word == "--json" || word.starts_with("--json=") || word == "--jsonl";
  }
  std::set_new_handler(nullptr);
  std::set_terminate(at_end);
}

int say_no_memory(const std::string& stored, bool json) noexcept {
  char text[400];
  int size = 0;
  if (!stored.empty()) {
    size = std::snprintf(text, sizeof text,
                         "baybook: entry %s is stored, but there is not enough memory to print "
                         "it\ntype: baybook entry %s\n",
                         stored.c_str(), stored.c_str());
  } else {
    size = std::snprintf(
        text, sizeof text,
        "%.*stype: baybook entry last, to see whether it was written; then the same again\n",
        static_cast<int>(kWhy.size()), kWhy.data());
  }
  write_at_once(2, text, static_cast<std::size_t>(size));
  if (json) {
    const std::string_view code = name_of(Code::unwritable);
    size = std::snprintf(
        text, sizeof text,
        "{\"v\":1,\"ok\":false,\"error\":{\"code\":\"%.*s\",\"message\":\"there is not enough "
        "memory%s%s\",\"why\":\"\",\"instead\":\"baybook entry last\",\"figures\":{}}}\n",
        static_cast<int>(code.size()), code.data(), stored.empty() ? "" : "; stored is entry ",
        stored.c_str());
    write_at_once(1, text, static_cast<std::size_t>(size));
  }
  return 3;
}

}  // namespace baybook::tool
