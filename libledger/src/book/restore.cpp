// A backup put in the place of a book that was lost or is damaged.
#include "book/copy.hpp"
#include "book/erasure_list.hpp"
#include "book/in_the_way.hpp"
#include "store/paths.hpp"

#include <baybook/keep.hpp>
#include <baybook/returns.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <dirent.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook {

namespace {

using store::Failure;

constexpr const char* kBeside[] = {"", "-wal", "-shm", "-journal"};

bool is_there(const std::string& path) {
  struct stat st {};
  return ::lstat(store::absolute(path).c_str(), &st) == 0;
}

bool same_file(const std::string& a, const std::string& b) {
  struct stat x {};
  struct stat y {};
  return ::stat(store::absolute(a).c_str(), &x) == 0 && ::stat(store::absolute(b).c_str(), &y) == 0 && x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}

// What lies in the place now.
struct There {
  bool anything = false;
  bool opens = false;
  std::int64_t only_there = 0;
  book::ErasureList erasures{};
};

There look(const Book& backup, const std::string& path) {
  There out;
  out.anything = std::any_of(std::begin(kBeside), std::end(kBeside), [&](const char* suffix) { return is_there(path + suffix); });
  if (!is_there(path)) return out;
  try {
    Book::Inside old(path, store::Db::Mode::read, backup.inside().random);
    book::load(old);
    out.opens = true;
    out.erasures = book::erasures_of(old);
    auto q = old.db.query("SELECT id FROM entry ORDER BY id");
    while (q.step()) out.only_there += log::read_row(backup.inside().db, EntryId{q.num(0)}) ? 0 : 1;
  } catch (const Failure&) {
    out.opens = false;
  } catch (const log::Malformed&) {
    out.opens = false;
  }
  return out;
}

std::string free_name(const std::string& path) {
  for (int n = 1;; ++n) {
    const std::string name = path + ".aside" + (n == 1 ? "" : "-" + std::to_string(n));
    if (std::none_of(std::begin(kBeside), std::end(kBeside), [&](const char* suffix) { return is_there(name + suffix); })) return name;
  }
}

// The file first: without its log it would open as an older book under the name that everybody uses.
void put_aside(const std::string& path, const std::string& aside) {
  for (const char* suffix : kBeside) {
    if (!is_there(path + suffix)) continue;
    if (!store::name_it(path + suffix, aside + suffix)) throw Failure(Code::unwritable, path + suffix + ": could not be put aside (" + store::system_words(errno) + ")", "another place: baybook backup --continue NEW.baybook");
  }
}

// Papers have their digest in their name: what is there is the same, or is found by prove.
void bring_papers(const std::string& from, const std::string& to) {
  if (!is_there(from)) return;
  if (!is_there(to) && ::rename(store::absolute(from).c_str(), store::absolute(to).c_str()) == 0) return;
  std::vector<std::string> names;
  if (DIR* const dir = ::opendir(store::absolute(from).c_str())) {
    while (const dirent* const e = ::readdir(dir)) names.emplace_back(e->d_name);
    ::closedir(dir);
  }
  for (const std::string& name : names) {
    if (name == "." || name == "..") continue;
    if (store::name_it(from + "/" + name, to + "/" + name)) continue;
    if (errno == EEXIST) ::unlink(store::absolute(from + "/" + name).c_str());
  }
  ::rmdir(store::absolute(from).c_str());
}

std::string free_tag(const Book& backup, const std::string& tag) {
  const auto& all = backup.inside().known.all;
  for (int n = 2;; ++n) {
    const std::string number = "-" + std::to_string(n);
    std::string free = tag.substr(0, 12 - number.size()) + number;
    if (std::none_of(all.begin(), all.end(), [&](const log::Installation& i) { return i.tag == free; })) return free;
  }
}

}  // namespace

Result<Restored> restore(const Book& backup, const std::string& path, const RestoreOptions& options) {
  return book::guarded<Restored>([&]() -> Result<Restored> {
    if (path.empty()) return Refusal{Code::wrong_usage, "the place of the book is not said", "", "--book marsh.baybook", {}};
    if (same_file(backup.path(), path)) return Refusal{Code::not_allowed, path + " is the backup itself", "a backup stays as it is; a copy of it goes on", "--book with the name that the book has", {}};
    struct stat st {};
    if (::lstat(store::absolute(path).c_str(), &st) == 0 && !S_ISREG(st.st_mode)) return Refusal{Code::not_allowed, path + " is there and is no file", "what lies there is put aside first", "another --book", {}};
    if (auto no = book::belongs_to_another(path, {.another = "the place where the book was"}))
      return std::move(*no);
    const There there = look(backup, path);
    if (there.opens && there.only_there > 0 && !options.over_newer) {
      return Refusal{Code::not_allowed, path + " opens and has " + std::to_string(there.only_there) + (there.only_there == 1 ? " entry" : " entries") + " that the backup does not have",
                     "a backup goes in the place of a book that is lost or damaged", "baybook prove --book " + as_typed(path) + "  # says whether it is sound; to go back all the same: --over-newer", {{"only_there", std::to_string(there.only_there)}}};
    }
    Restored out;
    out.tag = options.tag.empty() ? free_tag(backup, backup.settings().tag) : options.tag;
    out.only_there = there.anything && !there.opens ? -1 : there.only_there;
    // The copy is whole and read again before anything is moved.
    std::string fresh = path + ".restored";
    for (int n = 2; is_there(fresh) || is_there(fresh + "-wal"); ++n) fresh = path + ".restored-" + std::to_string(n);
    BackupOptions o;
    o.now = options.now;
    o.progress = options.progress;
    o.in_place_of_lost = true;
    auto made = continue_as(backup, fresh, out.tag, o);
    if (!made.ok()) return std::move(made).refusal();
    out.made = std::move(made).value();
    {
      Book::Inside copy(fresh, store::Db::Mode::read, backup.inside().random);
      book::load(copy);
      for (UnknownErasure& u : book::unknown_in(copy, there.erasures)) {
        const bool told = std::any_of(out.made.erasures.begin(), out.made.erasures.end(), [&](const UnknownErasure& known) { return known.texts == u.texts && known.day == u.day; });
        if (!told) out.made.erasures.push_back(std::move(u));
      }
    }
    try {
      if (there.anything) {
        out.aside = free_name(path);
        put_aside(path, out.aside);
      }
      if (!store::name_it(fresh, path)) throw Failure(Code::unwritable, path + ": the book could not be put there (" + store::system_words(errno) + ")", "mv " + as_typed(fresh) + " " + as_typed(path));
    } catch (const Failure& f) {
      return Refusal{f.code, std::string(f.what()) + "; the restored book is whole and lies in " + fresh + (out.aside.empty() ? "" : ", what was there before in " + out.aside), "nothing was written over", f.instead, {}};
    }
    bring_papers(papers_folder(fresh), papers_folder(path));
    out.made.path = path;
    if (!store::sync_path(store::folder_of(store::absolute(path)), true)) return Refusal{Code::unwritable, path + ": is there, but its folder could not be made safe on disk", "after a power cut the names may be the old ones", "look at the disk, then baybook prove --book " + as_typed(path), {}};
    return out;
  });
}

}  // namespace baybook
