#include "book/unfit_prove.hpp"

#include "book/prove.hpp"

#include <algorithm>
#include <set>

namespace baybook::book {

using log::Kind;

namespace {

constexpr std::size_t kMostTold = 20;
/// Of one entry, in its sentence.
constexpr std::size_t kMostSentences = 3;

bool in_details(const Unfit& u) { return u.field == "details" || u.field.starts_with("details/"); }

// The correction that holds for an entry, as the tables have it.
struct Amended {
  EntryId by;
  bool withdrawn = false;
};
std::optional<Amended> amended(store::Db& db, EntryId id) {
  auto q = db.query("SELECT entry, withdrawn FROM amended WHERE target = ?");
  q.bind(id.n);
  if (!q.step()) return std::nullopt;
  return Amended{EntryId{q.num(0)}, q.num(1) != 0};
}

// Whether the details that a correction brings are those that hold.
bool replaces(store::Db& db, EntryId correction) {
  auto q = db.query("SELECT 1 FROM amended WHERE entry = ? AND withdrawn = 0 LIMIT 1");
  q.bind(correction.n);
  return q.step();
}

bool commits_to(store::Db& db, EntryId entry, std::string_view field) {
  const log::Value body = log::parse_body(log::row_of(db, entry).body);
  const log::Value* texts = body.find("private");
  return texts != nullptr && texts->has(field);
}

// The options of `correct` that put one thing right, "" when none does.
std::string option_for(Kind kind, const std::string& field) {
  if (field == "private/" + std::string(main_field(kind)) && main_field(kind) != "why")
    return " --text \"...\"";
  if (!field.starts_with("details/")) return "";
  const std::string at = field.substr(std::string_view("details/").size());
  const bool coded = kind == Kind::code || kind == Kind::place || kind == Kind::fluid ||
                     kind == Kind::firm || kind == Kind::deadline;
  if (at == "code" && coded) return " --code CODE";
  if (kind == Kind::fit && at == "part") return " --part NUMBER";
  if (kind == Kind::fit && at == "lot") return " --lot LOT";
  if (kind == Kind::fit && at.starts_with("quantity")) return " --amount AMOUNT";
  if (kind == Kind::movement && at == "document") return " --doc NUMBER";
  if (kind == Kind::torque && at.starts_with("torque-")) return " --torque TORQUE";
  const bool reading = kind == Kind::job || kind == Kind::odometer || kind == Kind::task_done;
  if (reading && (at.starts_with("odometer-") || at == "reset" || at == "rolled-over"))
    return " --odo READING";
  if (kind == Kind::gauge && (at.starts_with("level") || at.starts_with("gross") ||
                              at.starts_with("tare") || at.starts_with("density")))
    return " --amount AMOUNT";
  if (kind != Kind::movement || !at.starts_with("lines/")) return "";
  const std::size_t slash = at.find('/', 6);
  if (slash == std::string::npos) return "";
  const std::string line = at.substr(6, slash - 6);
  const std::string what = at.substr(slash + 1);
  const std::string which = line == "1" ? "" : " --line " + line;
  if (what.starts_with("amount")) return " --amount AMOUNT" + which;
  if (what == "from" || what.starts_with("from/")) return " --from PLACE" + which;
  if (what == "to" || what.starts_with("to/")) return " --into PLACE" + which;
  return "";
}

// One correction says only one line of a movement, so options of two lines do not go together.
std::string replacement(const UnfitEntry& e) {
  std::set<std::string> options;
  for (const Unfit& u : e.found) {
    std::string option = option_for(e.kind, u.field);
    if (option.empty()) return "";
    options.insert(std::move(option));
  }
  const auto of_a_line = std::count_if(options.begin(), options.end(), [](const std::string& o) {
    return o.find("--amount") != std::string::npos || o.find("--from") != std::string::npos ||
           o.find("--into") != std::string::npos;
  });
  if (of_a_line > 1) return "";
  std::string all;
  for (const std::string& o : options) all += o;
  return all;
}

// Why nothing is to be typed, where nothing can be.
std::string_view no_way_out(Kind kind) {
  if (kind == Kind::opening)
    return "; an opening cannot be corrected, and of another installation's nothing is used here";
  if (kind == Kind::erasure)
    return "; an erasure cannot be corrected, and what it could name is erased";
  if (kind == Kind::peer) return "; a word about another book cannot be corrected: the next one holds";
  return "";
}

// The command that puts it right, "" when none can; what it takes along is added to `what`.
std::string way_out(Book::Inside& in, const UnfitEntry& e, std::string& what) {
  // What a newer program wrote is right there, and is not taken back here.
  if (e.found.size() == 1 && e.found.front().sort == Unfit::Sort::newer && e.found.front().field == "version")
    return "a newer baybook";
  const std::string name = entry_name(in, e.id);
  const bool own = e.id.origin() == in.known.own().origin;
  if (e.kind == Kind::opening) return own ? "baybook backup --continue NEW.baybook --tag TAG" : "";
  if (e.kind == Kind::erasure || e.kind == Kind::peer) return "";
  const std::string correct = "baybook correct " + name;
  const std::string why = " --why \"...\"";
  if (e.kind == Kind::correction) return correct + " --withdraw" + why;
  if (const std::string options = replacement(e); !options.empty()) return correct + options + why;
  const auto standing = dependants(in.db, log::read_fact(in.db, e.id));
  if (e.kind == Kind::person)
    return correct + (standing.empty() ? " --withdraw" : " --text \"...\"") + why;
  // What stands on it by level shows only when it is tried.
  if (standing.empty() && !log::moves(e.kind)) return correct + " --withdraw" + why;
  if (standing.empty()) {
    what += "; with what no longer holds without it, which --dry-run lists";
    return correct + " --withdraw --with-dependants" + why;
  }
  what += "; with what stands on it, which --dry-run lists: " + std::to_string(standing.size()) +
          (standing.size() == 1 ? " entry" : " entries") + " and what names those";
  return correct + " --withdraw --with-dependants" + why;
}

}  // namespace

void leave_what_holds(store::Db& db, UnfitEntry& e) {
  const auto now = amended(db, e.id);
  if (now && now->withdrawn) {
    e.found.clear();
    return;
  }
  const bool idle = e.kind == Kind::correction && !replaces(db, e.id);
  constexpr std::string_view text = "private/";
  std::erase_if(e.found, [&](const Unfit& u) {
    if (now && in_details(u)) return true;
    if (now && u.field.starts_with(text))
      return commits_to(db, now->by, u.field.substr(text.size()));
    // Of a correction that does not hold, what it would say instead is no matter; what it withdraws
    // is.
    return idle && (u.field.starts_with("details/details") || u.field.starts_with(text));
  });
}

std::vector<Unfit> unfit_here(store::Db& db, const log::Row& row, const log::Header& header,
                              const log::Value& body) {
  std::vector<Unfit> out = unfit_in(header, body);
  const NamedRow named = [&db](EntryId id) -> std::optional<log::Row> {
    try {
      return log::read_row(db, id);
    } catch (const store::Failure&) {
      return std::nullopt;  // a row that cannot be read is told where it stands
    }
  };
  {
    auto q = db.query("SELECT field, value FROM private WHERE entry = ?");
    q.bind(row.id.n);
    while (q.step()) {
      const Kind kind = kind_of_text(row.kind, q.text(0), body, row.id.origin(), named);
      if (auto bad = unfit_text(kind, q.text(0), q.text(1))) out.push_back(std::move(*bad));
    }
  }
  if (out.empty()) out = unfit_named(row, body, named);
  return out;
}

namespace {

UnfitEntry judged(store::Db& db, EntryId id) {
  const log::Row row = log::row_of(db, id);
  const log::Value body = log::parse_body(row.body);
  return {id, row.kind, unfit_here(db, row, log::read_header(body), body)};
}

}  // namespace

std::set<EntryId> unfit_that_hold(store::Db& db) {
  std::vector<EntryId> corrected;
  {
    auto q = db.query("SELECT DISTINCT target FROM correction ORDER BY target");
    while (q.step()) corrected.push_back(EntryId{q.num(0)});
  }
  std::set<EntryId> out;
  for (const EntryId id : corrected) {
    UnfitEntry e = judged(db, id);
    leave_what_holds(db, e);
    if (!e.found.empty()) out.insert(id);
  }
  return out;
}

std::optional<Refusal> unfit_to_come_back(Book::Inside& in, EntryId entry) {
  const UnfitEntry e = judged(in.db, entry);
  if (e.found.empty()) return std::nullopt;
  return Refusal{Code::not_allowed,
                 "entry " + entry_name(in, entry) +
                     " would hold again, and it says what no entry can: " +
                     e.found.front().sentence(),
                 "no other book takes an entry that holds and says such a thing",
                 "leave it as it is, and write what was right as an entry of its own",
                 {}};
}

void tell_unfit(Book::Inside& in, std::vector<UnfitEntry> all, Proof& proof) {
  for (UnfitEntry& e : all) {
    leave_what_holds(in.db, e);
    if (e.found.empty()) continue;
    ++proof.unfit_found;
    const bool open = e.kind != Kind::opening && e.kind != Kind::erasure && e.kind != Kind::peer;
    if (open) ++proof.unfit_open;
    if (proof.unfit.size() >= kMostTold) continue;
    const EntryRef ref = ref_of(in, e.id);
    std::string what = "entry " + std::to_string(ref.number()) + "@" + ref.tag + ", " +
                       std::string(log::name_of(e.kind)) + ":";
    for (std::size_t i = 0; i < e.found.size() && i < kMostSentences; ++i)
      what += (i == 0 ? " " : "; ") + e.found[i].sentence();
    if (e.found.size() > kMostSentences)
      what += "; and " + std::to_string(e.found.size() - kMostSentences) + " more";
    std::string instead = way_out(in, e, what);
    if (instead.empty()) what += no_way_out(e.kind);
    proof.unfit.push_back({std::move(what), ref, std::move(instead)});
  }
}

}  // namespace baybook::book
