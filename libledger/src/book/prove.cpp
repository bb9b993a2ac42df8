// Proof: the log recomputed from its bytes, the columns against the bodies, the derived tables against a second derivation.
//
// What this cannot show by itself: a tail that was cut off, or a log recomputed from its first entry. Only a seal noted outside
// the book (a printed page) shows those; prove(seal) compares with one.
#include "book/conflict_list.hpp"
#include "book/from_caller.hpp"
#include "book/prove.hpp"
#include "book/prove_beside.hpp"

#include "book/office.hpp"
#include "book/papers.hpp"
#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "log/header.hpp"
#include "log/references.hpp"
#include "store/schema.hpp"

#include <baybook/reports.hpp>
#include <baybook/returns.hpp>

#include <algorithm>
#include <set>

namespace baybook {

using log::Value;

namespace {

constexpr std::size_t kMostFindings = 20;

constexpr std::int64_t kEntriesBetweenLooks = 1000;
/// More than are ever told, so that those that hold are among them.
constexpr std::size_t kMostUnfitEntries = 10'000;

using book::add_finding;

std::string number_of(const EntryRef& ref) { return std::to_string(ref.number()) + "@" + ref.tag; }

// One body's header against the columns beside it; "" when they agree.
std::string columns_against(const log::Row& row, const log::Header& header,
                            const log::Installation& installation) {
  if (header.format != log::kFormat) return "format";
  if (header.identity != installation.identity) return "installation";
  if (header.row.id != row.id) return "number";
  if (header.row.kind != row.kind) return "kind";
  if (header.row.recorded != row.recorded) return "recorded time";
  if (header.row.moment != row.moment) return "happened date";
  if (header.row.who != row.who) return "who";
  return "";
}

bool check_private(store::Db& db, const log::Row& row, const Value& body, std::string& field, std::vector<std::string>& there) {
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
    there.push_back(field);
  }
  return true;
}

bool same_bytes(const log::Digest& digest, const std::string& bytes) {
  return bytes.size() == digest.size() && std::equal(digest.begin(), digest.end(), bytes.begin(), [](std::uint8_t a, char b) { return a == static_cast<std::uint8_t>(b); });
}

std::int64_t last_number(store::Db& db, const log::Installation& i) {
  auto q = db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
  q.bind(i.origin << 40).bind((i.origin + 1) << 40);
  return EntryId{q.step_num()}.number();
}

// A text that a body commits to and that is not there must have been erased by an entry; "" when it is so.
std::string missing_private(store::Db& db, const log::Row& row, const Value& body, const std::vector<std::string>& there) {
  const Value* committed = body.find("private");
  if (committed == nullptr || committed->as_object().size() == there.size()) return "";
  for (const auto& [field, digest] : committed->as_object()) {
    if (std::find(there.begin(), there.end(), field) == there.end() && !log::erased(db, row.id, field)) return "its private text \"" + field + "\" was removed without an erasure on record";
  }
  return "";
}

// One entry on its place in the chain; "" when nothing is wrong with it.
std::string entry_against(store::Db& db, const log::Row& row, std::int64_t last_recorded,
                          const log::Installation& installation,
                          std::vector<book::UnfitEntry>* unfit) {
  const auto body = log::parse_canonical(row.body);
  if (!body.ok()) return "its body is not in canonical form (" + body.refusal().what + ")";
  if (static_cast<std::int64_t>(row.kind) < 1 || static_cast<std::int64_t>(row.kind) > log::kLastKind) return "its kind is unknown";
  try {
    const log::Header header = log::read_header(*body);
    const std::string column = columns_against(row, header, installation);
    if (!column.empty()) return "the column beside it says something else (" + column + ")";
    std::string field;
    std::vector<std::string> there;
    if (!check_private(db, row, *body, field, there)) return "the private text \"" + field + "\" beside it is not the one that was committed to";
    if (std::string missing = missing_private(db, row, *body, there); !missing.empty()) return missing;
    if (row.recorded < last_recorded) return "its recorded time is before that of the entry before it";
    if (unfit == nullptr || unfit->size() >= kMostUnfitEntries) return "";
    if (auto found = book::unfit_here(db, row, header, *body); !found.empty())
      unfit->push_back({row.id, row.kind, std::move(found)});
  } catch (const log::Malformed& m) {
    return std::string("its body lacks something (") + m.what() + ")";
  } catch (const store::Failure&) {
    return "a private text beside it is no text or has no salt";
  }
  return "";
}

// The columns as they stand. One that holds something else than its type can is said of this entry, and the rest is looked at all the same.
log::Row row_of(const store::Query& q, std::string& wrong) {
  log::Row row;
  row.id = EntryId{q.num(0)};
  const auto taken = [&](const char* column, auto&& take) {
    try {
      take();
    } catch (const store::Failure&) {
      if (wrong.empty()) wrong = std::string("the column ") + column + " holds what it cannot hold";
    }
  };
  taken("recorded", [&] { row.recorded = q.num(1); });
  taken("moment", [&] { row.moment = q.num(2); });
  taken("kind", [&] { row.kind = static_cast<log::Kind>(q.num(3)); });
  taken("who", [&] { row.who = q.num(4); });
  taken("body", [&] { row.body = q.text(5); });
  taken("digest", [&] { row.digest = q.blob(6); });
  return row;
}

void prove_chain(Book::Inside& in, Proof& proof, const Progress& progress,
                 std::vector<book::UnfitEntry>* unfit) {
  store::Db& db = in.db;
  bool good_so_far = true;
  std::int64_t all = 0;
  for (const log::Installation& installation : in.known.all) all += last_number(db, installation);
  for (const log::Installation& installation : in.known.all) {
    log::Digest previous = log::genesis;
    std::int64_t expected = 1;
    std::int64_t last_recorded = 0;
    bool chain_good = true;
    std::int64_t good_number = 0;
    auto q = db.query("SELECT id, recorded, moment, kind, who, body, digest FROM entry WHERE id > ? AND id < ? ORDER BY id");
    q.bind(installation.origin << 40).bind((installation.origin + 1) << 40);
    while (q.step()) {
      if (progress && proof.entries % kEntriesBetweenLooks == 0) progress("entries", proof.entries, std::max(all, proof.entries));
      // A damaged tree can lead back to where it has been.
      if (EntryId{q.num(0)}.number() < expected) throw store::Failure(Code::unsound, "the entries do not stand in their order after entry " + std::to_string(expected - 1) + "@" + installation.tag, "a backup of the book");
      ++proof.entries;
      std::string wrong;
      const log::Row row = row_of(q, wrong);
      const EntryRef ref{row.id, installation.tag};
      if (wrong.empty() && row.id.number() != expected) wrong = "entries " + std::to_string(expected) + " to " + std::to_string(row.id.number() - 1) + " are missing";
      expected = row.id.number() + 1;
      const log::Digest digest = log::chain_digest(previous, row.body);
      if (wrong.empty() && !same_bytes(digest, row.digest)) wrong = "its digest does not follow from the entry before it and its own body";
      if (wrong.empty()) wrong = entry_against(db, row, last_recorded, installation, unfit);
      if (chain_good && !wrong.empty()) {
        chain_good = false;
        if (good_number > 0) proof.good_seals.push_back(log::seal(installation.tag, good_number, previous));
      }
      if (chain_good) good_number = row.id.number();
      if (row.digest.size() == previous.size()) std::transform(row.digest.begin(), row.digest.end(), previous.begin(), [](char c) { return static_cast<std::uint8_t>(c); });
      else previous = digest;
      last_recorded = row.recorded;
      if (!wrong.empty()) {
        add_finding(proof, "entry " + number_of(ref) + ": " + wrong, ref, "keep this file as it is, and compare with the last backup and the printed seals");
        good_so_far = false;
      }
      if (good_so_far) proof.good = proof.entries;
    }
    if (expected > 1) proof.seals.push_back(log::seal(installation.tag, expected - 1, previous));
    else add_finding(proof, "installation " + installation.tag + " has no entries", {}, "a backup of the book");
  }
  auto stray = db.query("SELECT count(*) FROM entry WHERE (id >> 40) NOT IN (SELECT origin FROM installation) OR (id & 1099511627775) = 0");
  if (stray.step() && stray.num(0) > 0) add_finding(proof, std::to_string(stray.num(0)) + " entries belong to no installation of this book", {}, "a backup of the book");
  auto back = db.query("SELECT p.entry, p.field FROM erased e JOIN private p ON p.entry = e.entry AND p.field = e.field WHERE e.asked = 0 ORDER BY p.entry LIMIT 20");
  while (back.step()) {
    const EntryRef ref = book::ref_of(in, EntryId{back.num(0)});
    add_finding(proof, "entry " + number_of(ref) + ": its private text \"" + back.text(1) + "\" is there although an erasure on record names it", ref, "baybook erase entry " + book::entry_name(in, ref.id) + " " + back.text(1));
  }
  auto lost = db.query("SELECT count(*) FROM private WHERE entry NOT IN (SELECT id FROM entry)");
  if (lost.step() && lost.num(0) > 0) add_finding(proof, std::to_string(lost.num(0)) + " private texts belong to no entry", {}, "a backup of the book");
}

// The derived tables made anew in temporary tables of the same names, which stand before the live ones, and compared.
void prove_tables(Book::Inside& in, Proof& proof, const Progress& progress) {
  store::Db& db = in.db;
  std::string sql(store::kDerivedTables);
  const auto replace = [&](const std::string& from, const std::string& to) {
    for (std::size_t at = 0; (at = sql.find(from, at)) != std::string::npos; at += to.size()) sql.replace(at, from.size(), to);
  };
  replace("CREATE TABLE ", "CREATE TEMP TABLE ");
  replace("CREATE INDEX ", "CREATE INDEX temp.");
  db.exec(sql.c_str());
  book::rebuild_all(in, progress);
  std::int64_t tables = 0;
  while (store::kDerivedNames[tables] != nullptr) ++tables;
  for (const char* const* name = store::kDerivedNames; *name != nullptr; ++name) {
    const std::string t(*name);
    if (progress) progress("tables", name - store::kDerivedNames, tables);
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
    add_finding(proof, "table " + q.text(0) + " differs from what the log says, in " + std::to_string(q.num(1)) + " rows", {}, "the log is the truth: baybook prove --rebuild makes the tables anew");
  }
  proof.tables_compared = true;
}

// Papers kept as files beside the book: each is there and has the digest that its entry says.
void prove_papers(Book::Inside& in, Proof& proof, const Progress& progress) {
  const std::string folder = papers_folder(in.db.path());
  const std::vector<book::KeptPaper> all = book::kept_papers(in.db);
  const std::set<std::int64_t> mine = book::kept_beside(in);
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (progress) progress("papers", static_cast<std::int64_t>(i), static_cast<std::int64_t>(all.size()));
    const book::PaperState state = book::look_at(folder, all[i]);
    if (state == book::PaperState::good) {
      ++proof.papers;
      continue;
    }
    if (state == book::PaperState::missing && !mine.contains(all[i].entry.origin())) {
      ++proof.papers_elsewhere;
      continue;
    }
    Finding f = book::finding_of(in, all[i], state, folder);
    add_finding(proof, std::move(f.what), std::move(f.entry), std::move(f.instead));
  }
}

