#include "levels.hpp"

#include "../context.hpp"
#include "receipt.hpp"
#include "table.hpp"
#include "text.hpp"

#include <algorithm>
#include <baybook/text.hpp>

namespace baybook::tool::render {

void levels_members(Json& j, const std::vector<LevelRow>& rows) {
  j.key("levels").begin_array();
  for (const LevelRow& r : rows) {
    j.begin_object();
    j.member("place", r.level.name);
    j.member("role", name_of(r.level.role));
    j.key("level").bounded(r.level.low, r.level.best, r.level.high, r.level.dimension);
    j.key("size");
    if (r.level.size) j.exact(*r.level.size, r.level.dimension);
    else j.null();
    // Of a place that is sized in another kind of quantity than it holds.
    j.key("other_size");
    if (r.other_size) j.exact(*r.other_size, r.other_dimension);
    else j.null();
    j.key("bulk").boolean(r.bulk);
    j.strings("takes", r.takes);
    j.member("stream", r.stream);
    j.key("parts").begin_array();
    for (const auto& [fluid, n] : r.parts) {
      j.begin_object();
      j.member("fluid", fluid);
      j.key("amount").exact(n, r.level.dimension);
      j.end_object();
    }
    j.end_array();
    j.key("filling");
    if (r.filling != 0) j.number(r.filling);
    else j.null();
    j.key("since");
    if (r.since) j.string(to_string(*r.since));
    else j.null();
    j.key("last_moved");
    if (r.last_moved) j.string(to_string(*r.last_moved));
    else j.null();
    j.member("mixed", r.mixed);
    j.key("sealed").boolean(r.sealed);
    j.key("retired").boolean(r.retired);
    j.end_object();
  }
  j.end_array();
}

void levels_text(Context& c, const std::vector<LevelRow>& rows) {
  const Units& units = c.units();
  Out& out = c.out();
  if (rows.empty()) {
    out.line("no place yet: baybook place add pan-1 --role catch --size 20L");
    return;
  }
  Table t;
  t.column("place");
  t.column("holds", Align::right);
  t.column("of", Align::right);
  t.column("full", Align::right);
  t.column("since");
  t.column("what is in it");
  bool by_eye = false;
  std::vector<std::string> mixed;
  std::optional<Role> role;
  const auto flush = [&] {
    if (!t.empty()) out.text(t.text(2));
    t = Table();
    t.column("place");
    t.column("holds", Align::right);
    t.column("of", Align::right);
    t.column("full", Align::right);
    t.column("since");
    t.column("what is in it");
  };
  // One form for each role, in the order in which fluid goes through a shop.
  for (const Role wanted : {Role::stock, Role::hold_catch, Role::reuse, Role::waste, Role::circuit}) {
    for (const LevelRow& r : rows) {
      if (r.level.role != wanted) continue;
      if (role != wanted) {
        if (role) {
          flush();
          out.line();
        }
        role = wanted;
        constexpr std::string_view heading[] = {"circuits of cars", "catch: undecided", "reuse: kept to go back", "stock: new", "waste: for pick-up"};
        out.line(heading[static_cast<std::size_t>(wanted)]);
      }
      std::string full;
      if (r.level.size && *r.level.size > 0) {
        const auto percent = static_cast<std::int64_t>((static_cast<double>(r.level.best) * 100) / static_cast<double>(*r.level.size) + 0.5);
        full = std::to_string(percent) + " %";
        if (r.level.best <= *r.level.size && r.level.high > *r.level.size) full += " may be over";
      }
      std::vector<std::string> notes;
      if (r.parts.size() == 1) {
        notes.push_back(r.parts.front().first);
      } else {
        for (const auto& [fluid, n] : r.parts) notes.push_back(fluid + " " + show(n, r.level.dimension, units));
      }
      std::string what = joined(notes);
      // A circuit that nobody has touched is full for all the book knows; one that was drained may hold a rest.
      const bool circuit = r.level.role == Role::circuit;
      const bool untold = circuit && !r.last_moved;
      const std::string empty = untold ? "nothing is booked of it" : circuit ? "empty by the book" : "empty";
      // Cans stand beside each other; in a tank it is one mix.
      if (r.bulk && r.parts.size() > 1) what = "one mix of " + joined(notes, " and ");
      if (what.empty() && !r.takes.empty()) what = empty + ", takes " + joined(r.takes);
      else if (what.empty() && r.level.best == 0) what = empty;
      if (r.level.role == Role::waste && r.filling != 0 && r.since) what += ", filling " + r.level.name + "/" + std::to_string(r.filling);
      if (!r.mixed.empty()) {
        what += ", MIXED";
        mixed.push_back(r.level.name + ": " + r.mixed);
      }
      if (r.bulk) what += ", bulk tank";
      if (r.sealed) what += ", SEALED";
      if (r.retired) what += ", RETIRED";
      if (untold) full.clear();
      const std::string holds = untold ? "" : show(r.level.best, r.level.dimension, units);
      if (r.level.low != r.level.high) what += " (" + show(std::max<std::int64_t>(0, r.level.low), r.level.dimension, units) + " to " + show(r.level.high, r.level.dimension, units) + ")";
      std::string of = r.level.size ? show(*r.level.size, r.level.dimension, units) : "";
      if (r.other_size) {
        of = show(*r.other_size, r.other_dimension, units);
        full = "by eye";
        by_eye = true;
      }
      t.row({visible(r.level.name), holds, of, full, r.since ? to_string(*r.since) : "", visible(what)});
    }
  }
  flush();
  for (const std::string& m : mixed) {
    out.line();
    out.text(wrapped("", visible(m) + "."));
  }
  if (!by_eye) return;
  out.line();
  out.text(wrapped("", "by eye: what is in it is weighed or counted and its size is a volume (or "
                       "the other way round), so the book cannot tell how full it is."));
}

}  // namespace baybook::tool::render
