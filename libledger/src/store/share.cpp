#include "store/share.hpp"

#include "store/paths.hpp"

#include <sys/vfs.h>

namespace baybook::store {

// The numbers are those of the Linux manual page statfs(2), "file system types"; CephFS and Lustre from their own headers, named there too.
Share share_of_type(unsigned long type) noexcept {
  switch (type & 0xffffffffUL) {
    case 0x6969UL:      // NFS
    case 0x517BUL:      // SMB
    case 0xFE534D42UL:  // SMB2
    case 0xFF534D42UL:  // CIFS
    case 0x01021997UL:  // 9P
    case 0x564CUL:      // NCP
    case 0x73757245UL:  // Coda
    case 0x5346414FUL:  // AFS
    case 0x00C36400UL:  // Ceph
    case 0x0BD00BD0UL:  // Lustre
      return Share::network;
    case 0x65735546UL:  // FUSE: a stick as often as a share
      return Share::unsure;
    default:
      return Share::none;
  }
}

Share share_of(const std::string& path) {
  struct statfs fs {};
  if (::statfs(folder_of(absolute(path)).c_str(), &fs) != 0) return Share::none;
  return share_of_type(static_cast<unsigned long>(fs.f_type));
}

}  // namespace baybook::store

namespace baybook {

Share network_share(const std::string& path) { return store::share_of(path); }

}  // namespace baybook
