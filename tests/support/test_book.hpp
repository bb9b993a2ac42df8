// Makers for tests: a book in a folder of its own, with a clock and a random source that can be repeated.
#pragma once

#include "book/inside.hpp"
#include "store/schema.hpp"

#include <baybook/reports.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <string>
#include <unistd.h>

namespace baybook::test {

/// A folder that goes away with the test.
class Folder {
 public:
  Folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "baybook-test-XXXXXX").string();
    REQUIRE(::mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  [[nodiscard]] std::string file(const std::string& name) const { return path_ + "/" + name; }

 private:
  std::string path_;
};

inline Random repeatable(std::uint64_t seed) {
  return [engine = std::mt19937_64(seed)](std::uint8_t* bytes, std::size_t size) mutable {
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<std::uint8_t>(engine() & 255);
    return true;
  };
}

inline Day day(std::string_view iso) {
  const auto d = read_day(iso);
  REQUIRE(d.has_value());
  return *d;
}

inline Instant instant(std::string_view iso) {
  const auto t = read_instant(iso);
  REQUIRE(t.has_value());
  return *t;
}

inline Amount litres(std::string_view text) {
  auto a = parse_amount(text, Units{});
  REQUIRE(a.ok());
  return *a;
}

inline Density density_of(std::string_view text) {
  auto d = parse_density(text, Units{});
  REQUIRE(d.ok());
  return *d;
}

/// Text of a refusal for a failing CHECK.
template <class T>
std::string why(const Result<T>& r) {
  return r.ok() ? "ok" : std::string(name_of(r.refusal().code)) + ": " + r.refusal().what + " / " + r.refusal().why + " / " + r.refusal().instead;
}

/// Every row of every table as text, one line each; installations by tag, so that two books can be compared.
inline std::string dump(store::Db& db, bool derived_only = false) {
  std::string out;
  std::vector<std::string> names;
  for (const char* const* n = store::kDerivedNames; *n != nullptr; ++n) names.emplace_back(*n);
  if (!derived_only) {
    for (const char* n : {"entry", "private", "installation", "once", "kind"}) names.emplace_back(n);
  }
  for (const std::string& n : names) {
    out += "[" + n + "]\n";
    std::string list;
    {
      auto q = db.query("SELECT name FROM pragma_table_info(?) ORDER BY cid");
      q.bind(n);
      while (q.step()) list += (list.empty() ? "quote(" : " || ',' || quote(") + q.text(0) + ")";
    }
    // The kept-statement map is keyed by address, so a text made here must live as long as the Db.
    auto* sql = new std::string("SELECT " + list + " AS line FROM main." + n + " ORDER BY line");  // NOLINT: kept by the Db on purpose
    static std::vector<std::unique_ptr<std::string>> keep;
    keep.emplace_back(sql);
    auto q = db.query(sql->c_str());
    while (q.step()) out += q.text(0) + "\n";
  }
  return out;
}

/// The first lines in which two dumps differ, "" when they are equal: a dump is too long to read.
inline std::string difference(const std::string& a, const std::string& b) {
  std::size_t i = 0;
  std::size_t j = 0;
  std::string table;
  std::string out;
  int shown = 0;
  std::vector<std::string> left;
  std::vector<std::string> right;
  const auto lines = [](const std::string& text, std::vector<std::string>& into) {
    std::string where;
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = text.find('\n', at);
      std::string line = text.substr(at, end - at);
      if (line.front() == '[') where = line;
      into.push_back(where + " " + line);
      at = end + 1;
    }
    std::sort(into.begin(), into.end());
  };
  lines(a, left);
  lines(b, right);
  while ((i < left.size() || j < right.size()) && shown < 12) {
    if (i < left.size() && j < right.size() && left[i] == right[j]) {
      ++i;
      ++j;
    } else if (j == right.size() || (i < left.size() && left[i] < right[j])) {
      out += "- " + left[i++] + "\n";
      ++shown;
    } else {
      out += "+ " + right[j++] + "\n";
      ++shown;
    }
  }
  return out;
}

