#include "store/share.hpp"

#include <doctest/doctest.h>

using namespace baybook;

TEST_SUITE("store/share") {
  // The numbers of the Linux manual page statfs(2), "file system types"; Ceph and Lustre from the headers of their clients (from memory).
  TEST_CASE("file systems of another machine are shares, FUSE may be one, those of this machine are none") {
    for (const unsigned long type : {0x6969UL, 0x517BUL, 0xFE534D42UL, 0xFF534D42UL, 0x01021997UL, 0x564CUL, 0x73757245UL, 0x5346414FUL, 0x00C36400UL, 0x0BD00BD0UL}) {
      CAPTURE(type);
      CHECK(store::share_of_type(type) == Share::network);
      // The field is signed on some machines, and its upper half then full of ones.
      CHECK(store::share_of_type(type | 0xFFFFFFFF00000000UL) == Share::network);
    }
    CHECK(store::share_of_type(0x65735546UL) == Share::unsure);
    for (const unsigned long type : {0xEF53UL /* ext */, 0x58465342UL /* xfs */, 0x9123683EUL /* btrfs */, 0x01021994UL /* tmpfs */, 0x4D44UL /* FAT */, 0UL}) {
      CAPTURE(type);
      CHECK(store::share_of_type(type) == Share::none);
    }
  }

  TEST_CASE("a folder that is not there is on no share") { CHECK(store::share_of("/no/such/folder/b.baybook") == Share::none); }
}
