// What can be written into a book: one struct for each kind of entry, filled from what a person typed.
//
// Texts marked (private) never reach a hashed body: the body holds a salted digest, the text lies beside the log.
#pragma once

#include <baybook/calendar.hpp>
#include <baybook/export.hpp>
#include <baybook/ids.hpp>
#include <baybook/places.hpp>
#include <baybook/quantity.hpp>

#include <optional>
#include <string>
#include <variant>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

struct NewPlace {
  std::string code;                ///< "drum-coolant"
  Role role = Role::hold_catch;    ///< catch, reuse, stock or waste
  std::optional<Amount> size{};    ///< none: not limited by the book
  std::vector<std::string> takes{};  ///< classes; empty: the stream's, else anything of one group at a time
  std::string stream{};            ///< waste places only: "waste-coolant"; empty: the first class taken
};
struct PlaceMark {  ///< what happens to the container itself
  enum class What : std::uint8_t { seal, open, retire } what = What::seal;  ///< open: an empty container stands there again
  PlaceId place;
  std::string note{};  ///< (private)
};
struct NewFluid {
  std::string code;     ///< "oat-violet"
  std::string of_class; ///< "coolant"
  std::string product;  ///< maker's name for it
  Dimension dimension = Dimension::volume;
  std::optional<Density> density{};
  std::string density_source{};  ///< needed with density
};
struct NewPerson {
  std::string name;       ///< (private)
  std::string contact{};  ///< (private)
};
struct CircuitDraft {
  std::string circuit;              ///< a name of circuits()
  std::optional<Amount> capacity{};
  std::string specification{};      ///< as the car's maker words it; not private
};
struct NewCar {
  std::string plate;   ///< (private)
  std::string vin{};   ///< (private)
  std::string make{}, model{}, engine{};
  int year = 0;        ///< 0: not said
  std::vector<CircuitDraft> circuits{};
  std::string keeper{}, keeper_contact{};  ///< (private)
};
struct CarChange {  ///< only what is set changes
  CarId car;
  std::optional<std::string> plate{}, vin{}, keeper{}, keeper_contact{};  ///< (private)
  std::vector<CircuitDraft> circuits{};
  bool scrapped = false;
  std::string note{};  ///< (private)
};
struct OpenJob {
  CarId car;
  std::optional<Distance> odometer{};
  std::string odometer_reason{};  ///< (private) why a reading may run backwards
  std::string complaint{};        ///< (private)
};
struct Recheck {
  std::string what;                      ///< (private)
  std::optional<int> after_days{};
  std::optional<Distance> after_distance{};
};
struct CloseJob {
  JobId job;
  std::string result{};             ///< (private)
  std::vector<Recheck> rechecks{};
  bool book_lost = false;           ///< what is missing in a circuit's account is booked as lost to the ground, with its bounds
  std::string as_is{};              ///< (private) or: why the account may stay as it is
};
struct Odometer {
  CarId car;
  JobId job{};
  Distance reading;
  std::string reason{};  ///< (private) needed when it runs backwards: cluster replaced
};
struct CodeNote {
  enum class What : std::uint8_t { read, cleared, returned } what = What::read;
  JobId job;
  std::string code;    ///< "P0217"
  std::string note{};  ///< (private)
};
struct Work {
  JobId job;
  std::string text;  ///< (private)
};
struct Fit {
  JobId job;
  std::string part;           ///< maker's number
  std::string description{};  ///< (private)
  std::string lot{};
  Amount quantity;
  int warranty_months = 0;
  std::optional<Distance> warranty_distance{};
  enum class Old : std::uint8_t { not_said, waste, core, customer, none } old = Old::not_said;
  PlaceId old_into{};            ///< with Old::waste
  std::optional<Amount> old_amount{};  ///< with Old::waste; none: the quantity fitted
  std::string old_class{};       ///< with Old::waste: a class, "old-parts" when empty
};
struct TorqueNote {
  JobId job;
  std::string fastener;  ///< (private)
  Torque torque;
};

enum class MoveVerb : std::uint8_t { drain, filter, fill, spill, decant, receive, discard, pickup };
[[nodiscard]] std::string_view name_of(MoveVerb verb) noexcept;

struct MoveLine {
  PlaceId from;
  PlaceId to;
  std::optional<Amount> amount{};  ///< none: everything that is there (best value), typed "all"
  FluidId fluid{};                 ///< needed from supplier; else what the source holds, in proportion
  Fate fate = Fate::none;          ///< pick-ups
  std::string treatment{};         ///< pick-ups: the rules' code for it, "R9", "H061"
  std::string lot{};               ///< receive
};
struct Movement {
  MoveVerb verb = MoveVerb::drain;
  JobId job{};                 ///< needed for drain and fill
  std::vector<MoveLine> lines;
  std::string note{};          ///< (private) the filter it went through, where the spill went
  std::string carrier{}, receiver{};  ///< (private) pick-ups
  std::string document{};      ///< pick-ups, deliveries: number of the paper
  std::string mixing_reason{}; ///< (private) why two groups may meet in one place
};
struct Gauge {
  PlaceId place;
  std::optional<Amount> level{};        ///< read off, or
  std::optional<Amount> gross{}, tare{};  ///< weighed, in mass; a volume place needs a density as well
  std::optional<Density> density{};
  std::string density_source{};
  FluidId fluid{};                      ///< what it is, when the book thinks the place is empty
  std::string reason{};                 ///< (private)
};

/// Changes to the details of an earlier entry; only what is set changes, and only where the entry has such a field.
struct Patch {
  std::optional<Amount> amount{};
  std::optional<PlaceId> from{}, into{};
  std::optional<Distance> odometer{};
  std::optional<std::string> text{};  ///< (private) the entry's main text: complaint, work, result, note, reason, name, plate
  std::optional<std::string> code{}, part{}, lot{}, document{};
  std::optional<Torque> torque{};
  int line = 1;  ///< which line of a movement
};
struct Correction {
  EntryId target;
  bool withdraw = false;
  Patch patch{};                ///< when not withdrawn
  std::string why;              ///< (private) needed
  bool with_dependants = false; ///< withdraw what stands on it as well
};

using Draft = std::variant<NewPlace, PlaceMark, NewFluid, NewPerson, NewCar, CarChange, OpenJob, CloseJob, Odometer, CodeNote, Work,
                           Fit, TorqueNote, Movement, Gauge, Correction>;

}  // namespace baybook
BAYBOOK_API_END
