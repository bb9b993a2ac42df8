#include "fluids/build.hpp"

#include <limits>

namespace baybook::fluids {

using log::Kind;
using log::Value;

namespace {

std::string joined(const Value* list) {
  std::string out;
  if (list == nullptr) return out;
  for (const Value& v : list->as_array()) {
    if (!out.empty()) out += ' ';
    out += v.as_string();
  }
  return out;
}

}  // namespace

void fold(store::Db& db, const log::Fact& fact) {
  if (fact.withdrawn) return;
  const Value& d = fact.details;
  if (fact.kind == Kind::place) {
    std::int64_t size = -1;
    std::int64_t dimension = 0;
    if (const Value* s = d.find("size")) {
      const Amount a = log::read_amount(*s);
      size = a.best;
      dimension = static_cast<std::int64_t>(a.dimension);
    }
    const std::string takes = joined(d.find("takes"));
    const std::string code(d.str("code"));
    const std::string stream(d.has("stream") ? d.str("stream") : std::string_view());
    const auto role = read_role(d.str("role"));
    if (!role) throw log::Malformed("a place has an unknown role");
    const std::string area(d.has("area") ? d.str("area") : std::string_view());
    auto q = db.query("INSERT INTO place(id, code, role, size, dimension, takes, stream, area, satellite, specification) VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, '')");
    q.bind(fact.id().n).bind(code).bind(static_cast<std::int64_t>(*role)).bind(size).bind(dimension).bind(takes).bind(stream).bind(area).bind(std::int64_t{d.has("satellite")}).run();
  } else if (fact.kind == Kind::place_mark) {
    const std::string_view what = d.str("what");
    auto q = db.query("INSERT INTO mark(place, moment, recorded, entry, what) VALUES(?, ?, ?, ?, ?)");
    q.bind(log::read_place(d.at("place"), fact.origin()).n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n);
    q.bind(std::int64_t{what == "seal"    ? 0
                        : what == "open"  ? 1
                        : what == "bulk"  ? 3
                        : what == "shelf" ? 4
                                          : 2})
        .run();
  } else if (fact.kind == Kind::fluid) {
    const FluidClass* c = find_class(d.str("class"));
    if (c == nullptr) throw log::Malformed("a fluid has an unknown class");
    const std::string_view unit = d.str("unit");
    const std::string code(d.str("code"));
    const std::string product(d.has("product") ? d.str("product") : std::string_view());
    std::int64_t density = 0;
    if (const Value* x = d.find("density")) density = x->num("ppm-kg-per-l");
    auto q = db.query("INSERT INTO fluid(id, code, class, product, dimension, density) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(fact.id().n).bind(code).bind(c->number).bind(product).bind(std::int64_t{unit == "nl" ? 0 : unit == "ug" ? 1 : 2}).bind(density).run();
  }
}

void unfold(store::Db& db, const log::Fact& fact) {
  if (fact.withdrawn) return;
  if (fact.kind == Kind::place) {
    auto q = db.query("DELETE FROM place WHERE id = ?");
    q.bind(fact.id().n).run();
  } else if (fact.kind == Kind::place_mark) {
    auto q = db.query("DELETE FROM mark WHERE place = ? AND entry = ?");
    q.bind(log::read_place(fact.details.at("place"), fact.origin()).n).bind(fact.id().n).run();
  } else if (fact.kind == Kind::fluid) {
    auto q = db.query("DELETE FROM fluid WHERE id = ?");
    q.bind(fact.id().n).run();
  }
}

Marks marks_of(store::Db& db, PlaceId place, std::int64_t until_moment) {
  Marks out;
  auto q = db.query("SELECT what FROM mark WHERE place = ? AND moment <= ? ORDER BY moment, recorded, entry");
  q.bind(place.n).bind(until_moment);
  while (q.step()) {
    const std::int64_t what = q.num(0);
    if (what == 0) out.sealed = true;
    if (what == 1) out = {};
    if (what == 2) out.retired = true;
  }
  return out;
}

}  // namespace baybook::fluids
