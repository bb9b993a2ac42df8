#include "book/meeting.hpp"

#include "book/choice.hpp"
#include "book/erase.hpp"
#include "book/first_rules.hpp"
#include "book/opening.hpp"
#include "book/peers.hpp"

#include "log/references.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <set>

namespace baybook::book {

using log::Kind;
using log::Value;

namespace {

// Gathers what one chain does to what it did not write.
class Deeds {
 public:
  Deeds(Book::Inside& in, std::int64_t stranger) : in_(in), stranger_(stranger) {}

  // What it chose when it was begun holds from the first day on, where nobody chose before it.
  void begins(const log::Row& row, const Settings& chose) {
    if (chose.rules.empty() || chose.rules == in_.settings.rules) return;
    if (first_rules(in_).set != chose.rules) return;
    add("chooses rules", "entry " + entry_name(in_, row.id) + " chose the rules " +
                             visible(chose.rules) + " when it was begun");
  }

  void look_at(const log::Row& row, const Value& details) {
    const std::string by = "entry " + entry_name(in_, row.id) + " ";
    switch (row.kind) {
      case Kind::correction: return corrects(row.id, by, details);
      case Kind::settle:
        return is_choice(details) ? chooses(row.id, by, details) : settles(by, details);
      case Kind::erasure: return erases(row.id, by, details);
      case Kind::close:
        return add("closes", by + "closes the month " + visible(details.str("month")));
      case Kind::rules:
        return add("chooses rules", by + "chooses the rules " + visible(details.str("set")) +
                                        " from " + visible(details.str("from")) +
                                        (details.has("file") ? ", with a file of its own" : ""));
      case Kind::determination: return determines(by, details);
      default: return writes_on(row.id, by, row.kind, details);
    }
  }

  std::vector<Meeting::Does> all() {
    std::vector<Meeting::Does> out;
    for (Meeting::Does& d : found_) {
      if (d.count > 0) out.push_back(std::move(d));
    }
    return out;
  }

 private:
  void add(std::string_view what, std::string said) {
    for (Meeting::Does& d : found_) {
      if (d.what != what) continue;
      ++d.count;
      if (d.said.size() < Meeting::kMostSaid) d.said.push_back(std::move(said));
    }
  }

  [[nodiscard]] bool foreign(EntryId e) const { return e.origin() != stranger_; }

  void corrects(EntryId id, const std::string& by, const Value& details) {
    bool withdraws = details.str("action") == "withdraw";
    for (const EntryId target : targets_of(details, id.origin())) {
      if (foreign(target))
        add(withdraws ? "withdraws" : "replaces",
            by + (withdraws ? "withdraws " : "replaces ") + told_entry(in_, target));
      withdraws = true;  // what stands on it as well goes, whatever becomes of the first
    }
  }

  void settles(const std::string& by, const Value& details) {
    const EntryId keep{log::read_ref(details.at("keep"), stranger_)};
    const EntryId other{log::read_ref(details.at("other"), stranger_)};
    if (!foreign(keep) && !foreign(other)) return;
    add("settles", by + "settles that " + told_entry(in_, other) + " and " + told_entry(in_, keep) +
                       (details.str("action") == "join" ? " are one" : " are two"));
  }

  void chooses(EntryId id, const std::string& by, const Value& details) {
    const EntryId keep{log::read_ref(details.at("keep"), id.origin())};
    for (const EntryId target : over_of(details, id.origin())) {
      if (foreign(target))
        add("withdraws",
            by + "withdraws " + told_entry(in_, target) + " and keeps " + told_entry(in_, keep));
    }
    if (foreign(keep)) add("settles", by + "settles that " + told_entry(in_, keep) + " holds");
  }

