#include <baybook/drafts.hpp>
#include <baybook/places.hpp>

#include <array>

namespace baybook {

namespace {

constexpr std::string_view kHotCoolant = "coolant: never open a hot, pressurised system; it is sweet and toxic to people and animals, wipe up every drop; keep it out of drains";
constexpr std::string_view kOil = "oil: hot oil burns; used oil on skin is harmful, wear gloves; keep it away from flames and out of drains";
constexpr std::string_view kBrake = "brake fluid: strips paint and harms eyes; takes up water, never put drained fluid back";
constexpr std::string_view kRefrigerant = "refrigerant: under pressure, freezes skin and eyes, some kinds burn; never vent it; only people with the certificate the law asks for";
constexpr std::string_view kFuel = "fuel: fire and fumes; no ignition source, earth the container, ventilate";
constexpr std::string_view kSolvent = "solvent: fire and fumes; closed container, ventilate, gloves";
constexpr std::string_view kBattery = "battery: acid and short circuits; upright, terminals covered, away from sparks";

// Numbers are in the file for ever. Which of these may meet in one container is common practice, no source: oils together,
// everything else apart; the rule files of the returns say what the law of a place says.
constexpr std::array<FluidClass, 27> kClasses = {{
    {1, "coolant", "coolant", kHotCoolant},
    {2, "engine-oil", "oil", kOil},
    {3, "gear-oil", "oil", kOil},
    {4, "transmission-fluid", "oil", kOil},
    {5, "hydraulic-oil", "oil", kOil},
    {6, "steering-fluid", "oil", kOil},
    {7, "brake-fluid", "brake-fluid", kBrake},
    {8, "refrigerant", "refrigerant", kRefrigerant},
    {9, "petrol", "petrol", kFuel},
    {10, "diesel", "diesel", kFuel},
    {11, "washer-fluid", "washer-fluid", "washer fluid: burns when it holds alcohol; toxic to drink"},
    {12, "urea-solution", "urea-solution", ""},
    {13, "solvent", "solvent", kSolvent},
    {14, "grease", "grease", ""},
    {15, "absorbent", "absorbent", "used absorbent: as dangerous as what it soaked up; oily rags can catch fire by themselves, metal bin with a lid"},
    {16, "oil-filters", "oil-filters", kOil},
    {17, "batteries", "batteries", kBattery},
    {18, "tyres", "tyres", ""},
    {19, "old-parts", "old-parts", ""},
    {20, "wash-water", "wash-water", ""},
    {21, "compressor-oil", "compressor-oil", kOil},
    {22, "airbags", "airbags", "airbag: can fire; trained people only, away from heat and current"},
    {23, "packaging", "packaging", ""},
    {24, "fuel-filters", "fuel-filters", kFuel},
    {25, "unknown", "unknown", "not known what it is: treat it as dangerous"},
    {26, "wipes", "wipes", "solvent wipes: flammable; closed metal can"},
    {27, "aerosol-cans", "aerosol-cans", "aerosol cans: flammable gas under pressure; away from heat, never pierced by hand"},
}};

constexpr std::array<Circuit, 18> kCircuits = {{
    {1, "coolant", "coolant"},
    {2, "engine-oil", "engine-oil"},
    {3, "gearbox", "gear-oil"},
    {4, "automatic-gearbox", "transmission-fluid"},
    {5, "front-axle", "gear-oil"},
    {6, "rear-axle", "gear-oil"},
    {7, "transfer-box", "gear-oil"},
    {8, "brake", "brake-fluid"},
    {9, "clutch", "brake-fluid"},
    {10, "steering", "steering-fluid"},
    {11, "hydraulic", "hydraulic-oil"},
    {12, "refrigerant", "refrigerant"},
    {13, "petrol-tank", "petrol"},
    {14, "diesel-tank", "diesel"},
    {15, "washer", "washer-fluid"},
    {16, "urea-tank", "urea-solution"},
    {17, "battery-coolant", "coolant"},
    {18, "intercooler-coolant", "coolant"},
}};

constexpr std::array<std::string_view, 12> kRoles = {
    "circuit",  "catch",  "reuse",    "stock",   "waste",      "before",
    "supplier", "ground", "receiver", "used-up", "difference", "missing"};
constexpr std::array<std::string_view, 8> kVerbs = {"drain", "filter", "fill", "spill", "decant", "receive", "discard", "pickup"};

}  // namespace

// A role or a verb is read from a file too; one that is none has no name.
std::string_view name_of(Role role) noexcept {
  const auto i = static_cast<std::size_t>(role);
  return i < kRoles.size() ? kRoles[i] : "no role";
}

std::optional<Role> read_role(std::string_view text) noexcept {
  for (std::size_t i = 1; i <= 4; ++i) {
    if (kRoles[i] == text) return static_cast<Role>(i);
  }
  return std::nullopt;
}

std::string_view name_of(MoveVerb verb) noexcept {
  const auto i = static_cast<std::size_t>(verb);
  return i < kVerbs.size() ? kVerbs[i] : "no verb";
}

std::span<const FluidClass> fluid_classes() noexcept { return kClasses; }

const FluidClass* find_class(std::string_view name) noexcept {
  for (const FluidClass& c : kClasses) {
    if (c.name == name) return &c;
  }
  return nullptr;
}

const FluidClass* find_class(FluidId id) noexcept {
  return id.n >= 1 && id.n <= static_cast<std::int64_t>(kClasses.size()) ? &kClasses[static_cast<std::size_t>(id.n - 1)] : nullptr;
}

std::span<const Circuit> circuits() noexcept { return kCircuits; }

const Circuit* find_circuit(std::string_view name) noexcept {
  for (const Circuit& c : kCircuits) {
    if (c.name == name) return &c;
  }
  return nullptr;
}

const Circuit* find_circuit(std::int64_t number) noexcept {
  return number >= 1 && number <= static_cast<std::int64_t>(kCircuits.size()) ? &kCircuits[static_cast<std::size_t>(number - 1)] : nullptr;
}

std::string_view name_of(Fate fate) noexcept {
  return fate == Fate::recycled ? "recycled" : fate == Fate::disposed ? "disposed" : "none";
}

std::optional<Fate> read_fate(std::string_view text) noexcept {
  if (text == "recycle" || text == "recycled") return Fate::recycled;
  if (text == "dispose" || text == "disposed") return Fate::disposed;
  return std::nullopt;
}

}  // namespace baybook
