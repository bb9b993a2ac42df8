// What every answer of the office needs: the rules of a day, what a stream is, what it weighs, what moved in and out of waste places.
#pragma once

#include "book/views.hpp"

#include <baybook/returns.hpp>

#include <functional>
#include <map>
#include <memory>

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
  /// `place`: none for every batch.
  StreamFacts facts(std::string_view place_stream, PlaceId place, Day day);
  /// Kilograms per litre of a fluid as this stream: the product's own, else the stream's default.
  struct Weight {
    Density density;
    std::string told;  ///< "1.07 kg/L (source, confirmed)"
  };
  std::optional<Weight> weight(std::int64_t fluid, const Stream* stream);
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
  void load_rulings();
  Book::Inside& in_;
  std::vector<Ruling> rulings_;
  bool loaded_ = false;
  std::vector<WastePlace> places_;
  bool have_places_ = false;
  std::shared_ptr<std::vector<Event>> events_;
};

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
