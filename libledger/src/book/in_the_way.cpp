#include "book/in_the_way.hpp"

#include "book/exchange_head.hpp"
#include "store/glance.hpp"
#include "store/paths.hpp"

#include <baybook/returns.hpp>
#include <baybook/text.hpp>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <string_view>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::book {

namespace {

using store::absolute;
using store::Looks;

// The statements that made a book's log are within so much of its beginning.
constexpr std::size_t kLooked = 512 * 1024;
// What a book keeps beside itself while it is open.
constexpr std::array<std::string_view, 4> kBeside = {"-wal", "-shm", "-journal", ".lock"};

constexpr const char* kLost = "what it holds would be lost; --force does not write over it either";

Refusal stays(const std::string& path, const std::string& what, const std::string& why,
              const Placing& how) {
  return Refusal{Code::not_allowed, visible(path) + " " + what, why, how.another, {}};
}

// Names are compared in small letters: where a file system does not tell them apart,
// MARSH.BAYBOOK-WAL is the book's log.
bool ends_with(std::string_view name, std::string_view ending) {
  if (name.size() <= ending.size()) return false;
  name.remove_prefix(name.size() - ending.size());
  for (std::size_t i = 0; i < ending.size(); ++i) {
    const char c = name[i] >= 'A' && name[i] <= 'Z' ? static_cast<char>(name[i] + 32) : name[i];
    if (c != ending[i]) return false;
  }
  return true;
}

bool same(const struct stat& a, const std::string& path) {
  struct stat b {};
  return !path.empty() && ::stat(absolute(path).c_str(), &b) == 0 && a.st_dev == b.st_dev &&
         a.st_ino == b.st_ino;
}

// By what it holds, or, when it is damaged past knowing, by its name. An empty file holds nothing.
bool is_database(const std::string& file, const std::string& name) {
  struct stat st {};
  if (::stat(absolute(file).c_str(), &st) != 0 || !S_ISREG(st.st_mode)) return false;
  if (ends_with(name, ".baybook")) return true;
  const auto seen = store::glance(file, 100);
  return !seen || store::looks_of(seen->head) != Looks::other;
}

// The folder of `path` by its own name, whatever links and spellings lead to it.
std::string real_folder(const std::string& path) {
  char* const found = ::realpath(store::folder_of(absolute(path)).c_str(), nullptr);
  if (found == nullptr) return "";
  std::string out = found;
  std::free(found);
  return out;
}

bool has(const store::Glance& g, std::string_view words) {
  return g.head.find(words) != std::string::npos || g.tail.find(words) != std::string::npos;
}

// Every print names the program and its version, "baybook 0.1.0", after these words.
bool names_program(const store::Glance& g, std::string_view after) {
  const std::string name = std::string(after) + "baybook ";
  for (const std::string* text : {&g.head, &g.tail}) {
    for (std::size_t at = text->find(name); at != std::string::npos;
         at = text->find(name, at + 1)) {
      const char next = at + name.size() < text->size() ? (*text)[at + name.size()] : ' ';
      if (next >= '0' && next <= '9') return true;
    }
  }
  return false;
}

// What a verb printed with --out: it can be printed again. Lists and exchange files are not
// counted: they come from others as well.
bool printed(const store::Glance& g) {
  // The producer's name in UTF-16, as the prints have it.
  if (g.head.starts_with("%PDF-")) return has(g, "/Producer <FEFF0062006100790062006F006F006B0020");
  if (g.head.starts_with("BEGIN:VCALENDAR\r\n")) return has(g, "PRODID:-//Baybook//");
  if (g.head.starts_with("{\"v\":1,\"ok\":true")) return true;
  if (g.head.starts_with("<!DOCTYPE html>")) return names_program(g, "");
  // The last line of a text, a row of a table.
  return names_program(g, "\n") || names_program(g, "program,");
}

// A settings, rule or schedule file, by its name or by the heads of its tables: typed by somebody,
// and nowhere else.
bool typed_by_hand(const store::Glance& g, const std::string& path) {
  if (ends_with(path, ".toml")) return true;
  for (const char* head : {"[[value]]", "[[stream]]", "[[interval]]"}) {
    const std::size_t at = g.head.find(head);
    if (at != std::string::npos && (at == 0 || g.head[at - 1] == '\n')) return true;
  }
  return false;
}

// Why the file that lies at `file` and goes by the name of `path` stays; none when it may go.
std::optional<Refusal> why_it_stays(const std::string& file, const std::string& path,
                                    const struct stat& st, const store::Glance& seen,
                                    const Placing& how, const MayGo& may_go) {
  if (same(st, how.book))
    return stays(path, "is the book itself", "what is written is another file", how);
  for (const std::string_view suffix : kBeside) {
    if (!how.book.empty() && same(st, how.book + std::string(suffix)))
      return stays(path, "belongs to the book " + visible(how.book),
                   "what lies there while the book is open is a part of it", how);
  }
  for (const std::string& other : how.stays) {
    if (same(st, other))
      return stays(path, "is a file that this command itself goes by", kLost, how);
  }
  if (how.paper) return std::nullopt;
  switch (store::looks_of(seen.head)) {
    case Looks::book:
      return may_go ? may_go(file, path) : stays(path, "is a book, or a backup of one", kLost, how);
    case Looks::part_book: return stays(path, "is a damaged book, or a backup of one", kLost, how);
    case Looks::database: return stays(path, "is a database", kLost, how);
    case Looks::log:
      return stays(path, "is the log of a database: the newest entries of a book may be in it",
                   kLost, how);
    case Looks::other: break;
  }
  if (st.st_size > 0 && ends_with(path, ".baybook"))
    return stays(
        path, "has the name of a book and cannot be read as one; what is left of it may be needed",
        kLost, how);
  if (st.st_size > 0 && typed_by_hand(seen, path))
    return stays(path, "is a settings, rule or schedule file", kLost, how);
  if (seen.head.starts_with("{\"baybook-erasures\""))
    return stays(path, "is a list of erasures", "a backup from before them must be told of them",
                 how);
  return std::nullopt;
}

// Whether a file of another may go at all, so that the two names are exchanged and looked at.
bool replaces(const Placing& how) {
  return how.force || how.paper || !how.own_exchange.empty();
}

bool is_own_exchange(const store::Glance& seen, const Placing& how) {
  if (how.own_exchange.empty()) return false;
  // An empty one is what a disk makes of a file that was never synced.
  return seen.size == 0 ||
         writer_of_exchange(seen.head.substr(0, seen.head.find('\n'))) == how.own_exchange;
}

std::optional<Refusal> look(const std::string& file, const std::string& path, const Placing& how,
                            const MayGo& may_go) {
  struct stat st {};
  if (::lstat(absolute(file).c_str(), &st) != 0) {
    if (errno == ENOENT) return std::nullopt;
    return Refusal{Code::unwritable,
                   visible(path) + ": cannot be looked at (" + store::system_words(errno) + ")",
                   "",
                   how.another,
                   {}};
  }
  if (S_ISLNK(st.st_mode))
    return Refusal{Code::already_there,
                   visible(path) + " is a link",
                   "nothing is written through a link",
                   "the name of the file itself",
                   {}};
  if (S_ISDIR(st.st_mode))
    return Refusal{Code::already_there,
                   visible(path) + " is a folder",
                   "what is written is one file",
                   how.another,
                   {}};
  if (!S_ISREG(st.st_mode))
    return Refusal{
        Code::already_there, visible(path) + " is there and is no file", "", how.another, {}};
  const auto seen = store::glance(file, kLooked);
  if (!seen) return stays(path, "is there and cannot be looked at", kLost, how);
  if (auto no = why_it_stays(file, path, st, *seen, how, may_go)) {
    if (!how.force) no->code = Code::already_there;
    return no;
  }
  if (how.force || how.paper || is_own_exchange(*seen, how)) return std::nullopt;
  const bool again = printed(*seen) || store::looks_of(seen->head) == Looks::book;
  return Refusal{Code::already_there,
                 visible(path) + " is there already",
                 "what was written before is not overwritten",
                 how.another + (again ? ", or --force" : ""),
                 {}};
}

Refusal could_not(const std::string& path, int error, const Placing& how) {
  return Refusal{
      Code::unwritable,
      visible(path) + ": it could not be put in its place (" + store::system_words(error) + ")",
      "nothing was kept",
      how.another,
      {}};
}

}  // namespace

