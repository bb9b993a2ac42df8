#include "book/clock.hpp"

#include <algorithm>
#include <utility>
#include <vector>

namespace baybook::book {

namespace {

constexpr std::int64_t kSecond = 1000;
constexpr std::int64_t kMinute = 60 * kSecond;
constexpr std::int64_t kHour = 60 * kMinute;
constexpr std::int64_t kDay = 24 * kHour;

/// "4684 days", "3 hours", "40 seconds": the largest unit of which there are two, rounded down.
std::string apart(std::int64_t ms) {
  const auto counted = [](std::int64_t n, const char* one) {
    return std::to_string(n) + " " + one + (n == 1 ? "" : "s");
  };
  if (ms >= 2 * kDay) return counted(ms / kDay, "day");
  if (ms >= 2 * kHour) return counted(ms / kHour, "hour");
  if (ms >= 2 * kMinute) return counted(ms / kMinute, "minute");
  return counted(ms / kSecond, "second");
}

std::string said(const LocalDay& local) {
  return to_string(local.day) + " " + to_string(local.minute);
}

// The zone database itself: the kept window belongs to now, and an instant years away would put
// another in its place.
std::string said(const Book::Inside& in, Instant at) {
  const auto local = local_day(at, in.settings.zone);
  return local.ok() ? said(*local) : to_string(at);
}

// Of the beginning of a body. Keys are in order: before it stands only who wrote, which is a number
// or an identity and a number.
bool says_behind(const std::string& beginning) {
  return beginning.find("\"clock-behind\":true,\"details\":") != std::string::npos;
}

// Where a clock stood that was behind the chain: the recorded time does not tell, but an entry of
// its own day has the day and the minute.
struct Believed {
  Instant at;
  EntryId entry;
};
std::optional<Believed> believed(store::Db& db, std::int64_t origin, const Tail& tail) {
  if (!tail.behind) return std::nullopt;
  const EntryId last{origin << 40 | tail.number};
  std::optional<Believed> out;
  auto q = db.query(
      "SELECT id, moment, substr(body, 1, 160) FROM entry WHERE id >= ? AND id <= ? AND recorded = ? "
      "ORDER BY id DESC LIMIT ?");
  // The first entry with that time is the one that the others stand behind, or stands itself behind
  // one of another installation.
  const EntryId leapt = log::first_recorded_since(db, origin, Instant{tail.recorded});
  q.bind(leapt.n).bind(last.n).bind(tail.recorded).bind(std::int64_t{kLookBack});
  while (q.step()) {
    // Written in the same moment as the leap, and before the clock went back.
    if (!says_behind(q.text(2))) break;
    const std::int64_t slot = q.num(1) % log::kMoments;
    if (slot == log::kMoments - 1) continue;  // of another day: the clock has no part in it
    // moment_of: minutes of UTC and one day more, so that none is below nothing.
    const std::int64_t day = log::day_of_moment(q.num(1)).n;
    const Instant at{day * kDay + (slot - 1440) * kMinute};
    if (!out || out->at < at) out = Believed{at, EntryId{q.num(0)}};
  }
  return out;
}

// Whether what the clock wrote while it was ahead is still there, dated after today: the first
// entries after the leap tell. Left out is what is not withdrawn or whose day means nothing
// (opening, person, correction, settlement, erasure).
bool later_entries_hold(store::Db& db, std::int64_t origin, Instant now, Day today) {
  const EntryId first = log::first_recorded_since(db, origin, Instant{now.ms + 1});
  auto q = db.query(
      "SELECT 1 FROM (SELECT id, moment, kind FROM entry WHERE id >= ?1 AND id < ?2 ORDER BY id "
      "LIMIT ?4) e WHERE e.moment > ?3 AND e.kind NOT IN (1, 5, 17, 32, 33) AND NOT EXISTS "
      "(SELECT 1 FROM amended a WHERE a.target = e.id AND a.withdrawn = 1) LIMIT 1");
  q.bind(first.n)
      .bind((origin + 1) << 40)
      .bind(log::last_moment(today))
      .bind(std::int64_t{kLookBack});
  return q.step();
}

std::string list_of_later(Day today) {
  return "baybook entries --from " + to_string(Day{today.n + 1});
}

std::string put_right(Day today) {
  return "what is dated after today is listed by " + list_of_later(today) +
         "; an entry keeps its day, so what belongs to another one is withdrawn (baybook correct "
         "NUMBER --withdraw --why \"the clock was ahead\") and written again with --on and that "
         "day";
}

}  // namespace

std::string time_apart(std::int64_t ms) { return apart(ms); }

Tail own_tail(Book::Inside& in) {
  store::Db& db = in.db;
  auto q = db.query(
      "SELECT id, recorded, substr(body, 1, 160), digest FROM entry WHERE id < ? "
      "ORDER BY id DESC LIMIT 1");
  q.bind((in.known.own().origin + 1) << 40);
  if (!q.step())
    throw store::Failure(Code::unsound, db.path() + ": the log is empty", "a backup of the book");
  Tail t;
  t.number = EntryId{q.num(0)}.number();
  t.recorded = q.num(1);
  t.behind = says_behind(q.text(2));
  const std::string bytes = q.blob(3);
  if (bytes.size() != t.digest.size()) {
    throw store::Failure(Code::unsound, db.path() + ": the last entry has no whole digest",
                         "baybook prove");
  }
  std::copy(bytes.begin(), bytes.end(), t.digest.begin());
  t.others = elsewhere(db, in.known);
  return t;
}

Result<Done> clock_can_be(Instant now) {
  const std::string text = to_string(now);
  const bool before = now < *read_instant(std::to_string(kFirstClockYear) + "-01-01T00:00:00.000Z");
  const bool over =
      now >= *read_instant(std::to_string(kLastClockYear + 1) + "-01-01T00:00:00.000Z");
  if (!before && !over) return Done{};
  return Refusal{
      Code::not_allowed,
      "the clock of this machine says " + text.substr(0, text.find('T')) + ", and that cannot be",
      before ? "this program was not there before " + std::to_string(kFirstClockYear) +
                   "; a machine that lost its battery begins again at such a day"
             : "no clock stands after " + std::to_string(kLastClockYear) +
                   " that has not counted over",
      "date and time of this machine set right, then the same again",
      {{"clock", text}}};
}

Result<LocalDay> read_clock(Book::Inside& in, Instant now) {
  if (auto ok = clock_can_be(now); !ok.ok()) return std::move(ok).refusal();
  return local_now(in, now);
}

namespace {

// One of two clocks is wrong, and nobody can tell from here which.
ClockCheck behind_another(const Book::Inside& in, ClockCheck out, const LocalDay& local) {
  const std::string tag(in.known.tag_of(out.entry.origin()));
  out.ask = out.now.ms + kMinutesBehind * kMinute < out.last.ms;
  out.what = "the clock of this machine says " + said(local) + ", " +
             apart(out.last.ms - out.now.ms) + " before entry " + entry_name(in, out.entry) + " (" +
             said(in, out.last) + ")";
  out.way_out = "if it is wrong, set it now; if it is right, the one of " + tag +
                " is ahead: set that one";
  return out;
}

}  // namespace

ClockCheck look_at_clock(Book::Inside& in, const Tail& tail, Instant now, const LocalDay& local) {
  const std::int64_t origin = in.known.own().origin;
  ClockCheck out;
  out.now = now;
  out.last = Instant{tail.recorded};
  out.entry = EntryId{origin << 40 | tail.number};
  const bool elsewhere = tail.newer_elsewhere();
  if (elsewhere) {
    out.last = tail.others.recorded;
    out.entry = tail.others.newest;
  }
  // After a leap the clock is looked at beside what it wrote since, also when it comes to where the
  // leap was.
  const auto since = elsewhere ? std::nullopt : believed(in.db, origin, tail);
  const Instant last = since ? since->at : out.last;
  if (now.ms - last.ms > std::int64_t{kDaysAhead} * kDay) {
    if (since) out.entry = since->entry;
    out.last = last;
    out.is = ClockCheck::Is::ahead;
    out.ask = true;
    const auto before = local_day(last, in.settings.zone);
    out.what = "the clock of this machine says " + said(local) + "; the entry before is of " +
               (before.ok() ? to_string(before->day) : to_string(last)) + ", " +
               apart(now.ms - last.ms) + " ago";
    out.way_out =
        "if it is ahead, set it now, for an entry keeps its day and those after it are recorded no earlier";
    return out;
  }
  if (!tail.is_behind(now)) return out;
  out.is = ClockCheck::Is::behind;
  if (elsewhere) return behind_another(in, std::move(out), local);
  out.entry = log::first_recorded_since(in.db, origin, out.last);
  out.ask = since ? now.ms + kMinutesBehind * kMinute < last.ms
                  : now.ms + kMinutesBehind * kMinute < out.last.ms;
  out.what = "the clock of this machine says " + said(local) + ", " + apart(out.last.ms - now.ms) +
             " before entry " + entry_name(in, out.entry) + " (" + said(in, out.last) + ")";
  const bool later = later_entries_hold(in.db, origin, now, local.day);
  // Answered for: nobody reads the whole of it at every entry until the clock is where the leap was.
  if (since && !out.ask) {
    out.way_out = later ? "dated after today: " + list_of_later(local.day) : "nothing to do";
    return out;
  }
  out.way_out = "if it is wrong, set it now";
  if (later) {
    out.way_out +=
        "; if it is right, it was ahead when that entry was written: " + put_right(local.day);
  }
  return out;
}

std::optional<Standing> latest_of_day(Book::Inside& in, const Tail& tail, Day day) {
  store::Db& db = in.db;
  std::vector<EntryId> ends = tail.others.last;
  ends.push_back(EntryId{in.known.own().origin << 40 | tail.number});
  std::optional<Standing> out;
  EntryId found;
  for (const EntryId end : ends) {
    auto q =
        db.query("SELECT id, moment FROM entry WHERE id > ? AND id <= ? ORDER BY id DESC LIMIT ?");
    q.bind(end.origin() << 40).bind(end.n).bind(std::int64_t{kLookBack});
    while (q.step()) {
      if (log::day_of_moment(q.num(1)) != day || (out && q.num(1) <= out->moment)) continue;
      out = Standing{q.num(1), {}};
      found = EntryId{q.num(0)};
    }
  }
  if (out) out->at = log::time_of_body(log::row_of(db, found).body);
  return out;
}

Day day_beyond_doubt(const Book::Inside& in, const ClockCheck& clock, Day today, bool answered) {
  if (answered || clock.is != ClockCheck::Is::ahead) return today;
  const auto last = local_day(clock.last, in.settings.zone);
  return last.ok() ? std::min(last->day, today) : today;
}

Result<When> when_of_entry(Book::Inside& in, const Stamp& stamp, const Tail& tail) {
  auto local = read_clock(in, stamp.now);
  if (!local.ok()) return std::move(local).refusal();
  When out;
  out.today = local->day;
  out.on = stamp.on.value_or(out.today);
  out.clock = look_at_clock(in, tail, stamp.now, *local);
  if (out.on > out.today) {
    const bool doubted = out.clock.is == ClockCheck::Is::behind;
    return Refusal{Code::in_future,
                   to_string(out.on) + " is after today, " + to_string(out.today) +
                       " at the site (" + in.settings.zone + ")",
                   "the book holds what has happened" + (doubted ? "; " + out.clock.what : ""),
                   doubted ? "the clock set right, then the same again; if it is right: --on " +
                                 to_string(out.today)
                           : "--on " + to_string(out.today),
                   {}};
  }
  if (!read_day(to_string(out.on)))
    return Refusal{Code::not_allowed,
                   to_string(out.on) + " is no day of an entry",
                   "no record of a motor workshop is of a year before 1900",
                   "--on " + to_string(out.today),
                   {}};
  // A clock that was set back does not send today's entry before what it stands on.
  const auto standing =
      tail.is_behind(stamp.now) ? latest_of_day(in, tail, out.today) : std::nullopt;
  const bool later = standing && standing->moment > log::moment_of(out.today, time_of(*local));
  if (later && standing->at) {
    local->minute = standing->at->minute;
    local->offset_seconds = standing->at->offset_minutes * 60;
  }
  auto at = time_of_entry(in, stamp, out.on, *local);
  if (!at.ok()) return std::move(at).refusal();
  // One of today without a time stands at the end of the day: after it comes only what has none
  // either, in the order of writing.
  if (!(later && !standing->at && !stamp.at && out.on == out.today)) out.at = *at;
  return out;
}

std::vector<std::string> told_of_when(const Book::Inside& in, const When& when, log::Kind kind,
                                      const Receipt& receipt) {
  std::vector<std::string> out;
  const ClockCheck& clock = when.clock;
  // Two machines are always some seconds apart: the note in the entry is enough.
  const bool of_two = clock.entry.origin() != in.known.own().origin &&
                      clock.last.ms - clock.now.ms < kMinute;
  if (clock.is == ClockCheck::Is::behind && !of_two) {
    out.push_back(clock.what + "; dated by the clock, and recorded with that time and a note; " +
                  clock.way_out);
  }
  if (clock.is == ClockCheck::Is::ahead) {
    const bool taken_back = !receipt.dry_run && kind != log::Kind::erasure;
    const std::string back = "; then take this one back: baybook correct " +
                             entry_name(in, receipt.entry.id) +
                             " --withdraw --why \"the clock was ahead\"";
    out.push_back(clock.what + "; " + clock.way_out + (taken_back ? back : ""));
  }
  if (when.on < add_months(when.today, -12 * kYearsBack)) {
    const int years = (month_of(when.today).n - month_of(when.on).n) / 12;
    out.push_back(to_string(when.on) + " is " + std::to_string(years) + " years ago");
  }
  return out;
}

Result<Receipt> told_of_clock(Book::Inside& in, const std::optional<When>& when,
                              Result<Receipt> answer) {
  if (answer.ok() || !when || when->clock.is != ClockCheck::Is::behind) return answer;
  return guarded<Receipt>([&]() -> Result<Receipt> {
    Refusal r = std::move(answer).refusal();
    const bool of_order = r.code == Code::not_allowed || r.code == Code::runs_backwards ||
                          r.code == Code::would_overdraw || r.code == Code::would_overfill ||
                          r.code == Code::does_not_close;
    if (!of_order ||
        !later_entries_hold(in.db, in.known.own().origin, when->clock.now, when->today))
      return r;
    r.why += (r.why.empty() ? "" : "; ") + when->clock.what +
             ": what is dated after today has not happened yet (baybook entries --from " +
             to_string(Day{when->today.n + 1}) + ")";
    return r;
  });
}

}  // namespace baybook::book

namespace baybook {

std::string_view name_of(ClockCheck::Is is) noexcept {
  switch (is) {
    case ClockCheck::Is::fits:
      return "fits";
    case ClockCheck::Is::behind:
      return "behind";
    case ClockCheck::Is::ahead:
      return "ahead";
  }
  return "?";
}

Result<ClockCheck> clock_against(const Book& book, Instant now) {
  return book::guarded<ClockCheck>([&]() -> Result<ClockCheck> {
    Book::Inside& in = book.inside();
    store::Snapshot snapshot(in.db);
    const auto local = book::read_clock(in, now);
    if (!local.ok()) return local.refusal();
    return book::look_at_clock(in, book::own_tail(in), now, *local);
  });
}

}  // namespace baybook
