// What every answer of the office needs: the rules of a day, what a stream is, what it weighs, what moved in and out of waste places.
#pragma once

#include "book/mixture.hpp"
#include "book/views.hpp"

#include <baybook/returns.hpp>

#include <functional>
#include <map>
#include <memory>
#include <set>
#include <tuple>

namespace baybook::book {

/// What went into a waste place or out of it, summed.
struct WasteLine {
  std::int64_t place = 0;
  bool out = false;
  Role other = Role::before;
  std::int64_t dimension = 0, fluid = 0;
  Fate fate = Fate::none;
  bool estimated = false, whole = false;
  std::int64_t low = 0, best = 0, high = 0;
  bool of_event = false;  ///< of an episodic event that is run under its rules (of_event.hpp)
};

struct Event;

class Office {
 public:
  explicit Office(Book::Inside& in) : in_(in) {}

  /// The rules that the book goes by on a day; nullptr when none were chosen. Throws store::Failure when a shop's file cannot be read any more.
  const RuleSet* rules_on(Day day);
  /// The stream of a waste place in the rules: by its own name, or, for "waste-" and a class, by the class.
  const Stream* stream_for(std::string_view place_stream, Day day);
  /// What it is, with what was poured in. `place`: none for every batch.
  StreamFacts facts(std::string_view place_stream, PlaceId place, Day day);
  /// The same as if nothing of another stream had been poured in.
  StreamFacts stream_facts(std::string_view place_stream, PlaceId place, Day day);
  /// The determination that decides a stream, or one place of it; entry 0: none.
  struct Decided {
    EntryId entry{};
    std::int64_t moment = 0;
    bool of_place = false;
  };
  Decided decided(const Stream& stream, PlaceId place, Day day);
  /// Kilograms per litre of a fluid as this stream: the product's own, else the stream's default.
  struct Weight {
    Density density;
    std::string told;  ///< "1.07 kg/L (source, confirmed)"
  };
  std::optional<Weight> weight(std::int64_t fluid, const Stream* stream);
  /// The same in a container of that stream: what is of another one weighs as what it is.
  std::optional<Weight> weight_in(std::int64_t fluid, const Stream* stream, Day day);
  /// The mass of an amount; none for pieces, or when no density is known.
  static std::optional<std::int64_t> mass(std::int64_t n, std::int64_t dimension, const std::optional<Weight>& weight);
  /// The volume of an amount; none for pieces, or when what was weighed has no known density.
  static std::optional<std::int64_t> volume(std::int64_t n, std::int64_t dimension, const std::optional<Weight>& weight);

  struct WastePlace {
    PlaceId id;
    std::string code, stream, area;
    bool satellite = false;
  };
  const std::vector<WastePlace>& waste_places();
  const WastePlace* waste_place(std::int64_t id);
  bool is_waste(std::int64_t place) { return waste_place(place) != nullptr; }

  /// Fillings of a place in which streams met, in their order.
  const std::vector<Mixture>& mixtures(const WastePlace& place);
  /// What the rules make of one; `plain`: what the place is without it.
  MixtureRule rule_of(const Mixture& mixture, const Stream& stream, const StreamFacts& plain, Day day);
  /// One sentence on what was poured into a place; empty where nothing was. Where only one class ever
  /// came in, and none out of other waste, no rule file is read.
  std::string told_mixture(PlaceId place, Day day);
  /// Of a container whose content counts because of what was poured in: since when that has stood as
  /// waste. None where nothing was.
  std::optional<Day> mixed_since(const WastePlace& place, Day day);
  /// The category of a month in which each waste counts as what it was before it was mixed.
  int category_apart(Month month);
  [[nodiscard]] bool apart_only() const { return apart_only_; }
  /// Whether a place of that stream takes what soaked its absorbents: nothing is mixed there.
  static bool takes_what_soaks(const Stream& stream);

  /// Each sum of the span, and (before = true) of everything earlier.
  void each(Day from, Day until, const std::function<void(const WasteLine&, bool before)>& take);

  /// Episodic events as they stand by all that the book knows (circumstances.hpp).
  const std::vector<Event>& events();

  [[nodiscard]] Book::Inside& in() { return in_; }

 private:
  struct Ruling {
    Day from;
    std::string set, file, file_name;
    std::unique_ptr<RuleSet> read;
  };
  struct CameIn {
    std::int64_t fluid;
    Role other;
  };
  void load_rulings();
  StreamFacts by_determination(const Stream& s, const RuleSet& rules, const Decided& by, Day day);
  void mix(StreamFacts& out, const Stream& base, const WastePlace& p, Day day, const Decided& decided);
  const std::vector<CameIn>& came_in(std::int64_t place);
  std::optional<Pour> pour(const WastePlace& p, std::int64_t source, std::int64_t fluid, const log::Effect& effect);
  const std::set<std::string>& own_classes(const WastePlace& p);
  Book::Inside& in_;
  std::vector<Ruling> rulings_;
  bool has_first_ = false;  ///< the first of them was chosen when a book was begun
  std::map<Month, Ruling> closed_;  ///< in its place, in months that were closed by another
  bool loaded_ = false;
  std::vector<WastePlace> places_;
  bool have_places_ = false;
  std::map<std::tuple<std::string, std::int64_t, std::int32_t, bool>, StreamFacts> facts_;
  std::map<std::int64_t, std::vector<CameIn>> came_in_;
  bool have_came_in_ = false;
  std::map<std::int64_t, std::vector<Mixture>> mixtures_;
  std::map<std::int64_t, std::set<std::string>> own_classes_;
  std::map<std::int32_t, int> apart_;
  bool apart_only_ = false;  ///< while a month is read as if nothing had been mixed
  std::shared_ptr<std::vector<Event>> events_;
};

/// A determination on its way to the log, held against what the rules and the book say.
[[nodiscard]] Result<log::Built> build_determination(Book::Inside& in, log::Desk& desk, const Determination& draft);

/// The source of a line that takes back what was drained again after it was put back.
inline constexpr std::string_view kDrainedAgain = "drained again after it was put back";
/// By the rules of a month's last day: `which` is "decided" or "drained".
[[nodiscard]] Reading read_month(Office& office, Month month, std::string_view which, std::vector<JudgedLine>* lines, std::vector<std::string>* notices);
/// The category of a month by the rule file's word; 0 when the rules have none.
[[nodiscard]] int category_of(Office& office, Month month);

/// Seals of every installation, sorted: TAG:NUMBER:16 hex.
[[nodiscard]] std::vector<std::string> seals(Book::Inside& in);
/// One over all of those, when there are several: "all", how many, and 16 digits of the digest of their lines.
inline constexpr std::string_view kOverAll = "all";
[[nodiscard]] std::string over_all_of(const std::vector<std::string>& seals, std::string* digest = nullptr);

/// All that is frozen when a month is closed, as it is now, in a form to be compared.
[[nodiscard]] std::string figures_of(Book::Inside& in, Month month);
/// The figures of a closed month's row, as its entry names them.
[[nodiscard]] std::span<const std::string_view> closed_columns() noexcept;

}  // namespace baybook::book
