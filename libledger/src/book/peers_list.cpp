// The installations of a book, and what a word about one would bring into effect.
#include "book/peers.hpp"

#include <baybook/peers.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <tuple>

namespace baybook {

using book::guarded;
using log::Value;

namespace {

std::string site_of(store::Db& db, std::int64_t origin) {
  const auto row = log::read_row(db, EntryId{origin << 40 | 1});
  if (!row) return "";
  const Value body = log::parse_body(row->body);
  const Value* details = body.find("details");
  return details != nullptr && details->has("site") ? std::string(details->str("site"))
                                                    : std::string();
}

// Its number, and when it was recorded.
std::pair<std::int64_t, Instant> last_entry(store::Db& db, std::int64_t origin) {
  auto q =
      db.query("SELECT id, recorded FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
  q.bind(origin << 40).bind((origin + 1) << 40);
  if (!q.step()) return {};
  return {EntryId{q.num(0)}.number(), Instant{q.num(1)}};
}

}  // namespace

std::string_view name_of(Peer::State state) noexcept {
  switch (state) {
    case Peer::State::own: return "own";
    case Peer::State::before: return "before";
    case Peer::State::accepted: return "accepted";
    case Peer::State::met: return "met";
    case Peer::State::known: break;
  }
  return "known";
}

Result<std::vector<Peer>> peers(const Book& b) {
  return guarded<std::vector<Peer>>([&]() -> Result<std::vector<Peer>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    const book::Words words(in.db);
    const std::int64_t own = in.known.own().origin;
    const std::vector<std::int64_t> before = book::Words::predecessors(in.db, own);
    const std::vector<book::Held> held = book::held_entries(in);
    std::vector<Peer> out;
    for (const log::Installation& i : in.known.all) {
      Peer p;
      p.tag = i.tag;
      p.identity = i.identity;
      p.site = site_of(in.db, i.origin);
      std::tie(p.entries, p.newest) = last_entry(in.db, i.origin);
      p.first = book::digest_of(in.db, EntryId{i.origin << 40 | 1});
      const auto said = words.counts(own, i.origin);
      p.state = i.own                               ? Peer::State::own
                : said == book::Words::Last::open   ? Peer::State::accepted
                : said == book::Words::Last::closed ? Peer::State::met
                                                    : Peer::State::known;
      if (p.state == Peer::State::known &&
          std::find(before.begin(), before.end(), i.origin) != before.end())
        p.state = Peer::State::before;
      if (const EntryId word = words.said_in(own, i.origin); word.n != 0)
        p.word = book::ref_of(in, word);
      p.waiting = std::count_if(held.begin(), held.end(),
                                [&](const book::Held& h) { return h.entry.origin() == i.origin; });
      out.push_back(std::move(p));
    }
    std::sort(out.begin(), out.end(), [](const Peer& x, const Peer& y) {
      return std::tuple(x.state != Peer::State::own, x.tag) <
             std::tuple(y.state != Peer::State::own, y.tag);
    });
    return out;
  });
}

Result<EntryId> find_installation(const Book& b, std::string_view tag) {
  return guarded<EntryId>([&]() -> Result<EntryId> {
    std::string all;
    for (const log::Installation& i : b.inside().known.all) {
      if (i.tag == tag) return EntryId{i.origin << 40 | 1};
      if (!i.own) all += (all.empty() ? "" : ", ") + i.tag;
    }
    return Refusal{Code::not_found,
                   "there is no installation " + visible(tag) + " in this book",
                   all.empty() ? "no other book was brought in" : "there are: " + all,
                   "baybook exchange list",
                   {}};
  });
}

Result<WordPlan> plan_word(const Book& b, const PeerWord& word, Instant now) {
  return guarded<WordPlan>([&]() -> Result<WordPlan> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    WordPlan out;
    const std::int64_t origin = word.entry.origin();
    out.tag = in.known.tag_of(origin);
    out.site = site_of(in.db, origin);
    out.first = book::digest_of(in.db, EntryId{origin << 40 | 1});
    auto local = book::local_now(in, now);
    if (!local.ok()) return std::move(local).refusal();
    const bool accepts = word.what == PeerWord::What::accept;
    const std::vector<book::HeldByRule> rules =
        accepts ? book::held_by_rules(in, origin, local->day) : std::vector<book::HeldByRule>();
    for (const book::Held& h : book::held_entries(in, origin, accepts ? EntryId{} : word.entry)) {
      if (!h.ours) continue;
      out.entries.push_back(book::ref_of(in, h.entry));
      const auto rule = std::find_if(rules.begin(), rules.end(), [&](const book::HeldByRule& r) {
        return r.erasure == h.entry;
      });
      if (rule != rules.end()) {
        out.said.push_back(h.text + ": stays without effect, " + rule->text);
        continue;
      }
      out.said.push_back(h.text);
      if (!h.text.starts_with("asks")) out.texts += h.texts;
    }
    return out;
  });
}

}  // namespace baybook
