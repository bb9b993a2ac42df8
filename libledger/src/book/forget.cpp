// Entries of another installation thrown out of this book: what came in the wrong name. The one
// place, beside the reading of a file that is not taken, where a row of the log goes; never one of
// this book's own.
#include "book/forks.hpp"
#include "book/bring.hpp"
#include "book/closed_months.hpp"
#include "book/exchange_notes.hpp"
#include "book/outcome.hpp"
#include "book/peers.hpp"

#include "log/canonical.hpp"
#include "log/references.hpp"

#include <baybook/peers.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook {

using book::guarded;
using log::Value;

namespace {

constexpr std::size_t kMostNames = 12;

// Entries of others that name one of those from `from` on, or were written by a person of theirs.
// Of words, only one that explains missing texts names anything.
std::vector<EntryId> named_by(store::Db& db, EntryId from, EntryId last) {
  std::vector<EntryId> out;
  std::vector<EntryId> all;
  {
    auto q = db.query(
        "SELECT id FROM entry WHERE (id < ?1 OR id > ?2) AND kind <> 1 ORDER BY id");
    q.bind(from.n).bind(last.n);
    while (q.step()) all.push_back(EntryId{q.num(0)});
  }
  const auto gone = [&](EntryId e) { return from <= e && e <= last; };
  for (const EntryId id : all) {
    if (id.origin() == from.origin()) continue;  // its own earlier entries cannot name later ones
    const log::Row row = log::row_of(db, id);
    const Value body = log::parse_body(row.body);
    const std::vector<log::Reference> names = log::references_in(body.at("details"), id.origin());
    if (gone(EntryId{row.who}) ||
        std::any_of(names.begin(), names.end(),
                    [&](const log::Reference& r) { return gone(r.entry); }))
      out.push_back(id);
  }
  return out;
}

Result<ForgetPlan> plan(Book::Inside& in, std::string_view tag, std::int64_t from) {
  const auto it = std::find_if(in.known.all.begin(), in.known.all.end(),
                               [&](const log::Installation& i) { return i.tag == tag; });
  if (it == in.known.all.end())
    return Refusal{Code::not_found,
                   "there is no installation " + visible(tag) + " in this book",
                   "",
                   "baybook exchange list",
                   {}};
  if (it->own)
    return Refusal{Code::not_allowed,
                   it->tag + " is this book itself",
                   "what was written here stays: a slip is put right by a later entry",
                   "baybook correct ENTRY --withdraw --why \"...\"",
                   {}};
  const std::vector<std::int64_t> before = book::Words::predecessors(in.db, in.known.own().origin);
  if (std::find(before.begin(), before.end(), it->origin) != before.end()) {
    return Refusal{Code::not_allowed,
                   "this book goes on from " + it->tag + ": its entries are this book's own past",
                   "what was written here stays: a slip is put right by a later entry",
                   "baybook correct ENTRY --withdraw --why \"...\"",
                   {}};
  }
  std::int64_t last = 0;
  {
    auto q = in.db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
    q.bind(it->origin << 40).bind((it->origin + 1) << 40);
    if (q.step()) last = EntryId{q.num(0)}.number();
  }
  if (from < 1 || from > last)
    return Refusal{Code::not_found,
                   it->tag + " has no entry " + std::to_string(from) + " here, the last is " +
                       std::to_string(last),
                   "",
                   "baybook exchange list",
                   {}};
  ForgetPlan out;
  const EntryId first{it->origin << 40 | from};
  const EntryId end{it->origin << 40 | last};
  out.from = book::ref_of(in, first);
  out.last = book::ref_of(in, end);
  out.entries = last - from + 1;
  out.digest = book::digest_of(in.db, end);
  const std::vector<EntryId> names = named_by(in.db, first, end);
  out.named_by = std::ssize(names);
  for (std::size_t n = 0; n < names.size() && n < kMostNames; ++n)
    out.names.push_back(book::ref_of(in, names[n]));
  return out;
}

Refusal still_named(const Book::Inside& in, const ForgetPlan& p) {
  std::string list;
  for (const EntryRef& r : p.names) list += (list.empty() ? "" : ", ") + book::entry_name(in, r.id);
  if (p.named_by > std::ssize(p.names))
    list += " and " + std::to_string(p.named_by - std::ssize(p.names)) + " more";
  return {Code::has_dependants,
          std::to_string(p.named_by) +
              (p.named_by == 1 ? " entry of another installation names"
                               : " entries of other installations name") +
              " what would be thrown out: " + list,
          "they would name something that is not there",
          "--from with a later number; entries that do not hold are withdrawn instead: baybook "
          "correct ENTRY --withdraw --why \"...\"",
          {{"entries", list}}};
}

void take_out(Book::Inside& in, EntryId from, EntryId last) {
  for (const char* sql : {"DELETE FROM private WHERE entry >= ? AND entry <= ?",
                          "DELETE FROM entry WHERE id >= ? AND id <= ?"}) {
    auto q = in.db.query(sql);
    q.bind(from.n).bind(last.n).run();
  }
  for (const book::Parted& f : book::forks_in(in.db)) {
    if (f.entry.origin() == from.origin() && f.entry >= from)
      book::forget_forks(in.db, from.origin(), f.entry.number());
  }
  if (from.number() > 1) return;
  auto q = in.db.query("DELETE FROM installation WHERE origin = ? AND own = 0");
  q.bind(from.origin()).run();
  in.known = log::installations(in.db);
}

}  // namespace

