#include "book/draft_said.hpp"

#include "log/built.hpp"
#include "log/most.hpp"
#include "quantity/most.hpp"

#include <baybook/due.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

using log::refuse;

namespace {

/// Whether nothing at all may be said: a level, what was measured; or is told of elsewhere.
enum class Zero : std::uint8_t { no, yes };

std::string units_of(Dimension d) {
  return std::string(base_unit(d)) + " (" +
         (d == Dimension::volume ? "nanolitres"
          : d == Dimension::mass ? "micrograms"
                                 : "pieces") +
         ")";
}

// "0.85L - 0.3L": what a program put together of amounts that were typed, each with a sign.
std::vector<std::pair<int, std::string>> parts_of(const std::string& typed) {
  std::vector<std::pair<int, std::string>> out;
  int sign = 1;
  for (std::size_t at = 0;;) {
    std::size_t end = std::string::npos;
    for (const char* mark : {" - ", " + "}) end = std::min(end, typed.find(mark, at));
    out.emplace_back(sign, typed.substr(at, end == std::string::npos ? end : end - at));
    if (end == std::string::npos) return out;
    sign = typed[end + 1] == '-' ? -1 : 1;
    at = end + 3;
  }
}

Result<Amount> read_back(const std::string& typed, const Units& units) {
  auto amount = parse_amount(typed, units);
  if (amount.ok()) return amount;
  auto level = parse_level(typed, units);
  return level.ok() ? std::move(level) : std::move(amount);
}

/// Whether a typed text says that amount. Of one that was put together the bounds are worst case,
/// and only the best value is compared.
bool says(const Amount& a, const Units& units) {
  const auto parts = parts_of(a.typed);
  if (parts.size() == 1) {
    const auto read = read_back(a.typed, units);
    return read.ok() && read->dimension == a.dimension && read->low == a.low &&
           read->best == a.best && read->high == a.high;
  }
  std::int64_t best = 0;
  for (const auto& [sign, text] : parts) {
    const auto read = read_back(text, units);
    if (!read.ok() || read->dimension != a.dimension) return false;
    best += sign * read->best;
  }
  return best == a.best;
}

class Said {
 public:
  explicit Said(const Units& units) : units_(units) {}
  [[nodiscard]] const std::optional<Refusal>& refusal() const { return refusal_; }

  void amount(const std::string& name, const Amount& a, Zero zero = Zero::no) {
    if (refusal_) return;
    if (a.dimension != Dimension::volume && a.dimension != Dimension::mass &&
        a.dimension != Dimension::count)
      return no(name + " is in dimension " + std::to_string(static_cast<int>(a.dimension)) +
                    ", which is none",
                "an amount is a volume, a mass or a count of pieces", "one of the three");
    const std::string least = std::to_string(std::min({a.low, a.best, a.high}));
    if (std::min({a.low, a.best, a.high}) < 0)
      return no(name + " is " + least + " " + units_of(a.dimension) + ", below nothing",
                "nothing is less than nothing", "the amount that it was");
    if (a.low > a.best || a.best > a.high)
      return no(name + " is " + std::to_string(a.best) + ", not between its bounds " +
                    std::to_string(a.low) + " and " + std::to_string(a.high),
                "the best value lies between the lower and the upper bound",
                "bounds around the best value");
    if (!a.estimated && a.low != a.high)
      return no(name + " has bounds, " + std::to_string(a.low) + " to " + std::to_string(a.high) +
                    ", and is not said to be estimated",
                "what was measured has one figure; bounds of it would be lost",
                "estimated, or three times the same figure");
    if (a.high > quantity::most_of(a.dimension))
      return no(name + " is " + std::to_string(a.high) + " " + units_of(a.dimension) +
                    ", more than " + std::to_string(quantity::most_of(a.dimension)),
                "an amount this large is a slip of the finger", "the amount that it was");
    if (zero == Zero::no && a.best == 0)
      return no(name + " is nothing", "an amount is more than nothing", "how much it was");
    if (!a.typed.empty() && !says(a, units_)) typed(name, a.typed, show(a, units_), "parse_amount");
  }
  void amount(const std::string& name, const std::optional<Amount>& a, Zero zero = Zero::no) {
    if (a) amount(name, *a, zero);
  }

