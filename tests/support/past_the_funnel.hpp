// An entry of the book's own chain as a version wrote it that looked at less: chained, folded, and
// held to nothing.
#pragma once

#include "support/test_book.hpp"

#include "book/clock.hpp"
#include "log/canonical.hpp"
#include "log/chain.hpp"

namespace baybook::test {

struct Unchecked {
  log::Kind kind = log::Kind::odometer;
  log::Value details;
  std::int64_t by = 0;
};

/// Throws what the folds throw for what no version could have written; the book is then as it was.
inline EntryId past_the_funnel(TestBook& b, const Unchecked& u) {
  Book::Inside& in = b->inside();
  store::Transaction t(in.db);
  in.ledger.forget();
  const log::Installation& own = in.known.own();
  const book::Tail tail = book::own_tail(in);
  const EntryId id{own.origin << 40 | (tail.number + 1)};
  const Instant now = b.stamp().now;
  const auto local = local_day(now, in.settings.zone);
  REQUIRE(local.ok());
  const TimeOfDay at = book::time_of(*local);
  log::Value body;
  if (u.by != 0) body["by"] = log::write_ref(u.by, in.known);
  body["details"] = u.details;
  body["format"] = log::kFormat;
  body["happened"] = to_string(local->day);
  body["installation"] = own.identity;
  body["kind"] = log::name_of(u.kind);
  body["number"] = id.number();
  body["recorded"] = to_string(now);
  body["time"] = to_string(at);
  body["version"] = 1;
  const std::string text = log::canonical(body);
  const log::Digest digest = log::chain_digest(tail.digest, text);
  const std::int64_t moment = log::moment_of(local->day, at);
  {
    auto q = in.db.query(
        "INSERT INTO entry(id, recorded, moment, kind, who, body, digest) VALUES(?, ?, ?, ?, ?, ?, "
        "?)");
    q.bind(id.n).bind(now.ms).bind(moment).bind(static_cast<std::int64_t>(u.kind)).bind(u.by);
    q.bind(text).bind_blob(digest.data(), digest.size()).run();
  }
  log::Fact fact;
  fact.effect = {moment, now.ms, id};
  fact.kind = u.kind;
  fact.who = u.by;
  fact.details = u.details;
  fact.source = id;
  book::fold_new(in, fact);
  in.ledger.flush();
  book::refresh_due(in);
  t.commit();
  in.ledger.forget();
  return id;
}

}  // namespace baybook::test
