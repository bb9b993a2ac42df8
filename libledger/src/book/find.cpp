// Finding things by what people call them.
#include "book/inside.hpp"
#include "book/once.hpp"

#include "log/references.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <map>
#include <charconv>
#include <set>

namespace baybook {

namespace {

std::string list_of(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& n : names) out += (out.empty() ? "" : ", ") + visible(n);
  return out;
}

Refusal not_found(const char* what, std::string_view typed, const std::vector<std::string>& near, std::string instead) {
  return Refusal{Code::not_found, "there is no " + std::string(what) + " named " + visible(typed), near.empty() ? "" : "near it: " + list_of(near), near.empty() ? std::move(instead) : as_typed(near.front()), {}};
}

std::vector<std::string> texts(store::Db& db, const char* sql) {
  std::vector<std::string> out;
  auto q = db.query(sql);
  while (q.step()) out.push_back(q.text(0));
  return out;
}

// As they can be typed: what two installations named alike, with the tag of each. `sql` gives id, name, and the name
// as it is compared when somebody types it.
std::vector<std::string> names_to_type(Book::Inside& in, const char* sql) {
  struct Named { EntryId id; std::string name, compared; };
  std::vector<Named> all;
  std::map<std::string, int> times;
  {
    auto q = in.db.query(sql);
    while (q.step()) {
      all.push_back({EntryId{q.num(0)}, q.text(1), q.text(2)});
      ++times[all.back().compared];
    }
  }
  std::vector<std::string> out;
  for (const Named& n : all) out.push_back(times[n.compared] < 2 ? n.name : n.name + "@" + std::string(in.known.tag_of(n.id.origin())));
  return out;
}

std::vector<std::int64_t> numbers(store::Db& db, const char* sql) {
  std::vector<std::int64_t> out;
  auto q = db.query(sql);
  while (q.step()) out.push_back(q.num(0));
  return out;
}

std::vector<std::string> tasks_of(const Book& book, store::Db& db, std::string_view car) {
  std::vector<std::string> out;
  const auto found = book.find_car(car, Match::near);
  if (!found.ok()) return out;
  auto q = db.query("SELECT substr(item, 6) FROM due_item WHERE car = ? AND kind = 1 ORDER BY item");
  q.bind(found->n);
  while (q.step()) out.push_back(q.text(0));
  return out;
}

// "17/2": those that nobody has looked at yet.
std::vector<std::string> rechecks_of(Book::Inside& in) {
  std::vector<std::string> out;
  auto q = in.db.query("SELECT source, n FROM due_item WHERE kind = 2 ORDER BY source, n");
  while (q.step()) {
    const auto row = service::job_row(in.db, service::belongs_to(in.db, log::read_fact(in.db, EntryId{q.num(0)})).job);
    if (row) out.push_back(service::job_name(in.known, *row) + "/" + std::to_string(q.num(1)));
  }
  return out;
}

constexpr std::string_view kCarByNumber = "car:";
constexpr std::size_t kVinLength = 17;  // ISO 3779
constexpr std::string_view kPersonByNumber = "person:";

// "drum-1@office": a name as an installation gave it. Without a tag that this book has, all of it is the name.
struct Tagged {
  std::string_view name;
  std::int64_t origin = 0;  ///< 0: any
  [[nodiscard]] bool fits(std::int64_t id) const { return origin == 0 || EntryId{id}.origin() == origin; }
};
Tagged read_tagged(const log::Installations& known, std::string_view typed) {
  const std::size_t at = typed.rfind('@');
  if (at != std::string_view::npos && at > 0 && known.all.size() > 1) {
    for (const log::Installation& i : known.all) {
      if (i.tag == typed.substr(at + 1)) return {typed.substr(0, at), i.origin};
    }
  }
  return {typed, 0};
}

Refusal two_of_a_name(const Book::Inside& in, const std::string& name, const char* things, const std::vector<std::int64_t>& ids) {
  // One's own first, then by tag: the numbers of installations are drawn by chance.
  std::vector<std::string> tags;
  for (const std::int64_t id : ids) tags.emplace_back(in.known.tag_of(EntryId{id}.origin()));
  const std::string& own = in.settings.tag;
  std::sort(tags.begin(), tags.end(), [&](const std::string& a, const std::string& b) { return std::pair(a != own, a) < std::pair(b != own, b); });
  std::string all;
  for (const std::string& tag : tags) all += (all.empty() ? "" : ", ") + visible(name) + "@" + tag;
  return Refusal{Code::ambiguous,
                 visible(name) + " is the name of " + std::to_string(ids.size()) + " " + things +
                     ": " + all,
                 "two installations gave the same name; baybook settle list tells how to make them "
                 "one, or two",
                 as_typed(name + "@" + tags.front()),
                 {}};
}

// Of several people of one name the one whom this installation entered, or else the nearest one that
// it goes on from: whoever writes here says the name that was entered here. 0: none of them is.
std::int64_t entered_here(Book::Inside& in, const std::vector<std::int64_t>& ids) {
  std::set<std::int64_t> seen;
  for (std::int64_t origin = in.known.own().origin; origin != 0 && seen.insert(origin).second;
       origin = log::continued_origin(in.db, origin)) {
    std::vector<std::int64_t> here;
    std::copy_if(ids.begin(), ids.end(), std::back_inserter(here),
                 [&](std::int64_t id) { return EntryId{id}.origin() == origin; });
    if (here.size() == 1) return here.front();
    if (here.size() > 1) return 0;
  }
  return 0;
}

// "17" or "17@office": number and the installation's origin.
struct Numbered {
  std::int64_t number = 0;
  std::int64_t origin = 0;
};
Result<Numbered> read_number(const log::Installations& known, std::string_view text, const char* what) {
  Numbered out;
  out.origin = known.own().origin;
  const std::size_t at = text.find('@');
  const std::string_view digits = text.substr(0, at);
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), out.number);
  if (error != std::errc() || end != digits.data() + digits.size() || digits.empty() || out.number <= 0) {
    return Refusal{Code::not_found, "there is no " + std::string(what) + " " + visible(text), "", "a number, for example 17, or 17@office for another installation's", {}};
  }
  if (at != std::string_view::npos) {
    const std::string_view tag = text.substr(at + 1);
    bool found = false;
    for (const log::Installation& i : known.all) {
      if (i.tag == tag) {
        out.origin = i.origin;
        found = true;
      }
    }
    if (!found) {
      std::vector<std::string> tags;
      for (const log::Installation& i : known.all) tags.push_back(i.tag);
      return Refusal{Code::not_found, "there is no installation " + visible(tag) + " in this book", "it has: " + list_of(tags), std::string(digits) + "@" + tags.front(), {}};
    }
  }
  return out;
}

}  // namespace

