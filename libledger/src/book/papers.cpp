#include "book/papers.hpp"

#include "log/references.hpp"
#include "log/sha256.hpp"
#include "store/paths.hpp"

#include <cerrno>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::book {

namespace {

struct File {
  int fd = -1;
  explicit File(int fd_) : fd(fd_) {}
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  ~File() { close(); }
  bool close() {
    const bool done = fd < 0 || ::close(fd) == 0;
    fd = -1;
    return done;
  }
};

// The entry may come from elsewhere: its name is not to lead out of the folder.
bool plain(const std::string& name) { return !name.empty() && name != "." && name != ".." && name.find('/') == std::string::npos && name.find('\0') == std::string::npos; }

bool there(const std::string& path) {
  struct stat st {};
  return ::lstat(path.c_str(), &st) == 0;
}

[[noreturn]] void cannot(const std::string& path, const char* what) {
  const int error = errno;
  throw store::Failure(Code::unwritable, path + ": " + what + " (" + store::system_words(error) + "); nothing was kept", "make room, or another place");
}

}  // namespace

std::vector<KeptPaper> kept_papers(store::Db& db) {
  std::vector<KeptPaper> all;
  auto q = db.query("SELECT entry, file, digest, bytes FROM main.paper ORDER BY entry");
  while (q.step()) all.push_back({EntryId{q.num(0)}, q.text(1), q.text(2), q.num(3)});
  return all;
}

PaperState look_at(const std::string& folder, const KeptPaper& paper) {
  if (!plain(paper.file)) return PaperState::bad_name;
  // Never through a link, and never waiting for somebody to write into a pipe.
  const File in(::open((folder + "/" + paper.file).c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
  struct stat st {};
  if (in.fd < 0) {
    // A link is not what was put there; what this user may not open is not gone.
    if (errno == ENOENT || errno == ENOTDIR) return PaperState::missing;
    return errno == ELOOP || errno == ENXIO ? PaperState::changed : PaperState::unreadable;
  }
  if (::fstat(in.fd, &st) != 0) return PaperState::unreadable;
  if (!S_ISREG(st.st_mode) || st.st_size != paper.bytes) return PaperState::changed;
  log::Sha256 hash;
  std::int64_t bytes = 0;
  char piece[65536];
  for (;;) {
    const ssize_t n = ::read(in.fd, piece, sizeof piece);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return PaperState::unreadable;
    if (n == 0) break;
    hash.update(std::string_view(piece, static_cast<std::size_t>(n)));
    bytes += n;
  }
  return bytes == paper.bytes && log::hex(hash.finish()) == paper.digest ? PaperState::good : PaperState::changed;
}

std::set<std::int64_t> kept_beside(Book::Inside& in) {
  std::set<std::int64_t> out;
  for (std::int64_t origin = in.known.own().origin; origin != 0 && out.insert(origin).second;) origin = log::continued_origin(in.db, origin);
  return out;
}

Finding finding_of(const Book::Inside& in, const KeptPaper& paper, PaperState state, const std::string& folder) {
  const EntryRef ref = ref_of(in, paper.entry);
  const std::string which =
      "paper " + visible(paper.file) + " of entry " + std::to_string(ref.number()) + "@" + ref.tag;
  switch (state) {
    case PaperState::missing:
      return {which + " is not in the folder of papers", ref,
              "put it back into " + visible(folder) + ", from a backup"};
    case PaperState::unreadable:
      return {which + " cannot be read here, so whether it is as it was put on record is not known",
              ref,
              "ask whoever owns " + visible(folder) +
                  " to let you read it, or look at that disk; then the same again"};
    case PaperState::bad_name: return {which + " has a name that leads out of the folder of papers; it was not looked at", ref, "correct that entry"};
    default: return {which + " was changed: it is not the file that was put on record", ref, "the original, from a backup"};
  }
}

PapersCopy::~PapersCopy() {
  if (keep_) return;
  for (const std::string& path : made_) ::unlink(path.c_str());
  if (made_folder_) ::rmdir(to_.c_str());
}

void PapersCopy::copy(const std::string& file) {
  const std::string path = to_ + "/" + file;
  const std::string part = path + ".part-" + std::to_string(::getpid());
  const File in(::open((from_ + "/" + file).c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
  File out(::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600));
  if (out.fd < 0) cannot(part, "cannot be made");
  made_.push_back(part);
  if (in.fd < 0) cannot(from_ + "/" + file, "cannot be read");
  char piece[65536];
  for (;;) {
    const ssize_t n = ::read(in.fd, piece, sizeof piece);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) cannot(from_ + "/" + file, "cannot be read");
    if (n == 0) break;
    for (ssize_t at = 0; at < n;) {
      const ssize_t done = ::write(out.fd, piece + at, static_cast<std::size_t>(n - at));
      if (done < 0 && errno == EINTR) continue;
      if (done <= 0) cannot(path, "could not be written to the end");
      at += done;
    }
  }
  if (::fsync(out.fd) != 0 || !out.close()) cannot(path, "could not be made safe on disk");
  if (::rename(part.c_str(), path.c_str()) != 0) cannot(path, "could not be put in its place");
  made_.back() = path;
}

std::vector<Finding> PapersCopy::run(const Progress& progress) {
  std::vector<Finding> out;
  const std::vector<KeptPaper> all = kept_papers(in_.db);
  if (all.empty()) return out;
  const std::set<std::int64_t> mine = kept_beside(in_);
  std::set<std::string> seen;
  std::int64_t done = 0;
  for (const KeptPaper& paper : all) {
    if (progress) progress("papers", done++, static_cast<std::int64_t>(all.size()));
    if (seen.contains(paper.file + paper.digest)) continue;
    const PaperState state = look_at(from_, paper);
    if (state == PaperState::missing && !mine.contains(paper.entry.origin())) continue;
    if (state != PaperState::good) {
      out.push_back(finding_of(in_, paper, state, from_));
      continue;
    }
    if (!made_folder_ && ::mkdir(to_.c_str(), 0700) == 0) made_folder_ = true;
    else if (!made_folder_ && errno != EEXIST) cannot(to_, "cannot be made");
    if (look_at(to_, paper) != PaperState::good) {
      // The name of another file is not taken from it; under the name of its own digest what is
      // there is this paper, damaged.
      const bool its_own_name = paper.file.starts_with(paper.digest.substr(0, 32));
      if (!its_own_name && there(to_ + "/" + paper.file)) {
        const EntryRef ref = ref_of(in_, paper.entry);
        out.push_back({"paper " + visible(paper.file) +
                           " was not copied: another file of that name is in " + visible(to_),
                       ref, "move that one elsewhere, then the same again"});
        continue;
      }
      copy(paper.file);
      if (look_at(to_, paper) != PaperState::good) throw store::Failure(Code::unwritable, to_ + "/" + paper.file + ": reads otherwise than it was written; nothing was kept", "another disk");
    }
    seen.insert(paper.file + paper.digest);
    ++copied_;
  }
  if ((made_folder_ || !made_.empty()) && !store::sync_path(to_, true)) cannot(to_, "could not be made safe on disk");
  return out;
}

}  // namespace baybook::book
