// Entries for reading: one, many, a car's story.
#include "book/inside.hpp"
#include "book/peers.hpp"

#include "log/canonical.hpp"
#include "service/build.hpp"
#include "text/words.hpp"

#include <baybook/reports.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <limits>

#include "book/search.hpp"
#include "book/views.hpp"

namespace baybook {

using log::Fact;
using log::Kind;

namespace book {

std::int64_t last_moment(AsOf as_of) { return as_of ? log::moment_of(*as_of, std::nullopt) : std::numeric_limits<std::int64_t>::max(); }

EntryView view_of(Book::Inside& in, const log::Row& row, bool whole) {
  store::Db& db = in.db;
  // Of a withdrawn entry too: what it said itself, and what it names as the settlements have it read.
  const Fact fact = log::read_fact(db, row);
  EntryView v;
  v.ref = ref_of(in, row.id);
  v.happened = log::day_of_moment(row.moment);
  v.at = log::time_of_body(row.body);
  v.recorded = Instant{row.recorded};
  v.kind = log::name_of(row.kind);
  v.verb = verb_of(fact);
  if (fact.who != 0) v.by = service::person_name(db, EntryId{fact.who});
  const service::Belongs b = service::belongs_to(db, fact);
  if (b.job) {
    if (const auto job = service::job_row(db, b.job)) {
      v.job_number = job->number;
      v.job = service::job_name(in.known, *job);
    }
  }
  if (b.car) v.car = service::plate_of(db, b.car);
  v.summary = summarize(in, fact);
  v.text = main_text(in, fact);
  if (fact.kind == Kind::code) v.fault_code = fact.details.str("code");
  v.withdrawn = fact.withdrawn;
  const bool may_wait =
      fact.kind == Kind::correction || fact.kind == Kind::settle || fact.kind == Kind::erasure;
  for (const Held& h :
       may_wait&& in.known.all.size() > 1 ? held_entries(in, 0, row.id) : std::vector<Held>())
    v.waits = h.text + "; " + how_to_agree(in, h);
  {
    auto q = db.query(
        "SELECT entry FROM correction c WHERE target = ? AND withdrawn < 2 AND NOT EXISTS (SELECT "
        "1 FROM amended a WHERE a.target = c.entry AND a.withdrawn = 1) ORDER BY moment, recorded, "
        "entry");
    q.bind(row.id.n);
    std::vector<std::int64_t> ids;
    while (q.step()) ids.push_back(q.num(0));
    for (const std::int64_t id : ids) v.corrected_by.push_back(ref_of(in, EntryId{id}));
  }
  if (whole) {
    v.digest = log::hex_of(row.digest);
    v.body = row.body;
    auto q = db.query("SELECT field, value FROM private WHERE entry = ? ORDER BY field");
    q.bind(row.id.n);
    while (q.step()) v.private_values.emplace_back(q.text(0), q.text(1));
    auto gone = db.query(
        "SELECT DISTINCT field FROM erased e WHERE entry = ? AND asked IN (0, 2, 4) AND NOT EXISTS "
        "(SELECT 1 FROM private p WHERE p.entry = e.entry AND p.field = e.field) ORDER BY field");
    gone.bind(row.id.n);
    while (gone.step()) v.private_values.emplace_back(gone.text(0), "");
  }
  return v;
}

std::vector<EntryView> views_of(Book::Inside& in, const std::vector<std::int64_t>& ids, bool with_withdrawn) {
  std::vector<EntryView> out;
  for (const std::int64_t id : ids) {
    const auto row = log::read_row(in.db, EntryId{id});
    if (!row) throw store::Failure(Code::unsound, in.db.path() + ": an entry is missing", "baybook prove");
    EntryView v = view_of(in, *row, true);
    if (!v.withdrawn || with_withdrawn) out.push_back(std::move(v));
  }
  return out;
}

void note_comebacks(Book::Inside& in, CarId car, std::vector<EntryView>& lines) {
  bool any = false;
  for (const EntryView& v : lines) any = any || !v.fault_code.empty();
  if (!any) return;
  struct Cleared {
    std::string code, job;
    log::Effect at;
  };
  std::vector<Cleared> cleared;
  std::vector<std::int64_t> ids;
  {
    auto q = in.db.query("SELECT entry FROM history WHERE car = ? AND kind = 11 ORDER BY moment, recorded, entry");
    q.bind(car.n);
    while (q.step()) ids.push_back(q.num(0));
  }
  for (const std::int64_t id : ids) {
    const Fact fact = log::read_fact(in.db, EntryId{id});
    if (fact.withdrawn) continue;
    const service::Belongs b = service::belongs_to(in.db, fact);
    const auto row = service::job_row(in.db, b.job);
    const std::string job = row ? service::job_name(in.known, *row) : std::string();
    const std::string code(fact.details.str("code"));
    if (fact.details.str("what") == "cleared") {
      std::erase_if(cleared, [&](const Cleared& c) { return c.code == code; });
      cleared.push_back({code, job, fact.effect});
      continue;
    }
    for (const Cleared& c : cleared) {
      if (c.code != code || c.job == job) continue;
      for (EntryView& v : lines) {
        if (v.ref.id == fact.id()) v.came_back = "cleared on job " + c.job + ", " + to_string(log::day_of_moment(c.at.moment));
      }
    }
  }
}

}  // namespace book

std::string corrections_of(const EntryView& e, std::string_view own) {
  if (e.corrected_by.empty()) return "";
  std::string refs;
  for (const EntryRef& r : e.corrected_by)
    refs += (refs.empty() ? "" : ", ") + std::to_string(r.number()) +
            (r.tag == own ? "" : "@" + r.tag);
  return (e.withdrawn ? "withdrawn by " : "put right by ") + refs;
}

EntryLine line_of(const EntryView& e, std::string_view own) {
  EntryLine out;
  out.entry = std::to_string(e.ref.number()) + (e.ref.tag == own ? "" : "@" + e.ref.tag);
  out.day = to_string(e.happened);
  if (e.at) out.time = to_string(e.at->minute);
  out.by = e.by;
  out.car = e.car;
  out.job = e.job;
  out.what = e.withdrawn ? "[withdrawn] " + e.summary : e.summary;
  if (!e.text.empty()) out.what += (out.what.empty() ? "" : ": ") + e.text;
  if (!e.came_back.empty()) out.what += " - CAME BACK, " + e.came_back;
  if (!e.waits.empty()) out.what += " [no effect until agreed]";
  if (!e.withdrawn && !e.corrected_by.empty()) out.what += " [" + corrections_of(e, own) + "]";
  if (!e.came_off.empty()) out.what += " [" + e.came_off + "]";
  if (!e.compared.empty()) out.what += " [" + e.compared + "]";
  return out;
}

using book::guarded;

Result<EntryView> entry(const Book& b, EntryId id) {
  return guarded<EntryView>([&]() -> Result<EntryView> {
    store::Snapshot snapshot(b.inside().db);
    const auto row = log::read_row(b.inside().db, id);
    if (!row) return Refusal{Code::not_found, "there is no such entry", "", "baybook entries", {}};
    std::vector<EntryView> one{book::view_of(b.inside(), *row, true)};
    book::note_what_came_off(b.inside(), one, {});
    book::note_spills(b.inside(), one);
    return std::move(one.front());
  });
}

Result<std::vector<EntryView>> entries(const Book& b, const EntryFilter& f) {
  return guarded<std::vector<EntryView>>([&]() -> Result<std::vector<EntryView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    const std::int64_t from = f.from ? log::first_moment(*f.from) : std::numeric_limits<std::int64_t>::min();
    const std::int64_t until = std::min(f.until ? log::moment_of(*f.until, std::nullopt) : std::numeric_limits<std::int64_t>::max(), book::last_moment(f.as_of));
    std::vector<std::int64_t> ids;
    const auto limit = static_cast<std::int64_t>(f.newest);
    if (!f.words.empty()) {
      if (text::Words(f.words).empty()) return Refusal{Code::unclear, "there is no word to look for", "", "baybook entries --saying \"water pump\"", {}};
      ids = book::saying(in, f);
    } else if (f.car) {
      auto q = in.db.query("SELECT entry FROM history WHERE car = ? AND moment BETWEEN ? AND ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT ?");
      q.bind(f.car->n).bind(from).bind(until).bind(limit);
      while (q.step()) ids.push_back(q.num(0));
    } else if (f.place) {
      auto q = in.db.query("SELECT entry FROM leg WHERE place = ? AND moment BETWEEN ? AND ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT ?");
      q.bind(f.place->n).bind(from).bind(until).bind(limit);
      while (q.step()) ids.push_back(q.num(0));
    } else if (f.from || f.until || f.as_of) {
      auto q = in.db.query("SELECT id FROM entry WHERE moment BETWEEN ? AND ? ORDER BY moment DESC, recorded DESC, id DESC LIMIT ?");
      q.bind(from).bind(until).bind(limit);
      while (q.step()) ids.push_back(q.num(0));
    } else {
      // The newest in the order in which they were written.
      auto q = in.db.query("SELECT id FROM entry ORDER BY recorded DESC, id DESC LIMIT ?");
      auto own = in.db.query("SELECT id FROM entry WHERE id < ? ORDER BY id DESC LIMIT ?");
      if (in.known.all.size() == 1) {
        own.bind((in.known.own().origin + 1) << 40).bind(limit);
        while (own.step()) ids.push_back(own.num(0));
      } else {
        q.bind(limit);
        while (q.step()) ids.push_back(q.num(0));
      }
    }
    std::reverse(ids.begin(), ids.end());
    std::vector<EntryView> out = book::views_of(in, ids, true);
    book::note_what_came_off(in, out, f.as_of);
    book::note_spills(in, out);
    return out;
  });
}

Result<std::vector<EntryView>> history(const Book& b, CarId car, AsOf as_of, std::size_t newest) {
  return guarded<std::vector<EntryView>>([&]() -> Result<std::vector<EntryView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<std::int64_t> ids;
    {
      auto q = in.db.query("SELECT entry FROM history WHERE car = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT ?");
      q.bind(car.n).bind(book::last_moment(as_of)).bind(static_cast<std::int64_t>(newest));
      while (q.step()) ids.push_back(q.num(0));
    }
    std::reverse(ids.begin(), ids.end());
    std::vector<EntryView> out = book::views_of(in, ids, false);
    book::note_comebacks(in, car, out);
    book::note_what_came_off(in, out, as_of);
    book::note_spills(in, out);
    return out;
  });
}

}  // namespace baybook