Result<PlaceId> Book::find_place(std::string_view typed) const {
  return book::guarded<PlaceId>([&]() -> Result<PlaceId> {
    const Tagged tagged = read_tagged(inside_->known, typed);
    auto code = clean_code(tagged.name, "place");
    if (!code.ok()) return Refusal{Code::not_found, "there is no place named " + visible(typed), "", "baybook levels", {}};
    std::vector<std::int64_t> ids;
    {
      auto q = inside_->db.query("SELECT id FROM place WHERE code = ? AND role <> 0");
      q.bind(*code);
      while (q.step()) {
        if (tagged.fits(q.num(0))) ids.push_back(q.num(0));
      }
    }
    if (ids.size() == 1) return PlaceId{ids.front()};
    if (ids.size() > 1) return two_of_a_name(*inside_, *code, "places", ids);
    return not_found("place", typed, near_names(*code, names("places")),
                     "a place from `baybook levels`, or baybook place add " + *code +
                         " --role ROLE --size AMOUNT if it is new");
  });
}

Result<FluidId> Book::find_fluid(std::string_view typed) const {
  return book::guarded<FluidId>([&]() -> Result<FluidId> {
    const Tagged tagged = read_tagged(inside_->known, typed);
    auto code = clean_code(tagged.name, "fluid");
    if (!code.ok()) return Refusal{Code::not_found, "there is no fluid named " + visible(typed), "", "baybook fluid list", {}};
    if (const FluidClass* c = find_class(std::string_view(*code))) return FluidId{c->number};
    std::vector<std::int64_t> ids;
    {
      auto q = inside_->db.query("SELECT id FROM fluid WHERE code = ?");
      q.bind(*code);
      while (q.step()) {
        if (tagged.fits(q.num(0))) ids.push_back(q.num(0));
      }
    }
    if (ids.size() == 1) return FluidId{ids.front()};
    if (ids.size() > 1) return two_of_a_name(*inside_, *code, "fluids", ids);
    return not_found("fluid", typed, near_names(*code, names("fluids")),
                     "a fluid from `baybook fluid list`, or baybook fluid add " + *code +
                         " --class CLASS if it is new");
  });
}

