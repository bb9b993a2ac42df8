#include "book/search.hpp"

#include "book/views.hpp"
#include "text/words.hpp"

#include <algorithm>
#include <limits>
#include <optional>
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

// All that was written in an entry, shown or not.
std::vector<std::string> texts_of(store::Db& db, const log::Row& row) {
  std::vector<std::string> texts;
  add_texts(log::parse_body(row.body).at("details"), texts);
  auto q = db.query("SELECT value FROM private WHERE entry = ?");
  q.bind(row.id.n);
  while (q.step()) texts.push_back(q.text(0));
  return texts;
}

// What its line shows: places, products and people by their names of today, figures, and words
// that stand in no text of the book.
void add_line(Book::Inside& in, const log::Row& row, AsOf as_of, std::vector<std::string>& texts) {
  std::vector<EntryView> one{view_of(in, row, false)};
  note_what_came_off(in, one, as_of);
  EntryLine line = line_of(one.front(), in.settings.tag);
  for (std::string* cell :
       {&line.entry, &line.day, &line.time, &line.by, &line.car, &line.job, &line.what})
    texts.push_back(std::move(*cell));
}

// Those that fit the filter but for its words.
std::vector<log::Effect> newest_first(Book::Inside& in, const EntryFilter& f) {
  const std::int64_t from =
      f.from ? log::first_moment(*f.from) : std::numeric_limits<std::int64_t>::min();
  const std::int64_t until =
      std::min(f.until ? log::last_moment(*f.until) : std::numeric_limits<std::int64_t>::max(),
               last_moment(f.as_of));
  std::optional<std::set<std::int64_t>> only;
  const auto among = [&](const char* sql, std::int64_t of) {
    std::set<std::int64_t> both;
    auto q = in.db.query(sql);
    q.bind(of);
    while (q.step()) {
      if (!only || only->contains(q.num(0))) both.insert(q.num(0));
    }
    only = std::move(both);
  };
  if (f.car) among("SELECT entry FROM history WHERE car = ?", f.car->n);
  if (f.place) among("SELECT entry FROM leg WHERE place = ?", f.place->n);
  std::vector<log::Effect> out;
  auto q = in.db.query("SELECT id, moment, recorded FROM entry WHERE moment BETWEEN ? AND ?");
  q.bind(from).bind(until);
  while (q.step()) {
    if (!only || only->contains(q.num(0))) out.push_back({q.num(1), q.num(2), EntryId{q.num(0)}});
  }
  std::sort(out.rbegin(), out.rend());
  return out;
}

}  // namespace

std::vector<std::int64_t> saying(Book::Inside& in, const EntryFilter& filter) {
  const text::Words words(filter.words);
  const std::vector<log::Effect> order = newest_first(in, filter);
  std::vector<std::int64_t> out;
  for (const log::Effect& e : order) {
    if (out.size() == filter.newest) break;
    const log::Row row = log::row_of(in.db, e.id);
    std::vector<std::string> texts = texts_of(in.db, row);
    if (!words.all_in(texts)) {
      add_line(in, row, filter.as_of, texts);
      if (!words.all_in(texts)) continue;
    }
    out.push_back(e.id.n);
  }
  return out;
}

}  // namespace baybook::book
