#include "store/glance.hpp"

#include "store/paths.hpp"
#include "store/schema.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <cstddef>
#include <memory>
#include <new>
#include <string_view>
#include <vector>

namespace baybook::store {

namespace {

std::int64_t number_at(const std::string& bytes, std::size_t at) {
  std::int64_t n = 0;
  for (std::size_t i = 0; i < 4; ++i) n = n << 8 | static_cast<unsigned char>(bytes[at + i]);
  return n;
}

// SQLite fills what lies beyond the end with zeros and says so; that is no error here.
bool read_piece(sqlite3_file* file, std::string& into, std::int64_t from, std::int64_t size) {
  into.assign(static_cast<std::size_t>(size), '\0');
  if (size == 0) return true;
  const int result = file->pMethods->xRead(file, into.data(), static_cast<int>(size), from);
  return result == SQLITE_OK || result == SQLITE_IOERR_SHORT_READ;
}

}  // namespace

std::optional<Glance> glance(const std::string& path, std::size_t bytes) {
  sqlite3_vfs* const vfs = sqlite3_vfs_find(nullptr);
  if (vfs == nullptr) return std::nullopt;
  const std::string name_of_it = absolute(path);
  const std::unique_ptr<const char, void (*)(const char*)> name(
      sqlite3_create_filename(name_of_it.c_str(), "", "", 0, nullptr),
      [](const char* p) { sqlite3_free_filename(const_cast<char*>(p)); });
  if (!name) throw std::bad_alloc();
  std::vector<std::max_align_t> room(
      static_cast<std::size_t>(vfs->szOsFile) / sizeof(std::max_align_t) + 1);
  auto* const file = reinterpret_cast<sqlite3_file*>(room.data());
  file->pMethods = nullptr;
  int flags = 0;
  // As the main file of a database: only of such a one does SQLite keep count of the locks that a
  // close must not drop.
  const bool opened = vfs->xOpen(vfs, name.get(), file, SQLITE_OPEN_READONLY | SQLITE_OPEN_MAIN_DB,
                                 &flags) == SQLITE_OK;
  std::optional<Glance> out;
  if (opened) {
    Glance g;
    sqlite3_int64 size = 0;
    if (file->pMethods->xFileSize(file, &size) == SQLITE_OK) {
      g.size = size;
      const std::int64_t part = std::min<std::int64_t>(size, static_cast<std::int64_t>(bytes));
      if (read_piece(file, g.head, 0, part) && read_piece(file, g.tail, size - part, part))
        out = std::move(g);
    }
  }
  if (file->pMethods != nullptr) file->pMethods->xClose(file);
  return out;
}

Looks looks_of(const std::string& head) {
  using namespace std::string_view_literals;
  if (head.starts_with("SQLite format 3\0"sv)) {
    return head.size() >= 72 && number_at(head, 68) == kApplicationId ? Looks::book
                                                                      : Looks::database;
  }
  // The first bytes of a write-ahead log, in either byte order of its sums, and of a rollback
  // journal (sqlite.org/fileformat2.html).
  if (head.starts_with("\x37\x7f\x06\x82"sv) || head.starts_with("\x37\x7f\x06\x83"sv))
    return Looks::log;
  if (head.starts_with("\xd9\xd5\x05\xf9\x20\xa1\x63\xd7"sv)) return Looks::log;
  // The statement that made the log stands in the first pages of every book.
  const std::string_view tables(kLogTables);
  const std::string_view made = tables.substr(1, tables.find('(', 1));
  return head.find(made) != std::string::npos ? Looks::part_book : Looks::other;
}

}  // namespace baybook::store
