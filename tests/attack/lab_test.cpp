#include "attack/lab.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "support/leave.hpp"

#include <baybook/due.hpp>
#include <baybook/returns.hpp>

#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <limits>
#include <set>
#include <sys/resource.h>
#include <sys/time.h>
#include <sys/wait.h>

namespace baybook::test {

namespace {

#if defined(__SANITIZE_ADDRESS__)
constexpr bool kSanitized = true;
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
constexpr bool kSanitized = true;
#else
constexpr bool kSanitized = false;
#endif
#else
constexpr bool kSanitized = false;
#endif

constexpr const char* kNames[] = {"found", "by_seal", "harmless", "refused", "missed", "wrote", "crashed", "hung"};

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  }
  return out + "\"";
}

}  // namespace

bool full_run() {
  const char* how = std::getenv("BAYBOOK_ATTACK");
  return how != nullptr && std::string(how) == "full";
}

bool chosen(std::size_t i, std::size_t one_in) {
  if (full_run() || one_in <= 1) return true;
  // A fixed scatter: neighbours in a list are alike.
  return ((i * 2654435761U) >> 7) % one_in == 0;
}

void put_book(const std::string& path, const Bytes& b) {
  for (const char* beside : {"", "-wal", "-shm", "-journal"}) ::unlink((path + beside).c_str());
  std::ofstream(path, std::ios::binary) << b.main;
  if (!b.wal.empty()) std::ofstream(path + "-wal", std::ios::binary) << b.wal;
}

