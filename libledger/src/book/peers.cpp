#include "book/peers.hpp"

#include "book/bring.hpp"
#include "book/choice.hpp"
#include "book/erase.hpp"

#include "log/references.hpp"

#include <baybook/erase.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

using log::Built;
using log::Desk;
using log::Fact;
using log::Kind;
using log::refuse;
using log::Value;

namespace {

const log::Installation* installation(const Book::Inside& in, std::int64_t origin) {
  const auto it = std::find_if(in.known.all.begin(), in.known.all.end(),
                               [&](const log::Installation& i) { return i.origin == origin; });
  return it == in.known.all.end() ? nullptr : &*it;
}

std::vector<EntryId> ids(store::Query&& q) {
  std::vector<EntryId> out;
  while (q.step()) out.push_back(EntryId{q.num(0)});
  return out;
}

bool text_is_there(store::Db& db, const PrivateText& t) {
  auto q = db.query("SELECT 1 FROM private WHERE entry = ? AND field = ?");
  q.bind(t.entry.n).bind(t.field);
  return q.step();
}

// Of the texts that an erasure names, those of other installations' entries that are here.
std::vector<PrivateText> texts_of_others(Book::Inside& in, EntryId erasure) {
  const Value body = log::parse_body(log::row_of(in.db, erasure).body);
  std::vector<PrivateText> out = named_by_erasure(body.at("details"), erasure.origin());
  std::erase_if(out, [&](const PrivateText& t) {
    return t.entry.origin() == erasure.origin() || !text_is_there(in.db, t);
  });
  return out;
}

bool only_asked(Book::Inside& in, EntryId erasure) {
  return log::parse_body(log::row_of(in.db, erasure).body).at("details").has("asked");
}

std::string told_hold(std::size_t held, std::size_t all, const Holding& longest) {
  return std::to_string(held) + " of " + std::to_string(all) +
         (all == 1 ? " text is" : " texts are") + " held by a rule " + longest.until + ": " +
         longest.what + " (" + with_words(longest.section, longest.sure) + ")";
}

std::optional<std::string> rule_that_holds(Book::Inside& in, EntryId erasure, Day today) {
  if (only_asked(in, erasure)) return std::nullopt;
  std::vector<PrivateText> texts = texts_of_others(in, erasure);
  look_for_holds(in, texts, today);
  const auto held = longest(texts);
  if (!held) return std::nullopt;
  const auto n = static_cast<std::size_t>(std::count_if(
      texts.begin(), texts.end(), [](const PrivateText& t) { return t.held.has_value(); }));
  return told_hold(n, texts.size(), *held);
}

Result<Built> build_accept(Book::Inside& in, Desk& desk, const log::Installation& about,
                           Value details) {
  const Words words(in.db);
  const std::int64_t own = in.known.own().origin;
  if (words.last(own, about.origin) == Words::Last::open) {
    return refuse(Code::already_there,
                  about.tag + " is accepted already, by entry " +
                      entry_name(in, words.said_in(own, about.origin)),
                  "", "baybook exchange list");
  }
  Built out;
  out.kind = Kind::peer;
  auto local = local_now(in, Instant{desk.effect.recorded});
  if (!local.ok()) return std::move(local).refusal();
  std::vector<Value> but;
  for (const HeldByRule& h : held_by_rules(in, about.origin, local->day)) {
    but.emplace_back(h.erasure.number());
    out.warnings.push_back("entry " + entry_name(in, h.erasure) + " stays without effect, " +
                           h.text + "; when the rule lets it go: baybook exchange agree " +
                           entry_name(in, h.erasure) + " --dry-run");
  }
  if (!but.empty()) details["but"] = Value(std::move(but));
  out.details = std::move(details);
  return out;
}

Result<Built> build_agree(Book::Inside& in, Desk& desk, EntryId entry, Value details) {
  const std::string name = entry_name(in, entry);
  const Fact fact = log::read_fact(in.db, entry);
  const bool kind =
      fact.kind == Kind::correction || fact.kind == Kind::settle || fact.kind == Kind::erasure;
  if (!kind || entry.origin() == in.known.own().origin)
    return refuse(Code::not_allowed, "entry " + name + " needs no agreement",
                  "what another installation corrects, settles or erases of entries that are not "
                  "its own does",
                  "baybook due --for papers lists what waits");
  if (fact.withdrawn)
    return refuse(Code::not_allowed, "entry " + name + " was withdrawn",
                  "what does not hold needs no agreement", "baybook entry " + name);
  const std::vector<Held> held = held_entries(in, 0, entry);
  if (held.empty())
    return refuse(Code::already_there, "entry " + name + " is in effect already", "",
                  "baybook entry " + name);
  if (!held.front().ours)
    return refuse(Code::not_allowed, "entry " + name + " is about entries of another book",
                  "whose entries they are agrees to it", how_to_agree(in, held.front()));
  if (fact.kind == Kind::erasure) {
    auto local = local_now(in, Instant{desk.effect.recorded});
    if (!local.ok()) return std::move(local).refusal();
    if (const auto rule = rule_that_holds(in, entry, local->day))
      return refuse(Code::not_allowed, *rule,
                    "records are kept as long as the rules of their day ask",
                    "the same when the rule lets them go");
    if (!only_asked(in, entry)) in.db.must_overwrite_deleted();
  }
  Built out;
  out.kind = Kind::peer;
  details["digest"] = digest_of(in.db, entry);
  details["number"] = entry.number();
  out.details = std::move(details);
  return out;
}

// Texts of other entries that are gone, and of which nothing but the erasures from `from` to `last`
// says why: without a word about them they would look like damage.
std::vector<PrivateText> explained_by(Book::Inside& in, EntryId from, EntryId last) {
  std::vector<PrivateText> named;
  {
    auto q = in.db.query(
        "SELECT DISTINCT e.entry, e.field FROM erased e "
        "WHERE e.erasure BETWEEN ?1 AND ?2 AND e.entry NOT BETWEEN ?1 AND ?2 "
        "AND e.asked IN (0, 2, 4) AND NOT EXISTS "
        "(SELECT 1 FROM private p WHERE p.entry = e.entry AND p.field = e.field) AND NOT EXISTS "
        "(SELECT 1 FROM erased o WHERE o.entry = e.entry AND o.field = e.field "
        "AND o.asked IN (0, 2, 4) AND o.erasure NOT BETWEEN ?1 AND ?2) "
        "ORDER BY e.entry, e.field");
    q.bind(from.n).bind(last.n);
    while (q.step()) named.push_back({EntryId{q.num(0)}, q.text(1), {}});
  }
  // An erasure may name what an entry never had.
  std::erase_if(named, [&](const PrivateText& t) {
    const Value body = log::parse_body(log::row_of(in.db, t.entry).body);
    const Value* committed = body.find("private");
    return committed == nullptr || !committed->has(t.field);
  });
  return named;
}

Result<Built> build_forget(Book::Inside& in, Desk& desk, EntryId from, Value details) {
  std::int64_t end = 0;
  {
    auto q = in.db.query("SELECT max(id) FROM entry WHERE id < ?");
    q.bind((from.origin() + 1) << 40);
    end = q.step_num();
  }
  const EntryId last{end};
  details["digest"] = digest_of(in.db, last);
  details["last"] = last.number();
  details["number"] = from.number();
  details["what"] = "forget";
  std::vector<Value> list = list_of_texts(explained_by(in, from, last), desk.known);
  if (list.size() > log::most::kErased) {
    return refuse(Code::not_allowed,
                  "erasures among them took out texts of " + std::to_string(list.size()) +
                      " entries",
                  "at most " + std::to_string(log::most::kErased) + " entries stand in one word",
                  "--from with a later number");
  }
  if (!list.empty()) details["list"] = Value(std::move(list));
  Built out;
  out.kind = Kind::peer;
  out.details = std::move(details);
  return out;
}

}  // namespace

