#include "book/differing.hpp"

#include "book/first_rules.hpp"
#include "book/opening.hpp"

#include <baybook/exchange.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

namespace {

// What each has, those of one value together: "Europe/Lisbon (bay, pit), Europe/Madrid (office)";
// empty when all have the same.
template <class Of>
std::string differing(const std::vector<Opened>& all, Of of) {
  std::vector<std::pair<std::string, std::string>> values;
  for (const Opened& o : all) {
    const std::string value = of(o.settings);
    const auto has =
        std::find_if(values.begin(), values.end(), [&](const auto& v) { return v.first == value; });
    if (has == values.end())
      values.emplace_back(value, o.installation.tag);
    else
      has->second += ", " + o.installation.tag;
  }
  if (values.size() < 2) return {};
  std::string out;
  for (const auto& [value, tags] : values)
    out += (out.empty() ? "" : ", ") + visible(value) + " (" + visible(tags) + ")";
  return out;
}

std::string volume_of(const Settings& s) {
  return s.units.volume == VolumeUnit::litre       ? "litres"
         : s.units.volume == VolumeUnit::us_gallon ? "US gallons"
                                                   : "imperial gallons";
}

std::string units_of(const Settings& s) {
  return volume_of(s) +
         (s.units.distance == DistanceUnit::kilometre ? ", kilometres" : ", miles") +
         (s.units.torque == TorqueUnit::newton_metre ? ", newton metres" : ", pound-feet");
}

std::string gallon_of(const Settings& s) {
  return !s.units.gallon                               ? "refused as unclear"
         : *s.units.gallon == VolumeUnit::us_gallon ? "a US gallon"
                                                       : "an imperial gallon";
}

std::string order_of(const Settings& s) {
  return s.date_order == DateOrder::none        ? "refused as unclear"
         : s.date_order == DateOrder::day_first ? "day first"
                                                : "month first";
}

bool rules_were_set(Book::Inside& in) {
  auto q = in.db.query("SELECT 1 FROM ruling LIMIT 1");
  return q.step();
}

std::string first_rules_differ(Book::Inside& in, const std::vector<Opened>& all) {
  const std::string differ = differing(all, [](const Settings& s) {
    return s.rules.empty() ? std::string("none") : s.rules;
  });
  // Once somebody has said by which rules the shop goes, the first choice is of days before that.
  if (differ.empty() || rules_were_set(in)) return {};
  const std::string holds = first_rules(in).set;
  return "the rules chosen at start differ: " + differ + "; " + visible(holds) +
         (holds.empty() ? "" : " holds in every book, and a month that is closed keeps what it "
                               "was closed by: baybook rules set NAME --from DATE says "
                               "otherwise");
}

}  // namespace

std::vector<Opened> openings(Book::Inside& in) {
  std::vector<Opened> out;
  for (const log::Installation& i : in.known.all) {
    const auto row = log::read_row(in.db, EntryId{i.origin << 40 | 1});
    if (!row || row->kind != log::Kind::opening) continue;
    const log::Value body = log::parse_body(row->body);
    const log::Value& details = body.at("details");
    Opened o{i, read_settings(details), {row->moment, row->recorded, row->id}, 0};
    if (const log::Value* before = details.find("continues"); before && before->has("last"))
      o.continues = EntryId{log::read_ref(before->at("last"), i.origin)}.origin();
    out.push_back(std::move(o));
  }
  std::sort(out.begin(), out.end(), [](const Opened& a, const Opened& b) {
    return std::pair(!a.installation.own, a.installation.tag) <
           std::pair(!b.installation.own, b.installation.tag);
  });
  return out;
}

std::string site_of(store::Db& db, std::int64_t origin) {
  const auto row = log::read_row(db, EntryId{origin << 40 | 1});
  if (!row || row->kind != log::Kind::opening) return {};
  const log::Value body = log::parse_body(row->body);
  const log::Value& details = body.at("details");
  return details.has("site") ? std::string(details.str("site")) : std::string();
}

std::vector<std::string> differing_settings(Book::Inside& in, bool printed_only) {
  std::vector<std::string> out;
  if (in.known.all.size() < 2) return out;
  const std::vector<Opened> all = openings(in);
  const auto say = [&](const std::string& before, const std::string& differ,
                       const std::string& after) {
    if (!differ.empty()) out.push_back(before + differ + after);
  };
  say("the site is called ", differing(all, [](const Settings& s) { return s.site; }),
      "; a page has its own book's, a register and a label that of the book that added the place");
  say("the time zones differ: ", differing(all, [](const Settings& s) { return s.zone; }),
      "; which day is today, and the day of an entry without --on, is each book's own");
  say("the units differ: ", differing(all, units_of),
      "; the figures are the same, each book prints them in its own");
  say("", first_rules_differ(in, all), "");
  if (printed_only) return out;
  say("an estimate such as ~5L is taken for ", differing(all, [](const Settings& s) {
        return std::to_string(s.units.estimate_percent) + " % either side";
      }),
      "; an entry keeps what it was typed with");
  say("a bare gallon is ", differing(all, gallon_of), "");
  say("a date such as 3/4/2026 is read ", differing(all, order_of), "");
  return out;
}

}  // namespace baybook::book

namespace baybook {

Result<std::vector<std::string>> differing_settings(const Book& b, bool printed_only) {
  return book::guarded<std::vector<std::string>>([&]() -> Result<std::vector<std::string>> {
    store::Snapshot snapshot(b.inside().db);
    return book::differing_settings(b.inside(), printed_only);
  });
}

}  // namespace baybook
