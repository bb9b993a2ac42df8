// What an entry says together with the entries that it names.
#include "book/unfit_kinds.hpp"

#include "book/inside.hpp"
#include "book/settle.hpp"
#include "fluids/build.hpp"
#include "fluids/ends.hpp"
#include "log/canonical.hpp"
#include "log/private_fields.hpp"
#include "log/references.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

using log::Kind;
using log::Row;
using log::Value;

namespace {

// One entry with what it names, read once.
class Named {
 public:
  Named(const Row& row, const Value& body, const NamedRow& named)
      : row_(row), body_(body), named_(named), header_(header_of(row, body)), reading_(header_) {}

  std::vector<Unfit> found() {
    const Value* details = body_.find("details");
    if (details == nullptr) return {};
    try {
      kinds(*details);
      together(*details);
    } catch (const log::Malformed& m) {
      add("details", "cannot be read: " + visible(m.what()), Unfit::Sort::form);
    }
    return reading_.take();
  }

 private:
  // The reading looks into it.
  static log::Header header_of(const Row& row, const Value& body) {
    log::Header out;
    out.identity = body.str("installation");
    out.row.id = row.id;
    out.row.kind = row.kind;
    out.row.moment = row.moment;
    return out;
  }

  void add(std::string_view field, std::string what, Unfit::Sort sort = Unfit::Sort::value) {
    const bool inside = field != "by" && field != "private";
    const Path root{nullptr, "details", 0};
    reading_.add(Path{inside ? &root : nullptr, field, 0}, std::move(what), sort);
  }
  void add(std::string_view field, std::size_t index, std::string_view key, std::string what) {
    const Path root{nullptr, "details", 0};
    const Path list{&root, field, 0};
    const Path item{&list, {}, index};
    reading_.add(key.empty() ? item : Path{&item, key, 0}, std::move(what));
  }

  void absent(const log::Reference& r) {
    add(r.key,
        "names entry " + std::to_string(r.entry.number()) +
            (r.entry.origin() == row_.id.origin() ? "" : " of another installation") +
            ", which is not here",
        Unfit::Sort::absent);
  }

  [[nodiscard]] EntryId id_of(const Value& ref) const {
    return EntryId{log::read_ref(ref, row_.id.origin())};
  }

  void kinds(const Value& details) {
    std::vector<log::Reference> all = log::references_in(details, row_.id.origin());
    if (row_.who != 0) all.push_back({"by", EntryId{row_.who}, {Kind::person}});
    for (const log::Reference& r : all) {
      const auto there = named_(r.entry);
      if (!there) {
        absent(r);
        continue;
      }
      if (r.kinds.empty() ||
          std::find(r.kinds.begin(), r.kinds.end(), there->kind) != r.kinds.end())
        continue;
      add(r.key, "names entry " + std::to_string(r.entry.number()) + ", which is of kind " +
                     std::string(log::name_of(there->kind)));
    }
  }

  void together(const Value& details) {
    switch (row_.kind) {
      case Kind::correction: return correction(details);
      case Kind::settle: return settle(details);
      case Kind::erasure: return erasure(details);
      case Kind::peer: return details.has("list") ? erasure(details) : void();
      default: return of_kind(row_.kind, details);
    }
  }

  // Also of details that replace those of an entry of that kind.
  void of_kind(Kind kind, const Value& details) {
    switch (kind) {
      case Kind::movement: return movement(details);
      case Kind::gauge:
        if (details.has("alone") && role_of(details.at("place")).value_or(Role::stock) != Role::stock)
          add("alone", "is said of a place that is no shelf");
        return;
      case Kind::place_mark: return mark(details);
      case Kind::work: return takes_out(details);
      case Kind::fit:
        takes_out(details);
        return lines_end_in_waste(details);
      case Kind::confirm: return confirm(details);
      case Kind::put_off:
      case Kind::recheck_done: return recheck(details);
      case Kind::determination: {
        const Value* place = details.find("place");
        if (place != nullptr && role_of(*place).value_or(Role::waste) != Role::waste)
          add("place", "is no place for waste");
        return;
      }
      default: return;
    }
  }

  [[nodiscard]] Value details_of(const Row& row) const {
    const Value body = log::parse_body(row.body);
    const Value* d = body.find("details");
    return d != nullptr ? *d : Value();
  }

