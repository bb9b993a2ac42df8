#include "book/bring.hpp"

namespace baybook::book {

using log::Fact;

void bring_in(Book::Inside& in, const Incoming& incoming) {
  store::Db& db = in.db;
  const log::Row& row = incoming.row;
  if (const auto known = log::read_row(db, row.id)) {
    if (known->digest == row.digest) return;
    throw store::Failure(Code::unsound, "entry " + std::to_string(row.id.number()) + "@" + incoming.installation.tag + " is here with another digest: a copy of that book went on under the same installation", "take the rest without it");
  }
  bool new_installation = true;
  for (const log::Installation& i : in.known.all) {
    if (i.origin != incoming.installation.origin) continue;
    if (i.identity != incoming.installation.identity) throw store::Failure(Code::unsound, "two installations share the number " + std::to_string(i.origin), "baybook start anew on one of them");
    new_installation = false;
  }
  if (new_installation) {
    auto q = db.query("INSERT INTO installation(origin, identity, tag, own) VALUES(?, ?, ?, 0)");
    q.bind(incoming.installation.origin).bind(incoming.installation.identity).bind(incoming.installation.tag).run();
    in.known = log::installations(db);
  }
  {
    auto q = db.query("INSERT INTO entry(id, recorded, moment, kind, who, body, digest) VALUES(?, ?, ?, ?, ?, ?, ?)");
    q.bind(row.id.n).bind(row.recorded).bind(row.moment).bind(static_cast<std::int64_t>(row.kind)).bind(row.who).bind(row.body).bind_blob(row.digest.data(), row.digest.size());
    if (q.changed() != 1) throw store::Failure(Code::unsound, db.path() + ": the entry was not taken", "baybook prove");
  }
  for (const PrivateValue& p : incoming.privates) {
    auto q = db.query("INSERT INTO private(entry, field, salt, value) VALUES(?, ?, ?, ?)");
    q.bind(row.id.n).bind(p.field).bind_blob(p.salt.data(), p.salt.size()).bind(p.value).run();
  }
  if (row.kind == log::Kind::opening) return;
  Fact fact;
  fact.effect = {row.moment, row.recorded, row.id};
  fact.kind = row.kind;
  fact.who = row.who;
  fact.source = row.id;
  const log::Value body = log::parse_body(row.body);
  if (const log::Value* d = body.find("details")) fact.details = *d;
  fold_new(in, fact);
  in.ledger.flush();
  refresh_due(in);
}

std::vector<Incoming> carry_out(Book::Inside& in) {
  std::vector<Incoming> out;
  for (const log::Installation& i : in.known.all) {
    std::vector<EntryId> ids;
    {
      auto q = in.db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id");
      q.bind(i.origin << 40).bind((i.origin + 1) << 40);
      while (q.step()) ids.push_back(EntryId{q.num(0)});
    }
    for (const EntryId id : ids) {
      Incoming e{i, *log::read_row(in.db, id), {}};
      auto q = in.db.query("SELECT field, salt, value FROM private WHERE entry = ? ORDER BY field");
      q.bind(id.n);
      while (q.step()) e.privates.push_back({q.text(0), q.blob(1), q.text(2)});
      out.push_back(std::move(e));
    }
  }
  return out;
}

}  // namespace baybook::book
