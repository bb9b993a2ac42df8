// Files made to hurt what opens them: refused or answered, in bounded time and memory, and left as they were.
#include "attack/lab.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"

#include <fstream>
#include <random>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Hostile {
  Folder folder;
  std::string path, before, seal;
  Bytes bytes;       ///< as it is, with its write-ahead log
  std::string flat;  ///< all of it in one file
  Hostile() {
    WholeShop shop;
    bytes = shop.open;
    seal = shop.seal;
    path = folder.file("case.baybook");
    put_papers(path);
    put_book(path, bytes);
    before = logical(path);
    {
      Shell s(path);
      REQUIRE(s.run("PRAGMA wal_checkpoint(TRUNCATE)"));
    }
    flat = read_bytes(path);
  }
};

std::string noise(std::size_t n, std::uint64_t seed) {
  std::mt19937_64 rng(seed);
  std::string out(n, '\0');
  for (char& c : out) c = static_cast<char>(rng());
  return out;
}

// What stands in the schema in place of what was there.
std::string in_schema(const std::string& sql) { return "PRAGMA writable_schema=ON; " + sql + "; PRAGMA writable_schema=OFF"; }

struct Case {
  std::string what, sql;
};

}  // namespace

TEST_SUITE("attack/hostile files") {
  TEST_CASE("a schema that is not a book's is refused at opening and the file is left as it was") {
    const Hostile h;
    const std::string endless = "WITH RECURSIVE x(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM x) ";
    std::vector<Case> all = {
        {"an endless view in place of the log", "ALTER TABLE entry RENAME TO old; CREATE VIEW entry AS " + endless + "SELECT i AS id, i AS recorded, i AS moment, 1 AS kind, 0 AS who, '{}' AS body, x'00' AS digest FROM x"},
        {"an endless view in place of a derived table", "DROP TABLE balance; CREATE VIEW balance AS " + endless + "SELECT i AS place, 0 AS dimension, 1 AS fluid, 0 AS origin, 0 AS low, 0 AS best, 0 AS high FROM x"},
        {"an endless view under the name of a view", "DROP VIEW level_by_place; CREATE VIEW level_by_place AS " + endless + "SELECT i FROM x"},
        {"an endless view beside the tables", "CREATE VIEW more AS " + endless + "SELECT i FROM x"},
        {"a trigger that swallows entries", "CREATE TRIGGER t BEFORE INSERT ON entry BEGIN SELECT raise(ignore); END"},
        {"a trigger that writes on", "CREATE TRIGGER t AFTER INSERT ON private BEGIN UPDATE entry SET who = 0; END"},
        {"a table more", "CREATE TABLE extra(x)"},
        {"a virtual table", "CREATE VIRTUAL TABLE extra USING fts5(x)"},
        {"statistics", "ANALYZE"},
        {"an index more", "CREATE INDEX more ON entry(recorded)"},
        {"an index on an expression", "CREATE INDEX more ON entry(abs(recorded))"},
        {"a table less", "DROP TABLE due_item"},
        {"an index less", "DROP INDEX plate_key"},
        {"a view less", "DROP VIEW log_by_number"},
        {"a column more", "ALTER TABLE car ADD COLUMN paint TEXT"},
        {"a column less", "ALTER TABLE car DROP COLUMN year"},
        {"a generated column", "ALTER TABLE entry ADD COLUMN extra TEXT GENERATED ALWAYS AS (hex(zeroblob(100000000))) VIRTUAL"},
        {"a table with row numbers that had none", "DROP TABLE once; CREATE TABLE once(key BLOB PRIMARY KEY, request BLOB NOT NULL, entry INTEGER NOT NULL)"},
        {"a default that runs", in_schema("UPDATE sqlite_schema SET sql = replace(sql, 'who INTEGER NOT NULL', 'who INTEGER NOT NULL DEFAULT (hex(zeroblob(9999)))') WHERE name = 'entry'")},
        {"a check that is slow", in_schema("UPDATE sqlite_schema SET sql = replace(sql, 'digest BLOB NOT NULL', 'digest BLOB NOT NULL CHECK (length(hex(zeroblob(9999999))))') WHERE name = 'entry'")},
        {"one table under two names", in_schema("INSERT INTO sqlite_schema SELECT type, 'entry2', tbl_name, rootpage, sql FROM sqlite_schema WHERE name = 'entry'")},
        {"a table whose text is another's", in_schema("UPDATE sqlite_schema SET sql = (SELECT sql FROM sqlite_schema WHERE name = 'kind') WHERE name = 'mark'")},
        {"a table that says it is a view", in_schema("UPDATE sqlite_schema SET type = 'view' WHERE name = 'entry'")},
        {"a table without its text", in_schema("UPDATE sqlite_schema SET sql = NULL WHERE name = 'entry'")},
        {"a table whose text is a number", in_schema("UPDATE sqlite_schema SET sql = 5 WHERE name = 'entry'")},
        {"a table whose text is 40 MB long", in_schema("UPDATE sqlite_schema SET sql = sql || hex(zeroblob(20000000)) WHERE name = 'kind'")},
        {"a name with escapes for the terminal", "CREATE TABLE \"\x1b[2J\x1b]0;x\x07\"(x)"},
        {"another application", "PRAGMA application_id = 1"},
        {"no application", "PRAGMA application_id = 0"},
        {"a newer version", "PRAGMA user_version = 2"},
        {"the newest version there can be", "PRAGMA user_version = 2147483647"},
        {"version 0", "PRAGMA user_version = 0"},
        {"a negative version", "PRAGMA user_version = -1"},
    };
    Figures f("hostile schema");
    const auto verdicts = in_children(all.size() * 2, [&](std::size_t n) -> Verdict {
      const Case& c = all[n / 2];
      // One with its write-ahead log, one in a single file in rollback mode.
      put_book(h.path, n % 2 == 0 ? h.bytes : Bytes{h.flat, ""});
      {
        Shell s(h.path);
        if (n % 2 == 1 && !s.run("PRAGMA journal_mode=DELETE")) return {Outcome::missed, "no rollback mode"};
        if (!s.run(c.sql)) return {Outcome::missed, std::string("the engine refused the case: ") + sqlite3_errmsg(s.raw())};
      }
      Verdict v = look_at(h.path, {h.seal, h.before, true, true});
      if (v.fate != Outcome::refused) v = {Outcome::missed, "opened: " + v.says};
      return v;
    });
    f.add_all(verdicts, [&](std::size_t i) { return all[i / 2].what + (i % 2 == 0 ? "" : " (rollback mode)"); });
    f.report();
  }

  TEST_CASE("what is no file, and files of other kinds, are refused at once") {
    const Hostile h;
    struct Made {
      std::string what;
      std::function<void(const std::string&)> make;
    };
    const auto bytes = [](std::string b) { return [b = std::move(b)](const std::string& p) { std::ofstream(p, std::ios::binary) << b; }; };
    const auto database = [](std::string sql) {
      return [sql = std::move(sql)](const std::string& p) {
        SQLite::Database db(p, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
        db.exec(sql);
      };
    };
    std::vector<Made> all = {
        {"nothing", [](const std::string&) {}},
        {"a folder", [](const std::string& p) { std::filesystem::create_directory(p); }},
        {"a pipe", [](const std::string& p) { REQUIRE(::mkfifo(p.c_str(), 0600) == 0); }},
        {"a pipe that can only be read", [](const std::string& p) { REQUIRE(::mkfifo(p.c_str(), 0400) == 0); }},
        {"a socket", [](const std::string& p) {
           sockaddr_un a{};
           a.sun_family = AF_UNIX;
           p.copy(a.sun_path, sizeof a.sun_path - 1);
           const int s = ::socket(AF_UNIX, SOCK_STREAM, 0);
           REQUIRE(::bind(s, reinterpret_cast<const sockaddr*>(&a), sizeof a) == 0);
         }},
        {"a link to /dev/zero", [](const std::string& p) { std::filesystem::create_symlink("/dev/zero", p); }},
        {"a link to /dev/null", [](const std::string& p) { std::filesystem::create_symlink("/dev/null", p); }},
        {"a link to /dev/random", [](const std::string& p) { std::filesystem::create_symlink("/dev/random", p); }},
        {"a link to /dev/tty", [](const std::string& p) { std::filesystem::create_symlink("/dev/tty", p); }},
        {"a link to /proc/self/mem", [](const std::string& p) { std::filesystem::create_symlink("/proc/self/mem", p); }},
        {"a link to /proc/self/environ", [](const std::string& p) { std::filesystem::create_symlink("/proc/self/environ", p); }},
        {"a link to itself", [](const std::string& p) { std::filesystem::create_symlink(p, p); }},
        {"a link to nothing", [](const std::string& p) { std::filesystem::create_symlink("/nowhere/at/all", p); }},
        {"an empty file", bytes("")},
        {"one byte", bytes("S")},
        {"a text", bytes(std::string(5000, 'x'))},
        {"a page of zeros", bytes(std::string(4096, '\0'))},
        {"a million zeros", bytes(std::string(1000000, '\0'))},
        {"the first 16 bytes of a book", bytes(h.flat.substr(0, 16))},
        {"the first 100 bytes of a book", bytes(h.flat.substr(0, 100))},
        {"the first page of a book", bytes(h.flat.substr(0, 4096))},
        {"a book's head before noise", bytes(h.flat.substr(0, 100) + noise(200000, 4))},
        {"a book's first page before noise", bytes(h.flat.substr(0, 4096) + noise(400000, 4))},
        {"another database", database("CREATE TABLE t(x); INSERT INTO t VALUES(1)")},
        {"another database with a table named entry", database("CREATE TABLE entry(id INTEGER)")},
        {"an empty database", database("PRAGMA user_version = 1")},
        {"an empty database of our application", database("PRAGMA application_id = 1113145905; PRAGMA user_version = 1")},
        {"our tables in UTF-16", database(std::string("PRAGMA encoding = 'UTF-16le'; PRAGMA application_id = 1113145905; PRAGMA user_version = 1;") + store::kLogTables + store::kDerivedTables + store::kViews)},
        {"our tables and nothing in them", database(std::string("PRAGMA application_id = 1113145905; PRAGMA user_version = 1;") + store::kLogTables + store::kDerivedTables + store::kViews)},
        {"our tables on pages of 512 bytes", database(std::string("PRAGMA page_size = 512; PRAGMA application_id = 1113145905; PRAGMA user_version = 1;") + store::kLogTables + store::kDerivedTables + store::kViews)},
        {"our tables on pages of 65536 bytes", database(std::string("PRAGMA page_size = 65536; PRAGMA auto_vacuum = FULL; PRAGMA application_id = 1113145905; PRAGMA user_version = 1;") + store::kLogTables + store::kDerivedTables + store::kViews)},
    };
    for (int i = 0; i < (full_run() ? 200 : 12); ++i) all.push_back({"noise " + std::to_string(i), bytes(noise(static_cast<std::size_t>(1 + i * 997), static_cast<std::uint64_t>(i)))});
    Figures f("what is no book");
    const auto verdicts = in_children(all.size() * 2, [&](std::size_t n) -> Verdict {
      const Made& m = all[n / 2];
      Folder here;
      const std::string p = here.file("x.baybook");
      m.make(p);
      struct stat st {};
      const bool regular = ::lstat(p.c_str(), &st) == 0 && S_ISREG(st.st_mode);
      const std::string was = regular ? read_bytes(p) : std::string();
      const auto b = Book::open(p, n % 2 == 0 ? Access::read : Access::write, repeatable(1));
      if (regular && read_bytes(p) != was) return {Outcome::wrote, "changed"};
      if (b.ok()) return {Outcome::missed, "opened"};
      const Code c = b.refusal().code;
      if (c != Code::unreadable && c != Code::unwritable && c != Code::unsound) return {Outcome::missed, std::string("refused as ") + std::string(name_of(c))};
      return {Outcome::refused, b.refusal().what};
    });
    f.add_all(verdicts, [&](std::size_t i) { return all[i / 2].what + (i % 2 == 0 ? ", to read" : ", to write"); });
    f.report();
  }

  TEST_CASE("a book in an odd shape, or with strange files beside it, is answered or refused, and never hangs or is written to by a reader") {
    const Hostile h;
    Figures f("odd shapes and strange files beside a book");
    const std::vector<Case> reshaped = {
        {"pages of 512 bytes", "PRAGMA journal_mode=DELETE; PRAGMA page_size=512; VACUUM"},
        {"pages of 65536 bytes", "PRAGMA journal_mode=DELETE; PRAGMA page_size=65536; VACUUM"},
        {"auto_vacuum", "PRAGMA journal_mode=DELETE; PRAGMA auto_vacuum=FULL; VACUUM"},
        {"incremental auto_vacuum in WAL mode", "PRAGMA journal_mode=DELETE; PRAGMA auto_vacuum=INCREMENTAL; VACUUM; PRAGMA journal_mode=WAL"},
        {"rollback mode", "PRAGMA journal_mode=DELETE"},
        {"another schema cookie", "PRAGMA schema_version=77"},
    };
    auto verdicts = in_children(reshaped.size(), [&](std::size_t i) -> Verdict {
      put_book(h.path, {h.flat, ""});
      {
        Shell s(h.path);
        if (!s.run(reshaped[i].sql)) return {Outcome::missed, sqlite3_errmsg(s.raw())};
      }
      return look_at(h.path, {h.seal, h.before, true, true});
    });
    f.add_all(verdicts, [&](std::size_t i) { return reshaped[i].what; });

    // Files beside it. The journals: one of another database, one that is made up, one that would put another page into the book.
    const std::string magic("\xd9\xd5\x05\xf9\x20\xa1\x63\xd7", 8);
    const auto word = [](std::uint32_t n) { return std::string{static_cast<char>(n >> 24), static_cast<char>(n >> 16), static_cast<char>(n >> 8), static_cast<char>(n)}; };
    const std::uint32_t pages = static_cast<std::uint32_t>(h.flat.size() / 4096);
    // A journal as the engine would believe it: one page that is to be put back, its checksum by the engine's own rule.
    std::string page = h.flat.substr(4096 * 3, 4096);
    page[100] = static_cast<char>(page[100] ^ 0x55);
    std::uint32_t sum = 77;
    for (std::size_t i = 4096 - 200; i > 0; i = i > 200 ? i - 200 : 0) sum += static_cast<unsigned char>(page[i]);
    std::string hot = magic + word(1) + word(77) + word(pages) + word(512) + word(4096);
    hot.resize(512, '\0');
    hot += word(4) + page + word(sum);
    struct Beside {
      std::string what, suffix, content;
      bool rollback_mode;
    };
    const std::vector<Beside> beside = {
        {"a side file of noise", "-shm", noise(32768, 9), false},
        {"a side file of zeros", "-shm", std::string(32768, '\0'), false},
        {"a side file of one byte", "-shm", "x", false},
        {"a write-ahead log of noise", "-wal", noise(50000, 9), false},
        {"a write-ahead log of zeros", "-wal", std::string(50000, '\0'), false},
        {"a write-ahead log beside a book in rollback mode", "-wal", h.bytes.wal, true},
        {"a journal of noise", "-journal", noise(50000, 9), true},
        {"a journal beside a book in WAL mode", "-journal", hot, false},
        {"a hot journal with a changed page", "-journal", hot, true},
        {"a hot journal that cuts the book", "-journal", magic + word(0) + word(1) + word(1) + word(512) + word(4096) + std::string(512 - 28, '\0'), true},
        {"a hot journal of pages that there are not", "-journal", magic + word(0xffffffff) + word(77) + word(0xffffffff) + word(512) + word(4096) + std::string(512 - 28, '\0') + word(0x7fffffff) + page + word(sum), true},
        {"a journal that names a master", "-journal", hot + word(pages) + "/etc/passwd" + word(11) + word(1100) + magic, true},
    };
    verdicts = in_children(beside.size(), [&](std::size_t i) -> Verdict {
      const Beside& c = beside[i];
      put_book(h.path, c.suffix == "-shm" ? h.bytes : Bytes{h.flat, ""});
      if (c.rollback_mode) {
        Shell s(h.path);
        if (!s.run("PRAGMA journal_mode=DELETE")) return {Outcome::missed, "no rollback mode"};
      }
      std::ofstream(h.path + c.suffix, std::ios::binary) << c.content;
      Verdict v = look_at(h.path, {h.seal, h.before, true, false});
      return v;
    });
    f.add_all(verdicts, [&](std::size_t i) { return beside[i].what; });
    f.report();
  }

  TEST_CASE("loops and nonsense in the file's own lists of pages are found or refused, and nothing runs for ever") {
    const Hostile h;
    const std::string free_pages = [&] {
      put_book(h.path, {h.flat, ""});
      Shell s(h.path);
      s.run("PRAGMA journal_mode=DELETE; CREATE TABLE big(x); INSERT INTO big VALUES(zeroblob(2000000)); DROP TABLE big");
      return read_bytes(h.path);
    }();
    const auto at = [](std::string s, std::size_t where, std::uint32_t n) {
      for (int i = 0; i < 4; ++i) s[where + static_cast<std::size_t>(i)] = static_cast<char>(n >> (24 - 8 * i));
      return s;
    };
    const auto number = [&](std::size_t where) {
      std::uint32_t n = 0;
      for (std::size_t i = 0; i < 4; ++i) n = n << 8 | static_cast<unsigned char>(free_pages[where + i]);
      return n;
    };
    const std::uint32_t trunk = number(32);
    REQUIRE(trunk > 1);
    const std::size_t trunk_at = std::size_t{trunk - 1} * 4096;
    std::vector<std::pair<std::string, std::string>> all = {
        {"a free list that leads back to its beginning", at(free_pages, trunk_at, trunk)},
        {"a free list that begins at the first page", at(free_pages, 32, 1)},
        {"a free list beyond the end", at(free_pages, 32, 0x7fffffff)},
        {"more free pages than there are", at(free_pages, 36, 0x7fffffff)},
        {"a trunk with more leaves than fit", at(free_pages, trunk_at + 4, 0x7fffffff)},
        {"a trunk whose leaf is the schema", at(free_pages, trunk_at + 8, 1)},
    };
    // Every tree whose root is moved to another's, to page 1, to a free page and beyond the end.
    {
      put_book(h.path, {h.flat, ""});
      Shell s(h.path);
      const auto roots = s.column("SELECT rootpage FROM sqlite_schema WHERE rootpage > 0");
      for (std::size_t i = 0; i < roots.size(); ++i) {
        if (!chosen(i, 8)) continue;
        const auto root = static_cast<std::size_t>(std::stoll(roots[i]));
        const std::size_t where = (root - 1) * 4096;
        // An inner page whose only way leads to itself.
        std::string loop = h.flat;
        loop[where] = loop[where] == 13 || loop[where] == 5 ? 5 : 2;
        loop[where + 3] = loop[where + 4] = 0;
        all.emplace_back("a tree that leads back to its root, page " + roots[i], at(loop, where + 8, static_cast<std::uint32_t>(root)));
        // The cells: lengths and pointers of nonsense.
        std::string cells = h.flat;
        for (std::size_t k = where + 8; k < where + 64; ++k) cells[k] = static_cast<char>(0xff);
        all.emplace_back("cell pointers of nonsense, page " + roots[i], cells);
        std::string content = h.flat;
        for (std::size_t k = where + 4096 - 12; k < where + 4096; ++k) content[k] = static_cast<char>(0xff);
        all.emplace_back("lengths of nonsense, page " + roots[i], content);
      }
    }
    Figures f("loops and nonsense in the file's lists of pages");
    const auto verdicts = in_children(all.size(), [&](std::size_t i) {
      put_book(h.path, {all[i].second, ""});
      return look_at(h.path, {h.seal, h.before, true, i % 4 == 0});
    });
    f.add_all(verdicts, [&](std::size_t i) { return all[i].first; });
    f.report();
  }

  TEST_CASE("huge and malformed values in the log are found, within two gigabytes and without a crash") {
    const Hostile h;
    const std::string at = " WHERE id = (SELECT max(id) - 2 FROM entry WHERE id >> 40 = (SELECT origin FROM installation WHERE own = 1))";
    std::vector<Case> all = {
        {"a body of 60 MB", "UPDATE entry SET body = replace(hex(zeroblob(30000000)), '0', 'y')" + at},
        {"a body of 80 MB", "UPDATE entry SET body = replace(hex(zeroblob(40000000)), '0', 'y')" + at},
        {"a body of 120 MB", "UPDATE entry SET body = CAST(zeroblob(120000000) AS TEXT)" + at},
        {"a digest of 60 MB", "UPDATE entry SET digest = zeroblob(60000000)" + at},
        {"a private text of 60 MB", "UPDATE private SET value = replace(hex(zeroblob(30000000)), '0', 'y') WHERE field = 'text' AND entry = (SELECT max(entry) FROM private WHERE field = 'text')"},
        {"a plate of 30 MB", "UPDATE car SET plate = hex(zeroblob(15000000))"},
        {"a place whose code is 30 MB", "UPDATE place SET code = hex(zeroblob(15000000)), takes = code WHERE id = (SELECT max(id) FROM place WHERE role <> 0)"},
        {"a body nested 100,000 deep", "UPDATE entry SET body = replace(hex(zeroblob(50000)), '0', '[') || replace(hex(zeroblob(50000)), '0', ']')" + at},
        {"details nested 400,000 deep", "UPDATE entry SET body = '{\"details\":' || replace(hex(zeroblob(200000)), '00', '{\"a\":') || '1' || replace(hex(zeroblob(100000)), '00', '}') || '}'" + at},
        {"a body of one million fields", "UPDATE entry SET body = '{' || replace(hex(zeroblob(40000)), '00', '\"a\":1,') || '\"z\":1}'" + at},
        {"a zero byte in a body", "UPDATE entry SET body = body || char(0) || 'x'" + at},
        {"bytes that are no text in a body", "UPDATE entry SET body = CAST(x'7b22c328223a317d' AS TEXT)" + at},
        {"a number beyond 2^63", "UPDATE entry SET body = replace(body, '\"number\":', '\"number\":99999999999999999999')" + at},
        {"an exponent", "UPDATE entry SET body = replace(body, '\"version\":1', '\"version\":1e400')" + at},
        {"an empty body", "UPDATE entry SET body = ''" + at},
        {"null as body", "UPDATE entry SET body = 'null'" + at},
        {"a list as body", "UPDATE entry SET body = '[]'" + at},
        {"an empty object as body", "UPDATE entry SET body = '{}'" + at},
        {"every body an empty object", "UPDATE entry SET body = '{}'"},
        {"every body without details", "UPDATE entry SET body = replace(body, '\"details\":', '\"detail\":')"},
        {"entry numbers up to 2^40", "UPDATE entry SET id = id + 1099511627775 - (id & 1099511627775)" + at},
        {"the greatest id", "UPDATE entry SET id = 9223372036854775807" + at},
        {"moments beyond every calendar", "UPDATE entry SET moment = 9223372036854775807 WHERE kind > 1"},
        {"moments before every calendar", "UPDATE entry SET moment = -9223372036854775807 WHERE kind > 1"},
        {"recorded beyond every calendar", "UPDATE entry SET recorded = 9223372036854775807 WHERE kind > 1"},
        {"kinds that there are not", "UPDATE entry SET kind = 77 WHERE kind = 15"},
        {"all kinds corrections", "UPDATE entry SET kind = 17 WHERE kind > 1"},
        {"amounts beyond every sum in every balance", "UPDATE balance SET low = 9223372036854775807, best = 9223372036854775807, high = 9223372036854775807"},
        {"amounts beyond every sum in every tally", "UPDATE tally SET low = -9223372036854775808, best = 9223372036854775807, high = 9223372036854775807; UPDATE waste_tally SET best = 9223372036854775807, low = best, high = best"},
        {"amounts beyond every sum in every account and flow", "UPDATE account SET best = 9223372036854775807, low = best, high = best; UPDATE flow SET best = 9223372036854775807, low = -best, high = best"},
        {"places with roles that there are not", "UPDATE place SET role = 77"},
        {"places of a negative role and dimension", "UPDATE place SET role = -3, dimension = -1"},
        {"places of circuits that there are not", "UPDATE OR IGNORE leg SET place = place + (31 << 58); UPDATE OR IGNORE flow SET source = -1, target = (30 << 58) + 5; UPDATE OR IGNORE balance SET place = (29 << 58) + place"},
        {"fluids of classes that there are not", "UPDATE fluid SET class = 999; UPDATE flow SET fluid = 500; UPDATE OR IGNORE balance SET fluid = -9"},
        {"dimensions that there are not", "UPDATE OR IGNORE balance SET dimension = 9; UPDATE OR IGNORE tally SET dimension = -1; UPDATE flow SET dimension = 77; UPDATE OR IGNORE waste_tally SET dimension = 12345; UPDATE fluid SET dimension = 8"},
        {"corrections in a ring", "DELETE FROM amended; INSERT INTO amended SELECT e.id, (SELECT min(id) FROM entry WHERE id > e.id), 0 FROM entry e WHERE e.id < (SELECT max(id) FROM entry); INSERT OR IGNORE INTO correction SELECT target, 1, 1, entry, 0 FROM amended"},
        {"every entry amended by itself", "DELETE FROM amended; INSERT INTO amended SELECT id, id, 0 FROM entry"},
        {"jobs of cars that there are not", "UPDATE job SET car = 5; UPDATE OR IGNORE history SET car = -1"},
        {"a history in which everything is a closing", "UPDATE history SET kind = 9; UPDATE job SET closed = id"},
        {"days beyond every calendar", "UPDATE due_item SET day = 9223372036854775807, early = -9223372036854775807, late = 5, time_day = 9223372036854775807, at_day = -1, anchor_day = 9223372036854775807, put_off_until = 9223372036854775807; UPDATE deadline SET due = 9223372036854775807, months = -5; UPDATE inspected SET next = -9223372036854775807; UPDATE confirmed SET day = 9223372036854775807; UPDATE OR IGNORE closed SET month = 9223372036854775807; UPDATE put_off SET until = 9223372036854775807; UPDATE ruling SET day = -9223372036854775807"},
        {"moments beyond every calendar in the derived tables", "UPDATE history SET moment = 9223372036854775807; UPDATE leg SET moment = -9223372036854775807; UPDATE reading SET moment = 9223372036854775807, metres = -9223372036854775807; UPDATE job SET moment = -9223372036854775807, closed_moment = 9223372036854775807; UPDATE filling SET moment = 9223372036854775807; UPDATE hours SET moment = 9223372036854775807, minutes = -5; UPDATE task_done SET day = 9223372036854775807, metres = -77, minutes = 9223372036854775807; UPDATE pickup SET moment = 9223372036854775807"},
        {"intervals of nonsense", "UPDATE interval SET months = 9223372036854775807, metres = -1, minutes = 9223372036854775807, filtered = -1, circuit = 99, from_year = 9223372036854775807"},
        {"densities and sizes of nonsense", "UPDATE fluid SET density = -9223372036854775808; UPDATE place SET size = 9223372036854775807"},
        {"readings of nonsense", "UPDATE reading SET metres = 9223372036854775807 * (entry % 2)"},
    };
    Figures f("huge and malformed values");
    const auto verdicts = in_children(all.size(), [&](std::size_t i) -> Verdict {
      put_book(h.path, h.bytes);
      {
        Shell s(h.path);
        if (!s.run(all[i].sql)) return {Outcome::missed, std::string("the engine refused the case: ") + sqlite3_errmsg(s.raw())};
      }
      Verdict v = look_at(h.path, {h.seal, h.before, true, true});
      if (v.fate == Outcome::by_seal) v.fate = Outcome::missed;
      return v;
    });
    f.add_all(verdicts, [&](std::size_t i) { return all[i].what; });
    f.report();
  }
}