std::string digest_of(store::Db& db, EntryId entry) {
  auto q = db.query("SELECT digest FROM entry WHERE id = ?");
  q.bind(entry.n);
  return q.step() ? log::hex_of(q.blob(0)) : std::string();
}

Result<Built> build_word(Book::Inside& in, Desk& desk, const PeerWord& draft) {
  using What = PeerWord::What;
  const log::Installation* about = installation(in, draft.entry.origin());
  if (about == nullptr || !log::read_row(in.db, draft.entry))
    return refuse(Code::not_found, "there is no such entry of another installation",
                  "a word is about one that is here", "baybook exchange list");
  if (about->own && draft.what != What::agree)
    return refuse(Code::not_allowed, about->tag + " is this book itself",
                  "a word is about another installation", "baybook exchange list");
  const bool by_hand = draft.what == What::accept || draft.what == What::agree;
  if (!by_hand && !in.tells_of_peers)
    return refuse(Code::not_allowed, "that word is not written by itself", "it says what was done",
                  "exchange_in, or forget_installation");
  Value details;
  details["installation"] = about->identity;
  if (draft.what == What::agree) {
    details["what"] = "agree";
    return build_agree(in, desk, draft.entry, std::move(details));
  }
  Built out;
  out.kind = Kind::peer;
  if (draft.what == What::forget) {
    details["tag"] = about->tag;
    return build_forget(in, desk, draft.entry, std::move(details));
  }
  details["first"] = digest_of(in.db, EntryId{about->origin << 40 | 1});
  details["tag"] = draft.tag.empty() ? about->tag : draft.tag;
  details["what"] = draft.what == What::met ? "met" : "accept";
  if (draft.what == What::accept) return build_accept(in, desk, *about, std::move(details));
  out.details = std::move(details);
  return out;
}

