// The `units` program as a second opinion on factors: its own data files, none of our code.
#pragma once

#include <doctest/doctest.h>

#include <cstdio>
#include <cstdlib>
#include <string>

namespace baybook::test {

/// What `units` makes of `have` in `want`, as it prints it (15 digits). Fails the test when the program is not there.
inline std::string units_program(const std::string& have, const std::string& want) {
  const std::string command = "units -t -d 15 '" + have + "' '" + want + "' 2>&1";
  FILE* pipe = popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::string out;
  for (int c = 0; (c = std::fgetc(pipe)) != EOF;) out += static_cast<char>(c);
  const int status = pclose(pipe);
  CAPTURE(out);
  REQUIRE_MESSAGE(status == 0, "the `units` program is needed as a second opinion; tests/run.sh installs it");
  while (!out.empty() && out.back() == '\n') out.pop_back();
  return out;
}

/// The same as a number, for comparing to within its 15 digits.
inline double units_program_number(const std::string& have, const std::string& want) {
  const std::string out = units_program(have, want);
  char* end = nullptr;
  const double value = std::strtod(out.c_str(), &end);
  CAPTURE(out);
  REQUIRE(*end == '\0');
  return value;
}

}  // namespace baybook::test
