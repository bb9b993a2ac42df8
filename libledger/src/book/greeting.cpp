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
      meet_(options.meet.begin(), options.meet.end()),
      ask_of_sites_(options.ask_of_sites && !options.dry_run),
      those_there_(options.accept_those_there),
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

namespace {

Refusal of_another_site(const std::vector<Meeting>& all, const std::string& ours) {
  std::string said;
  std::string options;
  std::vector<Figure> figures;
  for (const Meeting& m : all) {
    said += (said.empty() ? "" : " and ") + visible(m.tag) + " (" + visible(m.site) + ")";
    options += " --meet " + visible(m.tag);
    figures.push_back({"stranger", m.tag});
    figures.push_back({"site", m.site});
  }
  const bool one = all.size() == 1;
  return Refusal{Code::not_allowed,
                 said + (one ? " is" : " are") + " new here and of another site; this book is of " +
                     visible(ours),
                 "somebody has to say once that their entries belong in this book",
                 "the same with" + options +
                     ", which takes them in and accepts nothing that they do to ours; with "
                     "--dry-run it shows what they are",
                 std::move(figures)};
}

}  // namespace

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
  if (ask_of_sites_ && !m.accepted && m.site != in_.settings.site && !meet_.contains(m.tag))
    elsewhere_.push_back(m);
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
  if (!elsewhere_.empty()) return of_another_site(elsewhere_, in_.settings.site);
  return std::nullopt;
}

std::optional<Refusal> Greeting::accept_known() {
  for (const std::string& tag : accept_) {
    const auto known = std::find_if(before_.all.begin(), before_.all.end(),
                                    [&](const log::Installation& i) { return i.tag == tag; });
    if (known == before_.all.end() && those_there_) continue;
    if (known == before_.all.end()) {
      return Refusal{
          Code::not_found,
          "there is no installation " + visible(tag) + " to accept, in the file or in this book",
          "its tag is the one it has here",
          "baybook exchange list  # or the same with --dry-run and without --accept",
          {}};
    }
    // This book's own: it says that its own entries may come back, and is no word.
    if (known->own) continue;
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
