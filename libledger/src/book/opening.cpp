#include "book/opening.hpp"

#include "book/unfit.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"

#include <baybook/text.hpp>

namespace baybook::book {

using log::Value;

Result<std::string> clean_tag(std::string_view typed) {
  auto tag = clean_code(typed, "tag");
  if (!tag.ok()) return tag;
  if (tag->size() > log::most::kTag)
    return Refusal{Code::unclear,
                   "tag " + *tag + " is longer than 12",
                   "it is printed on every seal",
                   "--tag bay",
                   {}};
  if (*tag == "all") return Refusal{Code::unclear, "all is no tag", "the seal over every installation begins with it", "--tag bay", {}};
  return tag;
}

Settings read_settings(const Value& d) {
  Settings s;
  s.site = d.str("site");
  s.tag = d.str("tag");
  s.zone = d.str("zone");
  s.units = log::read_units(d.at("units"));
  if (d.has("date-order"))
    s.date_order =
        d.str("date-order") == "day-first" ? DateOrder::day_first : DateOrder::month_first;
  if (d.has("rules")) s.rules = d.str("rules");
  return s;
}

std::int64_t open_installation(Book::Inside& in, const Settings& settings, const LocalDay& local, Instant now, const std::optional<Continues>& continues) {
  store::Db& db = in.db;
  std::uint8_t identity[16];
  std::string hex;
  // One in 262,144 is taken by each installation of the book, and one in 250,000 is none.
  constexpr int most_tries = 50;
  bool taken = true;
  for (int n = 0; taken; ++n) {
    if (n == most_tries)
      no_chance("there is no randomness: " + std::to_string(most_tries) +
                " times in a row it gave an identity that is taken or none");
    in.random.fill(identity, sizeof identity);
    hex = log::hex_of({reinterpret_cast<const char*>(identity), sizeof identity});
    if (!log::is_identity(hex)) continue;
    auto q = db.query("SELECT 1 FROM installation WHERE origin = ?");
    q.bind(log::origin_of(hex));
    taken = q.step();
  }
  const std::int64_t origin = log::origin_of(hex);
  Value d;
  d["algorithm"] = "sha-256";
  d["site"] = settings.site;
  d["tag"] = settings.tag;
  d["units"] = log::write_units(settings.units);
  d["zone"] = settings.zone;
  if (settings.date_order != DateOrder::none) d["date-order"] = settings.date_order == DateOrder::day_first ? "day-first" : "month-first";
  if (!settings.rules.empty()) d["rules"] = settings.rules;
  if (continues) {
    Value c;
    c["digest"] = continues->digest;
    // The whole spelling: within the new installation a bare number would be one of its own. No reference that an exchange looks after: a
    // copy of a fork goes on from what the other book does not have.
    c["last"] = in.known.own().identity + ":" + std::to_string(continues->entry.number());
    d["continues"] = std::move(c);
  }
  Value body;
  body["details"] = std::move(d);
  body["format"] = log::kFormat;
  body["happened"] = to_string(local.day);
  body["installation"] = hex;
  body["kind"] = "opening";
  body["number"] = 1;
  body["recorded"] = to_string(now);
  body["time"] = to_string(time_of(local));
  body["version"] = 1;
  const std::string text = log::canonical(body);
  // The third writer of entries is held to the same limits (the others: append.cpp, bring.cpp).
  if (const auto unfit = unfit_in(log::read_header(body), body); !unfit.empty()) {
    throw store::Failure(
        Code::not_allowed, "no opening can say this: " + unfit.front().sentence(),
        "another " + unfit.front().field.substr(unfit.front().field.rfind('/') + 1));
  }
  const log::Digest digest = log::chain_digest(log::genesis, text);
  db.query("UPDATE installation SET own = 0").run();
  {
    auto q = db.query("INSERT INTO installation(origin, identity, tag, own) VALUES(?, ?, ?, 1)");
    q.bind(origin).bind(hex).bind(settings.tag).run();
  }
  {
    auto q = db.query("INSERT INTO entry(id, recorded, moment, kind, who, body, digest) VALUES(?, ?, ?, 1, 0, ?, ?)");
    q.bind(origin << 40 | 1).bind(now.ms).bind(log::moment_of(local.day, time_of(local))).bind(text).bind_blob(digest.data(), digest.size()).run();
  }
  return origin;
}

}  // namespace baybook::book