std::string summary_of_word(Book::Inside& in, const Fact& fact) {
  // What a word says is what was written: nothing corrects it.
  const Value body = log::parse_body(log::row_of(in.db, fact.id()).body);
  const Value& d = body.at("details");
  const std::int64_t origin = log::origin_of(d.str("installation"));
  const log::Installation* known = installation(in, origin);
  const std::string tag = known != nullptr ? known->tag
                          : d.has("tag")   ? visible(d.str("tag"))
                                           : std::string(d.str("installation")).substr(0, 8);
  const std::string_view what = d.str("what");
  if (what == "met")
    return "met " + tag +
           ": what it corrects, settles or erases of entries that are not its own waits until it "
           "is accepted";
  if (what == "accept")
    return "accepted " + tag +
           (d.has("but") ? ", but for " + std::to_string(d.list("but").size()) +
                               " of its erasures, which a rule holds"
                         : "");
  if (what == "agree") return "agreed to entry " + std::to_string(d.num("number")) + "@" + tag;
  return "threw out entries " + std::to_string(d.num("number")) + " to " +
         std::to_string(d.num("last")) + " of " + tag;
}

void list_word(store::Db& db, const log::Row& row) {
  const Value body = log::parse_body(row.body);
  const Value& d = body.at("details");
  const std::string_view what = d.str("what");
  const std::int64_t origin = log::origin_of(d.str("installation"));
  const Joins joins = what == "met"      ? Joins::met
                      : what == "accept" ? Joins::accept
                      : what == "agree"  ? Joins::agree
                      : what == "forget" ? Joins::forget
                                         : Joins::apart;
  if (joins == Joins::apart)
    throw log::Malformed("a word about an installation that is not known to this program: " +
                         visible(what));
  const bool of_entry = joins == Joins::agree || joins == Joins::forget;
  const std::int64_t number = of_entry ? d.num("number") : 1;
  if (number < 1 || number >= std::int64_t{1} << 40)
    throw log::Malformed("a word about an entry that cannot be");
  if (!of_entry || joins == Joins::agree) (void)d.str(joins == Joins::agree ? "digest" : "first");
  auto q = db.query(
      "INSERT OR REPLACE INTO settlement(entry, moment, recorded, joins, keep, other) VALUES(?, ?, "
      "?, ?, ?, ?)");
  q.bind(row.id.n)
      .bind(row.moment)
      .bind(row.recorded)
      .bind(static_cast<std::int64_t>(joins))
      .bind(origin << 40 | 1)
      .bind(origin << 40 | number)
      .run();
  if (joins != Joins::forget || !d.has("list")) return;
  for (const PrivateText& t : named_by_erasure(d, row.id.origin())) {
    auto e = db.query(
        "INSERT OR REPLACE INTO erased(entry, field, erasure, asked) VALUES(?, ?, ?, ?)");
    e.bind(t.entry.n).bind(t.field).bind(row.id.n).bind(kOnlyExplains).run();
  }
}

void fold_word(Book::Inside& in, const Fact& fact) {
  list_word(in.db, log::row_of(in.db, fact.id()));
  // While a file comes in, its entries are in the log and not folded yet: fold_brought looks once,
  // at the end.
  if (!in.takes_in && effects_moved(in)) in.settlements_moved = true;
}

bool effects_moved(Book::Inside& in) {
  const Words words(in.db);
  if (!words.any()) return false;
  {
    auto q = in.db.query(
        "SELECT entry, target, withdrawn FROM correction WHERE (entry >> 40) <> (target >> 40)");
    while (q.step()) {
      const bool in_effect = q.num(2) < kHeld || q.num(2) == kStands;
      if (words.acts(EntryId{q.num(0)}, EntryId{q.num(1)}) != in_effect) return true;
    }
  }
  {
    auto q = in.db.query(
        "SELECT erasure, entry, asked FROM erased WHERE (erasure >> 40) <> (entry >> 40) "
        "AND asked < 4");
    while (q.step()) {
      if (words.acts(EntryId{q.num(0)}, EntryId{q.num(1)}, Reach::erasure) != (q.num(2) < kHeld))
        return true;
    }
  }
  auto q = in.db.query("SELECT entry, keep, other, joins FROM settlement WHERE joins < 4");
  while (q.step()) {
    const EntryId by{q.num(0)};
    if ((words.acts(by, EntryId{q.num(1)}) && words.acts(by, EntryId{q.num(2)})) !=
        (q.num(3) < kHeld))
      return true;
  }
  return false;
}

void fold_anew(Book::Inside& in) {
  rebuild_all(in);
  const std::vector<EntryId> erasures =
      ids(in.db.query("SELECT DISTINCT e.erasure FROM erased e JOIN private p ON p.entry = e.entry "
                      "AND p.field = e.field WHERE e.asked = 0 ORDER BY e.erasure"));
  for (const EntryId id : erasures) erase_texts(in, log::read_fact(in.db, id));
}

std::vector<HeldByRule> held_by_rules(Book::Inside& in, std::int64_t origin, Day today) {
  std::vector<HeldByRule> out;
  auto q = in.db.query("SELECT id FROM entry WHERE id > ?1 AND id < ?2 AND kind = 33 ORDER BY id");
  q.bind(origin << 40).bind((origin + 1) << 40);
  for (const EntryId erasure : ids(std::move(q))) {
    if (auto rule = rule_that_holds(in, erasure, today)) out.push_back({erasure, std::move(*rule)});
  }
  return out;
}

}  // namespace baybook::book