Result<PersonId> Book::find_person(std::string_view typed) const {
  return book::guarded<PersonId>([&]() -> Result<PersonId> {
    const Tagged tagged = read_tagged(inside_->known, typed);
    auto name = clean_text(tagged.name, "name", 120);
    if (!name.ok()) return std::move(name).refusal();
    if (typed.starts_with(kPersonByNumber)) {
      auto n = read_number(inside_->known, typed.substr(kPersonByNumber.size()), "person with the number");
      if (n.ok()) {
        auto q = inside_->db.query("SELECT id FROM person WHERE id = ?");
        q.bind(n->origin << 40 | n->number);
        if (q.step()) return PersonId{q.num(0)};
      }
    }
    std::vector<std::int64_t> ids;
    {
      auto q = inside_->db.query("SELECT id FROM person WHERE name = ? COLLATE NOCASE");
      q.bind(*name);
      while (q.step()) {
        if (tagged.fits(q.num(0))) ids.push_back(q.num(0));
      }
    }
    if (ids.size() == 1) return PersonId{ids.front()};
    if (ids.size() > 1) {
      if (const std::int64_t own = entered_here(*inside_, ids); own != 0) return PersonId{own};
      return two_of_a_name(*inside_, *name, "people", ids);
    }
    return not_found("person", typed, near_names(*name, names("people")),
                     "a name from `baybook person list`, or baybook person add " + as_typed(*name) +
                         " if it is a new one");
  });
}

namespace {

// Cars in the shop that have no plate any more, with the jobs that are open on them; "" when there
// are none.
std::string nameless_at_work(Book::Inside& in) {
  std::vector<std::pair<std::int64_t, std::int64_t>> all;
  {
    auto q = in.db.query(
        "SELECT c.id, j.id FROM car c JOIN job j ON j.car = c.id AND j.closed = 0 WHERE c.plate = '' "
        "AND c.scrapped = 0 ORDER BY j.id LIMIT 5");
    while (q.step()) all.emplace_back(q.num(0), q.num(1));
  }
  std::string out;
  for (const auto& [car, job] : all) {
    const auto row = service::job_row(in.db, JobId{job});
    out += (out.empty() ? "without a plate in the book: " : ", ") +
           service::by_number(in.db, "car", EntryId{car}) + ", on which job " +
           (row ? service::job_name(in.known, *row) : std::string("?")) + " is open";
  }
  return out;
}

// Not all of a name is there: which one may have been meant is said, and none is given.
Refusal no_such_car(const Book& book, std::string_view typed) {
  const auto near = book.find_car(typed, Match::near);
  Refusal r{Code::not_found, "there is no car named " + visible(typed), "", "", {}};
  if (near.ok()) {
    const std::string plate = book.plate_of(*near);
    r.why = "near it: " + visible(plate);
    r.instead = as_typed(plate);
  } else if (near.refusal().code == Code::ambiguous) {
    r.why = "a part of more than one name: " + near.refusal().why;
    r.instead = near.refusal().instead;
  } else {
    return near.refusal();
  }
  return r;
}

}  // namespace

