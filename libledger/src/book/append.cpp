// The one writer of what happens here. The first entry of a book is made by open.cpp, entries of other installations are taken
// in by bring.cpp, and correct.cpp tries a correction inside a savepoint that is always rolled back; nothing else inserts one.
#include "book/choice.hpp"
#include "book/circumstances.hpp"
#include "book/clock.hpp"
#include "book/closed_months.hpp"
#include "book/draft_ids.hpp"
#include "book/draft_said.hpp"
#include "book/erase.hpp"
#include "book/erased_at_work.hpp"
#include "book/exchange_notes.hpp"
#include "book/filings.hpp"
#include "book/inside.hpp"
#include "book/keep_apart.hpp"
#include "book/misread.hpp"
#include "book/office.hpp"
#include "book/once.hpp"
#include "book/peers.hpp"
#include "book/settle.hpp"
#include "book/signed.hpp"
#include "book/spills.hpp"
#include "book/streams_known.hpp"
#include "book/tolerance.hpp"
#include "book/outcome.hpp"
#include "book/unfit.hpp"

#include "due/build.hpp"
#include "fluids/build.hpp"
#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "log/references.hpp"
#include "log/version.hpp"
#include "returns/build.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook {

using log::Built;
using log::Desk;
using log::Fact;
using log::Kind;
using log::Value;

namespace {

// A movement of a job: the job must be open, and a circuit must be one of its car's.
Result<Done> check_job(const Desk& desk, const Movement& m) {
  if (!m.job) return Done{};
  auto row = service::open_job(desk, m.job);
  if (!row.ok()) return std::move(row).refusal();
  for (const MoveLine& line : m.lines) {
    for (const PlaceId p : {line.from, line.to}) {
      if (is_circuit(p) && car_of(p) != row->car) {
        return Refusal{Code::not_allowed, "that circuit belongs to another car than job " + service::job_name(desk.known, *row), "a job is about one car (F6)", "the job of that car", {}};
      }
    }
  }
  return Done{};
}

Result<Built> build(Book::Inside& in, Desk& desk, const Draft& draft) {
  return std::visit(
      [&](const auto& d) -> Result<Built> {
        using D = std::decay_t<decltype(d)>;
        if constexpr (std::is_same_v<D, Movement>) {
          if (auto ok = check_job(desk, d); !ok.ok()) return std::move(ok).refusal();
          auto built = fluids::build(desk, in.ledger, d);
          if (!built.ok()) return built;
          const Day on = log::day_of_moment(desk.effect.moment);
          if (auto bad = book::refuse_substances(in, on, d.shares, built->warnings))
            return *std::move(bad);
          if (auto ok = returns::add_to(desk, d, *built); !ok.ok()) return std::move(ok).refusal();
          return built;
        } else if constexpr (std::is_same_v<D, CloseJob>) {
          const Day on = log::day_of_moment(desk.effect.moment);
          return service::build(desk, in.ledger, [&] { return book::tolerance_on(in, on); }, d);
        } else if constexpr (std::is_same_v<D, CloseMonth>) {
          return book::build_close(in, desk, d);
        } else if constexpr (std::is_same_v<D, Filing>) {
          return book::build_filing(in, desk, d);
        } else if constexpr (std::is_same_v<D, Circumstance>) {
          return book::build_circumstance(in, desk, d);
        } else if constexpr (std::is_same_v<D, Determination>) {
          return book::build_determination(in, desk, d);
        } else if constexpr (std::is_same_v<D, NewFirm>) {
          const Day on = log::day_of_moment(desk.effect.moment);
          if (auto bad = book::refuse_streams(in, on, d.streams, book::StreamOf::firm))
            return *std::move(bad);
          return returns::build(desk, d);
        } else if constexpr (std::is_same_v<D, ConfirmPickup> || std::is_same_v<D, ChooseRules> ||
                             std::is_same_v<D, Inspection> || std::is_same_v<D, Paper> ||
                             std::is_same_v<D, Deadline> || std::is_same_v<D, DeadlineDone>) {
          return returns::build(desk, d);
        } else if constexpr (std::is_same_v<D, Schedule> || std::is_same_v<D, TaskDone> ||
                             std::is_same_v<D, PutOff> || std::is_same_v<D, RecheckDone> ||
                             std::is_same_v<D, EngineHours>) {
          return due::build(desk, d);
        } else if constexpr (std::is_same_v<D, NewFluid>) {
          auto built = fluids::build(desk, in.ledger, d);
          if (!built.ok()) return built;
          const Day on = log::day_of_moment(desk.effect.moment);
          if (auto bad = book::refuse_substances(in, on, d.shares, built->warnings))
            return *std::move(bad);
          return built;
        } else if constexpr (std::is_same_v<D, NewPlace>) {
          auto built = fluids::build(desk, in.ledger, d);
          if (!built.ok()) return built;
          const Day on = log::day_of_moment(desk.effect.moment);
          if (auto bad = book::refuse_streams(in, on, {&d.stream, 1}, book::StreamOf::place))
            return *std::move(bad);
          return built;
        } else if constexpr (std::is_same_v<D, PlaceMark> || std::is_same_v<D, Gauge>) {
          return fluids::build(desk, in.ledger, d);
        } else if constexpr (std::is_same_v<D, Settle>) {
          return book::build_settlement(in, desk, d);
        } else if constexpr (std::is_same_v<D, Choice>) {
          return book::build_choice(in, desk, d);
        } else if constexpr (std::is_same_v<D, Correction>) {
          return book::build_correction(in, desk, d);
        } else if constexpr (std::is_same_v<D, Erasure>) {
          return book::build_erasure(in, desk, d);
        } else if constexpr (std::is_same_v<D, PeerWord>) {
          return book::build_word(in, desk, d);
        } else {
          return service::build(desk, d);
        }
      },
      draft);
}

}  // namespace

