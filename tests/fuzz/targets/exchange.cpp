// Exchange files, as they stand; and entries of another installation that are well chained and say whatever they like, so that what
// lies behind the digests is reached as well.
#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "log/kinds.hpp"
#include "log/sha256.hpp"
#include "property.hpp"
#include "targets.hpp"

#include "book/inside.hpp"

#include <baybook/due.hpp>
#include <baybook/exchange.hpp>
#include <baybook/returns.hpp>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <unistd.h>

namespace baybook::fuzz {

namespace {

using log::Value;

constexpr const char* kOffice = "0123456789abcdef0123456789abcdef";

Random repeatable(std::uint64_t seed) {
  return [engine = std::mt19937_64(seed)](std::uint8_t* bytes, std::size_t size) mutable {
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<std::uint8_t>(engine() & 255);
    return true;
  };
}

// A small book that every input meets: two places, a product, a car with an open job and 5 L of its coolant in the pan.
class Bay {
 public:
  Bay() {
    std::string pattern = (std::filesystem::temp_directory_path() / "baybook-fuzz-XXXXXX").string();
    if (::mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no folder");
    folder_ = pattern;
    Settings s;
    s.site = "Saltmarsh Motor Works";
    s.tag = "bay";
    s.zone = "UTC";
    Instant now = *read_instant("2026-03-05T09:40:00.000Z");
    Book b = Book::start(folder_ + "/bay", s, now, repeatable(1)).value();
    const auto put = [&](const Draft& d) {
      now.ms += 1000;
      Stamp stamp;
      stamp.now = now;
      return b.append(d, stamp).value().entry.id;
    };
    NewPlace pan;
    pan.code = "pan-1";
    pan.role = Role::hold_catch;
    const PlaceId pan_id{put(pan).n};
    NewPlace drum;
    drum.code = "drum-1";
    drum.role = Role::waste;
    drum.takes = {"coolant"};
    drum.size = parse_amount("60L", Units{}).value();
    put(drum);
    NewFluid oat;
    oat.code = "oat-1";
    oat.of_class = "coolant";
    put(oat);
    NewCar car;
    car.plate = "MARSH-07";
    car.circuits = {{"coolant", parse_amount("6.8L", Units{}).value(), ""}};
    const CarId car_id{put(car).n};
    OpenJob job;
    job.car = car_id;
    const JobId job_id{put(job).n};
    Movement m;
    m.verb = MoveVerb::drain;
    m.job = job_id;
    MoveLine line;
    line.from = circuit_of(car_id, *find_circuit("coolant"));
    line.to = pan_id;
    line.amount = parse_amount("5L", Units{}).value();
    m.lines.push_back(line);
    put(m);
    identity_ = b.inside().known.own().identity;
    { const Book closed = std::move(b); }
  }
  Bay(const Bay&) = delete;
  Bay& operator=(const Bay&) = delete;
  ~Bay() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }

  /// A copy of its own for each input; what came in before must not matter.
  [[nodiscard]] Book fresh() const {
    const std::string copy = folder_ + "/copy";
    for (const char* suffix : {"", "-wal", "-shm"}) {
      std::error_code none;
      std::filesystem::remove(copy + suffix, none);
      if (std::filesystem::exists(folder_ + "/bay" + suffix)) std::filesystem::copy_file(folder_ + "/bay" + suffix, copy + suffix, none);
    }
    auto opened = Book::open(copy, Access::write, repeatable(2));
    hold(opened.ok(), "the book of the shop opens: " + (opened.ok() ? "" : opened.refusal().what));
    return std::move(opened).value();
  }
  [[nodiscard]] const std::string& identity() const { return identity_; }

 private:
  std::string folder_, identity_;
};

// One line of the input: "KIND details" in JSON, then for each private text "|field=text". BAY stands for the bay's identity.
class File {
 public:
  explicit File(const std::string& bay) : bay_(bay) {
    lines_ = "{\"baybook-exchange\":1}\n";
    Value i;
    i["after"] = 0;
    i["digest"] = log::hex(log::genesis);
    i["installation"] = kOffice;
    i["tag"] = "office";
    lines_ += log::canonical(i) + "\n";
    Value opening;
    opening["algorithm"] = "sha-256";
    opening["site"] = "Saltmarsh Motor Works";
    opening["tag"] = "office";
    opening["units"] = log::write_units(Units{});
    opening["zone"] = "UTC";
    entry("opening", opening, {});
  }
  void add(std::string_view line) {
    const std::size_t blank = line.find(' ');
    if (blank == std::string_view::npos) return;
    std::size_t bar = line.find('|', blank);
    std::string text(line.substr(blank + 1, bar == std::string_view::npos ? bar : bar - blank - 1));
    for (std::size_t at = 0; (at = text.find("BAY", at)) != std::string::npos; at += bay_.size()) text.replace(at, 3, bay_);
    const auto details = log::parse_json(text);
    if (!details.ok() || !details->is_object()) return;
    std::vector<std::pair<std::string, std::string>> texts;
    while (bar != std::string_view::npos && texts.size() < 8) {
      const std::size_t end = line.find('|', bar + 1);
      const std::string_view one = line.substr(bar + 1, end == std::string_view::npos ? end : end - bar - 1);
      const std::size_t is = one.find('=');
      if (is != std::string_view::npos && is > 0) texts.emplace_back(one.substr(0, is), one.substr(is + 1));
      bar = end;
    }
    entry(line.substr(0, blank), *details, texts);
  }
  [[nodiscard]] std::string whole() {
    Value end;
    end["entries"] = number_;
    end["sha256"] = log::hex(log::sha256(lines_));
    return lines_ + log::canonical(end) + "\n";
  }