Result<CarId> Book::find_car(std::string_view typed, Match how) const {
  return book::guarded<CarId>([&]() -> Result<CarId> {
    store::Db& db = inside_->db;
    const Tagged tagged = read_tagged(inside_->known, typed);
    if (typed.starts_with(kCarByNumber)) {
      auto n = read_number(inside_->known, typed.substr(kCarByNumber.size()), "car with the number");
      if (!n.ok()) return std::move(n).refusal();
      auto q = db.query("SELECT id FROM car WHERE id = ?");
      q.bind(n->origin << 40 | n->number);
      if (q.step()) return CarId{q.num(0)};
      return Refusal{Code::not_found, "there is no " + visible(typed), "the number is that of the entry that registered the car", "baybook car list", {}};
    }
    const std::string key = plate_key(tagged.name);
    if (key.empty()) return Refusal{Code::unclear, "a car is named by its plate or the end of its VIN", "", "baybook car list", {}};
    const auto cars_by = [&](const char* sql, const std::string& bound) {
      std::vector<std::int64_t> ids;
      auto q = db.query(sql);
      q.bind(bound);
      while (q.step()) ids.push_back(q.num(0));
      return ids;
    };
    const auto settled = [&](std::vector<std::int64_t> ids) -> std::optional<Result<CarId>> {
      std::erase_if(ids, [&](std::int64_t id) { return !tagged.fits(id); });
      std::sort(ids.begin(), ids.end());
      ids.erase(std::unique(ids.begin(), ids.end()), ids.end());
      if (ids.empty()) return std::nullopt;
      if (ids.size() == 1) return Result<CarId>(CarId{ids.front()});
      const bool one_plate = std::all_of(ids.begin(), ids.end(), [&](std::int64_t id) { return plate_key(service::plate_of(db, CarId{id})) == key; });
      // Of one installation: scrapped cars whose plate went on to another.
      if (one_plate && std::adjacent_find(ids.begin(), ids.end(), [](std::int64_t a, std::int64_t b) { return EntryId{a}.origin() == EntryId{b}.origin(); }) != ids.end()) {
        std::vector<std::string> numbers;
        for (const std::int64_t id : ids) numbers.push_back(service::by_number(db, "car", EntryId{id}));
        return Result<CarId>(Refusal{Code::ambiguous, visible(typed) + " was worn by " + std::to_string(ids.size()) + " cars: " + list_of(numbers), "the number is that of the entry that registered the car", numbers.back(), {}});
      }
      if (one_plate) return Result<CarId>(two_of_a_name(*inside_, service::plate_of(db, CarId{ids.front()}), "cars", ids));
      std::vector<std::string> plates;
      for (const std::int64_t id : ids) {
        plates.push_back(service::plate_of(db, CarId{id}));
        if (plates.size() == 8) break;
      }
      return Result<CarId>(Refusal{Code::ambiguous, visible(typed) + " fits " + std::to_string(ids.size()) + " cars", "they are: " + list_of(plates) + (ids.size() > 8 ? ", ..." : ""), "the whole plate, for example " + visible(plates.front()), {}});
    };
    // The whole plate first: worn now, then worn once.
    if (auto r = settled(cars_by("SELECT p.car FROM plate p JOIN car c ON c.id = p.car WHERE p.key = ? AND c.key = p.key AND c.scrapped = 0", key))) return std::move(*r);
    if (auto r = settled(cars_by("SELECT car FROM plate WHERE key = ?", key))) return std::move(*r);
    if (key.size() == kVinLength) {
      if (auto r = settled(cars_by("SELECT id FROM car WHERE vin = ?", key))) return std::move(*r);
    }
    if (how == Match::exact) return no_such_car(*this, typed);
    // A fragment of a plate (three or more), the tail of a VIN (four or more).
    std::string safe;
    for (const char c : key) {
      if (c != '%' && c != '_' && c != '\\') safe += c;
    }
    if (safe.size() >= 2) {
      std::vector<std::int64_t> ids = cars_by("SELECT car FROM plate WHERE key LIKE ?", "%" + safe + "%");
      if (safe.size() >= 4) {
        for (const std::int64_t id : cars_by("SELECT id FROM car WHERE vin LIKE ?", "%" + safe)) ids.push_back(id);
      }
      if (auto r = settled(ids)) return std::move(*r);
    }
    // One slip away.
    std::vector<std::int64_t> near;
    std::vector<std::string> known;
    if (how == Match::part) {
      known = names("cars");
    } else if (key.size() >= 3) {
      auto q = db.query("SELECT key, car, worn FROM plate");
      while (q.step()) {
        const std::string k = q.text(0);
        if (k.size() + 1 < key.size() || key.size() + 1 < k.size()) continue;
        if (edit_distance(k, key) == 1) near.push_back(q.num(1));
        else known.push_back(q.text(2));
      }
    }
    if (auto r = settled(near)) return std::move(*r);
    Refusal none = not_found("car", typed, near_names(typed, known), "a plate from `baybook car list`, or baybook car add " + as_typed(typed) + " if it is new");
    // It may be the one whose plate was erased: entering it anew would leave its open job behind.
    if (const std::string nameless = nameless_at_work(*inside_); !nameless.empty()) {
      none.why += (none.why.empty() ? "" : "; ") + nameless;
      if (near_names(typed, known).empty()) none.instead = "baybook car list";
    }
    return none;
  });
}

