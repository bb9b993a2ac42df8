#include "exchanged.hpp"

#include "../context.hpp"
#include "meeting.hpp"
#include "moment.hpp"
#include "receipt.hpp"
#include "text.hpp"

#include <baybook/returns.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool::render {

namespace {

std::string said_of(Context& c, Instant at) {
  return moment(at, c.book().settings().zone, c.today());
}

}  // namespace

std::string count_of(std::int64_t n, const char* one, const char* many) {
  return std::to_string(n) + " " + (n == 1 ? one : many);
}

std::string nothing_new(Context& c, const ExchangeIn& e) {
  const auto by = std::find_if(e.installations.begin(), e.installations.end(),
                               [&](const Exchanged& x) { return !e.by.empty() && x.tag == e.by; });
  if (by == e.installations.end()) return "nothing new: all that is in the file was here";
  const std::string file = "nothing new: this file of " + visible(by->tag);
  if (by->in_file >= by->last)
    return file + " goes to " + said_of(c, by->of) + ", and so does what is here of it";
  return file + " is of " + said_of(c, by->of) + ", what is here of it goes to " +
         said_of(c, by->newest);
}

void exchanged(Context& c, const ExchangeIn& e) {
  Out& out = c.out();
  if (e.papers_wanted > 0)
    out.text(wrapped("", count_of(e.papers_wanted, "paper lies", "papers lie") +
                             " beside the other book: copy the files of its folder of papers into " +
                             visible(papers_folder(c.book().path()))));
  for (const std::string& erased : e.erased_at_work)
    out.text(wrapped("check: ", visible(erased)));
  for (const Changed& x : e.changed) out.text(wrapped("check: ", visible(x.text)));
  for (const std::string& erased : e.erased_while_held)
    out.text(wrapped("check: ", visible(erased)));
  for (const std::string& moved : e.pickups_moved) out.text(wrapped("check: ", visible(moved)));
  if (e.texts_erased > 0)
    out.text(wrapped("", count_of(e.texts_erased, "text", "texts") + " of entries that were here " +
                             (e.dry_run ? "would be erased" : "are erased") + " by it"));
  for (const Meeting& m : e.met) meeting(c, m, e.dry_run);
}

void differing(Context& c) {
  for (const std::string& what : need(differing_settings(c.book())))
    c.out().text(wrapped("differs: ", visible(what)));
}

void to_be_settled(Context& c, std::int64_t conflicts, std::int64_t waiting) {
  Out& out = c.out();
  out.text(conflicts_line(conflicts));
  if (waiting > 0)
    out.text(wrapped("", count_of(waiting, "entry has", "entries have") +
                             " no effect until somebody agrees: baybook due --for papers"));
}

void exchanged_members(Json& j, Context& c, const ExchangeIn& e) {
  const std::string own = c.book().settings().tag;
  j.member("by", e.by);
  j.key("taken").number(e.taken);
  j.key("left").number(e.left);
  j.key("papers_wanted").number(e.papers_wanted);
  j.strings("pickups_moved", e.pickups_moved);
  j.strings("erased_while_held", e.erased_while_held);
  j.strings("erased_at_work", e.erased_at_work);
  closed_months_member(j, e.closed_months);
  j.strings("closed_told", e.closed_told);
  j.objects("changed", e.changed, [&](const Changed& x) {
    j.member("what", name_of(x.what));
    j.member("text", x.text);
    std::vector<std::string> refs;
    for (const EntryRef& r : x.entries) refs.push_back(ref_text(r, own));
    j.strings("entries", refs);
  });
  j.key("texts_erased").number(e.texts_erased);
  j.key("dry_run").boolean(e.dry_run);
  j.objects("met", e.met, [&](const Meeting& m) { meeting_members(j, m); });
  j.objects("installations", e.installations, [&](const Exchanged& x) {
    j.member("tag", x.tag);
    j.key("taken").number(x.taken);
    j.key("known").number(x.known);
    j.key("left").number(x.left);
    j.key("last").number(x.last);
    j.key("in_file").number(x.in_file);
    j.member("newest", to_string(x.newest));
    j.member("newest_in_file", to_string(x.of));
    j.key("fork").boolean(x.fork);
    j.member("why_left", x.why_left);
    j.strings("what_next", x.what_next);
  });
}

std::vector<Peer> others(Context& c) {
  std::vector<Peer> all = need(peers(c.book()));
  const Instant begun = need(entry(c.book(), need(c.book().find_entry("1")))).recorded;
  std::erase_if(all, [&](const Peer& p) {
    return p.state == Peer::State::own ||
           (p.state == Peer::State::before && p.newest <= begun);
  });
  return all;
}

std::string freshness(Context& c, const Peer& p) {
  const std::string newest = said_of(c, p.newest);
  const int days = days_since(p.newest, c.book().settings().zone, c.today());
  if (days < 2) return "newest " + newest;
  return "nothing for " + std::to_string(days) + " days, newest " + newest;
}

void fresh_members(Json& j, Context& c, const Peer& p) {
  j.member("tag", p.tag);
  j.member("newest", to_string(p.newest));
  j.key("days").number(
      std::max(0, days_since(p.newest, c.book().settings().zone, c.today())));
}

}  // namespace baybook::tool::render
