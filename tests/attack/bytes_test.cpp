// Damage by accident: flipped bits, pages and sectors that are zero or hold something else, files cut short.
#include "attack/lab.hpp"

#include <random>

using namespace baybook;
using namespace baybook::test;

namespace {

const std::string kGolden = std::string(BAYBOOK_SOURCE) + "/tests/golden/";

struct Damage {
  bool in_wal = false;
  enum class What { flip, zero, garble, cut } what = What::flip;
  std::size_t at = 0, size = 0;  ///< of a flip: the bit
};

std::string told(const Damage& d) {
  const char* what[] = {"bit", "zeroed", "garbled", "cut at"};
  return std::string(d.in_wal ? "-wal " : "file ") + what[static_cast<int>(d.what)] + " " + std::to_string(d.at) + (d.size > 0 ? " +" + std::to_string(d.size) : "");
}

Bytes damaged(Bytes b, const Damage& d, std::uint64_t seed) {
  std::string& s = d.in_wal ? b.wal : b.main;
  std::mt19937_64 rng(seed);
  switch (d.what) {
    case Damage::What::flip: s[d.at / 8] = static_cast<char>(s[d.at / 8] ^ (1 << (d.at % 8))); break;
    case Damage::What::zero: s.replace(d.at, d.size, std::string(d.size, '\0')); break;
    case Damage::What::garble:
      for (std::size_t i = d.at; i < d.at + d.size; ++i) s[i] = static_cast<char>(rng());
      break;
    case Damage::What::cut: s.resize(d.at); break;
  }
  return b;
}

struct Subject {
  Folder folder;
  std::string path, before, seal;
  Bytes bytes;
  void take(Bytes b, std::string printed) {
    bytes = std::move(b);
    seal = std::move(printed);
    path = folder.file("case.baybook");
    put_papers(path);
    put_book(path, bytes);
    before = logical(path);
  }
  Figures run(const std::string& threat, const std::vector<Damage>& all) const {
    Figures out(threat);
    const auto verdicts = in_children(all.size(), [&](std::size_t i) {
      put_book(path, damaged(bytes, all[i], i));
      return look_at(path, {seal, before, true, i % 8 == 0});
    });
    out.add_all(verdicts, [&](std::size_t i) { return told(all[i]); });
    return out;
  }
  [[nodiscard]] std::vector<Damage> flips(std::size_t n, std::uint64_t seed, bool in_wal) const {
    std::mt19937_64 rng(seed);
    std::vector<Damage> out;
    const std::size_t bits = (in_wal ? bytes.wal : bytes.main).size() * 8;
    for (std::size_t i = 0; i < n; ++i) out.push_back({in_wal, Damage::What::flip, rng() % bits, 0});
    return out;
  }
  [[nodiscard]] std::vector<Damage> blocks(std::size_t size, bool in_wal, std::size_t one_in) const {
    std::vector<Damage> out;
    const std::size_t end = (in_wal ? bytes.wal : bytes.main).size();
    std::size_t n = 0;
    for (std::size_t at = 0; at < end; at += size) {
      for (const auto what : {Damage::What::zero, Damage::What::garble}) {
        const Damage d{in_wal, what, at, std::min(size, end - at)};
        if (chosen(n++, one_in) || once_found(told(d))) out.push_back(d);
      }
    }
    return out;
  }
  [[nodiscard]] std::vector<Damage> cuts(bool in_wal, std::size_t one_in) const {
    std::vector<Damage> out;
    const std::size_t end = (in_wal ? bytes.wal : bytes.main).size();
    std::vector<std::size_t> sizes = {0, 1, 15, 16, 31, 32, 33, 99, 100, 101, 511, 512, 513, 1024, 4095, 4097, end - 1, end - 511, end - 513, end / 2, end / 3};
    // A page of the file; a frame of the log, which is a page and its 24 bytes behind 32 of the beginning.
    for (std::size_t at = in_wal ? 32 : 4096; at < end; at += in_wal ? 4096 + 24 : 4096) {
      sizes.push_back(at);
      sizes.push_back(at + 1 + at % 911);
    }
    std::size_t n = 0;
    for (const std::size_t at : sizes) {
      const Damage d{in_wal, Damage::What::cut, at, 0};
      if (at < end && (chosen(n++, one_in) || once_found(told(d)))) out.push_back(d);
    }
    return out;
  }
};

struct WholeBook : Subject {
  WholeBook() {
    WholeShop shop;
    take(shop.open, shop.seal);
  }
};
struct GoldenBook : Subject {
  GoldenBook() {
    std::string printed = read_bytes(kGolden + "v1.seal.txt");
    printed.pop_back();
    take({read_bytes(kGolden + "v1.baybook"), ""}, printed);
  }
};

}  // namespace

