// A disk that fails when it is told to: SQLite's own door to the files, with a lock on it. One for the whole test program; it passes
// everything on until a test asks for a fault, and a test that ends takes its fault with it.
#pragma once

#include <sqlite3.h>

#include <map>
#include <memory>
#include <mutex>
#include <string_view>

namespace baybook::test {

struct Fault {
  enum class Call { none, write, sync, read, open } call = Call::none;
  int code = SQLITE_IOERR;   ///< what SQLite is told
  int times = 1;             ///< how often it fails; below 0: for good
  int after = 0;             ///< how many calls of that kind go well before
  bool dead = false;         ///< from the first failure on every call of every kind fails
};

class FaultDisk {
 public:
  explicit FaultDisk(Fault fault) {
    install();
    now() = fault;
  }
  FaultDisk(const FaultDisk&) = delete;
  FaultDisk& operator=(const FaultDisk&) = delete;
  ~FaultDisk() { now() = Fault{}; }

  /// Every file that is opened from now on goes through here. A book must be opened afterwards.
  static void install() {
    static std::once_flag once;
    std::call_once(once, [] {
      below() = sqlite3_vfs_find(nullptr);
      static sqlite3_vfs vfs = *below();
      vfs.zName = "fault-disk";
      vfs.xOpen = open;
      sqlite3_vfs_register(&vfs, 1);
    });
  }

 private:
  struct Methods {
    sqlite3_io_methods own;
    const sqlite3_io_methods* below;
  };
  static sqlite3_vfs*& below() {
    static sqlite3_vfs* vfs = nullptr;
    return vfs;
  }
  static Fault& now() {
    static Fault fault;
    return fault;
  }
  static bool fails(Fault::Call call) {
    Fault& f = now();
    if (f.dead && f.times == 0) return true;
    if (f.call != call || f.times == 0) return false;
    if (f.after > 0) {
      --f.after;
      return false;
    }
    if (f.dead) f.times = 0;
    else if (f.times > 0) --f.times;
    return true;
  }
  static const sqlite3_io_methods& of(sqlite3_file* file) { return *reinterpret_cast<const Methods*>(file->pMethods)->below; }
  static int open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
    file->pMethods = nullptr;
    if (fails(Fault::Call::open)) return SQLITE_CANTOPEN;
    const int result = below()->xOpen(below(), name, file, flags, out);
    if (file->pMethods == nullptr) return result;
    static std::map<const sqlite3_io_methods*, std::unique_ptr<Methods>> all;
    auto& m = all[file->pMethods];
    if (!m) {
      m = std::make_unique<Methods>(Methods{*file->pMethods, file->pMethods});
      m->own.xWrite = [](sqlite3_file* f, const void* data, int size, sqlite3_int64 at) { return fails(Fault::Call::write) ? now().code : of(f).xWrite(f, data, size, at); };
      m->own.xRead = [](sqlite3_file* f, void* data, int size, sqlite3_int64 at) { return fails(Fault::Call::read) ? now().code : of(f).xRead(f, data, size, at); };
      m->own.xSync = [](sqlite3_file* f, int how) { return fails(Fault::Call::sync) ? now().code : of(f).xSync(f, how); };
    }
    file->pMethods = &m->own;
    return result;
  }
};

}  // namespace baybook::test
