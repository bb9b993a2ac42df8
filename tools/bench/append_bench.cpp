// One durable append in a resident process, against the bare engine and the disk: baybook_append_bench BOOK [--count N] [--rounds R].
//
// BOOK is written to: give it a copy. In every step of a round each of the ways does one append, so that whatever else the
// machine does falls on all of them alike. Prints microseconds and, per round, ratios of the medians.
#include "book/inside.hpp"

#include <baybook/book.hpp>
#include <baybook/reports.hpp>

#include <sqlite3.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <iostream>
#include <random>
#include <string>
#include <time.h>
#include <unistd.h>
#include <vector>

namespace {

using namespace baybook;
using Clock = std::chrono::steady_clock;

template <class T>
T need(Result<T> r) {
  if (r.ok()) return std::move(r).value();
  std::cerr << "refused: " << r.refusal().what << "\n";
  std::exit(1);
}

void must(bool fine, const char* what) {
  if (fine) return;
  std::cerr << what << " failed\n";
  std::exit(1);
}

double processor_us() {
  timespec t{};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) * 1e6 + static_cast<double>(t.tv_nsec) / 1e3;
}

/// What one append took by the wall and of the processor. The latter tells what the book adds when a slow disk hides it.
struct Spent {
  std::vector<double> wall, cpu;
  template <class F>
  void on(const F& f) {
    const auto begin = Clock::now();
    const double before = processor_us();
    f();
    cpu.push_back(processor_us() - before);
    wall.push_back(std::chrono::duration<double, std::micro>(Clock::now() - begin).count());
  }
};

double at(std::vector<double> v, double quantile) {
  std::sort(v.begin(), v.end());
  return v[static_cast<std::size_t>(quantile * static_cast<double>(v.size() - 1) + 0.5)];
}

Amount millilitres(std::int64_t ml) { return Amount{Dimension::volume, ml * 1'000'000, ml * 1'000'000, ml * 1'000'000, false, std::to_string(ml) + "ml"}; }

/// The book's log as a bare table with two indices, in a file of its own with the book's own settings.
class Bare {
 public:
  Bare(const std::string& file, const std::string& book) {
    must(sqlite3_open(file.c_str(), &db_) == SQLITE_OK, "opening the bare file");
    run("PRAGMA page_size=4096; PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA wal_autocheckpoint=4000");
    run(("ATTACH '" + book + "' AS b").c_str());
    run("BEGIN; CREATE TABLE log(id INTEGER PRIMARY KEY, recorded INTEGER NOT NULL, moment INTEGER NOT NULL, kind INTEGER NOT NULL, who INTEGER NOT NULL, car INTEGER NOT NULL, body TEXT NOT NULL, digest BLOB NOT NULL);"
        "INSERT INTO log SELECT e.id, e.recorded, e.moment, e.kind, e.who, (e.id * 7919) % 5000, e.body, e.digest FROM b.entry e;"
        "CREATE INDEX log_car ON log(car, moment); CREATE INDEX log_kind ON log(kind, moment); COMMIT; DETACH b; PRAGMA wal_checkpoint(TRUNCATE)");
    must(sqlite3_prepare_v2(db_, "INSERT INTO log(recorded, moment, kind, who, car, body, digest) VALUES(?, ?, ?, ?, ?, ?, ?)", -1, &insert_, nullptr) == SQLITE_OK, "preparing");
    // Past its first checkpoint the write-ahead log is overwritten, not grown, which costs half; the book gets there in the
    // round that is not counted, since it writes more pages.
    run("PRAGMA synchronous=OFF");
    const std::string body(400, 'b');
    const std::string digest(32, 'd');
    for (int i = 0; i < 3000; ++i) insert(1'767'225'600'000 + i, i * 7919 % 5000, body, digest);
    run("PRAGMA synchronous=FULL");
  }
  Bare(const Bare&) = delete;
  Bare& operator=(const Bare&) = delete;
  ~Bare() {
    sqlite3_finalize(insert_);
    sqlite3_close(db_);
  }
  void run(const char* sql) { must(sqlite3_exec(db_, sql, nullptr, nullptr, nullptr) == SQLITE_OK, sql); }
  void insert(std::int64_t recorded, std::int64_t car, const std::string& body, const std::string& digest) {
    sqlite3_bind_int64(insert_, 1, recorded);
    sqlite3_bind_int64(insert_, 2, recorded / 60000);
    sqlite3_bind_int64(insert_, 3, 15);
    sqlite3_bind_int64(insert_, 4, 1);
    sqlite3_bind_int64(insert_, 5, car);
    sqlite3_bind_text(insert_, 6, body.data(), static_cast<int>(body.size()), SQLITE_STATIC);
    sqlite3_bind_blob(insert_, 7, digest.data(), 32, SQLITE_STATIC);
    must(sqlite3_step(insert_) == SQLITE_DONE, "bare insert");
    sqlite3_reset(insert_);
  }

 private:
  sqlite3* db_ = nullptr;
  sqlite3_stmt* insert_ = nullptr;
};

/// 8 KiB over what is there already, and fdatasync: about what any durable write of a small record costs.
class Floor {
 public:
  explicit Floor(const std::string& file) : block_(8192, 'x'), fd_(::open(file.c_str(), O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600)) {
    must(fd_ >= 0, "making the floor's file");
    for (int i = 0; i < kBlocks; ++i) must(::write(fd_, block_.data(), block_.size()) == 8192, "filling the floor's file");
    must(::fsync(fd_) == 0, "fsync");
  }
  Floor(const Floor&) = delete;
  Floor& operator=(const Floor&) = delete;
  ~Floor() { ::close(fd_); }
  void overwrite() {
    next_ = (next_ + 1) % kBlocks;
    must(::pwrite(fd_, block_.data(), block_.size(), off_t{next_} * 8192) == 8192 && ::fdatasync(fd_) == 0, "overwrite");
  }

