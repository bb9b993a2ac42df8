#include "calls.hpp"

#include <fcntl.h>
#include <sys/mman.h>
#include <sys/syscall.h>

namespace baybook::faults {

Class class_of(const Call& c) {
  switch (c.number) {
    case SYS_write:
    case SYS_pwrite64:
    case SYS_writev:
    case SYS_pwritev:
    case SYS_copy_file_range:
    case SYS_sendfile:
    case SYS_fallocate: return c.arg[0] <= 2 && c.number == SYS_write ? Class::other : Class::write;
    case SYS_fsync:
    case SYS_fdatasync:
    case SYS_sync_file_range:
    case SYS_syncfs: return Class::sync;
    case SYS_ftruncate:
    case SYS_truncate: return Class::truncate;
    case SYS_openat: return Class::open;
#ifdef SYS_open
    case SYS_open: return Class::open;
    case SYS_mkdir:
    case SYS_unlink:
    case SYS_rename:
    case SYS_link:
    case SYS_rmdir:
    case SYS_chmod: return Class::name;
#endif
    case SYS_mkdirat:
    case SYS_unlinkat:
    case SYS_renameat:
    case SYS_renameat2:
    case SYS_linkat:
    case SYS_fchmod:
    case SYS_fchmodat:
    case SYS_fchown: return Class::name;
    case SYS_read:
    case SYS_pread64: return Class::read;
    case SYS_fcntl: return c.arg[1] == F_SETLK || c.arg[1] == F_SETLKW || c.arg[1] == F_OFD_SETLK ? Class::lock : Class::other;
    case SYS_mmap: return (c.arg[3] & MAP_SHARED) != 0 && (c.arg[3] & MAP_ANONYMOUS) == 0 ? Class::map : Class::other;
    default: return Class::other;
  }
}

const char* name_of(Class c) {
  switch (c) {
    case Class::write: return "write";
    case Class::sync: return "sync";
    case Class::truncate: return "truncate";
    case Class::open: return "open";
    case Class::name: return "name";
    case Class::read: return "read";
    case Class::lock: return "lock";
    case Class::map: return "map";
    case Class::other: break;
  }
  return "other";
}

bool changes_something(const Call& c) {
  const Class k = class_of(c);
  return k != Class::other && k != Class::read;
}

bool prints(const Call& c) { return c.number == SYS_write && (c.arg[0] == 1 || c.arg[0] == 2); }

}  // namespace baybook::faults
