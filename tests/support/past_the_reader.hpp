// The entries of an exchange file put into a book as a version did that looked at less: chained,
// folded, not held to any limit.
#pragma once

#include "support/carry.hpp"
#include "support/exchange_lines.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/header.hpp"

namespace baybook::test {

/// Throws what the folds throw for an entry that no version could read; the book is then as it was.
inline void past_the_reader(TestBook& into, const std::string& file) {
  std::vector<Carried> all;
  const Lines lines = lines_of(file);
  log::Installation installation;
  log::Digest previous{};
  for (std::string line; lines(line);) {
    const log::Value v = log::parse_canonical(line).value();
    if (v.has("after")) {
      const std::string identity(v.str("installation"));
      installation = {log::origin_of(identity), identity, std::string(v.str("tag")), false};
      previous = log::genesis;
    } else if (v.has("field")) {
      const auto salt = log::unhex(v.str("salt"));
      all.back().privates.push_back({std::string(v.str("field")),
                                     std::string(salt->begin(), salt->end()),
                                     std::string(v.str("text"))});
    } else if (v.has("format")) {
      Carried e{installation, log::read_header(v).row, {}};
      e.row.body = line;
      previous = log::chain_digest(previous, line);
      e.row.digest.assign(previous.begin(), previous.end());
      all.push_back(std::move(e));
    }
  }
  store::Transaction t(into->inside().db);
  for (const Carried& e : all) bring_in(into->inside(), e);
  t.commit();
  into->inside().ledger.forget();
}

}  // namespace baybook::test