  // The role of a place as the entry that made it says: no correction changes it.
  [[nodiscard]] std::optional<Role> role_of(const Value& place) const {
    if (place.is_object()) return Role::circuit;
    const PlaceId id = log::read_place(place, row_.id.origin());
    if (fluids::is_end(id)) return fluids::role_of_end(id);
    const auto row = named_(EntryId{id.n});
    if (!row || row->kind != Kind::place) return std::nullopt;
    const Value details = details_of(*row);
    const Value* role = details.find("role");
    return role != nullptr && role->is_string() ? read_role(role->as_string()) : std::nullopt;
  }

  void movement(const Value& details) {
    const auto verb = fluids::read_verb(details.str("verb"));
    if (!verb) return;
    std::size_t n = 0;
    for (const Value& line : details.list("lines")) {
      ++n;
      const Value& from = line.at("from");
      const Value& to = line.at("to");
      const auto f = role_of(from);
      const auto t = role_of(to);
      if (f && t && !fluids::goes(*verb, *f, *t)) {
        add("lines", n, {},
            "is a way that no " + std::string(name_of(*verb)) + " goes: from " +
                std::string(name_of(*f)) + " to " + std::string(name_of(*t)) + " (F6)");
      }
      if (from == to) add("lines", n, {}, "ends where it begins (F1)");
      if (line.has("alone") && f && *f != Role::stock)
        add("lines", n, "alone", "is said of what was not taken from a shelf");
      if (line.has("beside") && t && *t != Role::stock)
        add("lines", n, "beside", "is said of what was not put on a shelf");
      unit_of_fluid(line, n);
    }
  }

  void mark(const Value& details) {
    const std::string_view what = details.str("what");
    const bool of_stock = what == "bulk" || what == "shelf";
    if (of_stock && role_of(details.at("place")).value_or(Role::stock) != Role::stock)
      add("what", "is " + std::string(what) + ", said of a place that is not for stock");
  }

  // A product is kept in one kind of quantity.
  void unit_of_fluid(const Value& line, std::size_t n) {
    const Value* fluid = line.find("fluid");
    if (fluid == nullptr) return;
    const FluidId id = log::read_fluid(*fluid, row_.id.origin());
    if (find_class(id) != nullptr) return;
    const auto row = named_(EntryId{id.n});
    if (!row || row->kind != Kind::fluid) return;
    const Value product = details_of(*row);
    if (product.str("unit") != line.at("amount").str("unit"))
      add("lines", n, "fluid",
          "is kept in " + std::string(product.str("unit")) + ", not in " +
              std::string(line.at("amount").str("unit")));
  }

  // A part comes out in the kind of quantity that it was fitted in.
  void takes_out(const Value& details) {
    const Value* list = details.find("takes-out");
    if (list == nullptr) return;
    std::size_t n = 0;
    for (const Value& item : list->as_array()) {
      ++n;
      const Value* amount = item.find("amount");
      const auto fit = named_(id_of(item.at("fit")));
      if (amount == nullptr || !fit || fit->kind != Kind::fit) continue;
      const Value fitted = details_of(*fit);
      if (fitted.at("quantity").str("unit") != amount->str("unit"))
        add("takes-out", n, "amount",
            "is in " + std::string(amount->str("unit")) + ", and the part was fitted in " +
                std::string(fitted.at("quantity").str("unit")));
    }
  }

  void lines_end_in_waste(const Value& details) {
    const Value* lines = details.find("lines");
    if (lines == nullptr) return;
    std::size_t n = 0;
    for (const Value& line : lines->as_array()) {
      ++n;
      if (role_of(line.at("to")).value_or(Role::waste) != Role::waste)
        add("lines", n, "to", "is no place for waste: an old part goes nowhere else");
    }
  }

  void confirm(const Value& details) {
    const auto pickup = named_(id_of(details.at("pickup")));
    if (!pickup || pickup->kind != Kind::movement) return;
    const Value moved = details_of(*pickup);
    if (moved.str("verb") != "pickup")
      return add("pickup",
                 "names entry " + std::to_string(pickup->id.number()) + ", which is no pick-up");
    if (log::read_day_number(details.str("signed")) < log::day_of_moment(pickup->moment).n)
      add("signed", "is before the pick-up");
    const Value* measured = details.find("measured");
    if (measured == nullptr) return;
    const auto lines = static_cast<std::int64_t>(moved.list("lines").size());
    for (const Value& m : measured->as_array()) {
      if (m.num("line") > lines)
        add("measured",
            "names line " + std::to_string(m.num("line")) + " of " + std::to_string(lines));
    }
  }

