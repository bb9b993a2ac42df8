#include "exchange_folder.hpp"

#include "context.hpp"
#include "exchange_file.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::tool {

namespace {

bool ends_with(std::string name, std::string_view ending) {
  for (char& ch : name) {
    if (ch >= 'A' && ch <= 'Z') ch = static_cast<char>(ch + 32);
  }
  return name.ends_with(ending);
}

// The name under which WholeFile writes: "....part-1234"; 0 when it is none.
pid_t written_by(const std::string& name) {
  const std::size_t at = name.rfind(".part-");
  if (at == std::string::npos) return 0;
  const std::string digits = name.substr(at + 6);
  if (digits.empty() || digits.size() > 9 ||
      digits.find_first_not_of("0123456789") != std::string::npos)
    return 0;
  return static_cast<pid_t>(std::strtol(digits.c_str(), nullptr, 10));
}

bool same_file(const std::string& a, const std::string& b) {
  struct stat x {};
  struct stat y {};
  return !b.empty() && ::stat(a.c_str(), &x) == 0 && ::stat(b.c_str(), &y) == 0 &&
         x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}

FolderFile look_at(Context& c, FolderFile f) {
  using Is = FolderFile::Is;
  if (ends_with(f.name, ".baybook")) {
    // The book of this very run may lie there.
    f.is = same_file(f.path, c.book_if_said()) ? Is::other : Is::book;
    return f;
  }
  const bool named_like_one = ends_with(f.name, ".exchange");
  try {
    const ExchangeGlance seen = glance_at(c, f.path);
    f.is = seen.own ? Is::own : seen.taken ? Is::unchanged : Is::to_read;
  } catch (const Refused& r) {
    const Code code = r.refusal.code;
    if (code != Code::unclear && code != Code::unreadable) throw;
    // What begins as an exchange file says that it was cut off; what does not is none.
    f.is = named_like_one || code == Code::unclear ? Is::bad : Is::other;
    f.why = r.refusal.what;
    if (f.is == Is::bad && !f.why.starts_with(visible(f.path)))
      f.why = visible(f.path) + ": " + f.why;
  }
  return f;
}

}  // namespace

std::vector<FolderFile> look_into(Context& c, const std::string& folder) {
  DIR* const dir = ::opendir(folder.c_str());
  if (dir == nullptr)
    refuse(Code::unreadable,
           visible(folder) + " is not a folder that can be read (" + std::strerror(errno) + ")",
           "nothing was taken and nothing was written",
           "the folder that both books reach, as it is named here, or the stick put in");
  std::vector<std::string> names;
  errno = 0;
  while (const dirent* const e = ::readdir(dir)) {
    if (e->d_name[0] != '.') names.emplace_back(e->d_name);
    errno = 0;
  }
  const int failed = errno;
  ::closedir(dir);
  if (failed != 0)
    refuse(Code::unreadable,
           visible(folder) + " could not be read to the end (" + std::strerror(failed) + ")",
           "nothing was taken and nothing was written", "the same again; or another disk");
  std::sort(names.begin(), names.end());
  std::vector<FolderFile> out;
  for (const std::string& name : names) {
    FolderFile f;
    f.name = name;
    f.path = folder + (folder.ends_with('/') ? "" : "/") + name;
    struct stat st {};
    if (::stat(f.path.c_str(), &st) != 0 || !S_ISREG(st.st_mode)) continue;
    // What is being written, or was left by a run that was stopped.
    out.push_back(written_by(name) != 0 ? std::move(f) : look_at(c, std::move(f)));
  }
  return out;
}

std::string own_path(Context& c, const std::string& folder) {
  const std::string base = folder + (folder.ends_with('/') ? "" : "/") +
                           c.book().settings().tag + "-" + own_identity(c).substr(0, 8);
  Placing how = c.placing("another name");
  how.own_exchange = own_identity(c);
  // By what lies there, never by the name: another's file under it stays.
  for (int n = 1;; ++n) {
    std::string path = base + (n == 1 ? "" : "-" + std::to_string(n)) + ".exchange";
    if (n == 9 || may_take_name(path, how).ok()) return path;
  }
}

void remove_leftovers(const std::string& own, const std::vector<FolderFile>& all) {
  for (const FolderFile& f : all) {
    const pid_t pid = written_by(f.name);
    if (pid == 0 || f.path != own + ".part-" + std::to_string(pid)) continue;
    if (::kill(pid, 0) != 0 && errno == ESRCH) ::unlink(f.path.c_str());
  }
}

}  // namespace baybook::tool