 private:
  void entry(std::string_view kind, const Value& details, const std::vector<std::pair<std::string, std::string>>& texts) {
    Value body;
    body["details"] = details;
    body["format"] = 1;
    body["happened"] = "2026-03-0" + std::to_string(5 + number_ % 4);
    body["installation"] = kOffice;
    body["kind"] = kind;
    body["number"] = number_ + 1;
    body["recorded"] = "2026-03-09T10:00:00.000Z";
    body["version"] = 1;
    std::string after;
    const log::Salt salt{};
    Value committed;
    for (const auto& [field, text] : texts) {
      if (committed.has(field)) continue;
      committed[field] = log::hex(log::commit(field, salt, text));
      Value p;
      p["field"] = field;
      p["salt"] = log::hex_of(std::string(salt.size(), '\0'));
      p["text"] = text;
      after += log::canonical(p) + "\n";
    }
    if (!committed.as_object().empty()) body["private"] = committed;
    lines_ += log::canonical(body) + "\n" + after;
    ++number_;
  }
  const std::string& bay_;
  std::string lines_;
  std::int64_t number_ = 0;
};

Lines lines_of(const std::string& file) {
  return [&file, at = std::size_t{0}](std::string& line) mutable {
    if (at >= file.size()) return false;
    const std::size_t end = std::min(file.find('\n', at), file.size());
    line = file.substr(at, end - at);
    at = end + 1;
    return true;
  };
}

template <class T>
void answered(const Result<T>& r) {
  if (!r.ok()) told(r.refusal());
}

// Whatever came in, everything that reads answers, the book is sound or says what is to be settled, and deriving all anew changes nothing.
void read_all(Book& b) {
  const Day day = *read_day("2026-03-09");
  answered(levels(b, {}, true));
  answered(totals(b, *read_day("2026-03-01"), *read_day("2026-03-31")));
  answered(entries(b, {}));
  answered(conflicts(b));
  answered(due_list(b, day, DueFilter{}));
  answered(limits(b, day));
  const auto all = cars(b);
  answered(all);
  if (all.ok()) {
    for (const CarView& v : *all) {
      answered(last(b, v.id));
      answered(history(b, v.id));
    }
  }
  const auto proof = prove(b);
  answered(proof);
  if (!proof.ok()) return;
  hold(proof->unfit_found == 0, "what was taken in says nothing that no entry can: " +
                                    (proof->unfit.empty() ? "" : proof->unfit[0].what));
  for (const Finding& f : proof->findings) {
    told(Refusal{Code::unsound, f.what, "", f.instead, {}});
    hold(f.what.find("table ") == std::string::npos || f.what.find("differs") == std::string::npos, "rows put in one by one are those derived anew: " + f.what);
  }
}

}  // namespace

void exchange(std::string_view input) {
  static const Bay bay;
  Input in(input);
  const std::size_t mode = in.choice(2);
  Book b = bay.fresh();
  std::string file;
  if (mode == 0) {
    file = in.rest();
    for (std::size_t at = 0; (at = file.find("BAY", at)) != std::string::npos; at += bay.identity().size()) file.replace(at, 3, bay.identity());
  } else {
    File made(bay.identity());
    for (int n = 0; n < 40 && !in.rest().empty(); ++n) {
      try {
        made.add(in.line());
      } catch (const log::Malformed&) {
        // No body can be made of it.
      } catch (const std::invalid_argument&) {
        // No private field has that name.
      }
    }
    file = made.whole();
  }
  const std::string before = b.seal();
  const auto taken = exchange_in(b, lines_of(file), "office.exchange",
                                 Stamp{read_instant("2026-03-06T09:40:00.000Z").value()});
  if (!taken.ok()) {
    told_with_instead(taken.refusal(), {});
    hold(b.inside().known.all.size() == 1, "of a refused file nothing is taken");
  }
  // A word about each that was met, and nothing else.
  const bool met = taken.ok() && !taken->met.empty();
  hold(met || b.seal() == before, "the own chain is not touched");
  if (taken.ok() && taken->taken > 0) read_all(b);
  if (!met) return;
  const auto proof = prove(b, before);
  const auto rewritten = [](const Finding& f) {
    return f.what.find("than the seal") != std::string::npos;
  };
  hold(!proof.ok() || std::none_of(proof->findings.begin(), proof->findings.end(), rewritten),
       "the own chain goes on from where it was");
}

}  // namespace baybook::fuzz