  void recheck(const Value& details) {
    const Value* closing = details.find("closing");
    if (closing == nullptr) return;
    const auto row = named_(id_of(*closing));
    if (!row || row->kind != Kind::job_close) return;
    const Value closed = details_of(*row);
    const Value* set = closed.find("rechecks");
    const std::int64_t count =
        set != nullptr ? static_cast<std::int64_t>(set->as_array().size()) : 0;
    if (details.num("recheck") > count)
      add("recheck", "is " + std::to_string(details.num("recheck")) + " of " +
                         std::to_string(count) + " that were set");
  }

  static bool can_be_corrected(Kind kind) {
    return kind != Kind::opening && kind != Kind::erasure && kind != Kind::peer;
  }

  void correction(const Value& details) {
    if (const Value* also = details.find("also")) {
      for (const Value& ref : also->as_array()) {
        const auto row = named_(id_of(ref));
        if (row && !can_be_corrected(row->kind))
          add("also", "names entry " + std::to_string(row->id.number()) + ": an " +
                          std::string(log::name_of(row->kind)) + " cannot be withdrawn");
      }
    }
    const auto target = named_(id_of(details.at("target")));
    if (!target) return;
    if (!can_be_corrected(target->kind))
      return add("target", "names an " + std::string(log::name_of(target->kind)) +
                               ", which cannot be corrected");
    main_text_of(target->kind);
    // Its day says nothing: what a clock dated that was ahead is put right before the day it bears.
    if (details.str("action") != "replace") return;
    if (target->kind == Kind::correction)
      return add("target", "names a correction, which is withdrawn, not replaced");
    replacement(*target, details.at("details"));
  }

  // What replaces an entry's details stands at that entry's day, with its private texts beside it.
  void replacement(const Row& target, const Value& details) {
    log::Header header = header_;
    header.row.kind = target.kind;
    header.row.moment = target.moment;
    Reading inner(header);
    inner.of_correction = true;
    const Path path{nullptr, "details", 0};
    Fields f(details, path, inner);
    if (f) {
      read_details(target.kind, f);
      f.end();
    }
    bool fits = true;
    for (Unfit& u : inner.take()) {
      fits = false;
      add(u.field, std::move(u.what), u.sort);
    }
    if (fits) of_kind(target.kind, details);
  }

  void main_text_of(Kind target) {
    const Value* texts = body_.find("private");
    if (texts == nullptr) return;
    for (const auto& [field, digest] : texts->as_object()) {
      if (field != "why" && field != main_field(target))
        add("private", "has \"" + field + "\", which is not what a correction of kind " +
                           std::string(log::name_of(target)) + " puts right");
    }
  }

  void settle(const Value& details) {
    if (details.str("action") == "keep") return choice(details);
    const auto keep = named_(id_of(details.at("keep")));
    const auto other = named_(id_of(details.at("other")));
    if (details.str("action") != "join" || !keep || !other) return;
    if (keep->kind != other->kind || !can_be_one(keep->kind))
      add("other", "is of kind " + std::string(log::name_of(other->kind)) +
                       ", which cannot be one with a " + std::string(log::name_of(keep->kind)));
  }

  void choice(const Value& details) {
    std::vector<std::pair<std::string_view, Value>> all{{"keep", details.at("keep")}};
    for (const Value& ref : details.list("over")) all.emplace_back("over", ref);
    for (const auto& [key, ref] : all) {
      const auto row = named_(id_of(ref));
      if (row && !can_be_corrected(row->kind))
        add(std::string(key), "names entry " + std::to_string(row->id.number()) + ": an " +
                                  std::string(log::name_of(row->kind)) + " is not chosen");
    }
  }

  void erasure(const Value& details) {
    for (const Value& item : details.list("list")) {
      const auto row = named_(id_of(item.at("entry")));
      if (!row) continue;
      const Value body = log::parse_body(row->body);
      const Value* texts = body.find("private");
      for (const Value& field : item.list("fields")) {
        if (texts == nullptr || !texts->has(field.as_string()))
          add("list", "names the text \"" + field.as_string() + "\" of entry " +
                          std::to_string(row->id.number()) + ", which never had it");
      }
    }
  }

  const Row& row_;
  const Value& body_;
  const NamedRow& named_;
  const log::Header header_;
  Reading reading_;
};

}  // namespace

std::vector<Unfit> unfit_named(const Row& row, const Value& body, const NamedRow& named) {
  return Named(row, body, named).found();
}

}  // namespace baybook::book
