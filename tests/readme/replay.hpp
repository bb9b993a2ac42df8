// A page's commands, typed one after the other into a shell in an empty folder.
//
// A page that is read cannot be trusted to be harmless, but these are the project's own and run in an empty folder.
#pragma once

#include "readme_blocks.hpp"
#include "support/test_book.hpp"

#include <doctest/doctest.h>

#include <regex>
#include <string>
#include <sys/wait.h>
#include <vector>

namespace baybook::test {

struct Answer {
  int status = -1;
  std::string text;  // both streams, in the order in which they came
};

/// Runs a bash script in `folder` with the program in reach as `baybook`, and nothing of the caller's surroundings.
inline Answer bash(const Folder& folder, const std::string& script) {
  std::filesystem::create_directories(folder.file("bin"));
  std::error_code there;
  std::filesystem::create_symlink(BAYBOOK_PROGRAM, folder.file("bin/baybook"), there);
  std::filesystem::create_directories(folder.file("shop"));
  {
    std::ofstream out(folder.file("script.sh"));
    out << "exec 2>&1 </dev/null\ncd '" << folder.file("shop") << "'\n" << script;
  }
  const std::string command = "env -i PATH='" + folder.file("bin") + "':/usr/bin:/bin LC_ALL=C.UTF-8 TZ=Asia/Kathmandu BAYBOOK_NOW=2026-03-05T09:40:00.000Z bash --noprofile --norc '" + folder.file("script.sh") + "'";
  FILE* pipe = ::popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  Answer a;
  char buffer[4096];
  for (std::size_t n = 0; (n = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;) a.text.append(buffer, n);
  const int status = ::pclose(pipe);
  a.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128;
  return a;
}

/// Digests differ from book to book. A run of 12, 16, 32 or 64 hexadecimal digits becomes as many dots.
inline std::string without_digests(const std::string& text) {
  static const std::regex digest(R"(\b([0-9a-f]{64}|[0-9a-f]{32}|[0-9a-f]{16}|[0-9a-f]{12})\b)");
  std::string out;
  auto at = text.cbegin();
  for (std::sregex_iterator i(text.begin(), text.end(), digest), none; i != none; ++i) {
    out.append(at, text.cbegin() + i->position());
    out.append(static_cast<std::size_t>(i->length()), '.');
    at = text.cbegin() + i->position() + i->length();
  }
  out.append(at, text.cend());
  return out;
}

/// What stands after `$ ` on its lines; a line that ends in a backslash goes on with the next.
inline std::vector<std::string> commands_of(const std::string& block) {
  std::vector<std::string> out;
  bool goes_on = false;
  for (std::size_t at = 0; at < block.size();) {
    const std::size_t end = block.find('\n', at);
    const std::string line = block.substr(at, end - at);
    if (goes_on) out.back() += "\n" + line;
    else if (line.rfind("$ ", 0) == 0) out.push_back(line.substr(2));
    if (goes_on || line.rfind("$ ", 0) == 0) goes_on = !line.empty() && line.back() == '\\';
    at = end + 1;
  }
  return out;
}

/// Types a page's commands one after the other into one shell; what the screen shows.
inline std::string replay(const Folder& folder, const std::vector<std::string>& commands) {
  std::string script;
  for (const std::string& c : commands) script += "cat <<'END-OF-COMMAND'\n$ " + c + "\nEND-OF-COMMAND\n" + c + "\n";
  script += "true\n";
  const Answer a = bash(folder, script);
  REQUIRE(a.status == 0);
  return a.text;
}

}  // namespace baybook::test