std::optional<Refusal> belongs_to_another(const std::string& path, const Placing& how) {
  for (const std::string_view suffix : kBeside) {
    if (!ends_with(path, suffix)) continue;
    const std::string base = path.substr(0, path.size() - suffix.size());
    if (is_database(base, base))
      return stays(path, "belongs to the book " + visible(base),
                   "what lies there while the book is open is a part of it", how);
  }
  if (how.paper) return std::nullopt;
  struct stat folder {};
  const bool known = ::stat(store::folder_of(absolute(path)).c_str(), &folder) == 0;
  if (known && (ends_with(real_folder(path), ".papers") ||
                (!how.book.empty() && same(folder, papers_folder(absolute(how.book)))))) {
    return stays(path, "is in a folder of papers",
                 "nothing but baybook paper add and backup writes there: an entry leans on each "
                 "file by its digest",
                 how);
  }
  return std::nullopt;
}

std::optional<Refusal> taken_name(const std::string& path, const Placing& how) {
  if (auto no = belongs_to_another(path, how)) return no;
  for (const char* suffix : {"-wal", "-journal"}) {
    if (store::has_content(absolute(path) + suffix)) {
      return Refusal{Code::already_there,
                     visible(path) + suffix + " is there, left by a book of that name",
                     "it would be taken for a part of what is written here",
                     how.another,
                     {}};
    }
  }
  return std::nullopt;
}

