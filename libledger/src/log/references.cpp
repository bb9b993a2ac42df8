#include "log/references.hpp"

#include <algorithm>

namespace baybook::log {

namespace {

// Every key that holds a reference, in whatever kind of entry (docs/format.md, Kinds and their details).
struct Key {
  std::string_view name;
  std::vector<Kind> kinds;
  bool settles = false;  ///< names something that can be settled to be another
  bool list = false;
};

const std::vector<Key>& keys() {
  static const std::vector<Key> all = {
      {"car", {Kind::car}, true},
      {"place", {Kind::place}, true},
      {"from", {Kind::place}, true},
      {"to", {Kind::place}, true},
      {"fluid", {Kind::fluid}, true},
      {"carrier-firm", {Kind::firm}, true},
      {"receiver-firm", {Kind::firm}, true},
      {"job", {Kind::job}},
      {"closing", {Kind::job_close}},
      {"pickup", {Kind::movement}},
      {"deadline", {Kind::deadline}},
      {"fit", {Kind::fit}},
      {"about", {}},
      {"entry", {}},
      {"target", {}},
      {"also", {}, false, true},
      {"keep", {}},
      {"other", {}},
      {"over", {}, false, true},
  };
  return all;
}

const Key* key_of(std::string_view name) {
  const auto& all = keys();
  const auto it = std::find_if(all.begin(), all.end(), [&](const Key& k) { return k.name == name; });
  return it == all.end() ? nullptr : &*it;
}

// The name of a class of fluids or of an end of the world may stand where a reference could, and "from" is also the day from which
// rules hold. None of them has a colon; whether it is a name at all is for the fold to say.
bool is_word(const Key& key, const Value& v) {
  return (key.name == "fluid" || key.name == "place" || key.name == "from" || key.name == "to") && v.is_string() && v.as_string().find(':') == std::string::npos;
}

void collect(const Value& v, std::int64_t origin, std::vector<Reference>& out) {
  if (v.is_array()) {
    for (const Value& item : v.as_array()) collect(item, origin, out);
    return;
  }
  if (!v.is_object()) return;
  for (const auto& [name, member] : v.as_object()) {
    const Key* key = key_of(name);
    if (key == nullptr || member.is_object()) {
      collect(member, origin, out);
    } else if (key->list) {
      for (const Value& item : member.as_array()) out.push_back({key->name, EntryId{read_ref(item, origin)}, key->kinds});
    } else if (!is_word(*key, member)) {
      out.push_back({key->name, EntryId{read_ref(member, origin)}, key->kinds});
    }
  }
}

void rewrite(store::Db& db, Value& v, std::int64_t origin) {
  if (v.is_array()) {
    for (Value& item : v.as_array()) rewrite(db, item, origin);
    return;
  }
  if (!v.is_object()) return;
  std::vector<std::string> names;
  for (const auto& [name, member] : v.as_object()) names.push_back(name);
  for (const std::string& name : names) {
    Value& member = v[name];
    const Key* key = key_of(name);
    if (key == nullptr || member.is_object()) {
      rewrite(db, member, origin);
    } else if (key->settles && !is_word(*key, member)) {
      const std::int64_t id = read_ref(member, origin);
      const EntryId now{goes_by(db, id)};
      if (now.n == id) continue;
      if (now.origin() == origin) {
        member = now.number();
      } else {
        auto q = db.query("SELECT identity FROM installation WHERE origin = ?");
        q.bind(now.origin());
        if (!q.step()) throw Malformed("a settlement names an installation that is not here");
        member = q.text(0) + ":" + std::to_string(now.number());
      }
    }
  }
}

}  // namespace

std::vector<Reference> references_in(const Value& details, std::int64_t origin) {
  std::vector<Reference> out;
  collect(details, origin, out);
  return out;
}

bool names_an_entry(std::string_view key) { return key_of(key) != nullptr; }

const std::vector<Kind>& kinds_of(std::string_view key) {
  static const std::vector<Kind> any;
  static const std::vector<Kind> person{Kind::person};
  if (key == "by") return person;
  const Key* known = key_of(key);
  return known != nullptr ? known->kinds : any;
}

std::int64_t continued_origin(store::Db& db, std::int64_t origin) {
  const auto row = read_row(db, EntryId{origin << 40 | 1});
  if (!row) return 0;
  const Value body = parse_body(row->body);
  const Value* details = body.find("details");
  const Value* before = details ? details->find("continues") : nullptr;
  const Value* last = before ? before->find("last") : nullptr;
  return last ? EntryId{read_ref(*last, origin)}.origin() : 0;
}

Value without_references(const Value& v) {
  if (v.is_array()) {
    std::vector<Value> items;
    for (const Value& item : v.as_array()) items.push_back(without_references(item));
    return Value(std::move(items));
  }
  if (!v.is_object()) return v;
  Value out;
  for (const auto& [name, member] : v.as_object()) {
    const Key* key = key_of(name);
    const bool names = key != nullptr && !member.is_object() && !is_word(*key, member);
    out[name] = names ? Value("") : without_references(member);
  }
  return out;
}

std::int64_t goes_by(store::Db& db, std::int64_t id) {
  const auto& settled = db.settled();
  if (settled.empty()) return id;
  const auto it = settled.find(id);
  return it == settled.end() ? id : it->second;
}

std::vector<std::int64_t> all_that_are(store::Db& db, std::int64_t id) {
  std::vector<std::int64_t> out{goes_by(db, id)};
  for (const auto& [other, by] : db.settled()) {
    if (by == out.front()) out.push_back(other);
  }
  return out;
}

void go_by_settlements(store::Db& db, Fact& fact) {
  if (db.settled().empty()) return;
  fact.who = goes_by(db, fact.who);
  rewrite(db, fact.details, fact.origin());
}

}  // namespace baybook::log