// Months that were closed, and what came to them afterwards. That is no fault: it is what an amendment says.
void list_months(const Book& book, Book::Inside& in, Proof& proof, const Progress& progress) {
  std::vector<Month> months;
  {
    auto q = in.db.query("SELECT DISTINCT month FROM main.closed ORDER BY month");
    while (q.step()) months.push_back(Month{static_cast<std::int32_t>(q.num(0))});
  }
  for (std::size_t i = 0; i < months.size(); ++i) {
    if (progress) progress("closed months", static_cast<std::int64_t>(i), static_cast<std::int64_t>(months.size()));
    const auto closed = closed_month(book, months[i]);
    if (!closed.ok()) {
      // Rules or a closing that no entry can say: told with the correction that puts it right.
      if (proof.unfit_open > 0) continue;
      add_finding(proof, "the closed month " + to_string(months[i]) + " cannot be read: " + closed.refusal().what, {}, "a backup of the book");
      continue;
    }
    if (!closed->has_value()) continue;
    const ClosedMonth& m = **closed;
    ProvedMonth out{months[i], m.entry, m.closed_on, static_cast<std::int64_t>(m.differences.size()), {}, m.judged_now.has_value()};
    for (const EntryView& cause : m.causes) out.causes.push_back(cause.ref);
    proof.months.push_back(std::move(out));
  }
}

}  // namespace