std::optional<Refusal> in_the_way(const std::string& path, const Placing& how,
                                  const MayGo& may_go) {
  if (path.empty()) return Refusal{Code::wrong_usage, "the file has no name", "", how.another, {}};
  if (auto no = taken_name(path, how)) return no;
  return look(path, path, how, may_go);
}

std::optional<Refusal> put_in_place(const std::string& part, const std::string& path,
                                    const Placing& how, const MayGo& may_go) {
  // A name may be taken and given free again while this looks at it.
  for (int tries = 0; tries < 16; ++tries) {
    if (auto no = in_the_way(path, how, may_go)) return no;
    if (store::name_it(part, path)) return std::nullopt;
    if (errno != EEXIST) return could_not(path, errno, how);
    if (!replaces(how)) continue;  // it came in between: the next look says what it is
    const std::string from = absolute(part);
    const std::string to = absolute(path);
    if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_EXCHANGE) == 0) {
      // The two have changed places: what lies under the passing name now is what goes, and nothing
      // else.
      auto no = look(part, path, how, may_go);
      if (!no) no = taken_name(path, how);
      if (!no) {
        ::unlink(from.c_str());
        return std::nullopt;
      }
      if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_EXCHANGE) == 0)
        return no;
      return Refusal{Code::unwritable,
                     visible(path) + ": what was there lies under " + visible(part) +
                         " now, and could not be put back (" + store::system_words(errno) + ")",
                     "it must not be lost",
                     "mv " + as_typed(part) + " " + as_typed(path),
                     {}};
    }
    if (errno == ENOENT) continue;  // it went in between
    if (errno != EINVAL && errno != ENOSYS) return could_not(path, errno, how);
    // A file system that cannot exchange two names: looked at as late as can be.
    if (auto no = in_the_way(path, how, may_go)) return no;
    if (::rename(from.c_str(), to.c_str()) == 0) return std::nullopt;
    return could_not(path, errno, how);
  }
  return could_not(path, EBUSY, how);
}

}  // namespace baybook::book

namespace baybook {

namespace {

Result<Done> done_unless(std::optional<Refusal> no) {
  if (no) return std::move(*no);
  return Done{};
}

}  // namespace

Result<Done> may_take_name(const std::string& path, const Placing& how) {
  return done_unless(book::in_the_way(path, how));
}

Result<Done> take_name(const std::string& part, const std::string& path, const Placing& how) {
  return done_unless(book::put_in_place(part, path, how));
}

}  // namespace baybook
