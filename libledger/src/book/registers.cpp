// The chronological register, pick-ups and their papers, firms, areas, papers on file, deadlines.
#include "book/asked.hpp"
#include "book/differing.hpp"
#include "book/office.hpp"

#include "log/sum.hpp"
#include "service/build.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace baybook {

using book::guarded;
using log::Fact;
using log::Value;

namespace {

std::string firm_name(store::Db& db, const Fact& fact, const char* key, const char* field) {
  if (const Value* firm = fact.details.find(key)) {
    auto q = db.query("SELECT name FROM firm WHERE id = ?");
    q.bind(log::read_ref(*firm, fact.origin()));
    if (q.step()) return q.text(0).empty() ? std::string(log::kErased) : q.text(0);
  }
  return log::private_text(db, fact, field);
}

std::optional<Day> confirmed_day(store::Db& db, EntryId pickup, std::vector<ConfirmPickup::Measured>* measured) {
  std::int64_t entry = 0;
  std::optional<Day> out;
  {
    auto q = db.query("SELECT entry, day FROM confirmed WHERE pickup = ? ORDER BY moment, recorded, entry LIMIT 1");
    q.bind(pickup.n);
    if (q.step()) {
      entry = q.num(0);
      out = Day{static_cast<std::int32_t>(q.num(1))};
    }
  }
  if (out && measured != nullptr) {
    const Fact fact = log::read_fact(db, EntryId{entry});
    if (const Value* list = fact.details.find("measured")) {
      for (const Value& m : list->as_array()) measured->push_back({static_cast<int>(m.num("line")), log::read_amount(m.at("amount"))});
    }
  }
  return out;
}

// "drum-coolant/7": the filling that an entry found there.
std::string filling_name(Book::Inside& in, PlaceId place, const log::Effect& effect) {
  auto q = in.db.query("SELECT number FROM filling WHERE place = ? AND (moment, recorded, entry) <= (?, ?, ?) ORDER BY number DESC LIMIT 1");
  q.bind(place.n).bind(effect.moment).bind(effect.recorded).bind(effect.id.n);
  const std::int64_t n = q.step() ? q.num(0) : 0;
  return book::place_name(in, place) + (n > 0 ? "/" + std::to_string(n) : "");
}

void weigh_booked(book::Office& office, const Fact& fact, const Stream* stream, PickupView::Line& line) {
  std::int64_t ug = 0;
  std::string by;
  struct Part { std::int64_t fluid, best; };
  std::vector<Part> parts;
  {
    auto q = office.in().db.query("SELECT fluid, best FROM flow WHERE entry = ? AND line = ? AND dimension = 0");
    q.bind(fact.id().n).bind(std::int64_t{line.number});
    while (q.step()) parts.push_back({q.num(0), q.num(1)});
  }
  if (parts.empty()) return;
  for (const Part& p : parts) {
    const auto weight = office.weight_in(p.fluid, stream, log::day_of_moment(fact.effect.moment));
    if (!weight) return;
    log::add_to(ug, 1, book::Office::mass(p.best, 0, weight).value());
    if (by.find(weight->told) == std::string::npos) by += (by.empty() ? "" : ", ") + weight->told;
  }
  line.booked_ug = ug;
  line.density = by;
}

PickupView pickup_view(book::Office& office, const Fact& fact) {
  Book::Inside& in = office.in();
  PickupView v;
  v.entry = book::ref_of(in, fact.id());
  v.day = log::day_of_moment(fact.effect.moment);
  v.document = fact.details.has("document") ? std::string(fact.details.str("document")) : std::string();
  v.carrier = firm_name(in.db, fact, "carrier-firm", "carrier");
  v.receiver = firm_name(in.db, fact, "receiver-firm", "receiver");
  std::vector<ConfirmPickup::Measured> measured;
  v.confirmed = confirmed_day(in.db, fact.id(), &measured);
  int n = 0;
  for (const Value& line : fact.details.list("lines")) {
    PickupView::Line l;
    l.number = ++n;
    const PlaceId from = log::read_place(line.at("from"), fact.origin());
    l.place = filling_name(in, from, fact.effect);
    const Amount booked = book::amount_moved(in, fact, n, line);
    l.dimension = booked.dimension;
    l.best = booked.best;
    if (const Value* m = line.find("measured")) l.measured = log::read_amount(*m);
    for (const ConfirmPickup::Measured& m : measured) {
      if (m.line == n) l.measured = m.amount;
    }
    if (l.measured && l.measured->dimension == booked.dimension) l.difference = l.measured->best - booked.best;
    auto q = in.db.query("SELECT stream FROM place WHERE id = ?");
    q.bind(from.n);
    if (q.step()) l.stream = q.text(0);
    if (l.measured && l.measured->dimension == Dimension::mass && l.dimension == Dimension::volume) weigh_booked(office, fact, office.stream_for(l.stream, v.day), l);
    v.lines.push_back(std::move(l));
  }
  return v;
}

}  // namespace

