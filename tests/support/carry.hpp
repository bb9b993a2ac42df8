// Entries of one book put into another one by one, in whatever order a test asks for, past the reader of exchange files.
#pragma once

#include "book/bring.hpp"
#include "log/entry.hpp"

#include <vector>

namespace baybook::test {

struct Carried {
  log::Installation installation;
  log::Row row;
  std::vector<book::PrivateValue> privates;
};

inline std::vector<Carried> carry_out(Book::Inside& in) {
  std::vector<Carried> out;
  for (const log::Installation& i : in.known.all) {
    std::vector<EntryId> ids;
    {
      auto q = in.db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id");
      q.bind(i.origin << 40).bind((i.origin + 1) << 40);
      while (q.step()) ids.push_back(EntryId{q.num(0)});
    }
    for (const EntryId id : ids) {
      Carried e{i, *log::read_row(in.db, id), {}};
      auto q = in.db.query("SELECT field, salt, value FROM private WHERE entry = ? ORDER BY field");
      q.bind(id.n);
      while (q.step()) e.privates.push_back({q.text(0), q.blob(1), q.text(2)});
      out.push_back(std::move(e));
    }
  }
  return out;
}

inline void bring_in(Book::Inside& in, const Carried& e) {
  if (log::read_row(in.db, e.row.id)) return;
  bool known = false;
  for (const log::Installation& i : in.known.all) known = known || i.origin == e.installation.origin;
  if (!known) {
    auto q = in.db.query("INSERT INTO installation(origin, identity, tag, own) VALUES(?, ?, ?, 0)");
    q.bind(e.installation.origin).bind(e.installation.identity).bind(e.installation.tag).run();
    in.known = log::installations(in.db);
  }
  book::insert_entry(in, e.row);
  for (const book::PrivateValue& p : e.privates) book::insert_private(in, e.row.id, p);
  book::fold_brought(in, {e.row.id});
}

}  // namespace baybook::test
