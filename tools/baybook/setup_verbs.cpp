// start, place, fluid, person, car.
#include "context.hpp"
#include "render/entries.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/keep.hpp>
#include <baybook/text.hpp>

#include <cerrno>
#include <charconv>
#include <cstdlib>
#include <cstring>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::tool {

namespace {

int whole_number(std::string_view text, std::string_view what, std::string instead) {
  int n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size() || text.empty()) {
    refuse(Code::unclear, std::string(what) + " " + visible(text) + " is not a whole number", "", std::move(instead));
  }
  return n;
}

/// One of a few words; none of them is wrong usage that lists them.
std::size_t one_of(std::string_view option, const std::string& text, std::initializer_list<std::string_view> words) {
  std::size_t i = 0;
  std::string all;
  for (const std::string_view w : words) {
    if (w == text) return i;
    ++i;
    all += (all.empty() ? "" : ", ") + std::string(w);
  }
  refuse(Code::wrong_usage, "--" + std::string(option) + " " + visible(text) + " is not known", "it is one of: " + all, "--" + std::string(option) + " " + std::string(*words.begin()));
}

Settings settings_of(const Context& c) {
  const Typed& t = c.typed();
  Settings s;
  s.site = c.required("site");
  s.tag = c.required("tag");
  if (t.has("zone")) s.zone = t.text("zone");
  if (t.has("volume")) {
    constexpr VolumeUnit units[] = {VolumeUnit::litre, VolumeUnit::us_gallon, VolumeUnit::imperial_gallon};
    s.units.volume = units[one_of("volume", t.text("volume"), {"L", "usgal", "impgal"})];
  }
  if (t.has("distance")) s.units.distance = one_of("distance", t.text("distance"), {"km", "mi"}) == 0 ? DistanceUnit::kilometre : DistanceUnit::mile;
  if (t.has("torque")) s.units.torque = one_of("torque", t.text("torque"), {"Nm", "lbft"}) == 0 ? TorqueUnit::newton_metre : TorqueUnit::pound_foot;
  if (t.has("gallon")) s.units.gallon = one_of("gallon", t.text("gallon"), {"us", "imperial"}) == 0 ? VolumeUnit::us_gallon : VolumeUnit::imperial_gallon;
  if (t.has("estimate")) {
    std::string percent = t.text("estimate");
    if (!percent.empty() && percent.back() == '%') percent.pop_back();
    s.units.estimate_percent = whole_number(percent, "the percentage", "--estimate 10");
  }
  if (t.has("dates")) s.date_order = one_of("dates", t.text("dates"), {"day-first", "month-first"}) == 0 ? DateOrder::day_first : DateOrder::month_first;
  s.rules = t.text("rules");
  return s;
}

void started(Context& c, const Book& book, const std::string& path, bool dry_run) {
  const std::string seal = book.seal();
  if (c.json()) {
    Json j = c.document();
    j.member("book", path);
    j.member("site", book.settings().site);
    j.member("tag", book.settings().tag);
    j.member("zone", book.settings().zone);
    j.member("seal", seal);
    j.key("dry_run").boolean(dry_run);
    c.print(j);
    return;
  }
  if (c.quiet()) return;
  c.out().line((dry_run ? "would be entry 1  nothing was written" : "entry 1  " + seal));
  c.out().line("  book " + visible(path) + " opened at " + visible(book.settings().site) + ", " + visible(book.settings().zone));
  if (!dry_run) {
    c.out().line("  next: export BAYBOOK_BOOK=" + as_typed(path));
    c.out().line("        baybook place add pan-1 --role catch --size 20L");
  }
}

std::optional<std::string> option_text(const Typed& t, std::string_view name) {
  const std::string* v = t.get(name);
  return v ? std::optional<std::string>(*v) : std::nullopt;
}

int mark(Context& c, PlaceMark::What what) { return c.write(PlaceMark{what, c.place(c.operand(0)), c.typed().text("note")}); }

