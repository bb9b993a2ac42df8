#include "book/prove_beside.hpp"

#include "book/exchange_notes.hpp"
#include "book/forks.hpp"
#include "book/once.hpp"
#include "fluids/told_apart.hpp"
#include "log/canonical.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>

namespace baybook::book {

namespace {

constexpr const char* kBackup = "a backup of the book";
constexpr const char* kRebuild = "baybook prove --rebuild makes it anew";
/// Books from before a kind was added lack its name; these were there from the first.
constexpr std::int64_t kFirstKinds = 31;

void prove_installations(Book::Inside& in, const Find& find) {
  std::int64_t own = 0;
  auto q = in.db.query("SELECT origin, identity, tag, own FROM installation ORDER BY origin");
  while (q.step()) {
    const std::string tag = q.text(2);
    const EntryRef first{EntryId{q.num(0) << 40 | 1}, tag};
    if (q.num(3) != 0 && q.num(3) != 1) find("installation " + tag + ": whether it is this book's own is neither yes nor no", {}, kBackup);
    own += q.num(3) != 0 ? 1 : 0;
    try {
      if (log::origin_of(q.text(1)) != q.num(0)) find("installation " + tag + ": its number does not follow from its identity", {}, kBackup);
      const auto row = log::read_row(in.db, first.id);
      if (!row) continue;  // said by the chain
      const log::Value body = log::parse_body(row->body);
      // Another installation may go by another tag here (exchange in --call), this book's own by the one in its opening alone.
      if (q.num(3) != 0 && body.at("details").str("tag") != tag) find("installation " + tag + " calls itself " + std::string(body.at("details").str("tag")) + " in its first entry", first, kBackup);
    } catch (const log::Malformed& m) {
      find("installation " + tag + ": " + m.what(), {}, kBackup);
    } catch (const store::Failure&) {
      // A column of the first entry that cannot be read: said by the chain.
    }
  }
  if (own != 1) find(std::to_string(own) + " installations of this book are its own; it must be one", {}, kBackup);
}

void prove_kinds(Book::Inside& in, const Find& find) {
  std::int64_t seen = 0;
  auto q = in.db.query("SELECT number, name FROM kind ORDER BY number");
  while (q.step()) {
    const std::int64_t n = q.num(0);
    if (n < 1 || n > log::kLastKind || q.text(1) != log::name_of(static_cast<log::Kind>(n))) find("the table of kinds gives number " + std::to_string(n) + " another name than it has", {}, kRebuild);
    else if (n <= kFirstKinds) ++seen;
  }
  if (seen != kFirstKinds) find("the table of kinds is not whole", {}, kRebuild);
}

void prove_once(Book::Inside& in, const Find& find) {
  auto lost = in.db.query("SELECT count(*) FROM once WHERE entry NOT IN (SELECT id FROM entry)");
  if (const std::int64_t n = lost.step_num(); n > 0) find(std::to_string(n) + " once-keys belong to no entry", {}, kBackup);
  const std::int64_t n = once_rows_changed(in.db);
  if (n > 0) find(std::to_string(n) + " once-keys, or the secret they stand under, were changed: a repeated command may be written twice", {}, kBackup);
}

void prove_names(Book::Inside& in, const Find& find) {
  bool secret = false;
  auto q = in.db.query("SELECT name, value FROM beside ORDER BY name");
  while (q.step()) {
    const std::string name = q.text(0);
    if (name == "once-secret") secret = q.blob(1).size() == 32;
    else if (name != "zone-window" && name != "told-apart" && name != "backup" &&
             name != "erasure-unfinished" && name != "log" && name != kForks &&
             name != kTakenFiles && name != kWaits) {
      find("beside the log lies \"" + visible(name) + "\", which no book has", {}, kBackup);
    }
    if (name != "zone-window") continue;
    // Where the zone is not known here nothing can be said; where it is, the span must lie within one of the database's own.
    const auto stored = read_zone_window(q.blob(1));
    const bool in_order = stored && stored->same_offset_from < stored->same_offset_until;
    bool right = in_order;
    if (in_order && zone_exists(in.settings.zone)) {
      constexpr std::int64_t years_ms = 4'000'000'000'000;  // a span may begin before there were days
      const auto real = local_day(Instant{std::clamp(stored->same_offset_from.ms, -years_ms, years_ms)}, in.settings.zone);
      right = real.ok() && real->offset_seconds == stored->offset_seconds && real->same_offset_from <= stored->same_offset_from && stored->same_offset_until <= real->same_offset_until;
    }
    if (!right) find("the span in which " + in.settings.zone + " keeps its offset is not the one of the zone database of this machine: an entry may get the wrong day", {}, kRebuild);
  }
  try {
    (void)fluids::told_apart_in(in.db);
    (void)forks_in(in.db);
  } catch (const log::Malformed& m) {
    find(m.what(), {}, kRebuild);
  }
  if (!secret) find("the secret of the once-keys is missing or cut", {}, kBackup);
}

}  // namespace

void prove_beside(Book::Inside& in, const Find& find) {
  prove_installations(in, find);
  prove_kinds(in, find);
  prove_names(in, find);
  prove_once(in, find);
}

void mend_beside(Book::Inside& in) {
  {
    auto q = in.db.query("DELETE FROM kind");
    q.run();
  }
  for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
    auto q = in.db.query("INSERT INTO kind(number, name) VALUES(?, ?)");
    q.bind(k).bind(log::name_of(static_cast<log::Kind>(k))).run();
  }
  fluids::tell_apart(in.db);
  try {
    (void)forks_in(in.db);
  } catch (const log::Malformed&) {
    auto q = in.db.query("DELETE FROM beside WHERE name = ?");
    q.bind(kForks).run();
  }
  // The next entry asks the zone database.
  auto q = in.db.query("DELETE FROM beside WHERE name = 'zone-window'");
  q.run();
  in.zone_window.reset();
  in.zone_window_stored = false;
}

}  // namespace baybook::book