 private:
  static constexpr int kBlocks = 2048;
  std::string block_;
  int fd_;
  int next_ = 0;
};

void ratio_row(const char* name, std::vector<double> ratios, const char* target) {
  std::printf("%s | %.2f | %.2f..%.2f | %s\n", name, at(ratios, 0.5), at(ratios, 0), at(ratios, 1), target);
}

}  // namespace

int main(int argc, char** argv) {
  std::string file;
  int count = 400;
  int rounds = 7;
  for (int i = 1; i < argc; ++i) {
    const std::string a = argv[i];
    if (a == "--count" && i + 1 < argc) count = std::atoi(argv[++i]);
    else if (a == "--rounds" && i + 1 < argc) rounds = std::atoi(argv[++i]);
    else file = a;
  }
  if (file.empty() || count < 20 || rounds < 1) {
    std::cerr << "usage: baybook_append_bench BOOK [--count N] [--rounds R]   (BOOK is written to)\n";
    return 2;
  }
  Bare bare(file + ".bare", file);
  Floor floor(file + ".floor");

  std::mt19937_64 engine(7);
  Book book = need(Book::open(file, Access::write, [&engine](std::uint8_t* bytes, std::size_t size) {
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<std::uint8_t>(engine() & 255);
    return true;
  }));
  Instant now{2'051'600'400'000};  // 2035-01-05T09:00Z, after the loader's ten years
  const auto stamp = [&now] {
    now.ms += 1000;
    Stamp s;
    s.now = now;
    return s;
  };
  std::vector<CarId> cars;
  for (const CarView& c : need(baybook::cars(book))) cars.push_back(c.id);
  OpenJob first;
  first.car = cars.front();
  const JobId job{need(book.append(first, stamp())).entry.id.n};
  NewPlace pan;
  pan.code = "pan-bench";
  const PlaceId into{need(book.append(pan, stamp())).entry.id.n};
  const PlaceId coolant = circuit_of(cars.front(), *find_circuit("coolant"));
  Movement m;
  m.verb = MoveVerb::drain;
  m.job = job;
  m.lines.resize(1);
  m.lines.front().from = coolant;
  m.lines.front().to = into;
  m.lines.front().amount = millilitres(5);
  OpenJob o;
  o.complaint = "loses coolant when hot, smell in the cabin";

  // Enough in the circuit for every drain to be one flow, as it is in a car that the shop knows.
  Receipt last = need(book.append(m, stamp()));
  std::string digest(32, 'd');
  Spent all[4];
  std::vector<double> cpu_to_bare[2];
  std::vector<double> to_bare[2];
  std::vector<double> to_floor[2];
  std::vector<double> tail[3];
  std::size_t next_car = 0;
  for (int round = 0; round < rounds + 1; ++round) {
    Spent t[4];
    for (int i = 0; i < count; ++i) {
      t[0].on([&] { floor.overwrite(); });
      t[1].on([&] { bare.insert(now.ms, static_cast<std::int64_t>(engine() % 5000), last.body, digest); });
      const Stamp s1 = stamp();
      t[2].on([&] { last = need(book.append(m, s1)); });
      next_car = (next_car + 37) % cars.size();
      o.car = cars[next_car];
      const Stamp s2 = stamp();
      t[3].on([&] { need(book.append(o, s2)); });
    }
    if (round == 0) continue;  // fills the caches
    const double f = at(t[0].wall, 0.5);
    const double b = at(t[1].wall, 0.5);
    for (int w = 0; w < 2; ++w) {
      to_bare[w].push_back(at(t[w + 2].wall, 0.5) / b);
      to_floor[w].push_back(at(t[w + 2].wall, 0.5) / f);
      cpu_to_bare[w].push_back(at(t[w + 2].cpu, 0.5) / at(t[1].cpu, 0.5));
    }
    for (int w = 0; w < 3; ++w) tail[w].push_back(at(t[w + 1].wall, 0.99) / at(t[w + 1].wall, 0.5));
    for (int w = 0; w < 4; ++w) {
      all[w].wall.insert(all[w].wall.end(), t[w].wall.begin(), t[w].wall.end());
      all[w].cpu.insert(all[w].cpu.end(), t[w].cpu.begin(), t[w].cpu.end());
    }
  }
  std::printf("way | p50 us | p99 us | processor p50 us\n");
  const char* names[] = {"8 KiB overwrite + fdatasync", "bare insert + 2 indices", "baybook movement", "baybook job"};
  for (int w = 0; w < 4; ++w) std::printf("%s | %.0f | %.0f | %.0f\n", names[w], at(all[w].wall, 0.5), at(all[w].wall, 0.99), at(all[w].cpu, 0.5));
  std::printf("ratio | median | min..max | target\n");
  ratio_row("T4 movement / bare insert", to_bare[0], "<= 1.3");
  ratio_row("T4 job / bare insert", to_bare[1], "<= 1.4");
  ratio_row("T4 movement / overwrite", to_floor[0], "<= 2.2");
  ratio_row("T4 job / overwrite", to_floor[1], "");
  ratio_row("T4 movement p99 / p50", tail[1], "<= 4");
  ratio_row("T4 job p99 / p50", tail[2], "<= 4");
  ratio_row("processor: movement / bare insert", cpu_to_bare[0], "");
  ratio_row("processor: job / bare insert", cpu_to_bare[1], "");
  ratio_row("bare insert p99 / p50", tail[0], "");
  return 0;
}