  void erases(EntryId id, const std::string& by, const Value& details) {
    const bool asked = details.has("asked");
    for (const PrivateText& t : named_by_erasure(details, id.origin())) {
      if (!foreign(t.entry)) continue;
      add(asked ? "asks to erase" : "erases", by + (asked ? "asks to erase \"" : "erases \"") +
                                                  visible(t.field) + "\" of " +
                                                  told_entry(in_, t.entry));
    }
  }

  void determines(const std::string& by, const Value& details) {
    const std::string stream(details.str("stream"));
    std::string over;
    {
      auto q = in_.db.query(
          "SELECT entry FROM determined WHERE stream = ? ORDER BY moment DESC, recorded DESC, "
          "entry DESC LIMIT 1");
      q.bind(stream);
      if (q.step()) over = ", over entry " + entry_name(in_, EntryId{q.num(0)});
    }
    add("determines", by + "says that " + visible(stream) +
                          (details.flag("hazardous") ? " is hazardous" : " is not hazardous") +
                          over);
  }

  void writes_on(EntryId id, const std::string& by, Kind kind, const Value& details) {
    if (kind == Kind::peer) return;
    std::set<EntryId> named;
    for (const log::Reference& r : log::references_in(details, id.origin())) {
      if (foreign(r.entry)) named.insert(r.entry);
    }
    if (!named.empty())
      add("writes on",
          by + "(" + std::string(log::name_of(kind)) + ") is about " +
              told_entry(in_, *named.begin()) +
              (named.size() > 1 ? " and " + std::to_string(named.size() - 1) + " more" : ""));
  }

  Book::Inside& in_;
  std::int64_t stranger_;
  std::vector<Meeting::Does> found_{
      {"withdraws", 0, {}},     {"replaces", 0, {}},   {"erases", 0, {}},
      {"asks to erase", 0, {}}, {"settles", 0, {}},    {"closes", 0, {}},
      {"chooses rules", 0, {}}, {"determines", 0, {}}, {"writes on", 0, {}}};
};

std::string going_on(Book::Inside& in, const Value& opening, std::int64_t stranger) {
  const Value* before = opening.find("continues");
  if (before == nullptr || !before->has("last")) return "";
  const EntryId last{log::read_ref(before->at("last"), stranger)};
  const std::string_view tag = in.known.tag_of(last.origin());
  const std::string here = digest_of(in.db, last);
  const bool own = last.origin() == in.known.own().origin;
  const std::string of = tag == "?" ? "an installation that is not here"
                                    : "entry " + std::to_string(last.number()) + "@" +
                                          std::string(tag) + (own ? ", of this book" : "");
  std::string out = "it says that it goes on from " + of;
  if (tag == "?") return out;
  if (here.empty()) return out + ", which is not here";
  return out + ": the digest of that entry " +
         (before->has("digest") && before->str("digest") == here
              ? "agrees, as it does for everybody who had a copy"
              : "does not agree");
}

}  // namespace

Meeting meeting(Book::Inside& in, const log::Installation& stranger) {
  Meeting out;
  out.tag = stranger.tag;
  Deeds deeds(in, stranger.origin);
  std::vector<EntryId> all;
  {
    auto q = in.db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id");
    q.bind(stranger.origin << 40).bind((stranger.origin + 1) << 40);
    while (q.step()) all.push_back(EntryId{q.num(0)});
  }
  for (const EntryId id : all) {
    const log::Row row = log::row_of(in.db, id);
    const Value body = log::parse_body(row.body);
    const Value& details = body.at("details");
    const Day day = log::day_of_moment(row.moment);
    if (out.entries++ == 0) {
      out.from = out.until = day;
      out.first = log::hex_of(row.digest);
      if (details.has("site")) out.site = details.str("site");
      deeds.begins(row, read_settings(details));
      out.goes_on = going_on(in, details, stranger.origin);
      continue;
    }
    out.from = std::min(out.from, day);
    out.until = std::max(out.until, day);
    deeds.look_at(row, details);
  }
  out.does = deeds.all();
  return out;
}

}  // namespace baybook::book