  void distance(const std::string& name, const Distance& d) {
    if (refusal_) return;
    if (d.metres < 0 || d.metres > quantity::kMostMetres)
      return range(name, d.metres, 0, quantity::kMostMetres, "metres");
    if (d.typed.empty()) return;
    const auto read = parse_distance(d.typed, units_);
    if (!read.ok() || read->metres != d.metres)
      typed(name, d.typed, std::to_string(d.metres) + " m", "parse_distance");
  }
  void distance(const std::string& name, const std::optional<Distance>& d) {
    if (d) distance(name, *d);
  }

  void torque(const Torque& t) {
    if (refusal_) return;
    const std::int64_t n = t.millinewton_metres;
    if (n < 1 || n > quantity::kMostMillinewtonMetres)
      return range("the torque", n, 1, quantity::kMostMillinewtonMetres, "millinewton-metres");
    if (t.typed.empty()) return;
    const auto read = parse_torque(t.typed, units_);
    if (!read.ok() || read->millinewton_metres != n)
      typed("the torque", t.typed, std::to_string(n) + " mNm", "parse_torque");
  }

  void density(const std::optional<Density>& d, const std::string& source) {
    if (refusal_) return;
    if (!d) {
      if (!source.empty())
        drop("a density's source is said, and no density", "the density, or no source for it");
      return;
    }
    const std::int64_t n = d->ppm_kg_per_l;
    if (n < quantity::kLeastDensity || n > quantity::kMostDensity)
      return range("the density", n, quantity::kLeastDensity, quantity::kMostDensity,
                   "millionths of 1 kg/L");
    if (d->typed.empty()) return;
    const auto read = parse_density(d->typed, units_);
    if (!read.ok() || read->ppm_kg_per_l != n)
      typed("the density", d->typed, std::to_string(n) + " millionths of 1 kg/L", "parse_density");
  }

  void shares(const std::vector<MassShare>& list) {
    for (const MassShare& s : list) {
      if (refusal_) return;
      constexpr std::int64_t whole = 1'000'000;
      for (const std::int64_t n : {s.low_ppm, s.best_ppm, s.high_ppm}) {
        if (n < 0 || n > whole) return range("a share", n, 0, whole, "millionths of the mass");
      }
      if (s.low_ppm > s.best_ppm || s.best_ppm > s.high_ppm || s.high_ppm == 0)
        return no("a share is " + std::to_string(s.best_ppm) + " millionths, outside its bounds",
                  "the best value lies between the lower and the upper bound, and is something",
                  "bounds around the best value");
      if (s.typed.empty()) continue;
      const auto read = parse_share("x=" + s.typed);
      if (!read.ok() || read->typed != s.typed || read->low_ppm != s.low_ppm ||
          read->best_ppm != s.best_ppm || read->high_ppm != s.high_ppm)
        typed("a share", s.typed, std::to_string(s.best_ppm) + " millionths", "parse_share");
    }
  }

  void hours(std::int64_t minutes, const std::string& text) {
    if (refusal_) return;
    if (minutes < 0 || minutes > log::most::kMinutes)
      return range("the counter of the engine", minutes, 0, log::most::kMinutes, "minutes");
    if (text.empty()) return;
    const auto read = parse_hours(text);
    if (!read.ok() || *read != minutes)
      typed("the counter of the engine", text, std::to_string(minutes) + " minutes", "parse_hours");
  }

  void day(const std::string& name, Day d) {
    static const Day first = *read_day("1900-01-01");
    static const Day last = *read_day("2999-12-31");
    if (refusal_ || (d >= first && d <= last)) return;
    // Far beyond them a day has no date at all.
    const bool has_date = d.n > -500'000 && d.n < 1'000'000;
    no(name + " is " + (has_date ? to_string(d) : "day " + std::to_string(d.n) + " from 1970 on") +
           ", which is none",
       "days of a workshop are of the years 1900 to 2999", "the day that it was");
  }
  void day(const std::string& name, const std::optional<Day>& d) {
    if (d) day(name, *d);
  }
  void month(Month m) {
    static const Month first = month_of(*read_day("1900-01-01"));
    static const Month last = month_of(*read_day("2999-12-31"));
    if (refusal_ || (m >= first && m <= last)) return;
    no("the month is month " + std::to_string(m.n) + " from 1970 on, which is none",
       "months of a workshop are of the years 1900 to 2999", "the month that it was");
  }