std::string circuit_line(const CarView::CircuitView& v, const Units& units) {
  std::string out = v.name;
  if (v.capacity) out += " " + show(v.capacity->best, v.capacity->dimension, units);
  if (!v.specification.empty()) out += " " + v.specification;
  return visible(out);
}

void car_members(Json& j, const CarView& v) {
  j.member("plate", v.plate);
  j.member("car", v.plate);
  if (v.plate_erased) j.key("plate_erased").boolean(true);
  j.member("vin", v.vin);
  j.member("make", v.make);
  j.member("model", v.model);
  j.member("engine", v.engine);
  j.key("year");
  if (v.year != 0) j.number(v.year);
  else j.null();
  j.member("keeper", v.keeper);
  j.key("scrapped").boolean(v.scrapped);
  j.strings("earlier_plates", v.earlier_plates);
  j.key("circuits").begin_array();
  for (const auto& circuit : v.circuits) {
    j.begin_object();
    j.member("circuit", circuit.name);
    j.member("takes", circuit.takes);
    j.key("capacity");
    if (circuit.capacity) j.amount(*circuit.capacity);
    else j.null();
    j.member("specification", circuit.specification);
    j.end_object();
  }
  j.end_array();
  j.key("odometer");
  if (v.odometer_day) {
    j.begin_object();
    j.member("m", std::to_string(v.odometer_metres));
    j.member("day", to_string(*v.odometer_day));
    j.end_object();
  } else {
    j.null();
  }
  j.key("odometer_m");
  if (v.odometer_day) j.string(std::to_string(v.odometer_metres));
  else j.null();
}

std::string type_of(const CarView& v) {
  std::string out = v.make;
  for (const std::string& s : {v.model, v.year ? std::to_string(v.year) : std::string()}) {
    if (!s.empty()) out += (out.empty() ? "" : " ") + s;
  }
  return visible(out);
}

std::string folder_of(const std::string& path) {
  const std::size_t slash = path.rfind('/');
  return slash == std::string::npos ? "." : slash == 0 ? "/" : path.substr(0, slash);
}

// What lies beside an open book is made anew by whoever comes first: the others must be able to
// make it, and to write what somebody else made.
void check_folder_of_group(Context& c, const std::string& path) {
  const std::string folder = folder_of(path);
  struct stat st {};
  if (::stat(folder.c_str(), &st) != 0) return;
  if ((st.st_mode & S_IWGRP) != 0 && (st.st_mode & S_ISGID) != 0) return;
  c.err().text(wrapped("check: ", "a group's book needs a folder in which the group may write and "
                                  "that hands on its group; type: chmod g+ws " +
                                      visible(as_typed(folder))));
}

}  // namespace

namespace render {
void car_object(Json& j, const CarView& v) {
  j.begin_object();
  car_members(j, v);
  j.end_object();
}
std::string car_type(const CarView& v) { return type_of(v); }
}  // namespace render