Result<std::vector<RegisterRow>> waste_register(const Book& b, Day from, Day until) {
  from = book::asked(from);
  until = book::asked(until);
  return guarded<std::vector<RegisterRow>>([&]() -> Result<std::vector<RegisterRow>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    book::Office office(in);
    struct Leg {
      log::Effect effect;
      std::int64_t place;
    };
    std::vector<Leg> legs;
    for (const book::Office::WastePlace& p : office.waste_places()) {
      auto q = in.db.query("SELECT moment, recorded, entry FROM leg WHERE place = ? AND moment BETWEEN ? AND ?");
      q.bind(p.id.n).bind(log::first_moment(from)).bind(log::last_moment(until));
      while (q.step()) legs.push_back({{q.num(0), q.num(1), EntryId{q.num(2)}}, p.id.n});
    }
    std::sort(legs.begin(), legs.end(), [](const Leg& x, const Leg& y) { return std::pair(x.effect, x.place) < std::pair(y.effect, y.place); });
    // The shop in which a container stands is that of whoever added it, in every book.
    std::map<std::int64_t, std::string> sites;
    const auto site = [&](std::int64_t place) -> const std::string& {
      const std::int64_t origin = EntryId{place}.origin();
      const auto known = sites.find(origin);
      if (known != sites.end()) return known->second;
      return sites.emplace(origin, book::site_of(in.db, origin)).first->second;
    };
    std::vector<RegisterRow> out;
    for (const Leg& leg : legs) {
      const book::Office::WastePlace* place = office.waste_place(leg.place);
      const Fact fact = log::read_fact(in.db, leg.effect.id);
      const Day day = log::day_of_moment(leg.effect.moment);
      const StreamFacts facts = office.facts(place->stream, place->id, day);
      const Stream* stream = office.stream_for(place->stream, day);
      struct Part {
        std::int64_t line, source, target, dimension, fluid, low, best, high;
        bool estimated;
        std::int64_t fate;
      };
      std::vector<Part> parts;
      {
        auto q = in.db.query("SELECT line, source, target, dimension, fluid, low, best, high, estimated, fate FROM flow WHERE entry = ? ORDER BY line, seq");
        q.bind(leg.effect.id.n);
        while (q.step()) {
          if (q.num(1) == leg.place || q.num(2) == leg.place) parts.push_back({q.num(0), q.num(1), q.num(2), q.num(3), q.num(4), q.num(5), q.num(6), q.num(7), q.num(8) != 0, q.num(9)});
        }
      }
      // One row for each line and dimension: the components of a mix are one load.
      std::map<std::pair<std::int64_t, std::int64_t>, RegisterRow> rows;
      for (const Part& p : parts) {
        RegisterRow& r = rows[{p.line, p.dimension}];
        const bool fresh = r.place.empty();
        if (fresh) {
          r.day = day;
          r.entry = book::ref_of(in, leg.effect.id);
          r.out = p.source == leg.place;
          r.place = filling_name(in, place->id, leg.effect);
          r.stream = facts;
          r.dimension = static_cast<Dimension>(p.dimension);
          r.best_ug = 0;
        }
        log::add_to(r.low, 1, p.low);
        log::add_to(r.best, 1, p.best);
        log::add_to(r.high, 1, p.high);
        r.estimated = r.estimated || p.estimated;
        const auto ug = book::Office::mass(p.best, p.dimension, office.weight_in(p.fluid, stream, day));
        if (!ug) r.best_ug.reset();
        else if (r.best_ug) log::add_to(*r.best_ug, 1, *ug);
        if (!fresh) continue;
        const PlaceId other{r.out ? p.target : p.source};
        if (r.out) {
          r.origin = site(leg.place);
          if (other == kReceiver) {
            r.destination = firm_name(in.db, fact, "receiver-firm", "receiver");
            r.carrier = firm_name(in.db, fact, "carrier-firm", "carrier");
            if (fact.details.has("document")) r.document = fact.details.str("document");
            if (fact.details.has("transport")) r.transport = fact.details.str("transport");
            r.fate = p.fate == 0 ? std::string("not said") : std::string(name_of(static_cast<Fate>(p.fate)));
            const auto& lines = fact.details.list("lines");
            // Lines are counted from 1.
            if (const auto index = static_cast<std::size_t>(p.line - 1); index < lines.size()) {
              if (lines[index].has("treatment")) r.treatment = lines[index].str("treatment");
              if (const Value* m = lines[index].find("measured")) r.measured = log::read_amount(*m);
              std::vector<ConfirmPickup::Measured> measured;
              r.confirmed = confirmed_day(in.db, fact.id(), &measured);
              for (const ConfirmPickup::Measured& m : measured) {
                if (m.line == static_cast<int>(index) + 1) r.measured = m.amount;
              }
            }
          } else {
            r.destination = other == kGround       ? std::string("lost to the ground")
                            : other == kDifference ? std::string("difference found by a gauge")
                                                   : book::place_name(in, other);
          }
        } else {
          const service::Belongs belongs = service::belongs_to(in.db, fact);
          r.origin = is_circuit(other) ? book::place_name(in, other) : other == kDifference ? std::string("difference found by a gauge") : other.n < 1000 ? std::string(belongs.car ? service::plate_of(in.db, belongs.car) : "the shop") : book::place_name(in, other);
          if (const auto job = service::job_row(in.db, belongs.job); belongs.job && job) r.origin += ", job " + service::job_name(in.known, *job);
          r.destination = r.place;
        }
      }
      for (auto& [key, r] : rows) {
        // What a gauge found missing went out; the log has it as less than nothing that came in.
        if (!r.out && r.best < 0) {
          r.out = true;
          r.low = -std::exchange(r.high, -r.low);
          r.best = -r.best;
          if (r.best_ug) r.best_ug = -*r.best_ug;
          r.destination = std::exchange(r.origin, site(leg.place));
        }
        if (r.low > r.high) std::swap(r.low, r.high);
        out.push_back(std::move(r));
      }
    }
    return out;
  });
}

