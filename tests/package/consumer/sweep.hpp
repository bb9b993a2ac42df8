// Nonsense of every sort in every field of every draft, one at a time: none of it is written,
// nothing crashes, and the book never takes its own caller's slip for damage.
#pragma once

#include "fields.hpp"
#include "shop.hpp"

#include <algorithm>
#include <cstdint>
#include <functional>
#include <limits>
#include <random>
#include <string>
#include <type_traits>
#include <vector>

namespace consumer {

/// What a mutated draft must come to.
enum class Must : std::uint8_t {
  be_refused,  ///< nothing of the sort is written
  not_harm,    ///< taken or refused: the book says
};

/// A wrong id of a kind, with words for it.
struct WrongId {
  std::string what;
  std::int64_t n;
};

inline constexpr std::int64_t kOrigin = std::int64_t{1} << 40;

/// Ids that are those of no thing at all, whatever the kind.
inline std::vector<WrongId> ids_of_nothing(const Shop& s) {
  const std::int64_t own = s.marsh.n / kOrigin;
  constexpr auto least = std::numeric_limits<std::int64_t>::min();
  constexpr auto most = std::numeric_limits<std::int64_t>::max();
  return {{"the least number", least},
          {"the greatest number", most},
          {"minus one", -1},
          {"a number alone", 1001},
          {"number 0 of this installation", own * kOrigin},
          {"a number past the end", own * kOrigin + 100'000},
          {"the last number that can be", own * kOrigin + kOrigin - 1},
          {"an entry of an installation that is not here", (own ^ 1) * kOrigin + 3},
          {"a car with bits of a circuit that no car has", s.marsh.n | std::int64_t{31} << 58},
          {"a job with bits of a circuit", s.job.n | std::int64_t{1} << 58}};
}

struct Thing {
  std::string what;
  std::int64_t n;
  enum class Kind : std::uint8_t { car, job, person, firm, deadline, fluid, place, other } kind;
};
inline std::vector<Thing> things(const Shop& s) {
  using K = Thing::Kind;
  return {{"a car", s.marsh.n, K::car},
          {"a job", s.job.n, K::job},
          {"a person", s.tam.n, K::person},
          {"a firm", s.firm.n, K::firm},
          {"a deadline", s.deadline.n, K::deadline},
          {"a product", s.oat.n, K::fluid},
          {"a place", s.drum.n, K::place},
          {"a pick-up", s.pickup.n, K::other},
          {"a closing", s.closing.n, K::other},
          {"the opening", s.marsh.n / kOrigin * kOrigin + 1, K::other},
          {"a class of fluid", 1, K::fluid},
          {"an end of the world", kGround.n, K::place},
          {"a circuit", Shop::coolant(s.marsh).n, K::place}};
}

template <class Id>
Thing::Kind kind_of() {
  using K = Thing::Kind;
  if constexpr (std::is_same_v<Id, CarId>) return K::car;
  if constexpr (std::is_same_v<Id, JobId>) return K::job;
  if constexpr (std::is_same_v<Id, PersonId>) return K::person;
  if constexpr (std::is_same_v<Id, FirmId>) return K::firm;
  if constexpr (std::is_same_v<Id, DeadlineId>) return K::deadline;
  if constexpr (std::is_same_v<Id, FluidId>) return K::fluid;
  if constexpr (std::is_same_v<Id, PlaceId>) return K::place;
  return K::other;
}

template <class T>
inline constexpr bool is_id =
    std::is_same_v<T, CarId> || std::is_same_v<T, JobId> || std::is_same_v<T, PersonId> ||
    std::is_same_v<T, FirmId> || std::is_same_v<T, DeadlineId> || std::is_same_v<T, FluidId> ||
    std::is_same_v<T, PlaceId>;

inline std::vector<WrongId> wrong_ids_of(const Shop& s, Thing::Kind kind) {
  std::vector<WrongId> out = ids_of_nothing(s);
  // A product's id and a class's share a type, and so do a place's, a circuit's and an end's.
  for (const Thing& t : things(s)) {
    if (t.kind != kind) out.push_back({t.what, t.n});
  }
  if (kind == Thing::Kind::fluid)
    std::erase_if(out, [](const WrongId& w) { return w.n == kGround.n; });
  if (kind == Thing::Kind::place) std::erase_if(out, [](const WrongId& w) { return w.n == 1; });
  if (kind == Thing::Kind::car) out.push_back({"a car that was withdrawn", s.gone_car.n});
  if (kind == Thing::Kind::person) out.push_back({"a person who was withdrawn", s.gone.n});
  if (kind == Thing::Kind::place) {
    out.push_back({"a place that was withdrawn", s.gone_place.n});
    out.push_back({"an end of the world that there is not", 7});
    out.push_back(
        {"a circuit that the car does not have", circuit_of(s.marsh, *find_circuit("gearbox")).n});
    out.push_back(
        {"a circuit of what is no car", circuit_of(CarId{s.drum.n}, *find_circuit("coolant")).n});
  }
  if (kind == Thing::Kind::fluid) out.push_back({"a class that there is not", 999});
  return out;
}

inline std::vector<std::pair<std::string, Amount>> wrong_amounts() {
  constexpr auto least = std::numeric_limits<std::int64_t>::min();
  constexpr auto most = std::numeric_limits<std::int64_t>::max();
  const auto of = [](std::int64_t low, std::int64_t best, std::int64_t high, bool estimated,
                     std::string typed = {}) {
    return Amount{Dimension::volume, low, best, high, estimated, std::move(typed)};
  };
  std::vector<std::pair<std::string, Amount>> out = {
      {"below nothing", of(-5, -5, -5, false)},
      {"the least number", of(least, least, least, false)},
      {"the greatest number", of(most, most, most, false)},
      {"bounds from end to end", of(least, 5, most, true)},
      {"bounds out of order", of(9, 5, 1, true)},
      {"bounds of what was measured", of(4'000'000'000, 5'000'000'000, 6'000'000'000, false)},
      {"typed as another amount", of(5'000'000'000, 5'000'000'000, 5'000'000'000, false, "1L")},
      {"typed as something else", of(5'000'000'000, 5'000'000'000, 5'000'000'000, false, "a lot")},
      {"typed as a weight", of(5'000'000'000, 5'000'000'000, 5'000'000'000, false, "5kg")}};
  Amount none = of(5, 5, 5, false);
  none.dimension = static_cast<Dimension>(7);
  out.emplace_back("a dimension that is none", none);
  return out;
}

/// Walks over one draft and tries everything on each field; `attempt` appends it.
class Mutator {
 public:
  using Attempt = std::function<void(const std::string& what, Must must)>;
  Mutator(const Shop& shop, Attempt attempt) : shop_(shop), attempt_(std::move(attempt)) {}

  template <class T>
  void operator()(const std::string& path, T& field) {
    if constexpr (is_id<T>) {
      for (const WrongId& w : wrong_ids_of(shop_, kind_of<T>())) with(path, field, T{w.n}, w.what);
    } else if constexpr (std::is_same_v<T, EntryId>) {
      for (const WrongId& w : ids_of_nothing(shop_)) with(path, field, T{w.n}, w.what);
      const bool special = path == "closing" || path == "pickup";
      for (const Thing& t : things(shop_)) {
        const bool fits = path == "closing" ? t.what == "a closing" : t.what == "a pick-up";
        with(path, field, T{t.n}, t.what, special && !fits ? Must::be_refused : Must::not_harm);
      }
    } else if constexpr (std::is_same_v<T, Amount>) {
      for (const auto& [what, a] : wrong_amounts()) with(path, field, a, what);
      const bool level = path == "level" || path == "gross" || path == "tare" ||
                         path.ends_with("measured") || path.ends_with("].amount");
      with(path, field, Amount{}, "made by default", level ? Must::not_harm : Must::be_refused);
    } else {
      figures(path, field);
    }
  }

 private:
  template <class T>
  void figures(const std::string& path, T& field) {
    constexpr auto least = std::numeric_limits<std::int64_t>::min();
    constexpr auto most = std::numeric_limits<std::int64_t>::max();
    if constexpr (std::is_same_v<T, Distance>) {
      for (const std::int64_t n : {least, std::int64_t{-1}, std::int64_t{10'000'000'001}, most})
        with(path, field, Distance{n, ""}, std::to_string(n) + " m");
      with(path, field, Distance{5'000, "4km"}, "typed as another distance");
      with(path, field, Distance{5'000, "far"}, "typed as something else");
    } else if constexpr (std::is_same_v<T, Torque>) {
      for (const std::int64_t n : {least, std::int64_t{-5}, std::int64_t{0}, most})
        with(path, field, Torque{n, ""}, std::to_string(n) + " mNm");
      with(path, field, Torque{25'000, "26Nm"}, "typed as another torque");
    } else if constexpr (std::is_same_v<T, Density>) {
      for (const std::int64_t n : {least, std::int64_t{-1}, std::int64_t{0}, most})
        with(path, field, Density{n, ""}, std::to_string(n) + " ppm");
      with(path, field, Density{1'000'000, "2kg/L"}, "typed as another density");
    } else if constexpr (std::is_same_v<T, Day>) {
      for (const std::int32_t n : {std::numeric_limits<std::int32_t>::min(), -40'000, 500'000,
                                   std::numeric_limits<std::int32_t>::max()})
        with(path, field, Day{n}, "day " + std::to_string(n));
      // Made by default; some things may have been done then.
      const bool may = path == "when" || path == "on";
      with(path, field, Day{}, "day 0", may ? Must::not_harm : Must::be_refused);
    } else if constexpr (std::is_same_v<T, Month>) {
      for (const std::int32_t n : {std::numeric_limits<std::int32_t>::min(), -1, 0, 100'000,
                                   std::numeric_limits<std::int32_t>::max()})
        with(path, field, Month{n}, "month " + std::to_string(n));
    } else if constexpr (std::is_same_v<T, Minute>) {
      for (const int n : {-32'768, -1, 1440, 32'767})
        with(path, field, Minute{static_cast<std::int16_t>(n)}, "minute " + std::to_string(n));
    } else if constexpr (std::is_enum_v<T>) {
      for (const int n : {100, 255})
        with(path, field, static_cast<T>(n), "choice " + std::to_string(n));
    } else if constexpr (std::is_same_v<T, bool>) {
      with(path, field, !field, "the other way", Must::not_harm);
    } else if constexpr (std::is_integral_v<T>) {
      for (const T n :
           {std::numeric_limits<T>::min(), static_cast<T>(-1), std::numeric_limits<T>::max()}) {
        // How many bytes a file has is nobody's to doubt.
        const bool may = path == "bytes" && n > 0;
        with(path, field, n, std::to_string(n), may ? Must::not_harm : Must::be_refused);
      }
    } else if constexpr (std::is_same_v<T, std::string>) {
      texts(path, field);
    } else {
      none_and_many(path, field);
    }
  }

  void texts(const std::string& path, std::string& field) {
    const bool not_kept = path == "once" || path.ends_with(".at");
    const Must must = not_kept ? Must::not_harm : Must::be_refused;
    with(path, field, std::string("a\x1b[2Jb"), "a control character", must);
    with(path, field, std::string("a\xff"), "no UTF-8", must);
    with(path, field, std::string(10'000, 'x'), "10,000 letters", must);
    with(path, field, std::string("a\0b", 3), "a zero byte", must);
    with(path, field, std::string(), "nothing", Must::not_harm);
  }

  // A list or something that may be there: gone, and too many of it.
  template <class T>
  void none_and_many(const std::string& path, T& field) {
    with(path, field, T{}, "none", Must::not_harm);
    if constexpr (is_list<T>::value) {
      if (field.empty()) return;
      T many = field;
      // One more line than an entry has; of the others an entry has fewer.
      many.resize(path == "lines" ? 1001 : 2001, field.front());
      with(path, field, many, "too many of it");
    }
  }

  template <class T>
  void with(const std::string& path, T& field, T value, const std::string& what,
            Must must = Must::be_refused) {
    // Of the things of the shop one is what the draft names already.
    if constexpr (is_id<T> || std::is_same_v<T, EntryId>) {
      if (field.n == value.n) return;
    }
    T before = std::exchange(field, std::move(value));
    attempt_(path + ": " + what, must);
    field = std::move(before);
  }

  const Shop& shop_;
  Attempt attempt_;
};

/// Codes that are never the answer to a caller's slip.
inline bool blames_the_book(Code c) {
  return c == Code::unsound || c == Code::unreadable || c == Code::unwritable || c == Code::busy ||
         c == Code::unknown_outcome || c == Code::callback_failed;
}

struct Swept {
  std::vector<std::string> faults{};
  std::int64_t tried = 0, refused = 0;
};

/// A stamp later than the month that one of the drafts closes.
inline Stamp later(const Shop& s) {
  Stamp out;
  out.now = *read_instant("2026-04-03T10:00:00.000Z");
  out.by = s.tam;
  out.dry_run = true;
  return out;
}

inline void judge(Swept& swept, const std::string& name, const Result<Receipt>& r, Must must) {
  ++swept.tried;
  if (r.ok()) {
    if (must == Must::be_refused) swept.faults.push_back(name + " is taken: " + r->summary);
    return;
  }
  ++swept.refused;
  const Refusal& no = r.refusal();
  const std::string told = std::string(name_of(no.code)) + ": " + no.what;
  if (blames_the_book(no.code)) swept.faults.push_back(name + " is called " + told);
  if (no.what.empty() || no.instead.empty())
    swept.faults.push_back(name + " is refused without saying what to do: " + told);
}

/// Tries everything on every field of every draft, without writing any of it.
inline Swept sweep_drafts(Shop& s) {
  Swept swept;
  for (auto& [name, draft] : valid_drafts(s)) {
    const auto right = s.book.append(draft, later(s));
    if (!right.ok()) swept.faults.push_back(name + " itself is refused: " + right.refusal().what);
    std::visit(
        [&](auto& d) {
          // Each attempt is the draft as it stands while one of its fields is another.
          Mutator m(s, [&, &name = name](const std::string& what, Must must) {
            judge(swept, name + ", " + what, s.book.append(Draft(d), later(s)), must);
          });
          every_field("", d, m);
        },
        draft);
  }
  return swept;
}

/// The same of the stamp.
inline Swept sweep_stamp(Shop& s) {
  Swept swept;
  Stamp stamp = later(s);
  stamp.on = *read_day("2026-03-06");
  stamp.at = Minute{600};
  stamp.at_offset = std::int16_t{0};
  const Draft draft = NewPerson{"Oona", "", ""};
  const auto right = s.book.append(draft, stamp);
  if (!right.ok()) swept.faults.push_back("the stamp itself is refused: " + right.refusal().what);
  Mutator m(s, [&](const std::string& what, Must must) {
    if (what.starts_with("dry_run")) return;  // that would write it
    judge(swept, "the stamp, " + what, s.book.append(draft, stamp), must);
  });
  every_field("", stamp, m);
  Stamp none;
  none.dry_run = true;
  judge(swept, "a stamp without a time", s.book.append(draft, none), Must::be_refused);
  return swept;
}

}  // namespace consumer