int run_start(Context& c) {
  const std::string& path = c.operand(0);
  if (path.empty()) refuse(Code::wrong_usage, "the book needs a name", "it is one file", "baybook start marsh.baybook ...");
  const Settings s = settings_of(c);
  const char* share = std::getenv("BAYBOOK_NETWORK_SHARE");
  const Making making{c.typed().has("group"), c.typed().has("network-share") || (share != nullptr && *share != '\0')};
  if (!c.typed().has("dry-run")) {
    const Book book = need(Book::start(path, s, c.now(), system_random, making));
    c.note_stored("1");
    started(c, book, path, false);
    if (making.group) check_folder_of_group(c, path);
    return 0;
  }
  // A trial: the same book in a folder of its own that is gone afterwards, and a look at the place where it would be.
  if (::access(path.c_str(), F_OK) == 0) refuse(Code::already_there, visible(path) + " is there already", "a book is never written over", "another name");
  if (network_share(path) == Share::network && !making.network_share) refuse(Code::unwritable, visible(path) + " would be on a network share", "two programs would not see each other's locks there, and entries could be lost", "a disk of this machine; against this advice: --network-share");
  const std::string folder = folder_of(path);
  if (::access(folder.c_str(), W_OK | X_OK) != 0) refuse(Code::unwritable, visible(folder) + ": " + std::strerror(errno), "the book is made in that folder", "a folder that is there and may be written to");
  const char* temporary = std::getenv("TMPDIR");
  std::string trial = std::string(temporary != nullptr && *temporary == '/' ? temporary : "/tmp") + "/baybook-trial-XXXXXX";
  if (::mkdtemp(trial.data()) == nullptr) refuse(Code::unwritable, trial + ": " + std::strerror(errno), "the trial needs a place", "TMPDIR=/a/folder/that/may/be/written/to, before the same again");
  const std::string file = trial + "/book";
  auto book = Book::start(file, s, c.now(), system_random);
  if (book.ok()) started(c, *book, path, true);
  const std::optional<Refusal> refusal = book.ok() ? std::nullopt : std::optional<Refusal>(book.refusal());
  if (book.ok()) { const Book closed = std::move(book).value(); }
  for (const char* suffix : {"", "-wal", "-shm", "-journal"}) ::unlink((file + suffix).c_str());
  ::rmdir(trial.c_str());
  if (refusal) throw Refused{*refusal};
  return 0;
}

int run_place_add(Context& c) {
  NewPlace d;
  d.code = c.operand(0);
  const std::string& role = c.required("role");
  const auto known = read_role(role);
  if (!known) {
    const std::vector<std::string> near = near_names(role, {"catch", "reuse", "stock", "waste"});
    refuse(Code::wrong_usage, "there is no role " + visible(role), "it is one of: catch (a pan, undecided), reuse (filtered, kept), stock (new), waste (for pick-up)", "--role " + (near.empty() ? std::string("catch") : near.front()));
  }
  d.role = *known;
  d.size = c.amount_option("size");
  d.takes = c.typed().all("takes");
  d.stream = c.typed().text("stream");
  d.area = c.typed().text("area");
  d.satellite = c.typed().has("satellite");
  d.bulk = c.typed().has("bulk");
  return c.write(d);
}

int run_place_seal(Context& c) { return mark(c, PlaceMark::What::seal); }
int run_place_open(Context& c) { return mark(c, PlaceMark::What::open); }
int run_place_retire(Context& c) { return mark(c, PlaceMark::What::retire); }
int run_place_bulk(Context& c) { return mark(c, PlaceMark::What::bulk); }
int run_place_shelf(Context& c) { return mark(c, PlaceMark::What::shelf); }

int run_fluid_add(Context& c) {
  NewFluid d;
  d.code = c.operand(0);
  d.of_class = c.required("class");
  d.product = c.typed().text("product");
  // Charged and recovered by the scale, whatever the machine is called (common practice, no source).
  if (d.of_class == "refrigerant") d.dimension = Dimension::mass;
  if (c.typed().has("in")) {
    constexpr Dimension dimensions[] = {Dimension::volume, Dimension::mass, Dimension::count};
    d.dimension = dimensions[one_of("in", c.typed().text("in"), {"volume", "mass", "count"})];
  }
  if (const std::string* density = c.typed().get("density")) d.density = need(parse_density(*density, c.units()));
  d.density_source = c.typed().text("source");
  d.shares = shares_option(c);
  return c.write(d);
}

int run_fluid_change(Context& c) {
  const FluidId fluid = need(c.book().find_fluid(c.operand(0)));
  if (find_class(fluid) != nullptr)
    refuse(
        Code::not_allowed, visible(c.operand(0)) + " is a class, and no product of the shop",
        "what is in it is said of a product, or of one spill",
        "baybook fluid add CODE --class " + visible(c.operand(0)) + " --share \"SUBSTANCE=50%\"");
  if (!c.typed().has("share"))
    refuse(Code::wrong_usage, "it is not said what changes", "",
           "--share \"SUBSTANCE=50%\", again for each substance that is reportable in it");
  Correction d;
  d.target = EntryId{fluid.n};
  d.patch.shares = shares_option(c);
  d.why = c.typed().has("why") ? c.typed().text("why") : "what is in it";
  return c.write(d);
}