Result<ForgetPlan> plan_forget(const Book& b, std::string_view tag, std::int64_t from) {
  return guarded<ForgetPlan>([&]() -> Result<ForgetPlan> {
    store::Snapshot snapshot(b.inside().db);
    return plan(b.inside(), tag, from);
  });
}

Result<Receipt> forget_installation(Book& b, const ForgetPlan& planned, const Stamp& stamp) {
  Book::Inside& in = b.inside();
  const log::Installations before = in.known;
  bool kept = false;
  auto result = guarded<Receipt>([&]() -> Result<Receipt> {
    store::Transaction transaction(in.db);
    auto now = plan(in, planned.from.tag, planned.from.number());
    if (!now.ok()) return std::move(now).refusal();
    if (now->last.id != planned.last.id || now->digest != planned.digest)
      return Refusal{Code::not_allowed,
                     planned.from.tag + " has grown since this was planned",
                     "what is thrown out is kept as a file first, all of it",
                     "the same again",
                     {}};
    if (now->named_by > 0) return still_named(in, *now);
    book::ReachesBack all;
    all.all = true;
    const book::ClosedMonths closed(in, all);
    in.in_batch = in.tells_of_peers = true;
    Stamp s = stamp;
    s.dry_run = false;
    s.once.clear();
    auto receipt = b.append(PeerWord{PeerWord::What::forget, planned.from.id, {}}, s);
    in.in_batch = in.tells_of_peers = false;
    if (!receipt.ok()) return receipt;
    take_out(in, planned.from.id, planned.last.id);
    book::forget_taken(in.db);
    book::fold_anew(in);
    receipt->closed_months = closed.since(b);
    for (std::string& w : book::told(in, receipt->closed_months))
      receipt->warnings.push_back(std::move(w));
    receipt->summary = "threw out " + std::to_string(now->entries) +
                       (now->entries == 1 ? " entry" : " entries") + " of " + planned.from.tag +
                       ", from number " + std::to_string(planned.from.number()) + " on";
    receipt->dry_run = stamp.dry_run;
    if (stamp.dry_run) return receipt;
    const log::Row row = log::row_of(in.db, receipt->entry.id);
    log::Digest digest{};
    std::copy_n(row.digest.begin(), std::min(row.digest.size(), digest.size()), digest.begin());
    std::string noted;
    if (auto refusal = book::commit_or_look(in, receipt->entry.id, digest, noted))
      return std::move(*refusal);
    if (!noted.empty()) receipt->warnings.push_back(std::move(noted));
    kept = true;
    return receipt;
  });
  in.in_batch = in.tells_of_peers = false;
  if (!kept) {
    in.known = before;
    in.zone_window_stored = false;
  }
  in.ledger.forget();
  (void)in.ledger.take_cars();
  in.due_moved.clear();
  in.due_moved_for_all = in.settlements_moved = false;
  return result;
}

}  // namespace baybook
