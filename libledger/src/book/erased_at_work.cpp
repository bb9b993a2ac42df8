#include "book/erased_at_work.hpp"

#include "service/build.hpp"

#include <baybook/text.hpp>

namespace baybook::book {

ErasedAtWork erased_at_work(Book::Inside& in) {
  ErasedAtWork out;
  auto q = in.db.query(
      "SELECT DISTINCT j.id, e.erasure FROM job j JOIN history h ON h.car = j.car JOIN erased e ON "
      "e.entry = h.entry AND e.asked = 0 WHERE j.closed = 0 ORDER BY j.id, e.erasure");
  while (q.step()) out.emplace(JobId{q.num(0)}, EntryId{q.num(1)});
  return out;
}

std::vector<std::string> told_since(Book::Inside& in, const ErasedAtWork& before) {
  std::vector<std::string> out;
  for (const auto& [job, erasure] : erased_at_work(in)) {
    if (before.contains({job, erasure})) continue;
    const auto row = service::job_row(in.db, job);
    if (!row) continue;
    const std::string name = service::job_name(in.known, *row);
    out.push_back("entry " + entry_name(in, erasure) + " erased texts of " +
                  visible(service::plate_of(in.db, row->car)) + ", on which job " + name +
                  " is open: baybook job show " + name);
  }
  return out;
}

}  // namespace baybook::book