int run_fluid_list(Context& c) {
  const Book& book = c.book();
  const AsOf as_of = c.as_of();
  struct Product {
    std::string code, summary;
    EntryRef ref;
  };
  std::vector<Product> products;
  for (const std::string& name : book.names("fluids")) {
    const FluidId id = need(book.find_fluid(name));
    if (find_class(id) != nullptr) continue;
    const EntryView e = need(entry(book, EntryId{id.n}));  // a product is known by the entry that made it
    if (as_of && e.happened > *as_of) continue;
    std::string summary = e.summary;
    const std::string lead = "fluid " + name.substr(0, name.find('@')) + ", ";
    if (summary.starts_with(lead)) summary.erase(0, lead.size());
    products.push_back({name, summary, e.ref});
  }
  if (c.json()) {
    Json j = c.document();
    j.key("fluids").begin_array();
    for (const Product& p : products) {
      j.begin_object();
      j.member("fluid", p.code);
      j.member("summary", p.summary);
      render::entry_ref(j, "entry", p.ref);
      j.end_object();
    }
    j.end_array();
    j.key("classes").begin_array();
    for (const FluidClass& f : fluid_classes()) {
      j.begin_object();
      j.member("class", f.name);
      j.member("group", f.group);
      j.member("caution", f.caution);
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Out& out = c.out();
  if (products.empty()) {
    out.line("no product yet: baybook fluid add oat-violet --class coolant");
  } else {
    Table t;
    t.column("product");
    t.column("class and maker's name");
    for (const Product& p : products) t.row({visible(p.code), visible(p.summary)});
    out.text(t.text());
  }
  out.line();
  Table t;
  t.column("class");
  t.column("as waste together with");
  for (const FluidClass& f : fluid_classes()) t.row({std::string(f.name), std::string(f.group)});
  out.text(t.text());
  return 0;
}

int run_person_add(Context& c) { return c.write(NewPerson{c.operand(0), c.typed().text("contact"), c.typed().text("certificate")}, c.operand(0)); }

int run_person_list(Context& c) {
  const Book& book = c.book();
  const AsOf as_of = c.as_of();
  std::vector<std::pair<std::string, std::string>> people;
  for (const std::string& name : book.names("people")) {
    const PersonId id = need(book.find_person(name));
    const EntryView e = need(entry(book, EntryId{id.n}));
    if (as_of && e.happened > *as_of) continue;
    std::string contact;
    std::string shown = name;
    for (const auto& [field, text] : e.private_values) {
      if (field == "contact") contact = text.empty() ? "(erased)" : text;
      if (field == "name" && text.empty() && name.starts_with("person:")) shown += " (erased)";
    }
    people.emplace_back(shown, contact);
  }
  if (c.json()) {
    Json j = c.document();
    j.key("people").begin_array();
    for (const auto& [name, contact] : people) {
      j.begin_object();
      j.member("name", name);
      j.member("contact", contact);
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (people.empty()) {
    c.out().line("nobody yet: baybook person add Tam");
    return 0;
  }
  Table t;
  t.column("name");
  t.column("contact");
  for (const auto& [name, contact] : people) t.row({visible(name), visible(contact)});
  c.out().text(t.text());
  return 0;
}

int run_car_add(Context& c) {
  const Typed& t = c.typed();
  NewCar d;
  d.plate = c.operand(0);
  d.vin = t.text("vin");
  if (t.has("vin") && d.vin.empty())
    refuse(Code::wrong_usage, "--vin \"\" is no VIN",
           "an empty one is a slip more often than a wish", "--vin VIN, or no --vin");
  d.make = t.text("make");
  d.model = t.text("model");
  d.engine = t.text("engine");
  if (t.has("year")) d.year = whole_number(t.text("year"), "the year", "--year 2014");
  for (const std::string& text : t.all("circuit")) d.circuits.push_back(circuit_draft(c, text));
  d.keeper = t.text("keeper");
  d.keeper_contact = t.text("contact");
  return c.write(d, d.plate);
}

int run_car_change(Context& c) {
  const Typed& t = c.typed();
  CarChange d;
  d.car = c.car(c.operand(0));
  d.plate = option_text(t, "plate");
  d.vin = option_text(t, "vin");
  d.keeper = option_text(t, "keeper");
  d.keeper_contact = option_text(t, "contact");
  for (const std::string& text : t.all("circuit")) d.circuits.push_back(circuit_draft(c, text));
  d.scrapped = t.has("scrapped");
  d.note = t.text("note");
  return c.write(d);
}

int run_car_show(Context& c) {
  const CarView v = need(car(c.book(), c.car(c.operand(0)), c.as_of()));
  if (c.json()) {
    Json j = c.document();
    j.key("car");
    render::car_object(j, v);
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  const Units& units = c.units();
  Out& out = c.out();
  out.line(visible(v.plate) + (type_of(v).empty() ? "" : "  " + type_of(v)) + (v.scrapped ? "  SCRAPPED" : ""));
  Table t;
  t.column("");
  t.column("");
  if (v.plate_erased) t.row({"plate", "(erased)"});
  if (!v.earlier_plates.empty()) t.row({"earlier plates", visible(joined(v.earlier_plates))});
  if (!v.vin.empty()) t.row({"VIN", visible(v.vin)});
  if (!v.engine.empty()) t.row({"engine", visible(v.engine)});
  if (!v.keeper.empty()) t.row({"keeper", visible(v.keeper)});
  if (v.odometer_day) t.row({"odometer", show_distance(v.odometer_metres, units) + " on " + to_string(*v.odometer_day)});
  out.text(t.text(2));
  if (!v.circuits.empty()) {
    out.line();
    Table circuits;
    circuits.column("circuit");
    circuits.column("holds", Align::right);
    circuits.column("takes");
    circuits.column("its maker asks for");
    for (const auto& x : v.circuits) {
      circuits.row({x.name, x.capacity ? show(x.capacity->best, x.capacity->dimension, units) : "", x.takes, visible(x.specification)});
    }
    out.text(circuits.text(2));
  }
  return 0;
}

int run_car_list(Context& c) {
  std::vector<CarView> list = need(cars(c.book()));
  if (const AsOf as_of = c.as_of()) {
    std::vector<CarView> then;
    for (const CarView& v : list) {
      auto at = car(c.book(), v.id, as_of);
      if (at.ok()) then.push_back(std::move(at).value());
      else if (at.refusal().code != Code::not_found) throw Refused{std::move(at).refusal()};
    }
    list = std::move(then);
  }
  if (c.json()) {
    Json j = c.document();
    j.key("cars").begin_array();
    for (const CarView& v : list) render::car_object(j, v);
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line("no car yet: baybook car add MARSH-07 --circuit coolant=6.8L");
    return 0;
  }
  const Units& units = c.units();
  Table t;
  t.column("plate");
  t.column("car");
  t.column("odometer", Align::right);
  t.column("on");
  t.column("circuits");
  t.column("");
  for (const CarView& v : list) {
    std::vector<std::string> circuits;
    for (const auto& x : v.circuits) circuits.push_back(circuit_line(x, units));
    t.row({visible(v.plate), type_of(v), v.odometer_day ? show_distance(v.odometer_metres, units) : "", v.odometer_day ? to_string(*v.odometer_day) : "", joined(circuits), v.scrapped ? v.plate_erased ? "scrapped, plate (erased)" : "scrapped" : v.plate_erased ? "plate (erased)" : ""});
  }
  c.out().text(t.text());
  return 0;
}

}  // namespace baybook::tool
