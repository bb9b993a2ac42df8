// Damage by hand: every column of every kind of entry and of every table, entries moved about, the log written anew.
#include "attack/lab.hpp"
#include "attack/changes.hpp"

#include "log/canonical.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

struct Insider {
  Folder folder;
  std::string path, before, seal, office_seal, own;
  Bytes bytes;
  Insider() {
    WholeShop shop;
    bytes = shop.rest;
    seal = shop.seal;
    office_seal = shop.office_seal;
    path = folder.file("case.baybook");
    put_papers(path);
    put_book(path, bytes);
    before = logical(path);
    Shell shell(path);
    own = shell.one("SELECT origin FROM installation WHERE own = 1");
  }
  /// The entry of each kind that is changed: the last one of its kind, with the number and tag that a finding names it by.
  struct One {
    std::int64_t id = 0;
    std::string kind, named;
  };
  [[nodiscard]] std::vector<One> one_of_each_kind() const {
    std::vector<One> out;
    Shell shell(path);
    for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
      const std::string id = shell.one("SELECT max(id) FROM entry WHERE kind = " + std::to_string(k));
      REQUIRE_MESSAGE(!id.empty(), log::name_of(static_cast<log::Kind>(k)));
      const EntryId e{std::stoll(id)};
      out.push_back({e.n, std::string(log::name_of(static_cast<log::Kind>(k))), "entry " + std::to_string(e.number()) + "@" + shell.one("SELECT tag FROM installation WHERE origin = " + std::to_string(e.origin()))});
    }
    return out;
  }
};

/// SQL in place of a table's NOT NULL, so that a NULL can be put where none may be.
bool with_nulls(const std::string& path, const std::string& table, const std::string& sql) {
  std::string kept;
  {
    Shell s(path);
    kept = s.one("SELECT hex(sql) FROM sqlite_schema WHERE name = '" + table + "'");
    if (!s.run("PRAGMA writable_schema=ON; UPDATE sqlite_schema SET sql = replace(sql, ' NOT NULL', '') WHERE name = '" + table + "'")) return false;
  }
  bool done = false;
  {
    Shell s(path);
    done = s.run(sql);
  }
  Shell s(path);
  return s.run("PRAGMA writable_schema=ON; UPDATE sqlite_schema SET sql = CAST(x'" + kept + "' AS TEXT) WHERE name = '" + table + "'") && done;
}

bool tamper(const std::string& path, const std::string& table, const std::string& sql) {
  if (sql.find("= NULL") != std::string::npos) return with_nulls(path, table, sql);
  Shell s(path);
  return s.run(sql);
}

struct Column {
  std::string table, name, type;
};
std::vector<Column> columns_of(const std::string& path, const std::string& table) {
  Shell s(path);
  std::vector<Column> out;
  const auto names = s.column("SELECT name FROM pragma_table_info('" + table + "') ORDER BY cid");
  const auto types = s.column("SELECT type FROM pragma_table_info('" + table + "') ORDER BY cid");
  for (std::size_t i = 0; i < names.size(); ++i) out.push_back({table, names[i], types[i]});
  return out;
}
std::vector<std::string> values_for(const Column& c) {
  if (c.type == "INTEGER") return {c.name + " + 1", "-" + c.name + " - 7", "9223372036854775807", "-9223372036854775808", "1.5", "'x'", "x'00ff'", "NULL"};
  if (c.type == "TEXT") return {c.name + " || 'x'", "'a' || char(0) || 'b'", "CAST(x'c328' AS TEXT)", "x'00ff'", "''", "replace(hex(zeroblob(40000)), '0', 'long')", "NULL"};
  return {"zeroblob(length(" + c.name + "))", "substr(" + c.name + ", 1, length(" + c.name + ") - 1)", "x''", "'text'", "5", "NULL", c.name + " || x'00'"};
}

}  // namespace