Shell::Shell(const std::string& path) {
  if (sqlite3_open_v2(path.c_str(), &db_, SQLITE_OPEN_READWRITE, nullptr) != SQLITE_OK) {
    const std::string says = sqlite3_errmsg(db_);
    sqlite3_close(db_);
    throw std::runtime_error(says);
  }
}
Shell::~Shell() { sqlite3_close(db_); }
bool Shell::run(const std::string& sql) { return sqlite3_exec(db_, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK; }
std::vector<std::string> Shell::column(const std::string& sql) {
  sqlite3_stmt* s = nullptr;
  if (sqlite3_prepare_v2(db_, sql.c_str(), -1, &s, nullptr) != SQLITE_OK) throw std::runtime_error(sqlite3_errmsg(db_));
  std::vector<std::string> out;
  int result = 0;
  while ((result = sqlite3_step(s)) == SQLITE_ROW) {
    const void* data = sqlite3_column_blob(s, 0);
    out.emplace_back(static_cast<const char*>(data == nullptr ? "" : data), static_cast<std::size_t>(sqlite3_column_bytes(s, 0)));
  }
  const std::string says = sqlite3_errmsg(db_);
  sqlite3_finalize(s);
  if (result != SQLITE_DONE) throw std::runtime_error(says);
  return out;
}
std::string Shell::one(const std::string& sql) {
  const auto all = column(sql);
  return all.empty() ? std::string() : all.front();
}

bool once_found(const std::string& name) {
  static const std::set<std::string> names = {
      "schedule /intervals #13 [[]]", "schedule /intervals/0 #0 taken out", "settle /keep #0 taken out", "settle /other #0 taken out", "erasure /about #0 taken out",  // read without being there
      "work digest = 'text'",            // the seal was an exception
      "interval.circuit = -circuit - 7",  // a circuit that is none
      "file zeroed 331776 +4096", "file cut at 1",
  };
  return names.contains(name);
}

std::string logical(const std::string& path) {
  Shell shell(path);
  std::string out = shell.one("PRAGMA application_id") + " " + shell.one("PRAGMA user_version") + "\n";
  for (const std::string& sql : shell.column("SELECT type || name || coalesce(sql, '') FROM sqlite_schema ORDER BY 1")) out += sql + "\n";
  std::vector<std::string> names = {"entry", "private", "installation", "once", "beside", "kind"};
  for (const char* const* n = store::kDerivedNames; *n != nullptr; ++n) names.emplace_back(*n);
  for (const std::string& n : names) {
    std::string list;
    for (const std::string& c : shell.column("SELECT name FROM pragma_table_info('" + n + "') ORDER BY cid")) list += (list.empty() ? "typeof(" : " || ',' || typeof(") + c + ") || hex(" + c + ")";
    out += "[" + n + "]\n";
    // Of the span in which the zone keeps its offset prove says whether it is true; a shorter one is as true.
    const std::string but = n == "beside" ? " WHERE name NOT IN ('zone-window', 'log')" : "";
    for (const std::string& row : shell.column("SELECT " + list + " FROM " + n + but)) out += row + "\n";
  }
  return out;
}

std::size_t read_everything(const Book& b) {
  std::size_t answers = 0;
  const auto asked = [&](const auto& result) {
    ++answers;
    return result.ok();
  };
  const Day from = *read_day("2025-12-01");
  const Day until = *read_day("2026-03-31");
  (void)asked(b.today(Instant{1'772'704'800'000}));
  (void)b.seal();
  (void)asked(seals(b));
  for (const bool circuits : {false, true}) (void)asked(levels(b, {}, circuits));
  (void)asked(levels(b, until, true));
  (void)asked(totals(b, from, until));
  (void)asked(totals(b, from, until, true));
  (void)asked(totals(b, from, until, false, until));
  (void)asked(streams(b, from, until));
  for (const Month m : {month_of(from), month_of(*read_day("2026-01-01")), month_of(until)}) {
    (void)asked(judge(b, m));
    (void)asked(closed_month(b, m));
  }
  (void)asked(limits(b, until));
  (void)asked(waste_register(b, from, until));
  for (const bool unconfirmed : {false, true}) {
    if (const auto all = pickups(b, unconfirmed); asked(all)) {
      for (const PickupView& p : *all) (void)asked(pickup(b, p.entry.id));
    }
  }
  (void)asked(firms(b));
  (void)asked(areas(b));
  (void)asked(papers(b));
  (void)asked(deadlines(b));
  for (const SplitBy by : {SplitBy::car, SplitBy::job, SplitBy::person}) (void)asked(split_totals(b, from, until, by));
  EntryFilter every;
  every.newest = 100000;
  if (const auto all = entries(b, every); asked(all)) {
    for (std::size_t i = 0; i < all->size(); i += 5) {
      (void)asked(entry(b, (*all)[i].ref.id));
      (void)asked(spill_advice(b, (*all)[i].ref.id));
    }
  }
  every.as_of = until;
  every.from = from;
  (void)asked(entries(b, every));
  if (const auto all = cars(b); asked(all)) {
    for (const CarView& c : *all) {
      (void)asked(car(b, c.id));
      (void)asked(last(b, c.id));
      (void)asked(last(b, c.id, "coolant", until));
      (void)asked(history(b, c.id));
      (void)b.plate_of(c.id);
      every.car = c.id;
      (void)asked(entries(b, every));
      DueFilter one;
      one.car = c.id;
      (void)asked(due_list(b, until, one));
    }
  }
  for (const bool open_only : {false, true}) {
    if (const auto all = jobs(b, open_only); asked(all)) {
      for (const JobLine& j : *all) {
        if (const auto id = b.find_job(j.ref); asked(id)) {
          (void)asked(job(b, *id));
          (void)asked(b.car_of_job(*id));
          (void)asked(b.find_circuit_of(*id, "coolant"));
        }
      }
    }
  }
  (void)asked(fitted(b, "WP-4471", "L22"));
  for (const bool as_of : {false, true}) {
    DueFilter f;
    f.within = 4000;
    f.as_of = as_of;
    (void)asked(due_list(b, until, f));
  }
  (void)asked(schedules(b));
  (void)asked(comebacks(b));
  (void)asked(find_recheck(b, "4/2"));
  for (const char* what : {"places", "fluids", "people", "plates", "jobs", "firms", "areas", "deadlines", "pickups", "rechecks"}) {
    for (const std::string& name : b.names(what)) {
      ++answers;
      if (what == std::string("places")) {
        if (const auto p = b.find_place(name); asked(p)) {
          (void)asked(label(b, *p, until));
          (void)b.name_of_place(*p);
        }
      }
    }
  }
  (void)asked(b.find_car("MARSH", Match::near));
  (void)asked(b.find_car("MARSH-07"));
  (void)asked(b.find_fluid("oat-violet"));
  (void)asked(b.find_person("Tam"));
  (void)asked(b.find_firm("quill-tarn"));
  (void)asked(b.find_deadline("carrier-check"));
  (void)asked(b.find_pickup("0041233"));
  (void)asked(b.find_entry("last"));
  return answers;
}

// Whether all that a reader did was to bring the log that lay there into the file, as the engine by itself does.
bool only_brought_in(const std::string& path, const Bytes& put, const Bytes& now) {
  if (put.wal.empty() || !now.wal.empty()) return false;
  const std::string other = path + ".other";
  put_book(other, put);
  {
    Shell s(other);
    s.run("PRAGMA wal_checkpoint(TRUNCATE)");
  }
  const bool same = read_bytes(other) == now.main;
  for (const char* beside : {"", "-wal", "-shm", "-journal"}) ::unlink((other + beside).c_str());
  return same;
}

Verdict look_at(const std::string& path, const Look& look) {
  const Bytes put = bytes_of_book(path);
  std::string refusal;
  std::string proof_says;
  std::string sealed_says;
  bool sound = false;
  bool sealed_sound = true;
  {
    const auto b = Book::open(path, Access::read, repeatable(1));
    if (!b.ok()) {
      refusal = std::string(name_of(b.refusal().code)) + ": " + b.refusal().what;
    } else {
      if (look.read_all) read_everything(*b);
      const auto p = prove(*b);
      if (!p.ok()) proof_says = "proof refused: " + p.refusal().what;
      else for (const Finding& f : p->findings) proof_says += f.what + "\n";
      sound = p.ok() && p->findings.empty();
      if (sound && !look.seal.empty()) {
        const auto sealed = prove(*b, look.seal);
        sealed_sound = sealed.ok() && sealed->findings.empty();
        if (sealed.ok()) for (const Finding& f : sealed->findings) sealed_says += f.what + "\n";
      }
    }
  }
  const Bytes now_there = bytes_of_book(path);
  if (now_there != put && !only_brought_in(path, put, now_there)) return {Outcome::wrote, "the file is not what it was before it was looked at; " + refusal + proof_says};
  Verdict v;
  if (!refusal.empty()) {
    v = {Outcome::refused, refusal};
  } else if (!sound) {
    v = {Outcome::found, proof_says};
  } else {
    std::string now;
    try {
      if (!look.before.empty()) now = logical(path);
    } catch (const std::exception& e) {
      now = std::string("unreadable: ") + e.what();
    }
    if (!look.before.empty() && now == look.before) v = {Outcome::harmless, ""};
    else if (!sealed_sound) v = {Outcome::by_seal, sealed_says};
    else v = {Outcome::missed, look.before.empty() || now.front() == 'u' ? now : difference(look.before, now)};
  }
  if (look.write_too) {
    auto w = Book::open(path, Access::write, repeatable(2));
    if (w.ok()) {
      Stamp s;
      s.now = Instant{1'772'704'800'000};
      NewPerson p;
      p.name = "After the flood";
      (void)w->append(p, s);
      if (const auto places = levels(*w, {}, false); places.ok() && !places->empty()) {
        Gauge g;
        g.place = places->front().level.place;
        g.level = parse_level("1L", Units{}).value();
        g.reason = "looked";
        (void)w->append(g, s);
      }
      (void)w->rebuild();
      (void)prove(*w);
    }
  }
  return v;
}

std::vector<Verdict> in_children(std::size_t n, const std::function<Verdict(std::size_t)>& one) {
  std::vector<Verdict> out;
  out.reserve(n);
  Folder folder;
  const std::string said = folder.file("stderr");
  while (out.size() < n) {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    std::fflush(nullptr);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      ::close(ends[0]);
      const int err = ::open(said.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
      ::dup2(err, 2);
      // The test framework's handlers would tell of a failed test; here a signal is a result.
      for (const int s : {SIGSEGV, SIGABRT, SIGFPE, SIGILL, SIGTERM, SIGALRM, SIGPROF}) std::signal(s, SIG_DFL);
      if (!kSanitized) {
        const rlimit most{std::size_t{2} << 30, std::size_t{2} << 30};
        ::setrlimit(RLIMIT_AS, &most);
      }
      const rlimit no_core{0, 0};
      ::setrlimit(RLIMIT_CORE, &no_core);
      for (std::size_t i = out.size(); i < n; ++i) {
        // Seconds of work, so that a busy machine is no hang; and of waiting, for what would never come. All questions of read_everything
        // are asked in it: where a private text has 60 MB, the engine copies them at each look for the row (WITHOUT ROWID), a third of a second.
        const itimerval work{{0, 0}, {kSanitized ? 240 : 60, 0}};
        ::setitimer(ITIMER_PROF, &work, nullptr);
        ::alarm(600);
        Verdict v;
        try {
          v = one(i);
        } catch (const std::bad_alloc&) {
          v = {Outcome::refused, "out of memory"};
        } catch (const std::exception& e) {
          v = {Outcome::crashed, std::string("an exception came through: ") + e.what()};
        }
        v.says.resize(std::min<std::size_t>(v.says.size(), 400));
        const std::uint32_t head[2] = {static_cast<std::uint32_t>(v.fate), static_cast<std::uint32_t>(v.says.size())};
        if (::write(ends[1], head, sizeof head) != sizeof head || ::write(ends[1], v.says.data(), v.says.size()) != static_cast<ssize_t>(v.says.size())) test::leave(9);
      }
      test::leave(0);
    }
    ::close(ends[1]);
    const auto get = [&](void* into, std::size_t size) {
      for (std::size_t have = 0; have < size;) {
        const ssize_t r = ::read(ends[0], static_cast<char*>(into) + have, size - have);
        if (r < 0 && errno == EINTR) continue;
        if (r <= 0) return false;
        have += static_cast<std::size_t>(r);
      }
      return true;
    };
    std::uint32_t head[2];
    while (out.size() < n && get(head, sizeof head)) {
      Verdict v{static_cast<Outcome>(head[0]), std::string(head[1], '\0')};
      if (!get(v.says.data(), v.says.size())) break;
      out.push_back(std::move(v));
    }
    ::close(ends[0]);
    int status = 0;
    while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    if (out.size() < n) {
      const bool hung = WIFSIGNALED(status) && (WTERMSIG(status) == SIGALRM || WTERMSIG(status) == SIGPROF);
      std::string last = read_bytes(said);
      for (const char* mark : {"runtime error:", "ERROR: AddressSanitizer"}) {
        const std::size_t at = last.find(mark);
        if (at != std::string::npos) {
          // The line with the place in the source, and the first frames of the stack.
          std::size_t begin = last.rfind('\n', at);
          last = last.substr(begin == std::string::npos ? 0 : begin + 1, 1500);
          break;
        }
      }
      out.push_back({hung ? Outcome::hung : Outcome::crashed, (WIFSIGNALED(status) ? "signal " + std::to_string(WTERMSIG(status)) : "status " + std::to_string(WEXITSTATUS(status))) + " " + last.substr(0, 1500)});
    }
  }
  return out;
}

void Figures::add(const Verdict& v, const std::string& name) {
  ++runs;
  ++count[v.fate];
  const bool never = v.fate == Outcome::missed || v.fate == Outcome::wrote || v.fate == Outcome::crashed || v.fate == Outcome::hung;
  if (never && bad.size() < 25) bad.push_back(std::string(kNames[static_cast<std::size_t>(v.fate)]) + ": " + name + ": " + v.says);
}
void Figures::add_all(const std::vector<Verdict>& all, const std::function<std::string(std::size_t)>& name) {
  for (std::size_t i = 0; i < all.size(); ++i) add(all[i], name(i));
}
std::size_t Figures::of(Outcome f) const {
  const auto it = count.find(f);
  return it == count.end() ? 0 : it->second;
}
std::string Figures::told() const {
  std::string out = threat + ": " + std::to_string(runs) + " runs";
  for (const auto& [f, c] : count) out += ", " + std::string(kNames[static_cast<std::size_t>(f)]) + " " + std::to_string(c);
  for (const std::string& b : bad) out += "\n  " + b;
  return out;
}
void Figures::report() const {
  if (const char* to = std::getenv("BAYBOOK_FIGURES")) {
    std::ofstream out(to, std::ios::app);
    out << "{\"threat\":" << quoted(threat) << ",\"runs\":" << runs;
    for (std::size_t i = 0; i < std::size(kNames); ++i) out << ",\"" << kNames[i] << "\":" << of(static_cast<Outcome>(i));
    out << "}\n";
  }
  MESSAGE(told());
  CHECK(bad.empty());
}

void rechain(const std::string& path) {
  Shell shell(path);
  REQUIRE(shell.run("BEGIN"));
  for (const std::string& origin : shell.column("SELECT origin FROM installation ORDER BY origin")) {
    log::Digest previous = log::genesis;
    for (const std::string& id : shell.column("SELECT id FROM entry WHERE id >> 40 = " + origin + " ORDER BY id")) {
      const std::string body = shell.one("SELECT body FROM entry WHERE id = " + id);
      const log::Digest digest = log::chain_digest(previous, body);
      std::string set = "digest = x'" + log::hex(digest) + "'";
      if (const auto v = log::parse_json(body); v.ok()) {
        const auto text = [&](const char* key) { return v->has(key) && v->find(key)->is_string() ? std::string(v->str(key)) : std::string(); };
        if (const auto r = read_instant(text("recorded"))) set += ", recorded = " + std::to_string(r->ms);
        const auto d = read_day(text("happened"));
        const auto t = read_time(text("time"));
        if (d) set += ", moment = " + std::to_string(log::moment_of(*d, t));
        if (const auto k = log::read_kind(text("kind"))) set += ", kind = " + std::to_string(static_cast<std::int64_t>(*k));
        try {
          if (v->has("by")) set += ", who = " + std::to_string(log::read_ref(*v->find("by"), std::stoll(origin)));
        } catch (const log::Malformed&) {
        }
      }
      REQUIRE(shell.run("UPDATE entry SET " + set + " WHERE id = " + id));
      previous = digest;
    }
  }
  REQUIRE(shell.run("COMMIT"));
}

std::string rebuild(const std::string& path) {
  auto b = Book::open(path, Access::write, repeatable(3));
  if (!b.ok()) return b.refusal().what;
  const auto r = b->rebuild();
  return r.ok() ? std::string() : r.refusal().what;
}

}  // namespace baybook::test

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("attack/lab") {
  TEST_CASE("the book that is attacked is sound, has every kind of entry, a row in every table but breaches, and entries in its write-ahead log") {
    WholeShop shop;
    const std::string path = shop.bay.file();
    const Bytes& bytes = shop.open;
    CHECK(bytes.wal.size() > 4096);
    CHECK(shop.rest.wal.empty());
    {
      Shell shell(path);
      for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
        CAPTURE(log::name_of(static_cast<log::Kind>(k)));
        CHECK(shell.one("SELECT count(*) FROM entry WHERE kind = " + std::to_string(k)) != "0");
      }
      for (const char* const* n = store::kDerivedNames; *n != nullptr; ++n) {
        CAPTURE(*n);
        if (std::string(*n) != "breach") CHECK(shell.one("SELECT count(*) FROM " + std::string(*n)) != "0");
      }
      for (const char* n : {"private", "once", "beside"}) CHECK(shell.one("SELECT count(*) FROM " + std::string(n)) != "0");
      CHECK(shell.one("SELECT count(*) FROM installation") == "2");
    }
    put_book(path, bytes);
    const std::string before = logical(path);
    put_book(path, bytes);
    const auto v = in_children(1, [&](std::size_t) { return look_at(path, {shop.seal, before, true, false}); });
    CHECK_MESSAGE(v.front().fate == Outcome::harmless, v.front().says);
    const auto b = Book::open(path, Access::read, repeatable(1));
    REQUIRE(b.ok());
    CHECK(read_everything(*b) > 150);
    CHECK(prove(*b, shop.office_seal)->findings.empty());
  }

  TEST_CASE("a child that crashes, hangs or throws is counted, and the cases after it run") {
    const auto v = in_children(4, [](std::size_t i) -> Verdict {
      if (i == 0) std::abort();
      if (i == 1) {
        ::alarm(1);
        for (;;) ::pause();
      }
      if (i == 2) throw std::runtime_error("slipped through");
      return {Outcome::found, "fine"};
    });
    REQUIRE(v.size() == 4);
    CHECK(v[0].fate == Outcome::crashed);
    CHECK(v[1].fate == Outcome::hung);
    CHECK(v[2].fate == Outcome::crashed);
    CHECK(v[3].fate == Outcome::found);
    CHECK(v[3].says == "fine");
  }
}