/// A book with whatever a test asks for; everything it does not ask for is absent.
class TestBook {
 public:
  explicit TestBook(std::string_view tag = "bay", std::uint64_t seed = 1, std::string_view begins = "2026-03-05T09:40:00.000Z") : now(instant(begins)) {
    begin(usual(tag), seed);
  }
  /// A book that was begun otherwise than usual.
  TestBook(const Settings& chosen, std::uint64_t seed, std::string_view begins)
      : now(instant(begins)) {
    begin(chosen, seed);
  }
  static Settings usual(std::string_view tag) {
    Settings s;
    s.site = "Saltmarsh Motor Works";
    s.tag = tag;
    s.zone = "Europe/Lisbon";
    return s;
  }

  Book& book() { return *book_; }
  Book* operator->() { return &*book_; }
  [[nodiscard]] std::string file() const { return folder_.file("book.baybook"); }
  [[nodiscard]] const Folder& folder() const { return folder_; }
  std::string dump(bool derived_only = false) { return test::dump(book_->inside().db, derived_only); }
  void close() { book_.reset(); }
  void reopen() {
    book_.reset();
    auto b = Book::open(file(), Access::write, repeatable(99));
    REQUIRE_MESSAGE(b.ok(), why(b));
    book_.emplace(std::move(b).value());
  }

  Stamp stamp(std::string_view on = {}) {
    now.ms += 1000;
    Stamp s;
    s.now = now;
    s.clock_is_right = clock_is_right;
    if (!on.empty()) s.on = day(on);
    return s;
  }
  Result<Receipt> try_write(const Draft& d, std::string_view on = {}) { return book_->append(d, stamp(on)); }
  Receipt write(const Draft& d, std::string_view on = {}) {
    auto r = try_write(d, on);
    REQUIRE_MESSAGE(r.ok(), why(r));
    return std::move(r).value();
  }

  PlaceId place(const std::string& code, Role role, const std::string& size = {}, std::vector<std::string> takes = {}) {
    NewPlace p;
    p.code = code;
    p.role = role;
    if (!size.empty()) p.size = litres(size);
    p.takes = std::move(takes);
    return PlaceId{write(p).entry.id.n};
  }
  FluidId fluid(const std::string& code, const std::string& of_class) {
    NewFluid f;
    f.code = code;
    f.of_class = of_class;
    f.product = "Product " + code;
    return FluidId{write(f).entry.id.n};
  }
  CarId car(const std::string& plate, const std::string& coolant = "6.8L") {
    NewCar c;
    c.plate = plate;
    c.make = "Corvane";
    c.model = "Tern";
    c.circuits = {{"coolant", litres(coolant), ""}, {"engine-oil", litres("4.5L"), ""}};
    return CarId{write(c).entry.id.n};
  }
  JobId job(CarId car, const std::string& on = {}) {
    OpenJob j;
    j.car = car;
    return JobId{write(j, on).entry.id.n};
  }
  PlaceId coolant(CarId car) { return circuit_of(car, *find_circuit("coolant")); }
  PlaceId oil(CarId car) { return circuit_of(car, *find_circuit("engine-oil")); }

  static Movement move(MoveVerb verb, PlaceId from, PlaceId to, const std::string& amount, JobId job = {}, FluidId fluid = {}) {
    Movement m;
    m.verb = verb;
    m.job = job;
    MoveLine line;
    line.from = from;
    line.to = to;
    if (amount != "all") line.amount = litres(amount);
    line.fluid = fluid;
    m.lines.push_back(line);
    if (verb == MoveVerb::pickup) {
      m.carrier = "Quill & Tarn Recovery";
      m.document = "0041233";
    }
    return m;
  }
  std::int64_t level(PlaceId p, Dimension d = Dimension::volume) {
    book_->inside().ledger.forget();
    return book_->inside().ledger.level(p, static_cast<std::int64_t>(d)).best;
  }

  Instant now;
  bool clock_is_right = false;  ///< for a test in which years pass without an entry

 private:
  void begin(const Settings& s, std::uint64_t seed) {
    auto b = Book::start(folder_.file("book.baybook"), s, now, repeatable(seed));
    REQUIRE_MESSAGE(b.ok(), why(b));
    book_.emplace(std::move(b).value());
  }

  Folder folder_;
  std::optional<Book> book_;
};

inline constexpr std::int64_t L = 1'000'000'000;  ///< nanolitres in a litre

}  // namespace baybook::test