Result<JobId> Book::find_job(std::string_view typed, Match how) const {
  return book::guarded<JobId>([&]() -> Result<JobId> {
    store::Db& db = inside_->db;
    const bool numeric = !typed.empty() && std::all_of(typed.begin(), typed.begin() + static_cast<std::ptrdiff_t>(std::min(typed.find('@'), typed.size())), [](char c) { return c >= '0' && c <= '9'; });
    if (numeric) {
      auto n = read_number(inside_->known, typed, "job");
      if (!n.ok()) return std::move(n).refusal();
      std::vector<std::int64_t> ids;
      std::vector<std::int64_t> elsewhere;  // a bare number is one's own; another's only if there is no such job here
      auto q = db.query("SELECT id FROM job WHERE number = ? AND closed <> -1");
      q.bind(n->number);
      while (q.step()) {
        (EntryId{q.num(0)}.origin() == n->origin ? ids : elsewhere).push_back(q.num(0));
      }
      if (ids.empty() && typed.find('@') == std::string_view::npos) {
        // A copy that went on counts on: the numbers of the book it was are its own.
        std::vector<std::int64_t> before;
        for (std::int64_t o = log::continued_origin(db, n->origin); o != 0; o = log::continued_origin(db, o)) before.push_back(o);
        for (const std::int64_t id : elsewhere) {
          if (how != Match::exact || std::find(before.begin(), before.end(), EntryId{id}.origin()) != before.end()) ids.push_back(id);
        }
      }
      if (ids.size() == 1) return JobId{ids.front()};
      if (ids.size() > 1) return two_of_a_name(*inside_, std::string(typed), "jobs", ids);
      if (!elsewhere.empty()) {
        const std::string other = service::job_name(inside_->known, *service::job_row(db, JobId{elsewhere.front()}));
        return Refusal{Code::not_found, "there is no job " + visible(typed) + " of this installation", "another one gave that number: " + other, other, {}};
      }
      return Refusal{Code::not_found, "there is no job " + visible(typed), "", "baybook job list", {}};
    }
    auto car = find_car(typed, how);
    if (!car.ok()) {
      Refusal r = std::move(car).refusal();
      if (r.code == Code::not_found) {
        r.what = "there is no job or car named " + visible(typed);
        if (find_circuit(typed) != nullptr) {
          r.why = visible(typed) + " is a circuit; the job or its car comes first";
          r.instead = "the job's number or the plate, then " + visible(typed);
        }
      }
      return r;
    }
    std::vector<std::string> open;
    std::int64_t id = 0;
    {
      // One's own first: the order of ids is that of numbers drawn by chance.
      auto q = db.query(
          "SELECT id FROM job WHERE car = ?1 AND closed = 0 ORDER BY (id >> 40) <> ?2, id");
      q.bind(car->n).bind(inside_->known.own().origin);
      while (q.step()) {
        id = q.num(0);
        // Two installations may each have opened a job 3.
        open.push_back(service::job_name(inside_->known, *service::job_row(db, JobId{id})));
      }
    }
    if (open.size() == 1) return JobId{id};
    const std::string plate = service::plate_of(db, *car);
    if (open.empty()) return Refusal{Code::not_found, plate + " has no open job", "", "baybook job open " + as_typed(plate) + " --odo ... --for \"...\"", {}};
    return Refusal{Code::ambiguous, plate + " has " + std::to_string(open.size()) + " open jobs: " + list_of(open), "the number of the job says which", open.front(), {}};
  });
}

JobId Book::job_under_once(std::string_view key) const {
  const auto r = book::guarded<JobId>([&]() -> Result<JobId> { return book::job_under(*inside_, key); });
  return r.ok() ? *r : JobId{};
}

EntryId Book::erased_under_once(std::string_view key) const {
  const auto r = book::guarded<EntryId>([&]() -> Result<EntryId> { return book::erased_under(*inside_, key); });
  return r.ok() ? *r : EntryId{};
}