TEST_SUITE("attack/insider") {
  TEST_CASE("every column of an entry of every kind, changed by hand, is found and that entry is named first") {
    const Insider in;
    struct Case {
      Insider::One entry;
      std::string set;
    };
    std::vector<Case> all;
    std::size_t n = 0;
    for (const auto& e : in.one_of_each_kind()) {
      for (const Column& c : columns_of(in.path, "entry")) {
        if (c.name == "id") continue;
        for (const std::string& v : values_for(c)) {
          if (chosen(n++, 14) || once_found(e.kind + " " + c.name + " = " + v)) all.push_back({e, c.name + " = " + v});
        }
      }
    }
    Figures f("column of an entry changed by hand");
    const auto verdicts = in_children(all.size(), [&](std::size_t i) -> Verdict {
      put_book(in.path, in.bytes);
      if (!tamper(in.path, "entry", "UPDATE entry SET " + all[i].set + " WHERE id = " + std::to_string(all[i].entry.id))) return {Outcome::refused, "by the engine"};
      Verdict v = look_at(in.path, {in.seal, in.before, i % 4 == 0, false});
      if (v.fate == Outcome::by_seal) v.fate = Outcome::missed;  // without any seal
      // The first entry says what the book is: without it the book does not open.
      const bool opening = all[i].entry.kind == "opening" && v.fate == Outcome::refused;
      if (v.fate == Outcome::found && v.says.find(all[i].entry.named + ": ") == std::string::npos) v = {Outcome::missed, "another entry is named: " + v.says};
      if (v.fate == Outcome::refused && !opening) v = {Outcome::missed, "the entry is not named: " + v.says};
      return v;
    });
    f.add_all(verdicts, [&](std::size_t i) { return all[i].entry.kind + " " + all[i].set; });
    f.report();
    CHECK(f.of(Outcome::found) > f.runs / 2);
  }

  TEST_CASE("every column of every other table, changed by hand, and a row taken out of it, is found") {
    const Insider in;
    std::vector<std::string> tables = {"private", "installation", "once", "beside", "kind"};
    for (const char* const* t = store::kDerivedNames; *t != nullptr; ++t) tables.emplace_back(*t);
    struct Case {
      std::string table, sql;
    };
    std::vector<Case> all;
    std::size_t n = 0;
    for (const std::string& table : tables) {
      const auto columns = columns_of(in.path, table);
      for (const Column& c : columns) {
        for (const std::string& v : values_for(c)) {
          if (!chosen(n++, 32) && !once_found(table + "." + c.name + " = " + v)) continue;
          std::string pick;
          // The first row; an empty table gets one.
          if (table == "breach") continue;
          for (const Column& k : columns) pick += (pick.empty() ? "" : ", ") + k.name;
          all.push_back({table, "UPDATE " + table + " SET " + c.name + " = " + v + " WHERE (" + pick + ") = (SELECT " + pick + " FROM " + table + " LIMIT 1)"});
        }
      }
      if (table != "breach" && table != "private" && table != "once") all.push_back({table, "DELETE FROM " + table + " WHERE (" + columns.front().name + ") = (SELECT " + columns.front().name + " FROM " + table + " LIMIT 1)"});
    }
    all.push_back({"breach", "INSERT INTO breach VALUES(1, 1, 3, 1)"});
    Figures f("column of another table changed by hand, or a row taken out");
    const auto verdicts = in_children(all.size(), [&](std::size_t i) -> Verdict {
      put_book(in.path, in.bytes);
      if (!tamper(in.path, all[i].table, all[i].sql)) return {Outcome::refused, "by the engine"};
      Verdict v = look_at(in.path, {in.seal, in.before, true, i % 4 == 0});
      if (v.fate == Outcome::by_seal) v.fate = Outcome::missed;
      return v;
    });
    f.add_all(verdicts, [&](std::size_t i) { return all[i].sql; });
    f.report();
    CHECK(f.of(Outcome::found) > f.runs / 2);
  }

  TEST_CASE("every field of a body changed is found with its digest left, at the next entry with its digest made anew, and by the printed seal alone with the whole chain made anew") {
    const Insider in;
    struct Case {
      Insider::One entry;
      std::string what, body;
      int way = 0;
    };
    std::vector<Case> all;
    std::size_t n = 0;
    for (const auto& e : in.one_of_each_kind()) {
      std::string body;
      {
        Shell s(in.path);
        body = s.one("SELECT body FROM entry WHERE id = " + std::to_string(e.id));
      }
      for (const auto& [what, changed] : slight_changes(log::parse_canonical(body).value())) {
        for (int way = 0; way < 3; ++way) {
          if (chosen(n++, 23)) all.push_back({e, what, log::canonical(changed), way});
        }
      }
    }
    const char* ways[] = {"digest left", "digest of this entry made anew", "whole chain made anew"};
    for (int way = 0; way < 3; ++way) {
      Figures f(std::string("field of a body changed, ") + ways[way]);
      std::vector<Case> some;
      for (const Case& c : all) {
        if (c.way == way) some.push_back(c);
      }
      const auto verdicts = in_children(some.size(), [&](std::size_t i) -> Verdict {
        const Case& c = some[i];
        put_book(in.path, in.bytes);
        {
          Shell s(in.path);
          std::string hex = log::hex_of(c.body);
          if (!s.run("UPDATE entry SET body = CAST(x'" + hex + "' AS TEXT) WHERE id = " + std::to_string(c.entry.id))) return {Outcome::refused, "by the engine"};
          if (way == 1) rechain_one(s, c.entry.id);
        }
        if (way == 2) {
          rechain(in.path);
          (void)rebuild(in.path);
        }
        // An entry of the office is under the office's seal.
        const bool office = c.entry.named.ends_with("@office");
        Verdict v = look_at(in.path, {office ? in.office_seal : in.seal, in.before, way == 2, false});
        if (way == 0 && v.fate == Outcome::found && v.says.find(c.entry.named + ": ") == std::string::npos) v = {Outcome::missed, "another entry is named: " + v.says};
        if (way == 0 && v.fate == Outcome::by_seal) v.fate = Outcome::missed;
        return v;
      });
      f.add_all(verdicts, [&](std::size_t i) { return some[i].entry.kind + " " + some[i].what; });
      f.report();
      CHECK(f.of(Outcome::harmless) == 0);
      if (way == 2) CHECK(f.of(Outcome::by_seal) > 0);
    }
  }

  TEST_CASE("entries swapped, removed, doubled, moved to another installation, a tail cut off, texts swapped: prove or the printed seal says so") {
    const Insider in;
    const std::string at = "(" + in.own + " << 40)";
    const auto entry = [&](int n) { return "(" + at + " + " + std::to_string(n) + ")"; };
    const std::string last = "(SELECT max(id) FROM entry WHERE id >> 40 = " + in.own + ")";
    const std::string office = "(SELECT origin FROM installation WHERE own = 0)";
    struct Case {
      const char* what;
      std::string sql;
      bool chain_anew;    ///< the digests, the columns and the derived tables after it
      Outcome expected;
    };
    const std::vector<Case> all = {
        {"two entries swapped", "UPDATE entry SET id = " + at + " + 900000 WHERE id = " + entry(20) + "; UPDATE entry SET id = " + entry(20) + " WHERE id = " + entry(21) + "; UPDATE entry SET id = " + entry(21) + " WHERE id = " + at + " + 900000", false, Outcome::found},
        {"the bodies of two entries swapped", "CREATE TEMP TABLE t AS SELECT body FROM entry WHERE id = " + entry(20) + "; UPDATE entry SET body = (SELECT body FROM entry WHERE id = " + entry(21) + ") WHERE id = " + entry(20) + "; UPDATE entry SET body = (SELECT body FROM t) WHERE id = " + entry(21), false, Outcome::found},
        {"an entry removed", "DELETE FROM entry WHERE id = " + entry(20), false, Outcome::found},
        {"an entry removed, the chain made anew", "DELETE FROM entry WHERE id = " + entry(20), true, Outcome::found},
        {"an entry doubled at the end", "INSERT INTO entry SELECT " + last + " + 1, recorded, moment, kind, who, body, digest FROM entry WHERE id = " + entry(20), false, Outcome::found},
        {"an entry doubled at the end, the chain made anew", "INSERT INTO entry SELECT " + last + " + 1, recorded, moment, kind, who, body, digest FROM entry WHERE id = " + last, true, Outcome::found},
        {"an entry with the number 0", "INSERT INTO entry SELECT " + at + ", recorded, moment, kind, who, body, digest FROM entry WHERE id = " + entry(20), false, Outcome::found},
        {"an entry with a negative id", "INSERT INTO entry SELECT -5, recorded, moment, kind, who, body, digest FROM entry WHERE id = " + entry(20), false, Outcome::found},
        {"an entry of no installation", "INSERT INTO entry SELECT (262143 << 40) + 1, recorded, moment, kind, who, body, digest FROM entry WHERE id = " + entry(1), false, Outcome::found},
        {"the last entry moved to the other installation", "UPDATE entry SET id = (" + office + " << 40) + 1 + (SELECT max(id) & 1099511627775 FROM entry WHERE id >> 40 = " + office + ") WHERE id = " + last, false, Outcome::found},
        {"the other installation taken out", "DELETE FROM entry WHERE id >> 40 = " + office + "; DELETE FROM installation WHERE own = 0", false, Outcome::found},
        {"the tail cut off", "DELETE FROM entry WHERE id > " + last + " - 3", false, Outcome::found},
        {"the last entry cut off with its texts, once-key and tables", "DELETE FROM private WHERE entry = " + last + "; DELETE FROM once WHERE entry = " + last + "; DELETE FROM entry WHERE id = " + last, true, Outcome::by_seal},
        {"the last entry's day altered, its digest made anew", "UPDATE entry SET body = replace(body, '\"happened\":\"2026-02-04', '\"happened\":\"2026-02-03') WHERE id = " + last, true, Outcome::by_seal},
        {"an early entry's day altered, the whole chain and the columns made anew", "UPDATE entry SET body = replace(body, '\"happened\":\"2026-01-02', '\"happened\":\"2026-01-01') WHERE id = " + entry(8), true, Outcome::by_seal},
        {"two private texts swapped with their salts", "CREATE TEMP TABLE t AS SELECT entry, salt, value FROM private WHERE field = 'plate' ORDER BY entry LIMIT 2; UPDATE private SET salt = (SELECT salt FROM t WHERE t.entry <> private.entry), value = (SELECT value FROM t WHERE t.entry <> private.entry) WHERE field = 'plate' AND entry IN (SELECT entry FROM t)", false, Outcome::found},
        {"a private text moved to another field", "UPDATE private SET field = 'note' WHERE field = 'plate' AND entry = (SELECT min(entry) FROM private WHERE field = 'plate')", false, Outcome::found},
        {"a private text of an entry that is not there", "INSERT INTO private VALUES(7, 'note', zeroblob(32), 'x')", false, Outcome::found},
        {"a once-key that points to another entry", "UPDATE once SET entry = " + entry(20), false, Outcome::found},
        {"another secret under the once-keys", "UPDATE beside SET value = randomblob(32) WHERE name = 'once-secret'", false, Outcome::found},
        {"a zone window with another offset", "UPDATE beside SET value = CAST(replace(CAST(value AS TEXT), ' 0', ' 36000') AS BLOB) WHERE name = 'zone-window'", false, Outcome::found},
        {"a zone window without an end", "UPDATE beside SET value = CAST('0 9223372036854775807 0' AS BLOB) WHERE name = 'zone-window'", false, Outcome::found},
        {"a zone window that says nothing", "UPDATE beside SET value = x'00' WHERE name = 'zone-window'", false, Outcome::found},
        {"a kind under another name", "UPDATE kind SET name = 'gift' WHERE number = 15", false, Outcome::found},
        {"a kind that there is not", "INSERT INTO kind VALUES(999, 'gift')", false, Outcome::found},
        {"an installation under another tag", "UPDATE installation SET tag = 'annex' WHERE own = 1", false, Outcome::found},
        {"two own installations", "UPDATE installation SET own = 1", false, Outcome::found},
    };
    Figures f("entries and rows moved about by hand");
    const auto verdicts = in_children(all.size(), [&](std::size_t i) -> Verdict {
      put_book(in.path, in.bytes);
      {
        Shell s(in.path);
        if (!s.run(all[i].sql)) return {Outcome::missed, std::string("the engine refused the case: ") + sqlite3_errmsg(s.raw())};
      }
      if (all[i].chain_anew) {
        rechain(in.path);
        (void)rebuild(in.path);
      }
      Verdict v = look_at(in.path, {in.seal, in.before, true, false});
      if (v.fate != all[i].expected) v = {Outcome::missed, "not as expected but " + std::to_string(static_cast<int>(v.fate)) + ": " + v.says};
      return v;
    });
    f.add_all(verdicts, [&](std::size_t i) { return std::string(all[i].what); });
    f.report();
  }
}
