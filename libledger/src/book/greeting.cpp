#include "book/greeting.hpp"

#include "book/meeting.hpp"
#include "book/peers.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

Greeting::Greeting(Book& book, const Stamp& stamp, const ExchangeOptions& options)
    : book_(book),
      in_(book.inside()),
      stamp_(stamp),
      accept_(options.accept.begin(), options.accept.end()),
      before_(in_.known) {
  stamp_.once.clear();
  stamp_.dry_run = false;  // the transaction is the caller's
}

std::string Greeting::accepted_by(std::int64_t origin) const {
  const Words words(in_.db);
  const std::int64_t own = in_.known.own().origin;
  for (const log::Installation& i : before_.all) {
    const bool counts = i.origin != own && words.counts(own, i.origin) != Words::Last::closed;
    if (counts && words.last(i.origin, origin) == Words::Last::open) return i.tag;
  }
  return "";
}

std::optional<Refusal> Greeting::meet_one(const Stranger& stranger, Day today, ExchangeIn& out) {
  const std::int64_t origin = stranger.installation.origin;
  const EntryId first{origin << 40 | 1};
  Meeting m = meeting(in_, stranger.installation);
  for (const HeldByRule& h : held_by_rules(in_, origin, today)) {
    m.kept_from_it.push_back("entry " + entry_name(in_, h.erasure) + ": " + h.text);
  }
  m.accepted_by = accepted_by(origin);
  const Words::Last said = Words(in_.db).counts(in_.known.own().origin, origin);
  const bool accepts = accept_.erase(stranger.installation.tag) > 0;
  m.accepted = accepts || said == Words::Last::open ||
               (said == Words::Last::none && !m.accepted_by.empty());
  std::optional<Refusal> refused;
  if (accepts && said != Words::Last::open) {
    refused = say({PeerWord::What::accept, first, {}});
  } else if (!m.accepted && said == Words::Last::none) {
    refused = say({PeerWord::What::met, first, stranger.in_file});
  }
  out.met.push_back(std::move(m));
  return refused;
}

std::optional<Refusal> Greeting::meet(const std::vector<Stranger>& strangers, ExchangeIn& out) {
  if (strangers.empty()) return std::nullopt;
  auto local = local_now(in_, stamp_.now);
  if (!local.ok()) return std::move(local).refusal();
  for (const Stranger& s : strangers) {
    if (auto refused = meet_one(s, local->day, out)) return refused;
  }
  return std::nullopt;
}

std::optional<Refusal> Greeting::accept_known() {
  for (const std::string& tag : accept_) {
    const auto known = std::find_if(before_.all.begin(), before_.all.end(),
                                    [&](const log::Installation& i) { return i.tag == tag; });
    if (known == before_.all.end()) {
      return Refusal{
          Code::not_found,
          "there is no installation " + visible(tag) + " to accept, in the file or in this book",
          "its tag is the one it has here",
          "baybook exchange list  # or the same with --dry-run and without --accept",
          {}};
    }
    const std::int64_t own = in_.known.own().origin;
    if (Words(in_.db).last(own, known->origin) == Words::Last::open) continue;
    if (auto refused = say({PeerWord::What::accept, EntryId{known->origin << 40 | 1}, {}})) {
      return refused;
    }
  }
  return std::nullopt;
}

std::optional<Refusal> Greeting::say(const PeerWord& word) {
  struct Within {  // the caller's transaction
    Book::Inside& in;
    explicit Within(Book::Inside& i) : in(i) { in.in_batch = in.tells_of_peers = true; }
    Within(const Within&) = delete;
    Within& operator=(const Within&) = delete;
    ~Within() { in.in_batch = in.tells_of_peers = false; }
  };
  const Within within(in_);
  auto r = book_.append(word, stamp_);
  if (!r.ok()) return std::move(r).refusal();
  written_ = r->entry.id;
  return std::nullopt;
}

}  // namespace baybook::book