TEST_SUITE("attack/bytes") {
  TEST_CASE("a flipped bit anywhere in the file is found, refused or without effect, and never crashes what reads it") {
    const WholeBook whole;
    const auto f = whole.run("bit flipped in the file of a book of every kind of entry", whole.flips(full_run() ? 3500 : 90, 5, false));
    f.report();
    CHECK(f.of(Outcome::by_seal) == 0);
    // Most of a young book is room for rows to come, and pages of which the write-ahead log holds a newer one.
    CHECK(f.of(Outcome::found) + f.of(Outcome::refused) > f.runs / 10);
  }

  TEST_CASE("a flipped bit in the golden book is found, refused or without effect") {
    const GoldenBook golden;
    const auto f = golden.run("bit flipped in the golden book", golden.flips(full_run() ? 1500 : 40, 6, false));
    f.report();
    CHECK(f.of(Outcome::by_seal) == 0);
    // Most of a young book is room for rows to come, and pages of which the write-ahead log holds a newer one.
    CHECK(f.of(Outcome::found) + f.of(Outcome::refused) > f.runs / 10);
  }

  TEST_CASE("a flipped bit in the write-ahead log is without effect, or the entries behind it are gone and the printed seal shows it") {
    const WholeBook whole;
    whole.run("bit flipped in the write-ahead log", whole.flips(full_run() ? 1000 : 30, 7, true)).report();
  }

  TEST_CASE("a page that is zero or garbled is found, refused or without effect") {
    const WholeBook whole;
    auto all = whole.blocks(4096, false, 12);
    whole.run("page zeroed or garbled", all).report();
    const GoldenBook golden;
    golden.run("page of the golden book zeroed or garbled", golden.blocks(4096, false, 12)).report();
  }

  TEST_CASE("a sector that is zero or garbled is found, refused or without effect") {
    const WholeBook whole;
    whole.run("sector of 512 bytes zeroed or garbled", whole.blocks(512, false, 80)).report();
    whole.run("sector of the write-ahead log zeroed or garbled", whole.blocks(512, true, 60)).report();
  }

  TEST_CASE("a file cut short is found or refused, a write-ahead log cut short is shown by the printed seal") {
    const WholeBook whole;
    const auto f = whole.run("file cut short", whole.cuts(false, 14));
    f.report();
    // Without effect only where the write-ahead log holds all that was cut off.
    CHECK(f.of(Outcome::by_seal) == 0);
    whole.run("write-ahead log cut short", whole.cuts(true, 6)).report();
  }

  TEST_CASE("a book without its write-ahead log, or with another book's, is shown by the printed seal") {
    const WholeBook whole;
    WholeShop other(1);
    const Bytes& others = other.open;
    Figures f("copied without its write-ahead log, or with another book's");
    const std::vector<Bytes> all = {{whole.bytes.main, ""}, {whole.bytes.main, others.wal}, {others.main, whole.bytes.wal}};
    const auto verdicts = in_children(all.size(), [&](std::size_t i) {
      put_book(whole.path, all[i]);
      return look_at(whole.path, {whole.seal, whole.before, true, false});
    });
    f.add_all(verdicts, [](std::size_t i) { return "mistake " + std::to_string(i); });
    f.report();
    CHECK(f.of(Outcome::harmless) == 0);
    CHECK(f.of(Outcome::by_seal) >= 1);
  }
}
