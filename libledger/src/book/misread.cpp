#include "book/misread.hpp"

#include "book/clock.hpp"
#include "book/once.hpp"

#include "due/build.hpp"
#include "service/build.hpp"
#include "service/reading.hpp"

#include <baybook/bulk.hpp>

namespace baybook::book {

namespace {

using log::Kind;
using service::Counts;
using service::Earlier;

std::optional<service::Said> said_in(const Draft& draft) {
  service::Said out;
  out.dial = Dial::misread;
  if (const auto* d = std::get_if<Odometer>(&draft); d != nullptr && d->dial == Dial::misread) {
    out.car = d->car;
    out.figure = d->reading.metres;
    out.typed = d->reading.typed;
    return out;
  }
  if (const auto* d = std::get_if<OpenJob>(&draft); d != nullptr && d->dial == Dial::misread) {
    out.car = d->car;
    if (d->odometer) {
      out.figure = d->odometer->metres;
      out.typed = d->odometer->typed;
    }
    return out;
  }
  if (const auto* d = std::get_if<EngineHours>(&draft); d != nullptr && d->dial == Dial::misread) {
    out.car = d->car;
    out.counts = Counts::hours;
    out.figure = d->minutes;
    out.typed = due::show_hours(d->minutes);
    return out;
  }
  return std::nullopt;
}

std::string reason_in(const Draft& draft) {
  if (const auto* d = std::get_if<Odometer>(&draft)) return d->reason;
  if (const auto* d = std::get_if<OpenJob>(&draft)) return d->odometer_reason;
  if (const auto* d = std::get_if<EngineHours>(&draft)) return d->reason;
  return {};
}

std::string shown(const Book::Inside& in, Counts counts, const Earlier& e) {
  const std::string figure = counts == Counts::hours ? due::show_hours(e.figure)
                                                     : show_distance(e.figure, in.settings.units);
  return figure + " on " + to_string(log::day_of_moment(e.moment)) + " (entry " +
         entry_name(in, e.entry) + ")";
}

std::string put_right(Book::Inside& in, const Earlier& e) {
  const bool opens = log::read_fact(in.db, e.entry).kind == Kind::job;
  return "baybook correct " + entry_name(in, e.entry) + (opens ? " --no-odo" : " --withdraw") +
         " --why \"...\"";
}

/// The one reading that was misread.
Result<Earlier> misread_before(Book::Inside& in, const service::Said& said, const Stamp& stamp) {
  const log::Installation& own = in.known.own();
  const Tail tail = own_tail(in);
  auto when = when_of_entry(in, stamp, tail);
  if (!when.ok()) return std::move(when).refusal();
  const log::Desk desk{in.db,
                       in.known,
                       in.settings.units,
                       {log::moment_of(when->on, when->at), tail.recorded_at(stamp.now),
                        EntryId{own.origin << 40 | (tail.number + 1)}}};
  const std::vector<Earlier> above = service::standing_above(desk, said);
  if (above.empty())
    return log::refuse(Code::not_allowed,
                       "no reading before " + said.typed + " shows more than that",
                       "what is taken out as misread is the reading before, where this one is less",
                       "the same without --misread; one that was read too low: baybook correct "
                       "ENTRY --odo READING --why \"...\"");
  if (above.size() > 1) {
    std::string list;
    std::string first;
    for (const Earlier& e : above) {
      list += (list.empty() ? "" : ", ") + shown(in, said.counts, e);
      first += (first.empty() ? "" : "; ") + put_right(in, e);
      if (list.size() > 400) break;
    }
    return log::refuse(Code::not_allowed,
                       std::to_string(above.size()) + " readings before " + said.typed +
                           " show more than that: " + list,
                       "the reading before is taken out as misread, and not several at once",
                       "the reading again; or for each that was misread " + first +
                           ", then the same without --misread");
  }
  return above.front();
}

/// Says for one append what the reading that was taken out said of its instrument.
struct Inherits {
  Inherits(Book::Inside& i, std::int64_t jumps) : in(i) { in.after_misread = jumps; }
  Inherits(const Inherits&) = delete;
  Inherits& operator=(const Inherits&) = delete;
  ~Inherits() { in.after_misread.reset(); }
  Book::Inside& in;
};

/// The two steps, one after the other, inside the transaction of the caller.
class Steps {
 public:
  Steps(Book::Inside& in, const Draft& draft, const service::Said& said, Stamp stamp)
      : in_(in), draft_(draft), said_(said), stamp_(std::move(stamp)) {}