Result<EntryId> Book::find_entry(std::string_view typed) const {
  return book::guarded<EntryId>([&]() -> Result<EntryId> {
    store::Db& db = inside_->db;
    const std::int64_t own = inside_->known.own().origin;
    if (typed == "last") {
      auto q = db.query("SELECT id FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1");
      q.bind((own + 1) << 40);
      if (q.step()) return EntryId{q.num(0)};
    }
    auto n = read_number(inside_->known, typed, "entry");
    if (!n.ok()) return std::move(n).refusal();
    const EntryId id{n->origin << 40 | n->number};
    auto q = db.query("SELECT 1 FROM entry WHERE id = ?");
    q.bind(id.n);
    if (q.step()) return id;
    auto last = db.query("SELECT id FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1");
    last.bind((n->origin + 1) << 40);
    const std::int64_t highest = last.step() ? EntryId{last.num(0)}.number() : 0;
    return Refusal{Code::not_found, "there is no entry " + visible(typed) + "; the last one is " + std::to_string(highest), "", "baybook entries", {}};
  });
}

Result<FirmId> Book::find_firm(std::string_view typed) const {
  return book::guarded<FirmId>([&]() -> Result<FirmId> {
    const Tagged tagged = read_tagged(inside_->known, typed);
    std::vector<std::int64_t> ids;
    {
      auto q = inside_->db.query("SELECT id FROM firm WHERE code = ?1 COLLATE NOCASE OR name = ?1 COLLATE NOCASE ORDER BY id");
      q.bind(tagged.name);
      while (q.step()) {
        if (tagged.fits(q.num(0))) ids.push_back(q.num(0));
      }
    }
    if (ids.size() == 1) return FirmId{ids.front()};
    if (ids.size() > 1) return two_of_a_name(*inside_, std::string(tagged.name), "firms", ids);
    return not_found("firm", typed, near_names(typed, names("firms")),
                     "a firm from `baybook firm list`, or baybook firm add CODE " +
                         as_typed(typed) + " if it is new");
  });
}

Result<DeadlineId> Book::find_deadline(std::string_view typed) const {
  return book::guarded<DeadlineId>([&]() -> Result<DeadlineId> {
    const Tagged tagged = read_tagged(inside_->known, typed);
    std::vector<std::int64_t> ids;
    auto q = inside_->db.query("SELECT id FROM deadline WHERE code = ? ORDER BY id");
    q.bind(tagged.name);
    while (q.step()) {
      if (tagged.fits(q.num(0))) ids.push_back(q.num(0));
    }
    if (ids.size() == 1) return DeadlineId{ids.front()};
    if (ids.size() > 1) return two_of_a_name(*inside_, std::string(tagged.name), "deadlines", ids);
    return not_found("deadline", typed, near_names(typed, names("deadlines")), "baybook deadline list");
  });
}

Result<EntryId> Book::find_pickup(std::string_view typed) const {
  auto by_paper = book::guarded<EntryId>([&]() -> Result<EntryId> {
    std::vector<std::int64_t> ids;
    {
      auto q = inside_->db.query("SELECT entry FROM pickup WHERE document = ? ORDER BY entry");
      q.bind(typed);
      while (q.step()) ids.push_back(q.num(0));
    }
    if (ids.size() == 1) return EntryId{ids.front()};
    if (ids.size() > 1) return Refusal{Code::ambiguous, visible(typed) + " is the paper of " + std::to_string(ids.size()) + " pick-ups", "two installations wrote it", "the number of the entry, from `baybook pickup list`", {}};
    return not_found("pick-up with a paper", typed, near_names(typed, names("papers")), "baybook pickup list");
  });
  if (by_paper.ok() || by_paper.refusal().code != Code::not_found) return by_paper;
  auto entry = find_entry(typed);
  if (!entry.ok()) return by_paper;
  return book::guarded<EntryId>([&]() -> Result<EntryId> {
    auto q = inside_->db.query("SELECT 1 FROM pickup WHERE entry = ?");
    q.bind(entry->n);
    if (q.step()) return *entry;
    return Refusal{Code::not_found, "entry " + visible(typed) + " is not a pick-up", "only a pick-up has a paper that comes back", "baybook pickup list", {}};
  });
}

Result<CarId> Book::car_of_job(JobId job) const {
  return book::guarded<CarId>([&]() -> Result<CarId> {
    const auto row = service::job_row(inside_->db, job);
    if (!row) return Refusal{Code::not_found, "there is no such job", "", "baybook job list", {}};
    return row->car;
  });
}