Result<Receipt> Book::append(const Draft& draft, const Stamp& stamp) {
  if (book::says_misread(*inside_, draft)) return book::append_after_misread(*this, draft, stamp);
  std::optional<book::When> when;  // known once the clock was read
  return book::told_of_clock(*inside_, when, book::guarded<Receipt>([&]() -> Result<Receipt> {
    Inside& in = *inside_;
    store::Db& db = in.db;

    std::optional<store::Transaction> transaction;
    if (!in.in_batch) transaction.emplace(db);
    struct Forget {  // whatever is left in memory of a write that did not happen must go
      Inside& in;
      bool keep = false;
      ~Forget() {
        if (keep) return;
        in.ledger.forget();
        (void)in.ledger.take_cars();
        in.due_moved.clear();
        in.due_moved_for_all = false;
        in.settlements_moved = false;
      }
    } forget{in};
    if (!in.in_batch) in.ledger.forget();

    // The same key again: nothing is written, and nothing is checked that the first write itself may have changed.
    const book::Once once(in, draft, stamp);
    if (once.known()) {
      auto first = once.first();
      // The first try may have been cut off before the files were emptied.
      if (first.ok() && transaction && !stamp.dry_run &&
          (std::holds_alternative<Erasure>(draft) || std::holds_alternative<PeerWord>(draft))) {
        transaction.reset();
        book::finish_erasure(in, *first);
      }
      return first;
    }

    if (auto refusal = book::refuse_while_waiting(in, draft)) return std::move(*refusal);
    if (auto refusal = book::refuse_named(in, draft, stamp)) return std::move(*refusal);
    if (auto refusal = book::refuse_said(draft, stamp, in.settings.units))
      return std::move(*refusal);

    const log::Installation& own = in.known.own();
    const book::Tail tail = book::own_tail(in);
    const bool clock_behind = tail.is_behind(stamp.now);
    // The order is raised, never the day: a clock that was once ahead does not move what comes
    // after it.
    const std::int64_t recorded = tail.recorded_at(stamp.now);
    const EntryId id{own.origin << 40 | (tail.number + 1)};
    auto read = book::when_of_entry(in, stamp, tail);
    if (!read.ok()) return std::move(read).refusal();
    when = std::move(*read);
    const Day on = when->on;
    const std::optional<TimeOfDay> at = when->at;

    Desk desk{db,
              in.known,
              in.settings.units,
              {log::moment_of(on, at), recorded, id},
              when->today,
              book::day_beyond_doubt(in, when->clock, when->today, stamp.clock_is_right),
              stamp.dry_run};

    desk.of_a_list = in.in_batch;
    desk.inherits = in.after_misread;
    auto built = build(in, desk, draft);
    if (!built.ok()) return std::move(built).refusal();
    // Asked while the places hold what they held before; told after the shop's own figures, which come first.
    const auto* moved = std::get_if<Movement>(&draft);
    const std::optional<Refusal> apart = moved ? book::kept_apart(in, on, *moved, built->details) : std::nullopt;

    // The body: every header field, the details, and a salted digest for each private text.
    Value body;
    if (stamp.by) body["by"] = log::write_ref(stamp.by.n, in.known);
    if (clock_behind) body["clock-behind"] = true;
    body["details"] = built->details;
    body["format"] = log::kFormat;
    body["happened"] = to_string(on);
    body["installation"] = own.identity;
    body["kind"] = log::name_of(built->kind);
    body["number"] = id.number();
    body["recorded"] = to_string(Instant{recorded});
    if (at) body["time"] = to_string(*at);
    // What was done knowing of others is told from what was not.
    if (const std::vector<EntryId> unsaid = book::unsaid(db, in.known, tail.others.last);
        !unsaid.empty()) {
      std::vector<Value> seen;
      for (const EntryId e : unsaid) seen.push_back(log::write_ref(e.n, in.known));
      body["seen"] = Value(std::move(seen));
    }
    body["version"] = log::version_of_body(body);
    std::vector<log::Salt> salts(built->privates.size());
    if (!built->privates.empty()) {
      Value commitments;
      for (std::size_t i = 0; i < salts.size(); ++i) {
        in.random.fill(salts[i].data(), salts[i].size());
        commitments[built->privates[i].first] = log::hex(log::commit(built->privates[i].first, salts[i], built->privates[i].second));
      }
      body["private"] = std::move(commitments);
    }
    const std::string text = log::canonical(body);
    // What could not be taken in elsewhere is not written here, whatever a check above has let
    // through.
    if (auto refusal = book::refuse_unfit(db, body, *built)) return std::move(*refusal);
    const log::Digest digest = log::chain_digest(tail.digest, text);

    // Point of no return within the transaction: from here on either all of it is committed or none.
    {
      auto q = db.query("INSERT INTO entry(id, recorded, moment, kind, who, body, digest) VALUES(?, ?, ?, ?, ?, ?, ?)");
      q.bind(id.n).bind(recorded).bind(desk.effect.moment).bind(static_cast<std::int64_t>(built->kind)).bind(stamp.by.n).bind(text).bind_blob(digest.data(), digest.size());
      if (q.changed() != 1) throw store::Failure(Code::unsound, db.path() + ": the entry was not taken", "baybook prove");
    }
    for (std::size_t i = 0; i < salts.size(); ++i) {
      auto q = db.query("INSERT INTO private(entry, field, salt, value) VALUES(?, ?, ?, ?)");
      q.bind(id.n).bind(built->privates[i].first).bind_blob(salts[i].data(), salts[i].size()).bind(built->privates[i].second);
      if (q.changed() != 1) throw store::Failure(Code::unsound, db.path() + ": a private text was not taken", "baybook prove");
    }
    book::list_seen(db, id, text);
    once.remember(id);
    if (in.zone_window && !in.zone_window_stored) {
      const std::string window = std::to_string(in.zone_window->same_offset_from.ms) + " " + std::to_string(in.zone_window->same_offset_until.ms) + " " + std::to_string(in.zone_window->offset_seconds);
      auto q = db.query("INSERT OR REPLACE INTO beside(name, value) VALUES('zone-window', ?)");
      q.bind_blob(window.data(), window.size()).run();
      in.zone_window_stored = !stamp.dry_run;
    }

    Fact fact;
    fact.effect = desk.effect;
    fact.kind = built->kind;
    fact.who = stamp.by.n;
    fact.details = built->details;
    fact.source = id;
    log::go_by_settlements(db, fact);
    // Of a correction, what it corrects is the entry that has to hold.
    const bool corrects = built->kind == Kind::correction;
    const EntryId judged = corrects ? EntryId{log::read_ref(built->details.at("target"), own.origin)} : id;
    book::Before before;
    if (corrects && !in.in_batch) {
      before.corrected = judged;
      before.was = book::said(in, judged);
      before.asked_nothing = book::never_asked(in, fact, judged);
      if (const Value* also = built->details.find("also")) {
        for (const Value& ref : also->as_array()) {
          const EntryId with{log::read_ref(ref, own.origin)};
          before.also[with] = book::said(in, with).summary;
        }
      }
    }
    // A settlement folds everything anew, and one that is taken back does.
    const book::SignedFigures papers =
        !in.in_batch && (corrects || built->kind == Kind::settle || built->kind == Kind::peer)
            ? book::signed_figures(in)
            : book::SignedFigures{};
    const bool may_erase = !in.in_batch && !in.takes_in &&
                           (built->kind == Kind::peer || built->kind == Kind::erasure);
    const book::ErasedAtWork at_work =
        may_erase ? book::erased_at_work(in) : book::ErasedAtWork();
    // What comes in with a file is told of when all of it was folded.
    std::optional<book::ClosedMonths> closed;
    if (!in.in_batch && !in.takes_in) closed.emplace(in, book::reach_of(in, *built, desk.effect));
    in.ledger.clear_changes();
    if (!in.in_batch) in.ledger.watch_levels();
    book::fold_new(in, fact);
    if (auto refusal = book::refusal_for(in, judged, corrects, nullptr)) {
      if (book::is_choice(fact)) refusal->instead = book::instead_of_choice(in, fact);
      return std::move(*refusal);
    }
    if (apart) return *apart;

    Receipt r;
    r.entry = EntryRef{id, in.settings.tag};
    r.digest = log::hex(digest);
    r.body = text;
    r.dry_run = stamp.dry_run;
    r.warnings = built->warnings;
    const bool anew = in.settlements_moved;
    if (anew) book::fold_anew(in);
    r.clock = when->clock;
    if (!in.in_batch) {
      for (std::string& w : book::told_of_when(in, *when, built->kind, r))
        r.warnings.push_back(std::move(w));
    }
    if (!in.in_batch) {
      before.folded_anew = anew;
      before.moved = in.ledger.moved_places();
      in.ledger.flush();
      book::refresh_due(in);
      book::tell(in, fact, before, r);
      const bool may_wait = corrects || built->kind == Kind::settle || built->kind == Kind::erasure;
      for (const book::Held& h :
           may_wait ? book::held_entries(in, 0, id) : std::vector<book::Held>()) {
        r.warnings.push_back("it " + h.text + ", which has no effect yet; " +
                             book::how_to_agree(in, h));
      }
      if (anew) {
        for (std::string& w : book::moved_since(in, papers)) r.warnings.push_back(std::move(w));
      }
      if (may_erase) {
        for (std::string& w : book::told_since(in, at_work)) r.warnings.push_back(std::move(w));
      }
      if (closed) r.closed_months = closed->since(*this);
      for (std::string& w : book::told(in, r.closed_months)) r.warnings.push_back(std::move(w));
    }
    if (stamp.dry_run) return r;  // the transaction rolls back
    if (transaction) {
      std::string noted;
      if (auto refusal = book::commit_or_look(in, id, digest, noted)) return std::move(*refusal);
      if (!noted.empty()) r.warnings.push_back(std::move(noted));
    }
    forget.keep = true;
    if (transaction && (built->kind == Kind::erasure || built->kind == Kind::peer))
      book::finish_erasure(in, r);
    return r;
  }));
}

}  // namespace baybook