Result<PickupView> pickup(const Book& b, EntryId entry) {
  return guarded<PickupView>([&]() -> Result<PickupView> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    const auto fact = log::find_fact(in.db, entry);
    if (!fact || fact->withdrawn || fact->kind != log::Kind::movement || fact->details.str("verb") != "pickup") return Refusal{Code::not_found, "entry " + book::entry_name(in, entry) + " is not a pick-up", "", "baybook pickup list", {}};
    book::Office office(in);
    return pickup_view(office, *fact);
  });
}

Result<std::vector<PickupView>> pickups(const Book& b, bool unconfirmed_only) {
  return guarded<std::vector<PickupView>>([&]() -> Result<std::vector<PickupView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<std::int64_t> ids;
    {
      auto q = in.db.query("SELECT entry FROM pickup ORDER BY moment, recorded, entry");
      while (q.step()) ids.push_back(q.num(0));
    }
    book::Office office(in);
    std::vector<PickupView> out;
    for (const std::int64_t id : ids) {
      PickupView v = pickup_view(office, log::read_fact(in.db, EntryId{id}));
      if (!unconfirmed_only || !v.confirmed) out.push_back(std::move(v));
    }
    return out;
  });
}

namespace {

void read_more(const Value& details, FirmView& v) {
  if (details.has("haul-m"))
    v.haul = Distance{details.num("haul-m"), std::string(details.str("haul-typed"))};
  if (details.has("receives-as"))
    v.receives_as = details.str("receives-as") == "collection-centre"
                        ? ReceivesAs::collection_centre
                        : ReceivesAs::aggregation_point;
  if (const Value* streams = details.find("streams")) {
    for (const Value& s : streams->as_array()) v.streams.push_back(s.as_string());
  }
  if (details.has("registered")) v.registered = read_day(details.str("registered"));
}

}  // namespace