  Result<Item> take_out() {
    auto found = misread_before(in_, said_, stamp_);
    if (!found.ok()) return std::move(found).refusal();
    misread_ = *found;
    Correction c;
    c.target = misread_.entry;
    if (log::read_fact(in_.db, misread_.entry).kind == Kind::job) c.patch.no_odometer = true;
    else c.withdraw = true;
    const std::string reason = reason_in(draft_);
    c.why = reason.empty() ? "misread: the next reading is " + said_.typed : reason;
    // Put right today: what it corrects may have happened on this very day, later.
    Stamp now = stamp_;
    now.on.reset();
    now.at.reset();
    now.at_offset.reset();
    now.once.clear();
    return Item{c, now};
  }
  Item reading() {
    inherits_.emplace(in_, misread_.jumps);
    return Item{draft_, stamp_};
  }
  /// What the answer says of both; `r`: that of the reading.
  void tell(const Receipt& correction, bool dry_run, Receipt& r) const {
    std::string out =
        "the reading " + shown(in_, said_.counts, misread_) + " is taken out as misread";
    if (!dry_run) out += ", by entry " + entry_name(in_, correction.entry.id);
    r.warnings.insert(r.warnings.begin(), std::move(out));
  }

 private:
  Book::Inside& in_;
  const Draft& draft_;
  const service::Said& said_;
  Stamp stamp_;
  Earlier misread_{};
  std::optional<Inherits> inherits_;
};

// What a receipt says when nothing else happens in the same write.
void name_what_was_written(Book::Inside& in, Receipt& r) {
  const log::Fact fact = log::read_fact(in.db, r.entry.id);
  r.summary = summarize(in, fact);
  if (const auto row = service::job_row(in.db, service::belongs_to(in.db, fact).job))
    r.job_number = row->number;
}

}  // namespace

bool says_misread(const Book::Inside& in, const Draft& draft) {
  return !in.after_misread && said_in(draft).has_value();
}

Result<Receipt> append_after_misread(Book& book, const Draft& draft, const Stamp& stamp) {
  return guarded<Receipt>([&]() -> Result<Receipt> {
    Book::Inside& in = book.inside();
    const Once once(in, draft, stamp);
    if (once.known()) return once.first();
    const service::Said said = *said_in(draft);
    if (said.typed.empty()) return service::said_without_reading();
    Stamp each = stamp;
    each.dry_run = false;
    Steps steps(in, draft, said, each);
    if (in.in_batch) {
      auto item = steps.take_out();
      if (!item.ok()) return std::move(item).refusal();
      auto out = book.append(item->draft, item->stamp);
      if (!out.ok()) return out;
      const Item next = steps.reading();
      auto receipt = book.append(next.draft, next.stamp);
      if (receipt.ok()) steps.tell(*out, false, *receipt);
      return receipt;
    }
    int step = 0;
    const auto next = [&]() -> Result<std::optional<Item>> {
      if (step++ == 0) {
        auto item = steps.take_out();
        if (!item.ok()) return std::move(item).refusal();
        return std::optional<Item>(std::move(*item));
      }
      return step == 2 ? std::optional<Item>(steps.reading()) : std::optional<Item>();
    };
    Receipt correction;
    Receipt receipt;
    const auto written = [&](const Receipt& r) {
      (step == 1 ? correction : receipt) = r;
      if (step == 2) name_what_was_written(in, receipt);
    };
    auto done = append_all(book, next, stamp.dry_run, written);
    if (!done.ok()) return std::move(done).refusal();
    receipt.dry_run = stamp.dry_run;
    receipt.clock = done->clock;
    steps.tell(correction, stamp.dry_run, receipt);
    if (done->clock.is != ClockCheck::Is::fits)
      receipt.warnings.push_back(done->clock.what + "; " + done->clock.way_out);
    if (!done->noted.empty()) receipt.warnings.push_back(done->noted);
    return receipt;
  });
}

}  // namespace baybook::book