std::string papers_folder(const std::string& book_path) { return book_path + ".papers"; }

void book::add_finding(Proof& proof, std::string what, std::optional<EntryRef> entry, std::string instead) {
  ++proof.found;
  if (proof.findings.size() < kMostFindings) proof.findings.push_back({std::move(what), std::move(entry), std::move(instead)});
}

void book::prove_log(Book::Inside& in, Proof& proof, const Progress& progress,
                     std::vector<UnfitEntry>* unfit) {
  if (progress) progress("the file", 0, 0);
  {
    // A text longer than any that can be written would be read through at every look into that table's tree: said before that.
    auto longest = in.db.query("SELECT coalesce(max(length(value)), 0) FROM private");
    (void)longest.step_num();
  }
  const std::string integrity = in.db.integrity();
  if (integrity != "ok") add_finding(proof, "the file is damaged: " + integrity, {}, "a backup of the book");
  try {
    prove_chain(in, proof, progress, unfit);
  } catch (const store::Failure& f) {
    // A page that cannot be read ends the reading, not the report of what is still good.
    if (f.code != Code::unsound && f.code != Code::unreadable) throw;
    add_finding(proof, std::string("the log cannot be read to its end: ") + f.what(), {}, "keep this file as it is, and go on with the last backup");
  }
}