Result<std::vector<FirmView>> firms(const Book& b) {
  return guarded<std::vector<FirmView>>([&]() -> Result<std::vector<FirmView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<std::int64_t> ids;
    {
      auto q = in.db.query("SELECT id FROM firm ORDER BY code, id");
      while (q.step()) ids.push_back(q.num(0));
    }
    std::vector<FirmView> out;
    for (const std::int64_t id : ids) {
      const Fact fact = log::read_fact(in.db, EntryId{id});
      FirmView v;
      v.id = FirmId{id};
      v.code = fact.details.str("code");
      v.name = log::private_text(in.db, fact, "name");
      v.contact = log::private_text(in.db, fact, "contact");
      v.carries = fact.details.has("carries");
      v.receives = fact.details.has("receives");
      if (const Value* numbers = fact.details.find("numbers")) {
        for (const Value& n : numbers->as_array()) v.numbers.push_back({std::string(n.str("what")), std::string(n.str("number"))});
      }
      read_more(fact.details, v);
      out.push_back(std::move(v));
    }
    return out;
  });
}

Result<std::vector<AreaView>> areas(const Book& b) {
  return guarded<std::vector<AreaView>>([&]() -> Result<std::vector<AreaView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::map<std::string, AreaView> by;
    {
      auto q = in.db.query("SELECT area, code FROM place WHERE area <> '' ORDER BY area, code");
      while (q.step()) {
        AreaView& v = by[q.text(0)];
        v.area = q.text(0);
        v.places.push_back(q.text(1));
      }
    }
    {
      auto q = in.db.query("SELECT area, max(moment) FROM inspected GROUP BY area");
      while (q.step()) {
        AreaView& v = by[q.text(0)];
        v.area = q.text(0);
        v.inspected = log::day_of_moment(q.num(1));
      }
    }
    std::vector<AreaView> out;
    for (auto& [name, v] : by) out.push_back(std::move(v));
    return out;
  });
}

Result<std::vector<PaperView>> papers(const Book& b) {
  return guarded<std::vector<PaperView>>([&]() -> Result<std::vector<PaperView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<PaperView> out;
    auto q = in.db.query("SELECT about, entry, file, digest, bytes FROM paper ORDER BY entry");
    while (q.step()) out.push_back({book::ref_of(in, EntryId{q.num(1)}), book::ref_of(in, EntryId{q.num(0)}), q.text(2), q.text(3), "", q.num(4)});
    for (PaperView& v : out) v.title = log::private_text(in.db, v.entry.id, "title");
    return out;
  });
}

Result<std::vector<DeadlineView>> deadlines(const Book& b) {
  return guarded<std::vector<DeadlineView>>([&]() -> Result<std::vector<DeadlineView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<DeadlineView> out;
    {
      auto q = in.db.query("SELECT id, code, due, months FROM deadline ORDER BY code, id");
      while (q.step()) {
        DeadlineView v;
        v.id = DeadlineId{q.num(0)};
        v.entry = book::ref_of(in, EntryId{q.num(0)});
        v.code = q.text(1);
        v.due = Day{static_cast<std::int32_t>(q.num(2))};
        v.months = static_cast<int>(q.num(3));
        out.push_back(std::move(v));
      }
    }
    for (DeadlineView& v : out) {
      const Fact fact = log::read_fact(in.db, EntryId{v.id.n});
      v.what = log::private_text(in.db, fact, "what");
      if (fact.details.has("section")) v.section = fact.details.str("section");
      auto q = in.db.query("SELECT next FROM deadline_done WHERE deadline = ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
      q.bind(v.id.n);
      if (q.step()) {
        if (q.num(0) == 0) v.settled = true;
        else v.due = Day{static_cast<std::int32_t>(q.num(0))};
      }
    }
    return out;
  });
}

}  // namespace baybook