Result<PlaceId> Book::find_circuit_of(JobId job, std::string_view circuit) const {
  return book::guarded<PlaceId>([&]() -> Result<PlaceId> {
    const auto row = service::job_row(inside_->db, job);
    if (!row) return Refusal{Code::not_found, "there is no such job", "", "baybook job list", {}};
    std::vector<std::string> has;
    for (const Circuit& c : circuits()) {
      auto q = inside_->db.query("SELECT 1 FROM place WHERE id = ?");
      q.bind(circuit_of(row->car, c).n);
      if (!q.step()) continue;
      if (c.name == circuit) return circuit_of(row->car, c);
      has.emplace_back(c.name);
    }
    const std::string plate = service::plate_of(inside_->db, row->car);
    std::vector<std::string> near = near_names(circuit, has);
    // "oil" of a car with one kind of oil.
    if (near.empty()) std::copy_if(has.begin(), has.end(), std::back_inserter(near), [&](const std::string& h) { return circuit.size() >= 3 && h.find(circuit) != std::string::npos; });
    if (find_circuit(circuit) != nullptr) {
      return Refusal{Code::not_found, plate + " has no circuit " + visible(circuit) + " in the book", has.empty() ? "no circuit was registered" : "it has: " + list_of(has), "baybook car change " + as_typed(plate) + " --circuit " + visible(circuit) + "=...", {}};
    }
    return Refusal{
        Code::not_found,
        "there is no circuit named " + visible(circuit),
        has.empty() ? "no circuit was registered on " + plate : plate + " has: " + list_of(has),
        near.empty()
            ? (has.empty() ? "baybook car change " + as_typed(plate) + " --circuit NAME=AMOUNT"
                           : "one of these")
        : near.size() == 1 ? near.front()
                           : "one of: " + list_of(near),
        {}};
  });
}

std::string Book::name_of_place(PlaceId place) const {
  const auto r = book::guarded<std::string>([&]() -> Result<std::string> { return book::place_name(*inside_, place); });
  return r.ok() ? *r : "?";
}

std::string Book::plate_of(CarId car) const {
  const auto r = book::guarded<std::string>([&]() -> Result<std::string> { return service::plate_of(inside_->db, car); });
  return r.ok() ? *r : "?";
}

std::vector<std::string> Book::names(std::string_view of_what) const {
  const auto r = book::guarded<std::vector<std::string>>([&]() -> Result<std::vector<std::string>> {
    store::Db& db = inside_->db;
    if (of_what == "places") return names_to_type(*inside_, "SELECT id, code, code FROM place WHERE role <> 0 ORDER BY code, id");
    if (of_what == "fluids") {
      std::vector<std::string> out = names_to_type(*inside_, "SELECT id, code, code FROM fluid ORDER BY code, id");
      for (const FluidClass& c : fluid_classes()) out.emplace_back(c.name);
      return out;
    }
    if (of_what == "people") {
      std::vector<std::string> out = names_to_type(*inside_, "SELECT id, name, lower(name) FROM person WHERE name <> '' ORDER BY name, id");
      for (const std::int64_t id : numbers(db, "SELECT id FROM person WHERE name = '' ORDER BY id")) out.push_back(service::by_number(db, "person", EntryId{id}));
      return out;
    }
    if (of_what == "cars") {
      std::vector<std::string> out = names_to_type(*inside_, "SELECT id, plate, key FROM car WHERE scrapped = 0 AND plate <> '' ORDER BY plate, id");
      for (const std::int64_t id : numbers(db, "SELECT id FROM car WHERE scrapped = 0 AND plate = '' ORDER BY id")) out.push_back(service::by_number(db, "car", EntryId{id}));
      return out;
    }
    if (of_what == "jobs") return texts(db, "SELECT CAST(number AS TEXT) FROM job WHERE closed = 0 ORDER BY number");
    if (of_what.starts_with("tasks ")) return tasks_of(*this, db, of_what.substr(6));
    if (of_what == "rechecks") return rechecks_of(*inside_);
    if (of_what == "firms") return names_to_type(*inside_, "SELECT id, code, code FROM firm ORDER BY code, id");
    if (of_what == "areas") return texts(db, "SELECT DISTINCT area FROM place WHERE area <> '' ORDER BY area");
    if (of_what == "deadlines") return names_to_type(*inside_, "SELECT id, code, code FROM deadline ORDER BY code, id");
    if (of_what == "papers") return texts(db, "SELECT document FROM pickup WHERE entry NOT IN (SELECT pickup FROM confirmed) ORDER BY document");
    return std::vector<std::string>{};
  });
  return r.ok() ? *r : std::vector<std::string>{};
}

}  // namespace baybook