Result<Proof> prove(const Book& book, std::string_view seal, const Progress& tell) {
  return book::guarded<Proof>([&]() -> Result<Proof> {
    const Progress progress = book::guarded_progress(tell);
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
    // The seal over every installation is that of a moment: it can be compared as long as nothing came after it.
    const bool over_all = wanted && wanted->tag == book::kOverAll && std::none_of(beside.known.all.begin(), beside.known.all.end(), [](const log::Installation& i) { return i.tag == book::kOverAll; });
    if (over_all) {
      if (book::over_all_of(book::seals(beside)) != seal) {
        return Refusal{Code::not_found, "the seal " + std::string(seal) + " is over all installations as they stood when it was printed, and this book is not at that point", "it holds until an entry is added; each installation's own seal can be proved whatever came after it", "one of the seals that stand below it on the page: baybook prove --seal TAG:NUMBER:HEX", {}};
      }
      wanted.reset();
    }
    std::string doing = "the file";
    std::int64_t done = 0;
    std::int64_t of = 0;
    Progress told;
    if (progress) {
      told = [&](std::string_view what, std::int64_t now, std::int64_t all) {
        doing = what;
        done = now;
        of = all;
        progress(what, now, all);
      };
      beside.db.while_running([&] { progress(doing, done, of); });
    }
    std::vector<book::UnfitEntry> unfit;
    book::prove_log(beside, proof, told, &unfit);
    if (wanted) {
      bool seen = false;
      for (const log::Installation& i : beside.known.all) {
        if (i.tag != wanted->tag) continue;
        seen = true;
        auto q = beside.db.query("SELECT digest FROM entry WHERE id = ?");
        q.bind(i.origin << 40 | wanted->number);
        const EntryRef ref{EntryId{i.origin << 40 | wanted->number}, i.tag};
        if (!q.step()) {
          add_finding(proof, "the seal names entry " + number_of(ref) + ", which is not there: the end of the log was cut off, or it is another book's seal", {}, "the book that was printed from, or its backup");
        } else {
          const std::string hex = log::hex_of(q.blob(0));
          if (hex.substr(0, 16) != wanted->head) add_finding(proof, "entry " + number_of(ref) + " has another digest than the seal: the log up to it was rewritten after that page was printed", ref, "the book that was printed from, or its backup");
        }
      }
      if (!seen) add_finding(proof, "the seal is of an installation (" + wanted->tag + ") that this book does not have", {}, "the book that was printed from");
      proof.seal_checked = true;
    }
    if (over_all) proof.seal_checked = true;
    book::prove_beside(beside, [&proof](std::string what, std::optional<EntryRef> entry, std::string instead) { add_finding(proof, std::move(what), std::move(entry), std::move(instead)); });
    if (proof.findings.empty()) prove_tables(beside, proof, told);
    // What the tables say is looked at only when they can be believed.
    if (proof.findings.empty()) {
      book::tell_unfit(beside, std::move(unfit), proof);
      prove_papers(beside, proof, told);
      proof.conflicts = std::ssize(book::list_conflicts(beside));
      list_months(book, beside, proof, told);
    }
    // This book's own first, then by tag: the same book prints the same page.
    const std::string own = beside.known.own().tag + ":";
    std::sort(proof.seals.begin(), proof.seals.end(), [&](const std::string& a, const std::string& b) { return std::pair(!a.starts_with(own), a) < std::pair(!b.starts_with(own), b); });
    if (progress) progress("", proof.entries, proof.entries);
    return proof;
  });
}

}  // namespace baybook