  void bytes(std::int64_t n) {
    if (!refusal_ && (n < 0 || n > log::max_whole))
      range("the size of the file", n, 0, log::max_whole, "bytes");
  }

  /// One of the choices up to `last`, counted from 0.
  template <class E>
  void choice(const std::string& name, E e, E last) {
    const auto n = static_cast<int>(e);
    if (refusal_ || (n >= 0 && n <= static_cast<int>(last))) return;
    no(name + " is choice " + std::to_string(n) + ", which is none",
       "choices are counted from 0 to " + std::to_string(static_cast<int>(last)),
       "one of the choices");
  }

  void drop_if(bool said, const std::string& what, const std::string& instead) {
    if (!refusal_ && said) drop(what, instead);
  }
  void no(std::string what, std::string why, std::string instead) {
    if (!refusal_)
      refusal_ = refuse(Code::not_allowed, std::move(what), std::move(why), std::move(instead));
  }

 private:
  void drop(const std::string& what, const std::string& instead) {
    refusal_ = refuse(Code::wrong_usage, what, "what is said must not be lost in silence", instead);
  }
  void range(const std::string& name, std::int64_t n, std::int64_t least, std::int64_t most,
             const char* unit) {
    no(name + " is " + std::to_string(n) + " " + unit + ", not between " + std::to_string(least) +
           " and " + std::to_string(most),
       "such a figure is a slip", "the figure that it was");
  }
  void typed(const std::string& name, const std::string& text, const std::string& figure,
             const char* reader) {
    no(name + " was typed \"" + visible(text.substr(0, 100)) + "\" and its figure is " + figure,
       "what was typed is printed back: the two must say the same",
       "both as " + std::string(reader) + " gives them, or nothing as typed");
  }

