// Beginning and opening a book.
#include "book/clock.hpp"
#include "book/draft_said.hpp"
#include "book/in_the_way.hpp"
#include "book/mark.hpp"
#include "book/opening.hpp"
#include "book/prove_beside.hpp"

#include "fluids/told_apart.hpp"
#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "service/build.hpp"

#include <baybook/rules.hpp>
#include <baybook/text.hpp>

#include <charconv>

namespace baybook {

using log::Kind;
using log::Value;

namespace book {

void load(Book::Inside& in) {
  in.known = log::installations(in.db);
  const auto row = log::read_row(in.db, EntryId{in.known.own().origin << 40 | 1});
  if (!row) throw store::Failure(Code::unsound, in.db.path() + ": the first entry is missing", "a backup of the book");
  const Value body = log::parse_body(row->body);
  const Value* d = body.find("details");
  if (d == nullptr) throw log::Malformed("the opening has no details");
  in.settings = read_settings(*d);
  if (auto tag = clean_tag(in.settings.tag); !tag.ok() || *tag != in.settings.tag)
    throw log::Malformed("the opening has a tag that is none");
  auto q = in.db.query("SELECT name, value FROM beside WHERE name IN ('backup', 'zone-window')");
  while (q.step()) {
    if (q.text(0) == "backup") {
      in.backup = read_mark(q.blob(1));
    } else {
      // Kept so that a short command need not read the zone database.
      in.zone_window = read_zone_window(q.blob(1));
      in.zone_window_stored = in.zone_window.has_value();
    }
  }
}

std::optional<LocalDay> read_zone_window(const std::string& text) {
  LocalDay w{};
  const char* at = text.data();
  const char* end = at + text.size();
  auto r = std::from_chars(at, end, w.same_offset_from.ms);
  if (r.ec == std::errc() && r.ptr != end) r = std::from_chars(r.ptr + 1, end, w.same_offset_until.ms);
  if (r.ec == std::errc() && r.ptr != end) r = std::from_chars(r.ptr + 1, end, w.offset_seconds);
  // No zone is a day away from UTC.
  if (r.ec != std::errc() || r.ptr != end || w.offset_seconds <= -86400 || w.offset_seconds >= 86400) return std::nullopt;
  return w;
}

Result<LocalDay> local_now(Book::Inside& in, Instant now) {
  if (in.zone_window && in.zone_window->same_offset_from <= now && now < in.zone_window->same_offset_until) {
    LocalDay out = *in.zone_window;
    const std::int64_t local = now.ms / 1000 - (now.ms % 1000 < 0 ? 1 : 0) + out.offset_seconds;
    const std::int64_t day = local >= 0 ? local / 86400 : -((-local + 86399) / 86400);
    out.day = Day{static_cast<std::int32_t>(day)};
    out.minute = Minute{static_cast<std::int16_t>((local - day * 86400) / 60)};
    return out;
  }
  auto fresh = local_day(now, in.settings.zone);
  if (fresh.ok()) {
    in.zone_window = *fresh;
    in.zone_window_stored = false;
  }
  return fresh;
}

TimeOfDay time_of(const LocalDay& local) {
  // Offsets of the years before standard time have seconds; what counts here is the minute.
  return {local.minute, static_cast<std::int16_t>(local.offset_seconds / 60)};
}

}  // namespace book

Book::Book(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Book::Book(Book&&) noexcept = default;
Book& Book::operator=(Book&&) noexcept = default;
Book::~Book() = default;

const Settings& Book::settings() const { return inside_->settings; }
const std::string& Book::path() const { return inside_->db.path(); }
const std::optional<BackupMark>& Book::backup() const { return inside_->backup; }

Result<Day> Book::today(Instant now) const {
  return book::guarded<Day>([&]() -> Result<Day> {
    auto local = book::read_clock(*inside_, now);
    if (!local.ok()) return std::move(local).refusal();
    return local->day;
  });
}

Result<Book> Book::start(const std::string& path, const Settings& settings, Instant now, const Random& random, const Making& making) {
  return book::guarded<Book>([&]() -> Result<Book> {
    auto site = clean_text(settings.site, "site", log::most::kText);
    if (!site.ok()) return std::move(site).refusal();
    auto tag = book::clean_tag(settings.tag);
    if (!tag.ok()) return std::move(tag).refusal();
    auto local = local_day(now, settings.zone);
    if (!local.ok() && local.refusal().code == Code::unreadable) return std::move(local).refusal();
    if (!zone_exists(settings.zone))
      return Refusal{Code::not_found,
                     "there is no time zone named " + visible(settings.zone),
                     "names are those of the IANA database",
                     "--zone Europe/Lisbon",
                     {}};
    if (settings.units.estimate_percent < 1 ||
        settings.units.estimate_percent > log::most::kEstimatePercent)
      return Refusal{Code::not_allowed,
                     "an estimate of " + std::to_string(settings.units.estimate_percent) +
                         " % either side is no estimate",
                     "between 1 and 50",
                     "--estimate 10",
                     {}};
    if (auto no = book::refuse_settings(settings)) return std::move(*no);
    if (auto ok = book::clock_can_be(now); !ok.ok()) return std::move(ok).refusal();
    if (!local.ok()) return std::move(local).refusal();

    std::string rules;
    if (!settings.rules.empty()) {
      auto read = read_rules(settings.rules);
      if (!read.ok()) return std::move(read).refusal();
      rules = read->name;
    }

    if (auto no = book::taken_name(path, {})) return std::move(*no);
    // Before there is a file.
    book::Chance chance(random);
    std::uint8_t secret[32];
    chance.fill(secret, sizeof secret);
    auto in = std::make_unique<Inside>(path, store::Db::Mode::create, std::move(chance), making);
    Settings clean = settings;
    clean.site = *site;
    clean.tag = *tag;
    clean.rules = rules;
    book::open_installation(*in, clean, *local, now);
    for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
      auto q = in->db.query("INSERT INTO kind(number, name) VALUES(?, ?)");
      q.bind(k).bind(log::name_of(static_cast<Kind>(k))).run();
    }
    {
      auto q = in->db.query("INSERT INTO beside(name, value) VALUES('once-secret', ?)");
      q.bind_blob(secret, sizeof secret).run();
    }
    fluids::tell_apart(in->db);
    in->db.commit();
    book::load(*in);
    return Book(std::move(in));
  });
}

Result<Book> Book::open(const std::string& path, Access access, const Random& random) {
  return book::guarded<Book>([&]() -> Result<Book> {
    auto in = std::make_unique<Inside>(path, access == Access::read ? store::Db::Mode::read : store::Db::Mode::write, random);
    store::Snapshot snapshot(in->db);
    book::load(*in);
    if (access == Access::write && in->backup) return book::not_written_in(path, *in->backup);
    return Book(std::move(in));
  });
}

std::string Book::seal() const {
  const auto r = book::guarded<std::string>([&]() -> Result<std::string> {
    const std::int64_t origin = inside_->known.own().origin;
    auto q = inside_->db.query("SELECT id, digest FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1");
    q.bind((origin + 1) << 40);
    if (!q.step()) return std::string();
    log::Digest digest{};
    const std::string bytes = q.blob(1);
    std::copy_n(bytes.begin(), std::min(bytes.size(), digest.size()), digest.begin());
    return log::seal(inside_->settings.tag, EntryId{q.num(0)}.number(), digest);
  });
  return r.ok() ? *r : "?";
}

Result<Done> Book::rebuild() {
  return book::guarded<Done>([&]() -> Result<Done> {
    store::Transaction t(inside_->db);
    // First, since the tables are made by what stands there.
    book::mend_beside(*inside_);
    book::rebuild_all(*inside_);
    t.commit();
    return Done{};
  });
}

}  // namespace baybook
