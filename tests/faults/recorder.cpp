#include "recorder.hpp"

#include "calls.hpp"

#include <algorithm>
#include <cerrno>
#include <fcntl.h>
#include <stdexcept>
#include <sys/mman.h>
#include <sys/syscall.h>

namespace baybook::faults {

namespace {

std::string folder_of(const std::string& name) {
  const std::size_t slash = name.rfind('/');
  return slash == std::string::npos ? "" : name.substr(0, slash);
}

constexpr std::uint64_t kSector = 512;

}  // namespace

std::string Recorder::below(const Running& r, std::uint64_t name) const {
  std::string path = r.text(name);
  if (path == "." || path == folder_) return ".";
  if (path.starts_with(folder_ + "/")) path = path.substr(folder_.size() + 1);
  while (path.starts_with("./")) path = path.substr(2);
  return path.empty() || path.front() == '/' ? "" : path;
}

void Recorder::entered(Running& r) {
  const Call& c = r.call();
  if (c.number == SYS_write || c.number == SYS_pwrite64) bytes_ = r.memory(c.arg[1], static_cast<std::size_t>(c.arg[2]));
  if (c.number == SYS_openat) was_there_ = names_.contains(below(r, c.arg[1]));
}

void Recorder::left(Running& r, int entry) {
  const Call& c = r.call();
  const std::int64_t answer = r.answer();
  const int fd = static_cast<int>(c.arg[0]);
  const auto known = open_.find(fd);
  const bool ours = known != open_.end();
  const auto unknown = [&](const char* what) { throw std::runtime_error(std::string("the harness: the recorder of writes does not know ") + what + "; teach it in tests/faults/recorder.cpp"); };
  if (answer < 0) return;
  switch (c.number) {
    case SYS_openat: {
      const std::string name = below(r, c.arg[1]);
      if (name.empty() || passing(name)) break;
      const auto flags = static_cast<int>(c.arg[2]);
      const int made = static_cast<int>(answer);
      if ((flags & O_DIRECTORY) != 0 || name == "." || names_.contains(name + "/")) {
        open_[made] = Open{-1, name == "." ? "" : name, 0, false};
        break;
      }
      if (!was_there_) {
        if ((flags & O_CREAT) == 0) break;  // a file that was laid there before: only read
        names_[name] = files_++;
        events_.push_back({Event::What::make, names_[name], name, "", 0, "", 0});
      } else if ((flags & O_TRUNC) != 0) {
        events_.push_back({Event::What::truncate, names_[name], name, "", 0, "", 0});
      }
      open_[made] = Open{names_[name], name, 0, (flags & O_APPEND) != 0};
      break;
    }
    case SYS_close: open_.erase(fd); break;
    case SYS_write:
      if (fd == 1) events_.push_back({Event::What::acknowledged, -1, "", "", 0, "", entry});
      if (!ours) break;
      if (known->second.append) unknown("a file that is appended to");
      events_.push_back({Event::What::write, known->second.file, known->second.name, "", known->second.at, bytes_.substr(0, static_cast<std::size_t>(answer)), 0});
      known->second.at += static_cast<std::uint64_t>(answer);
      break;
    case SYS_read:
      if (ours) known->second.at += static_cast<std::uint64_t>(answer);
      break;
    case SYS_lseek:
      if (ours) known->second.at = static_cast<std::uint64_t>(answer);
      break;
    case SYS_pwrite64:
      if (ours) events_.push_back({Event::What::write, known->second.file, known->second.name, "", c.arg[3], bytes_.substr(0, static_cast<std::size_t>(answer)), 0});
      break;
    case SYS_ftruncate:
      if (ours) events_.push_back({Event::What::truncate, known->second.file, known->second.name, "", c.arg[1], "", 0});
      break;
    case SYS_fsync:
    case SYS_fdatasync:
      if (!ours) break;
      if (known->second.file < 0) events_.push_back({Event::What::sync_folder, -1, known->second.name, "", 0, "", 0});
      else events_.push_back({Event::What::sync, known->second.file, known->second.name, "", 0, "", 0});
      break;
    case SYS_mkdir: {
      const std::string name = below(r, c.arg[0]);
      if (name.empty()) break;
      names_[name + "/"] = -1;
      events_.push_back({Event::What::folder, -1, name + "/", "", 0, "", 0});
      break;
    }
    case SYS_unlink: {
      const std::string name = below(r, c.arg[0]);
      if (name.empty() || passing(name) || !names_.contains(name)) break;
      events_.push_back({Event::What::unlink, names_[name], name, "", 0, "", 0});
      names_.erase(name);
      break;
    }
    case SYS_link:
    case SYS_rename:
    case SYS_renameat2: {
      const bool at = c.number == SYS_renameat2;
      if (at && (static_cast<int>(c.arg[0]) != AT_FDCWD || static_cast<int>(c.arg[2]) != AT_FDCWD)) unknown("a name below an open folder");
      const std::string name = below(r, c.arg[at ? 1 : 0]);
      const std::string to = below(r, c.arg[at ? 3 : 1]);
      if (name.empty() && to.empty()) break;
      if (!names_.contains(name) || to.empty()) unknown("a name that comes into the folder or leaves it");
      const bool moved = c.number != SYS_link;
      events_.push_back({moved ? Event::What::rename : Event::What::link, names_[name], name, to, 0, "", 0});
      names_[to] = names_[name];
      if (moved) names_.erase(name);
      break;
    }
    case SYS_mmap: {
      const auto mapped = open_.find(static_cast<int>(c.arg[4]));
      if (mapped != open_.end() && (c.arg[3] & MAP_SHARED) != 0 && (c.arg[2] & PROT_WRITE) != 0) unknown("a file that is written through memory");
      break;
    }
    case SYS_dup:
    case SYS_dup2:
    case SYS_dup3:
    case SYS_pwritev:
    case SYS_writev:
    case SYS_fallocate:
      if (ours) unknown("that call");
      break;
    case SYS_fcntl:
      if (ours && (c.arg[1] == F_DUPFD || c.arg[1] == F_DUPFD_CLOEXEC)) unknown("a second descriptor");
      break;
    case SYS_copy_file_range:
    case SYS_sendfile:
    case SYS_renameat:
    case SYS_linkat:
    case SYS_unlinkat:
    case SYS_mkdirat: unknown("that call"); break;
    default: break;
  }
}

Ended Recorder::run(const Command& command, int entry) {
  open_.clear();
  Running r(command, true);
  for (Running::Stop s = r.next(); s != Running::Stop::ended; s = r.next()) {
    if (s == Running::Stop::entry) entered(r);
    else left(r, entry);
  }
  return r.result();
}

void Disk::go_to(std::size_t until, bool syncs_count) {
  using W = Event::What;
  for (; done_ < until; ++done_) {
    const Event& e = events_[done_];
    switch (e.what) {
      case W::write:
      case W::truncate: files_[e.file].pending.push_back(done_); break;
      case W::sync: {
        if (!syncs_count) break;
        File& f = files_[e.file];
        for (const std::size_t i : f.pending) {
          const Event& p = events_[i];
          if (p.what == W::truncate) {
            f.safe.resize(static_cast<std::size_t>(p.at));
          } else {
            if (f.safe.size() < p.at + p.bytes.size()) f.safe.resize(static_cast<std::size_t>(p.at) + p.bytes.size());
            f.safe.replace(static_cast<std::size_t>(p.at), p.bytes.size(), p.bytes);
          }
        }
        f.pending.clear();
        break;
      }
      case W::sync_folder: {
        if (!syncs_count) break;
        std::vector<std::size_t> rest;
        for (const std::size_t i : pending_names_) {
          std::string name = events_[i].name;
          if (name.back() == '/') name.pop_back();
          if (folder_of(name) == e.name) change_names(safe_names_, events_[i]);
          else rest.push_back(i);
        }
        pending_names_ = rest;
        break;
      }
      case W::make:
        files_[e.file];
        pending_names_.push_back(done_);
        break;
      case W::folder:
      case W::link:
      case W::rename:
      case W::unlink: pending_names_.push_back(done_); break;
      case W::acknowledged: break;
    }
  }
}

void Disk::change_names(std::map<std::string, int>& names, const Event& e) {
  using W = Event::What;
  if (e.what == W::make || e.what == W::folder) names[e.name] = e.file;
  if (e.what == W::unlink) names.erase(e.name);
  if (e.what == W::link) names[e.to] = e.file;
  if (e.what == W::rename) {
    names[e.to] = e.file;
    names.erase(e.name);
  }
}

Files Disk::image(Way way, std::mt19937& random) const {
  const auto coin = [&](unsigned of) { return random() % of == 0; };
  std::map<std::string, int> names = safe_names_;
  Files out;
  // Names are kept in the order of their changes up to a point (journals do so), or by chance.
  const std::size_t up_to = way == Way::nothing ? 0 : way == Way::everything ? pending_names_.size() : random() % (pending_names_.size() + 1);
  const bool ordered = coin(2);
  for (std::size_t i = 0; i < pending_names_.size(); ++i) {
    const bool take = way == Way::nothing ? false : way == Way::everything ? true : ordered ? i < up_to : coin(2);
    if (take) change_names(names, events_[pending_names_[i]]);
  }
  std::size_t all = 0;
  for (const auto& [n, f] : files_) all += f.pending.size();
  const std::size_t chosen = all == 0 ? 0 : random() % all;
  const bool garbage = coin(4);  // what a grown file holds where nothing was written yet
  std::size_t nth = 0;
  std::map<int, std::string> contents;
  for (const auto& [number, f] : files_) {
    std::string now = f.safe;
    const auto grow = [&](std::size_t size) {
      const std::size_t before = now.size();
      now.resize(size, '\0');
      if (garbage) for (std::size_t i = before; i < size; ++i) now[i] = static_cast<char>(random());
    };
    for (const std::size_t i : f.pending) {
      const Event& p = events_[i];
      const bool is_it = nth++ == chosen;
      const bool torn = way == Way::sectors || (way == Way::one && is_it && coin(2)) || (way == Way::all_but_one && is_it);
      const bool whole = way == Way::everything || (way == Way::one && is_it) || (way == Way::all_but_one && !is_it);
      if (!torn && !whole) continue;
      if (p.what == Event::What::truncate) {
        if (whole || coin(2)) {
          if (p.at < now.size()) now.resize(static_cast<std::size_t>(p.at));
          else grow(static_cast<std::size_t>(p.at));
        }
        continue;
      }
      const bool dropped = torn && coin(3);
      for (std::uint64_t at = p.at; at < p.at + p.bytes.size();) {
        const std::uint64_t end = std::min<std::uint64_t>((at / kSector + 1) * kSector, p.at + p.bytes.size());
        if (!torn || (!dropped && !coin(3))) {
          if (now.size() < end) grow(static_cast<std::size_t>(end));
          now.replace(static_cast<std::size_t>(at), static_cast<std::size_t>(end - at), p.bytes, static_cast<std::size_t>(at - p.at), static_cast<std::size_t>(end - at));
        }
        at = end;
      }
    }
    contents[number] = now;
  }
  for (const auto& [name, number] : names) {
    const std::string folder = folder_of(number < 0 ? name.substr(0, name.size() - 1) : name);
    // Safe in a folder that is not itself: out of reach.
    if (folder.empty() || names.contains(folder + "/")) out[name] = number < 0 ? "" : contents[number];
  }
  return out;
}

}  // namespace baybook::faults
