#include "meeting.hpp"

#include "../context.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::render {

namespace {

bool waits(const Meeting::Does& d) {
  return d.what != "closes" && d.what != "chooses rules" && d.what != "determines" &&
         d.what != "writes on";
}

std::string heading(const Meeting::Does& d, bool accepted) {
  const bool one = d.count == 1;
  const std::string n = std::to_string(d.count);
  if (d.what == "closes") return "closes " + n + (one ? " month" : " months") + ", and that holds";
  if (d.what == "chooses rules")
    return "chooses rules " + (one ? std::string("once") : n + " times") + ", and that holds";
  if (d.what == "determines")
    return "says of " + n + (one ? " stream" : " streams") +
           " whether it is hazardous, and that holds";
  if (d.what == "writes on")
    return "writes " + n + (one ? " entry" : " entries") +
           " about what others entered, and that holds";
  const std::string thing = d.what == "erases" || d.what == "asks to erase"
                                ? (one ? " text" : " texts")
                            : d.what == "settles" ? (one ? " thing" : " things")
                                                  : (one ? " entry" : " entries");
  return d.what + " " + n + thing + " of others" +
         (accepted ? "" : ": without effect until accepted");
}

}  // namespace

std::string read_aloud(const std::string& digest) {
  std::string out;
  for (std::size_t n = 0; n < digest.size(); ++n) {
    if (n != 0 && n % 4 == 0) out += ' ';
    out += digest[n];
  }
  return out;
}

void meeting(Context& c, const Meeting& m, bool dry_run) {
  Out& out = c.out();
  const std::string tag = visible(m.tag);
  out.line();
  out.text(wrapped("", tag + " is new here: " + (m.site.empty() ? "" : visible(m.site) + ", ") +
                           std::to_string(m.entries) + (m.entries == 1 ? " entry" : " entries") +
                           " of " + to_string(m.from) + " to " + to_string(m.until)));
  out.text(wrapped("  entry 1  ", read_aloud(m.first)));
  if (!m.goes_on.empty()) out.text(wrapped("  ", visible(m.goes_on)));
  for (const Meeting::Does& d : m.does) {
    out.text(wrapped("  ", heading(d, m.accepted || !waits(d))));
    for (const std::string& s : d.said) out.text(wrapped("    ", visible(s)));
    if (d.count > static_cast<std::int64_t>(d.said.size()))
      out.line("    and " + std::to_string(d.count - static_cast<std::int64_t>(d.said.size())) +
               " more");
  }
  if (m.does.empty()) out.line("  it changes nothing that others wrote");
  for (const std::string& s : m.kept_from_it) out.text(wrapped("  a rule holds: ", visible(s)));
  if (m.accepted) {
    out.text(wrapped("  ", m.accepted_by.empty()
                               ? std::string("accepted")
                               : "accepted by " + visible(m.accepted_by) + ", and so here"));
    return;
  }
  out.text(wrapped("  ",
                   "Is it who it says? Ask by telephone for the digest of its entry 1, which "
                   "baybook exchange list prints there."));
  if (dry_run) return;
  out.text(to_be_typed("  type: ", "baybook exchange accept " + tag +
                                       " --dry-run  # shows what would take effect; when the "
                                       "digest agrees, the same without --dry-run"));
  out.text(to_be_typed(
      "    or: ", "baybook exchange forget " + tag + " --dry-run  # when it does not agree"));
}

void meeting_members(Json& j, const Meeting& m) {
  j.member("tag", m.tag);
  j.member("site", m.site);
  j.key("entries").number(m.entries);
  j.member("from", to_string(m.from));
  j.member("until", to_string(m.until));
  j.member("first", m.first);
  j.member("goes_on", m.goes_on);
  j.key("accepted").boolean(m.accepted);
  j.member("accepted_by", m.accepted_by);
  j.objects("does", m.does, [&](const Meeting::Does& d) {
    j.member("what", d.what);
    j.key("count").number(d.count);
    j.strings("said", d.said);
  });
  j.strings("kept_from_it", m.kept_from_it);
}

}  // namespace baybook::tool::render
