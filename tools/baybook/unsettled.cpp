#include "unsettled.hpp"

#include "context.hpp"
#include "render/exchanged.hpp"
#include "render/text.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool {

Unsettled unsettled_of(Context& c, Month month) {
  Unsettled out;
  out.others = render::others(c);
  std::vector<Conflict> open = need(conflicts(c.book()));
  out.all = std::ssize(open);
  std::erase_if(open, [&](const Conflict& x) {
    return std::none_of(x.entries.begin(), x.entries.end(), [&](const EntryRef& r) {
      const auto e = if_there(entry(c.book(), r.id));
      return e && month_of(e->happened) == month;
    });
  });
  out.of_month = std::move(open);
  return out;
}

void say_unsettled(Context& c, const Unsettled& u, Month month) {
  if (u.all > 0) {
    const std::int64_t here = std::ssize(u.of_month);
    c.err().text(wrapped("check: ", render::count_of(u.all, "thing is", "things are") +
                                        " to be settled between the books, " +
                                        std::to_string(here) + " of " + to_string(month) +
                                        ": baybook settle list"));
    constexpr std::size_t kNamed = 5;
    for (std::size_t n = 0; n < u.of_month.size() && n < kNamed; ++n)
      c.err().text(wrapped("       - ", visible(u.of_month[n].text)));
  }
  if (c.quiet()) return;
  for (const Peer& p : u.others)
    c.out().text(wrapped("  what is here of ", visible(p.tag) + ": " + render::freshness(c, p)));
}

void unsettled_members(Json& j, Context& c, const Unsettled& u) {
  j.key("conflicts").number(u.all);
  j.objects("to_settle", u.of_month, [&](const Conflict& x) {
    j.member("what", name_of(x.what));
    j.member("text", x.text);
  });
  j.objects("installations", u.others, [&](const Peer& p) { render::fresh_members(j, c, p); });
}

}  // namespace baybook::tool
