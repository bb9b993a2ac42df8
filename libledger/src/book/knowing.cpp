#include "book/knowing.hpp"

#include <baybook/clock.hpp>

#include <algorithm>

namespace baybook::book {

using log::Value;

namespace {

// Rows of table mark that are about no place: below nothing, the installation that was seen; as
// moment who says so, as recorded in which of its entries, as entry how far.
constexpr std::int64_t kSeen = 10;

// 2100-01-01T00:00Z less a millisecond: the end of the last year in which a clock can stand.
static_assert(kLastClockYear == 2099);
constexpr std::int64_t kLastClock = 4'102'444'799'999;

bool may_say(const std::string& body) { return body.find("\"seen\":[") != std::string::npos; }

// How far `writer` said, in its entry `number` or before, to have seen `origin`; 0 when never.
EntryId said_seen(store::Db& db, std::int64_t writer, std::int64_t number, std::int64_t origin) {
  auto q = db.query(
      "SELECT entry FROM mark WHERE place = ? AND moment = ? AND recorded <= ? ORDER BY recorded "
      "DESC LIMIT 1");
  q.bind(-origin).bind(writer).bind(number);
  return q.step() ? EntryId{q.num(0)} : EntryId{};
}

constexpr std::int64_t kLastNumber = (std::int64_t{1} << 40) - 1;

}  // namespace

Elsewhere elsewhere(store::Db& db, const log::Installations& known) {
  Elsewhere out;
  for (const log::Installation& i : known.all) {
    if (i.own) continue;
    auto q = db.query(
        "SELECT id, recorded FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
    q.bind(i.origin << 40).bind((i.origin + 1) << 40);
    if (!q.step()) continue;
    out.last.push_back(EntryId{q.num(0)});
    // A year in which no clock stands moves nobody's order.
    if (q.num(1) <= out.recorded.ms || q.num(1) > kLastClock) continue;
    out.recorded = Instant{q.num(1)};
    out.newest = EntryId{q.num(0)};
  }
  return out;
}

std::vector<EntryId> unsaid(store::Db& db, const log::Installations& known,
                            const std::vector<EntryId>& last) {
  std::vector<EntryId> out;
  const std::int64_t own = known.own().origin;
  for (const EntryId id : last) {
    if (said_seen(db, own, kLastNumber, id.origin()) != id) out.push_back(id);
  }
  std::sort(out.begin(), out.end());
  return out;
}

void list_seen(store::Db& db, EntryId entry, const std::string& body) {
  if (!may_say(body)) return;
  const Value parsed = log::parse_body(body);
  const Value* seen = parsed.find("seen");
  if (seen == nullptr || !seen->is_array()) return;
  for (const Value& ref : seen->as_array()) {
    const EntryId last{log::read_ref(ref, entry.origin())};
    auto q = db.query(
        "INSERT OR REPLACE INTO mark(place, moment, recorded, entry, what) VALUES(?, ?, ?, ?, ?)");
    q.bind(-last.origin()).bind(entry.origin()).bind(entry.number()).bind(last.n).bind(kSeen).run();
  }
}

void list_all_seen(store::Db& db) {
  std::vector<std::pair<EntryId, std::string>> all;
  {
    auto q = db.query("SELECT id, body FROM entry WHERE instr(body, '\"seen\":[') > 0 ORDER BY id");
    while (q.step()) all.emplace_back(EntryId{q.num(0)}, q.text(1));
  }
  for (const auto& [id, body] : all) list_seen(db, id, body);
}

bool knows(store::Db& db, EntryId entry, EntryId other) {
  if (entry.origin() == other.origin()) return other < entry;
  return other <= said_seen(db, entry.origin(), entry.number(), other.origin());
}

bool apart_in_knowledge(store::Db& db, EntryId a, EntryId b) {
  return a.origin() != b.origin() && !knows(db, a, b) && !knows(db, b, a);
}

}  // namespace baybook::book