  const Units& units_;
  std::optional<Refusal> refusal_{};
};

// Each draft with its figures, days and choices; those without any are listed too.
void said(Said& s, const NewPlace& d) {
  s.choice("the role", d.role, Role::missing);
  s.amount("the size", d.size, Zero::yes);
}
void said(Said& s, const PlaceMark& d) { s.choice("the mark", d.what, PlaceMark::What::shelf); }
void said(Said& s, const NewFluid& d) {
  s.choice("the dimension", d.dimension, Dimension::count);
  s.density(d.density, d.density_source);
  s.shares(d.shares);
}
void said(Said&, const NewPerson&) {}
void circuits_said(Said& s, const std::vector<CircuitDraft>& all) {
  for (const CircuitDraft& c : all)
    s.amount("the capacity of circuit " + visible(c.circuit), c.capacity);
}
void said(Said& s, const NewCar& d) { circuits_said(s, d.circuits); }
void said(Said& s, const CarChange& d) { circuits_said(s, d.circuits); }
void said(Said& s, const OpenJob& d) {
  s.distance("the reading", d.odometer);
  s.choice("what is said of the odometer", d.dial, Dial::misread);
}
void said(Said& s, const CloseJob& d) {
  for (const Recheck& r : d.rechecks) s.distance("the distance of a recheck", r.after_distance);
}
void said(Said& s, const Odometer& d) {
  s.distance("the reading", d.reading);
  s.choice("what is said of the odometer", d.dial, Dial::misread);
}
void said(Said& s, const CodeNote& d) {
  s.choice("what was done with the code", d.what, CodeNote::What::returned);
}
void said_out(Said& s, const std::vector<TakenOut>& list) {
  for (const TakenOut& t : list) s.amount("the quantity that came off", t.amount);
}
void said(Said& s, const Work& d) { said_out(s, d.takes_out); }
void said(Said& s, const Fit& d) {
  s.amount("the quantity of part " + visible(d.part), d.quantity);
  s.distance("the distance of the warranty", d.warranty_distance);
  s.choice("where the old part went", d.old, Fit::Old::none);
  s.amount("the quantity of old parts", d.old_amount);
  said_out(s, d.takes_out);
  const bool of_waste = d.old_into || d.old_amount || !d.old_class.empty();
  s.drop_if(of_waste && d.old != Fit::Old::waste,
            "it is said where an old part went, and not that it went to waste",
            "the old part as waste, or neither place, amount nor class of it");
}
void said(Said& s, const TorqueNote& d) { s.torque(d.torque); }
void said(Said& s, const Movement& d) {
  s.choice("the verb", d.verb, MoveVerb::pickup);
  s.choice("where the spill got to", d.reached, Reached::water);
  const bool pickup = d.verb == MoveVerb::pickup;
  std::size_t n = 0;
  for (const MoveLine& line : d.lines) {
    const std::string which = d.lines.size() == 1 ? "" : " of line " + std::to_string(++n);
    s.choice("the fate" + which, line.fate, Fate::disposed);
    s.amount("the amount" + which, line.amount, Zero::yes);
    s.amount("the carrier's figure" + which, line.measured, Zero::yes);
    s.drop_if(!pickup && line.fate != Fate::none, "what becomes of a load is said of no pick-up",
              "no fate, or a pick-up");
    s.drop_if(!pickup && line.measured, "what a carrier measured is said of no pick-up",
              "no such figure, or a pick-up");
  }
  s.drop_if(!pickup && (d.carrier_firm || d.receiver_firm), "a firm is named in no pick-up",
            "no firm, or a pick-up");
  s.shares(d.shares);
  s.distance("the distance to the receiver", d.haul);
}
void said(Said& s, const Gauge& d) {
  s.amount("the level", d.level, Zero::yes);
  s.amount("the gross weight", d.gross, Zero::yes);
  s.amount("the tare weight", d.tare, Zero::yes);
  s.density(d.density, d.density_source);
  s.drop_if(d.level && (d.gross || d.tare || d.density),
            "a level was read off, and weights or a density are said beside it",
            "the level, or a gross and a tare weight");
}
void said(Said& s, const Correction& d) {
  const Patch& p = d.patch;
  s.amount("the amount", p.amount, Zero::yes);
  s.distance("the reading", p.odometer);
  if (p.torque) s.torque(*p.torque);
  if (p.takes_out) said_out(s, *p.takes_out);
  if (p.dial) s.choice("what is said of the odometer", *p.dial, Dial::misread);
  if (p.shares) s.shares(*p.shares);
  s.distance("the distance to the receiver", p.haul);
  if (p.receives_as)
    s.choice("what the firm receives as", *p.receives_as, ReceivesAs::aggregation_point);
  s.day("the day of the registration", p.registered);
  const bool replaces = p.amount || p.from || p.into || p.fluid || p.odometer || p.text || p.code ||
                        p.part || p.lot || p.document || p.torque || p.takes_out || p.dial ||
                        p.no_odometer || p.shares || p.haul || p.receives_as || p.streams ||
                        p.registered;
  s.drop_if(p.line != 1 && !p.amount && !p.from && !p.into && !p.fluid,
            "a line of a movement is named, and nothing in it is put right",
            "the amount or a place, or no line");
  s.drop_if(d.withdraw && replaces, "an entry is withdrawn, and new details for it are said",
            "one of the two");
}
void said(Said& s, const NewFirm& d) {
  s.distance("the distance to the firm", d.haul);
  s.choice("what the firm receives as", d.receives_as, ReceivesAs::aggregation_point);
  s.day("the day of the registration", d.registered);
}
void said(Said& s, const ChooseRules& d) {
  s.day("the first day of the rules", d.from);
  s.drop_if(d.file.empty() && !d.file_name.empty(), "a rule file is named, and nothing is in it",
            "the text of the file, or no name");
}
void said(Said& s, const ConfirmPickup& d) {
  s.day("the day of the signature", d.signed_on);
  for (const ConfirmPickup::Measured& m : d.measured)
    s.amount("the receiver's figure of line " + std::to_string(m.line), m.amount, Zero::yes);
}
void said(Said& s, const Inspection& d) { s.day("the day of the next look", d.next); }
void said(Said& s, const Determination& d) {
  s.choice("the basis", d.basis, Determination::Basis::knowledge);
  s.choice("the ground", d.ground, Determination::Ground::conditions);
}
void said(Said& s, const Paper& d) { s.bytes(d.bytes); }
void said(Said& s, const Deadline& d) { s.day("the day on which it is due", d.due); }
void said(Said& s, const DeadlineDone& d) { s.day("the next day", d.next); }
void said(Said& s, const Filing& d) {
  s.day("the day of the filing", d.on);
  s.choice("how it was filed", d.way, Filing::Way::paper);
}
void said(Said& s, const Circumstance& d) {
  using enum Circumstance::What;
  s.choice("the circumstance", d.what, end);
  s.day("the day of the circumstance", d.day);
  s.drop_if(d.what != event && (d.planned || d.petitioned),
            "planned or petitioned is said of what is no event", "an event, or neither");
  s.drop_if(d.what != event && d.what != extension && !d.containers.empty(),
            "containers are named of what has none", "an event or an extension, or no container");
  s.drop_if(d.what != extension && d.days != 0, "days are said of what is no extension",
            "an extension, or no days");
  s.drop_if(d.what != end && d.about.n != 0, "an entry is named, and nothing ends",
            "an end, or no entry");
}
void said(Said& s, const CloseMonth& d) { s.month(d.month); }
void said(Said& s, const Schedule& d) {
  for (const Interval& i : d.intervals)
    s.distance("the distance of " + visible(i.task), i.distance);
}
void said(Said& s, const TaskDone& d) {
  s.day("the day on which it was done", d.when);
  s.distance("the reading", d.odometer);
  if (d.engine_minutes) s.hours(*d.engine_minutes, {});
}
void said(Said& s, const PutOff& d) {
  s.day("the day until which it is put off", d.until);
  const bool recheck = d.recheck != 0;
  s.drop_if(recheck && !d.task.empty(), "a task and a recheck are put off at once",
            "one of the two");
  s.drop_if(!recheck && d.closing.n != 0, "a closing is named, and none of its rechecks",
            "the number of the recheck, or no closing");
}
void said(Said&, const RecheckDone&) {}
void said(Said& s, const EngineHours& d) {
  s.hours(d.minutes, d.typed);
  s.choice("what is said of the counter", d.dial, Dial::misread);
}
void said(Said&, const Settle&) {}
void said(Said&, const Choice&) {}
void said(Said& s, const Erasure& d) {
  s.choice("the reason", d.reason, Erasure::Reason::expired);
  s.drop_if(!d.car && (d.keeper || d.plate || d.vin || d.texts),
            "it is said what of a car is to be erased, and not of which", "the car");
  s.drop_if(d.entry.n == 0 && !d.field.empty(), "a text is named, and not of which entry",
            "the entry");
}
void said(Said& s, const PeerWord& d) { s.choice("the word", d.what, PeerWord::What::forget); }

// A time of day and how far the clock stood from UTC.
void stamped(Said& s, const Stamp& stamp) {
  s.day("the day of the entry", stamp.on);
  if (stamp.at && (stamp.at->n < 0 || stamp.at->n > 1439))
    s.no("the time of day is minute " + std::to_string(stamp.at->n) + ", which is none",
         "minutes of a day are counted from 0 to 1439", "the minute that it was");
  if (stamp.at_offset && (*stamp.at_offset < -959 || *stamp.at_offset > 959))
    s.no("the clock stands " + std::to_string(*stamp.at_offset) + " minutes from UTC",
         "no clock on a wall stands further than 959 minutes from it", "the offset that it was");
  s.drop_if(stamp.at_offset && !stamp.at, "an offset from UTC is said, and no time of day",
            "the time of day, or no offset");
}

}  // namespace

std::optional<Refusal> refuse_said(const Draft& draft, const Stamp& stamp, const Units& units) {
  Said s(units);
  stamped(s, stamp);
  std::visit([&](const auto& d) { said(s, d); }, draft);
  return s.refusal();
}

std::optional<Refusal> refuse_settings(const Settings& settings) {
  const Units& u = settings.units;
  Said s(u);
  s.choice("the unit of volume", u.volume, VolumeUnit::imperial_gallon);
  s.choice("the unit of distance", u.distance, DistanceUnit::mile);
  s.choice("the unit of torque", u.torque, TorqueUnit::pound_foot);
  if (u.gallon) s.choice("the gallon", *u.gallon, VolumeUnit::imperial_gallon);
  if (u.gallon == VolumeUnit::litre)
    s.no("the gallon is a litre", "a bare `gal` is a US or an imperial one",
         "one of the two, or none: then it is refused as unclear");
  s.choice("the order of dates", settings.date_order, DateOrder::month_first);
  return s.refusal();
}

}  // namespace baybook::book
