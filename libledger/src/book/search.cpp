#include "book/search.hpp"

#include "book/views.hpp"
#include "text/words.hpp"

#include <algorithm>
#include <limits>
#include <set>
#include <string>

namespace baybook::book {

namespace {

using log::Value;

void add_texts(const Value& v, std::vector<std::string>& out) {
  if (v.is_string()) {
    out.push_back(v.as_string());
  } else if (v.is_array()) {
    for (const Value& e : v.as_array()) add_texts(e, out);
  } else if (v.is_object()) {
    for (const auto& [key, e] : v.as_object()) add_texts(e, out);
  }
}

// Entries in which the word may be: in a private text, or anywhere in the body, its keys included.
std::set<std::int64_t> candidates(store::Db& db, const std::string& word) {
  std::set<std::int64_t> out;
  {
    auto q = db.query("SELECT entry, value FROM private");
    while (q.step()) {
      if (text::occurs(q.text(1), word)) out.insert(q.num(0));
    }
  }
  // In a body these two are written with a backslash before them.
  const std::string plain = word.substr(0, word.find_first_of("\"\\"));
  auto q = db.query("SELECT id, body FROM entry");
  while (q.step()) {
    if (text::occurs(q.text(1), plain)) out.insert(q.num(0));
  }
  return out;
}

bool says(store::Db& db, std::int64_t id, const text::Words& words) {
  std::vector<std::string> texts;
  const log::Row row = log::row_of(db, EntryId{id});
  add_texts(log::parse_body(row.body).at("details"), texts);
  auto q = db.query("SELECT value FROM private WHERE entry = ?");
  q.bind(id);
  while (q.step()) texts.push_back(q.text(0));
  return words.all_in(texts);
}

}  // namespace

std::vector<std::int64_t> saying(Book::Inside& in, const EntryFilter& filter) {
  const text::Words words(filter.words);
  std::set<std::int64_t> found = candidates(in.db, words.longest());
  const auto only = [&](const char* sql, std::int64_t of) {
    std::set<std::int64_t> both;
    auto q = in.db.query(sql);
    q.bind(of);
    while (q.step()) {
      if (found.contains(q.num(0))) both.insert(q.num(0));
    }
    found = std::move(both);
  };
  if (filter.car) only("SELECT entry FROM history WHERE car = ?", filter.car->n);
  if (filter.place) only("SELECT entry FROM leg WHERE place = ?", filter.place->n);
  const std::int64_t from = filter.from ? log::first_moment(*filter.from) : std::numeric_limits<std::int64_t>::min();
  const std::int64_t until = std::min(filter.until ? log::last_moment(*filter.until) : std::numeric_limits<std::int64_t>::max(), last_moment(filter.as_of));
  std::vector<log::Effect> order;
  for (const std::int64_t id : found) {
    auto q = in.db.query("SELECT moment, recorded FROM entry WHERE id = ?");
    q.bind(id);
    if (q.step() && q.num(0) >= from && q.num(0) <= until) order.push_back({q.num(0), q.num(1), EntryId{id}});
  }
  std::sort(order.rbegin(), order.rend());
  std::vector<std::int64_t> out;
  for (const log::Effect& e : order) {
    if (out.size() == filter.newest) break;
    if (says(in.db, e.id.n, words)) out.push_back(e.id.n);
  }
  return out;
}

}  // namespace baybook::book
