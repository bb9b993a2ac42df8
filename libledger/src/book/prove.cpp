// Proof: the log recomputed from its bytes, the columns against the bodies, the derived tables against a second derivation.
//
// What this cannot show by itself: a tail that was cut off, or a log recomputed from its first entry. Only a seal noted outside
// the book (a printed page) shows those; prove(seal) compares with one.
#include "book/inside.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "store/schema.hpp"

#include <baybook/reports.hpp>
#include <baybook/returns.hpp>

#include <algorithm>
#include <fstream>

namespace baybook {

using log::Value;

namespace {

constexpr std::size_t kMostFindings = 20;

void find(Proof& proof, std::string what, std::optional<EntryRef> entry, std::string instead) {
  if (proof.findings.size() < kMostFindings) proof.findings.push_back({std::move(what), std::move(entry), std::move(instead)});
}

std::string number_of(const EntryRef& ref) { return std::to_string(ref.number()) + "@" + ref.tag; }

// One body against the columns beside it; "" when they agree.
std::string columns_against(const log::Row& row, const Value& body, const log::Installation& installation) {
  if (body.num("format") != log::kFormat) return "format";
  if (body.str("installation") != installation.identity) return "installation";
  if (body.num("number") != row.id.number()) return "number";
  if (body.str("kind") != log::name_of(row.kind)) return "kind";
  const auto recorded = read_instant(body.str("recorded"));
  if (!recorded || recorded->ms != row.recorded) return "recorded time";
  const auto happened = read_day(body.str("happened"));
  std::optional<TimeOfDay> at;
  if (body.has("time")) {
    at = read_time(body.str("time"));
    if (!at) return "time of day";
  }
  if (!happened || log::moment_of(*happened, at) != row.moment) return "happened date";
  const std::int64_t by = body.has("by") ? log::read_ref(*body.find("by"), row.id.origin()) : 0;
  if (by != row.who) return "who";
  return "";
}

bool check_private(store::Db& db, const log::Row& row, const Value& body, std::string& field) {
  const Value* committed = body.find("private");
  auto q = db.query("SELECT field, salt, value FROM private WHERE entry = ?");
  q.bind(row.id.n);
  while (q.step()) {
    field = q.text(0);
    const std::string salt_bytes = q.blob(1);
    const Value* c = committed ? committed->find(field) : nullptr;
    log::Salt salt{};
    if (c == nullptr || salt_bytes.size() != salt.size()) return false;
    std::copy(salt_bytes.begin(), salt_bytes.end(), salt.begin());
    if (log::hex(log::commit(field, salt, q.text(2))) != c->as_string()) return false;
  }
  return true;
}

void prove_chain(Book::Inside& in, Proof& proof) {
  store::Db& db = in.db;
  bool good_so_far = true;
  for (const log::Installation& installation : in.known.all) {
    log::Digest previous = log::genesis;
    std::int64_t expected = 1;
    std::int64_t last_recorded = 0;
    auto q = db.query("SELECT id, recorded, moment, kind, who, body, digest FROM entry WHERE id > ? AND id < ? ORDER BY id");
    q.bind(installation.origin << 40).bind((installation.origin + 1) << 40);
    while (q.step()) {
      ++proof.entries;
      const log::Row row{EntryId{q.num(0)}, q.num(1), q.num(2), static_cast<log::Kind>(q.num(3)), q.num(4), q.text(5), q.blob(6)};
      const EntryRef ref{row.id, installation.tag};
      std::string wrong;
      if (row.id.number() != expected) wrong = "entries " + std::to_string(expected) + " to " + std::to_string(row.id.number() - 1) + " are missing";
      expected = row.id.number() + 1;
      const log::Digest digest = log::chain_digest(previous, row.body);
      const bool same = row.digest.size() == digest.size() && std::equal(digest.begin(), digest.end(), row.digest.begin(), [](std::uint8_t a, char b) { return a == static_cast<std::uint8_t>(b); });
      if (wrong.empty() && !same) wrong = "its digest does not follow from the entry before it and its own body";
      if (row.digest.size() == previous.size()) std::transform(row.digest.begin(), row.digest.end(), previous.begin(), [](char c) { return static_cast<std::uint8_t>(c); });
      else previous = digest;
      if (wrong.empty()) {
        const auto body = log::parse_canonical(row.body);
        if (!body.ok()) {
          wrong = "its body is not in canonical form (" + body.refusal().what + ")";
        } else if (q.num(3) < 1 || q.num(3) > log::kLastKind) {
          wrong = "its kind is unknown";
        } else {
          try {
            const std::string column = columns_against(row, *body, installation);
            std::string field;
            if (!column.empty()) wrong = "the column beside it says something else (" + column + ")";
            else if (!check_private(db, row, *body, field)) wrong = "the private text \"" + field + "\" beside it is not the one that was committed to";
            else if (row.recorded < last_recorded) wrong = "its recorded time is before that of the entry before it";
          } catch (const log::Malformed& m) {
            wrong = std::string("its body lacks something (") + m.what() + ")";
          }
        }
      }
      last_recorded = row.recorded;
      if (!wrong.empty()) {
        find(proof, "entry " + number_of(ref) + ": " + wrong, ref, "keep this file as it is, and compare with the last backup and the printed seals");
        good_so_far = false;
      }
      if (good_so_far) proof.good = proof.entries;
    }
    if (expected > 1) proof.seals.push_back(log::seal(installation.tag, expected - 1, previous));
    else find(proof, "installation " + installation.tag + " has no entries", {}, "a backup of the book");
  }
  auto stray = db.query("SELECT count(*) FROM entry WHERE (id >> 40) NOT IN (SELECT origin FROM installation)");
  if (stray.step() && stray.num(0) > 0) find(proof, std::to_string(stray.num(0)) + " entries belong to no installation of this book", {}, "a backup of the book");
  auto lost = db.query("SELECT count(*) FROM private WHERE entry NOT IN (SELECT id FROM entry)");
  if (lost.step() && lost.num(0) > 0) find(proof, std::to_string(lost.num(0)) + " private texts belong to no entry", {}, "a backup of the book");
}

// The derived tables made anew in temporary tables of the same names, which stand before the live ones, and compared.
void prove_tables(Book::Inside& in, Proof& proof) {
  store::Db& db = in.db;
  std::string sql(store::kDerivedTables);
  const auto replace = [&](const std::string& from, const std::string& to) {
    for (std::size_t at = 0; (at = sql.find(from, at)) != std::string::npos; at += to.size()) sql.replace(at, from.size(), to);
  };
  replace("CREATE TABLE ", "CREATE TEMP TABLE ");
  replace("CREATE INDEX ", "CREATE INDEX temp.");
  db.exec(sql.c_str());
  book::rebuild_all(in);
  for (const char* const* name = store::kDerivedNames; *name != nullptr; ++name) {
    const std::string t(*name);
    db.exec(("CREATE TEMP TABLE beside_" + t + " AS SELECT count(*) AS n FROM (SELECT * FROM main." + t + " EXCEPT SELECT * FROM temp." + t + ") UNION ALL SELECT count(*) FROM (SELECT * FROM temp." + t +
             " EXCEPT SELECT * FROM main." + t + ")")
                .c_str());
  }
  std::string all;
  for (const char* const* name = store::kDerivedNames; *name != nullptr; ++name) {
    all += std::string(all.empty() ? "" : " UNION ALL ") + "SELECT '" + *name + "' AS t, sum(n) AS n FROM beside_" + *name;
  }
  db.exec(("CREATE TEMP TABLE beside_all AS " + all).c_str());
  auto q = db.query("SELECT t, n FROM temp.beside_all WHERE n > 0");
  while (q.step()) {
    find(proof, "table " + q.text(0) + " differs from what the log says, in " + std::to_string(q.num(1)) + " rows", {}, "the log is the truth: baybook prove --rebuild makes the tables anew");
  }
  proof.tables_compared = true;
}

// Papers kept as files beside the book: each is there and has the digest that its entry says.
void prove_papers(Book::Inside& in, Proof& proof) {
  struct Kept {
    EntryId entry;
    std::string file, digest;
    std::int64_t bytes;
  };
  std::vector<Kept> all;
  {
    auto q = in.db.query("SELECT entry, file, digest, bytes FROM main.paper ORDER BY entry");
    while (q.step()) all.push_back({EntryId{q.num(0)}, q.text(1), q.text(2), q.num(3)});
  }
  for (const Kept& k : all) {
    const EntryRef ref = book::ref_of(in, k.entry);
    const std::string path = papers_folder(in.db.path()) + "/" + k.file;
    std::ifstream file(path, std::ios::binary);
    if (!file) {
      find(proof, "paper " + k.file + " of entry " + number_of(ref) + " is not in the folder of papers", ref, "put it back into " + papers_folder(in.db.path()) + ", from a backup");
      continue;
    }
    log::Sha256 hash;
    std::int64_t bytes = 0;
    char piece[65536];
    while (file.read(piece, sizeof piece) || file.gcount() > 0) {
      hash.update(std::string_view(piece, static_cast<std::size_t>(file.gcount())));
      bytes += file.gcount();
    }
    if (bytes != k.bytes || log::hex(hash.finish()) != k.digest) find(proof, "paper " + k.file + " of entry " + number_of(ref) + " was changed: it is not the file that was put on record", ref, "the original, from a backup");
    ++proof.papers;
  }
}

}  // namespace

std::string papers_folder(const std::string& book_path) { return book_path + ".papers"; }

Result<Proof> prove(const Book& book, std::string_view seal) {
  return book::guarded<Proof>([&]() -> Result<Proof> {
    std::optional<log::Seal> wanted;
    if (!seal.empty()) {
      auto parsed = log::parse_seal(seal);
      if (!parsed.ok()) return std::move(parsed).refusal();
      wanted = *parsed;
    }
    Proof proof;
    // A connection of its own: its temporary tables stand before the live ones without anyone else seeing them.
    Book::Inside beside(book.path(), store::Db::Mode::read, book.inside().random);
    book::load(beside);
    store::Snapshot snapshot(beside.db);
    const std::string integrity = beside.db.integrity();
    if (integrity != "ok") find(proof, "the file is damaged: " + integrity, {}, "a backup of the book");
    prove_chain(beside, proof);
    if (wanted) {
      bool seen = false;
      for (const log::Installation& i : beside.known.all) {
        if (i.tag != wanted->tag) continue;
        seen = true;
        auto q = beside.db.query("SELECT digest FROM entry WHERE id = ?");
        q.bind(i.origin << 40 | wanted->number);
        const EntryRef ref{EntryId{i.origin << 40 | wanted->number}, i.tag};
        if (!q.step()) {
          find(proof, "the seal names entry " + number_of(ref) + ", which is not there: the end of the log was cut off, or it is another book's seal", {}, "the book that was printed from, or its backup");
        } else {
          const std::string hex = log::hex_of(q.blob(0));
          if (hex.substr(0, 16) != wanted->head) find(proof, "entry " + number_of(ref) + " has another digest than the seal: the log up to it was rewritten after that page was printed", ref, "the book that was printed from, or its backup");
        }
      }
      if (!seen) find(proof, "the seal is of an installation (" + wanted->tag + ") that this book does not have", {}, "the book that was printed from");
      proof.seal_checked = true;
    }
    if (proof.findings.empty()) prove_tables(beside, proof);
    prove_papers(beside, proof);
    auto breaches = beside.db.query("SELECT count(*) FROM main.breach");
    if (breaches.step() && breaches.num(0) > 0) {
      find(proof, std::to_string(breaches.num(0)) + " movements break a rule of the book (more taken than was there, over a size, or mixed)", {}, "baybook levels, then gauge or correct");
    }
    return proof;
  });
}

}  // namespace baybook
