// Makes a book of any size: baybook_load FILE --entries N | --movements N [--seed S] [--cars C].
//
// Everything is invented and follows from the seed. Every entry goes through Book::append, as a person's would; only the
// commit is shared by a batch of them.
#include "book/inside.hpp"

#include <baybook/book.hpp>

#include <array>
#include <chrono>
#include <cstdlib>
#include <iostream>
#include <memory>
#include <random>
#include <string>
#include <vector>

namespace {

using namespace baybook;

constexpr std::int64_t kPerBatch = 50'000;
constexpr std::int64_t kMl = 1'000'000;  // nanolitres in a millilitre

template <class T>
T need(Result<T> r) {
  if (r.ok()) return std::move(r).value();
  std::cerr << "refused: " << r.refusal().what << "\n  " << r.refusal().why << "\n  " << r.refusal().instead << "\n";
  std::exit(1);
}

Amount volume(std::int64_t ml) {
  return Amount{Dimension::volume, ml * kMl, ml * kMl, ml * kMl, false, std::to_string(ml) + "ml"};
}

Amount pieces(std::int64_t n) { return Amount{Dimension::count, n, n, n, false, std::to_string(n) + " pcs"}; }

Distance kilometres(std::int64_t km) { return Distance{km * 1000, std::to_string(km) + "km"}; }

// One kind of fluid and where the shop keeps it.
struct Line {
  const char* circuit;
  const char* fluid_class;
  const char* product;
  std::int64_t capacity_ml;
  bool kept;  // filtered and put back
  FluidId fluid{};
  PlaceId pan{}, keep{}, stock{}, drum{};
  std::int64_t in_stock = 0, in_drum = 0, in_keep = 0;  // ml, so that the loader never asks for what is not there
};

constexpr std::int64_t kStockSize = 1'000'000, kDrumSize = 200'000, kPanSize = 30'000, kKeepSize = 60'000;  // ml

struct Kept {
  CarId car;
  std::int64_t km = 0;
};

constexpr std::array kMakes = {"Corvane", "Hexley", "Ostrava Wain", "Pellard", "Quarrow", "Tindal", "Umberlin", "Vessey"};
constexpr std::array kModels = {"Tern", "Brindle", "Sable 2", "Harrow", "Lapwing", "Marl", "Copse", "Dunnock"};
constexpr std::array kComplaints = {"loses coolant when hot", "knocking from the front left over bumps", "service is due", "will not start on cold mornings",
                                    "pulls to the right under braking", "oil light comes on at idle", "whine from the gearbox in third", "steering heavy at low speed",
                                    "smell of coolant in the cabin", "brake pedal is soft", "temperature climbs in traffic", "judder when pulling away"};
constexpr std::array kVerbs = {"replaced", "cleaned", "checked", "tightened", "refitted", "pressure-tested", "bled", "adjusted", "measured", "resealed"};
constexpr std::array kThings = {"water pump", "upper radiator hose", "thermostat housing", "sump gasket", "front brake hoses", "expansion tank cap", "gearbox breather",
                                "drive belt", "heater matrix joint", "rocker cover gasket", "rear calipers", "oil cooler pipe", "steering rack gaiter", "engine mount"};
constexpr std::array kFindings = {"no leak after twenty minutes at temperature", "corrosion around the seat, cleaned back to bright metal", "play within the limit",
                                  "old clip had cut into the rubber", "thread was sound", "run on the road for ten kilometres", "held pressure for fifteen minutes",
                                  "wear is even on both sides", "seal had gone hard", "showed traces of an earlier repair"};
constexpr std::array kParts = {"WP", "TH", "HS", "OF", "AF", "BP", "DB", "GK", "SP", "FF"};
constexpr std::array kPartNames = {"water pump", "thermostat", "hose, upper", "oil filter", "air filter", "brake pads, front", "drive belt", "gasket set", "spark plug", "fuel filter"};

class Shop {
 public:
  Shop(const std::string& file, std::int64_t entries, std::uint64_t seed, std::int64_t cars)
      : engine_(seed), entries_(entries), cars_wanted_(cars), book_(open(file)), in_(book_.inside()) {
    in_.db.cache(64 * 1024);
    in_.in_batch = true;
  }

  void run() {
    transaction_ = std::make_unique<store::Transaction>(in_.db);
    furnish();
    while (written_ < entries_) visit();
    settle();
    // A finished book is one file: run.sh copies it.
    in_.db.exec("PRAGMA wal_checkpoint(TRUNCATE)");
    std::cerr << written_ << " entries: " << moved_ << " movements, " << jobs_ << " of jobs, " << parts_ << " parts, " << readings_ << " odometer readings, " << cars_.size() << " cars\n";
  }

 private:
  Book open(const std::string& file) {
    Settings s;
    s.site = "Saltmarsh Motor Works";
    s.tag = "bay";
    s.zone = "Europe/Lisbon";
    return need(Book::start(file, s, now_, [this](std::uint8_t* bytes, std::size_t size) {
      for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<std::uint8_t>(engine_() & 255);
      return true;
    }));
  }

  std::int64_t below(std::int64_t n) { return static_cast<std::int64_t>(engine_() % static_cast<std::uint64_t>(n)); }
  template <class A>
  std::string one_of(const A& list) { return list[static_cast<std::size_t>(below(static_cast<std::int64_t>(list.size())))]; }

  void settle() {
    in_.ledger.flush();
    book::refresh_due(in_);
    transaction_->commit();
    transaction_.reset();
    batch_ = 0;
  }

  std::int64_t write(const Draft& draft) {
    // Ten years end on the last day of the span whatever the size: the clock is a function of the entry's number. The shop
    // works from 8 to 18, never in the hour that the end of summer time repeats.
    const double day = static_cast<double>(written_) / static_cast<double>(entries_ + 64) * static_cast<double>(kDays);
    const auto whole = static_cast<std::int64_t>(day);
    now_.ms = kStart + whole * 86'400'000 + static_cast<std::int64_t>((day - static_cast<double>(whole)) * 36'000'000);
    Stamp stamp;
    stamp.now = now_;
    stamp.by = by_;
    const Receipt r = need(book_.append(draft, stamp));
    ++written_;
    // Kept short so that what has come and gone in the pans does not pile up in memory between two commits.
    if (++batch_ % 2'000 == 0) in_.ledger.flush();
    if (batch_ >= kPerBatch) {
      settle();
      transaction_ = std::make_unique<store::Transaction>(in_.db);
    }
    return r.entry.id.n;
  }

  PlaceId place(const std::string& code, Role role, std::int64_t size_ml, std::vector<std::string> takes) {
    NewPlace p;
    p.code = code;
    p.role = role;
    if (size_ml > 0) p.size = volume(size_ml);
    p.takes = std::move(takes);
    return PlaceId{write(p)};
  }

  void furnish() {
    for (const char* name : {"Anselm Rook", "Bettina Crane", "Cyprian Wren", "Dorothea Finch"}) {
      NewPerson p;
      p.name = name;
      people_.push_back(PersonId{write(p)});
    }
    for (Line& l : lines_) {
      const std::string c = l.circuit;
      NewFluid f;
      f.code = l.product;
      f.of_class = l.fluid_class;
      f.product = std::string("Product ") + l.product;
      l.fluid = FluidId{write(f)};
      l.pan = place("pan-" + c, Role::hold_catch, kPanSize, {l.fluid_class});
      if (l.kept) l.keep = place("keep-" + c, Role::reuse, kKeepSize, {l.fluid_class});
      l.stock = place("can-" + c, Role::stock, kStockSize + 250'000, {l.fluid_class});
      l.drum = place("drum-" + c, Role::waste, kDrumSize + kPanSize, {l.fluid_class});
    }
    bin_ = place("bin-parts", Role::waste, 0, {"old-parts"});
  }

  CarId new_car() {
    const auto n = static_cast<std::int64_t>(cars_.size());
    static constexpr char letters[] = "ABCDEFGHJKLMNPRSTUVWXYZ";
    NewCar c;
    c.plate = std::string("SM") + std::to_string(10000 + n) + "-" + letters[static_cast<std::size_t>(below(23))];
    c.vin = "XY9";
    for (int i = 0; i < 6; ++i) c.vin += letters[static_cast<std::size_t>(below(23))];
    c.vin += std::to_string(10000000 + n);
    c.make = one_of(kMakes);
    c.model = one_of(kModels);
    c.year = static_cast<int>(2002 + below(14));
    for (const Line& l : lines_) c.circuits.push_back({l.circuit, volume(l.capacity_ml), ""});
    c.keeper = "Keeper " + std::to_string(n);
    return CarId{write(c)};
  }

  void move(MoveVerb verb, JobId job, PlaceId from, PlaceId to, std::optional<Amount> amount, FluidId fluid = {}) {
    Movement m;
    m.verb = verb;
    m.job = job;
    MoveLine line;
    line.from = from;
    line.to = to;
    line.amount = std::move(amount);
    line.fluid = fluid;
    if (verb == MoveVerb::receive) m.document = "DN-" + std::to_string(written_);
    if (verb == MoveVerb::pickup) {
      line.fate = Fate::recycled;
      m.carrier = "Quill & Tarn Recovery";
      m.document = "PU-" + std::to_string(written_);
    }
    m.lines.push_back(std::move(line));
    write(m);
    ++moved_;
  }

  void stock_up(Line& l) {
    if (l.in_stock > 60'000) return;
    move(MoveVerb::receive, {}, kSupplier, l.stock, volume(kStockSize), l.fluid);
    l.in_stock += kStockSize;
  }

  void fill_new(Line& l, JobId job, PlaceId circuit, std::int64_t ml) {
    stock_up(l);
    move(MoveVerb::fill, job, l.stock, circuit, volume(ml));
    l.in_stock -= ml;
  }

  void into_drum(Line& l, JobId job, std::int64_t ml) {
    move(MoveVerb::decant, job, l.pan, l.drum, std::nullopt);
    l.in_drum += ml;
    if (l.in_drum <= kDrumSize) return;
    move(MoveVerb::pickup, {}, l.drum, kReceiver, std::nullopt);
    l.in_drum = 0;
  }

  // What comes out goes back in: old fluid filtered and kept, the rest new, so that the job's account closes.
  void exchange(Line& l, const Kept& k, JobId job) {
    const PlaceId circuit = circuit_of(k.car, *find_circuit(l.circuit));
    const std::int64_t out = (l.capacity_ml / 100 * (80 + below(21))) / 100 * 100;
    move(MoveVerb::drain, job, circuit, l.pan, volume(out));
    if (l.kept && below(2) == 0 && l.in_keep + out < kKeepSize) {
      const std::int64_t good = out * 3 / 4 / 100 * 100;
      move(MoveVerb::filter, job, l.pan, l.keep, volume(good));
      move(MoveVerb::fill, job, l.keep, circuit, std::nullopt);
      into_drum(l, job, out - good);
      fill_new(l, job, circuit, out - good);
      return;
    }
    into_drum(l, job, out);
    const std::int64_t half = out / 2 / 100 * 100;
    fill_new(l, job, circuit, half);
    fill_new(l, job, circuit, out - half);
  }

  void fit(JobId job) {
    const auto i = static_cast<std::size_t>(below(static_cast<std::int64_t>(kParts.size())));
    Fit f;
    f.job = job;
    f.part = std::string(kParts[i]) + "-" + std::to_string(1000 + below(900));
    f.description = kPartNames[i];
    f.lot = "L" + std::to_string(100 + below(800));
    f.quantity = pieces(1 + below(4));
    f.warranty_months = 24;
    f.old = below(4) == 0 ? Fit::Old::customer : Fit::Old::core;
    write(f);
    ++parts_;
  }

  void odometer(Kept& k, JobId job) {
    k.km += 1 + below(900);
    Odometer o;
    o.car = k.car;
    o.job = job;
    o.reading = kilometres(k.km);
    write(o);
    ++readings_;
  }

  // One car's stay: about 20 entries, 60 % of them movements.
  void visit() {
    const bool fresh = static_cast<std::int64_t>(cars_.size()) < cars_wanted_ && (cars_.empty() || below(2) == 0);
    if (fresh) cars_.push_back({new_car(), 20'000 + below(90'000)});
    Kept& k = fresh ? cars_.back() : cars_[static_cast<std::size_t>(below(static_cast<std::int64_t>(cars_.size())))];
    by_ = people_[static_cast<std::size_t>(below(static_cast<std::int64_t>(people_.size())))];
    OpenJob o;
    o.car = k.car;
    k.km += 1 + below(4000);
    o.odometer = kilometres(k.km);
    o.complaint = one_of(kComplaints);
    const JobId job{write(o)};
    for (int i = 0; i < 3; ++i) exchange(lines_[static_cast<std::size_t>((below(2) + 2 * i) % static_cast<std::int64_t>(lines_.size()))], k, job);
    Work w;
    w.job = job;
    w.text = std::string(one_of(kVerbs)) + " " + one_of(kThings) + ", " + one_of(kFindings);
    write(w);
    for (int i = 0; i < 3; ++i) fit(job);
    for (int i = 0; i < 2; ++i) odometer(k, job);
    CloseJob c;
    c.job = job;
    c.result = one_of(kFindings);
    if (below(5) == 0) c.rechecks.push_back({std::string("look at the ") + one_of(kThings), 14, {}});
    write(c);
    jobs_ += 3;
  }

  static constexpr std::int64_t kStart = 1'735'718'400'000;  // 2025-01-01T08:00Z, the first year a clock can stand in
  static constexpr std::int64_t kDays = 3653;                // up to 2034-12-31
  std::mt19937_64 engine_;
  std::int64_t entries_;
  std::int64_t cars_wanted_;
  Instant now_{kStart};
  Book book_;
  Book::Inside& in_;
  std::unique_ptr<store::Transaction> transaction_;
  std::int64_t written_ = 0, batch_ = 0, moved_ = 0, jobs_ = 0, parts_ = 0, readings_ = 0;
  std::vector<PersonId> people_;
  PersonId by_{};  // one person does one stay
  std::vector<Kept> cars_;
  PlaceId bin_{};
  std::array<Line, 6> lines_ = {{{"coolant", "coolant", "oat-violet", 6800, true},
                                 {"engine-oil", "engine-oil", "oil-5w30", 4500, false},
                                 {"gearbox", "gear-oil", "gear-75w", 2400, false},
                                 {"steering", "steering-fluid", "steer-1", 1200, false},
                                 {"washer", "washer-fluid", "screen-2", 3600, true},
                                 {"brake", "brake-fluid", "brake-4", 1000, false}}};
};

}  // namespace

int main(int argc, char** argv) {
  std::string file;
  std::int64_t entries = 0;
  std::int64_t cars = 0;
  std::uint64_t seed = 1;
  for (int i = 1; i < argc; ++i) {
    const std::string a = argv[i];
    const bool more = i + 1 < argc;
    if (a == "--entries" && more) entries = std::atoll(argv[++i]);
    else if (a == "--movements" && more) entries = std::atoll(argv[++i]) * 5 / 3;  // a little more than three entries of five are movements
    else if (a == "--seed" && more) seed = static_cast<std::uint64_t>(std::atoll(argv[++i]));
    else if (a == "--cars" && more) cars = std::atoll(argv[++i]);
    else if (file.empty() && a.substr(0, 1) != "-") file = a;
    else file.clear(), entries = 0, i = argc;
  }
  if (file.empty() || entries < 200) {
    std::cerr << "usage: baybook_load FILE --entries N | --movements N [--seed S] [--cars C]   (N at least 200; FILE must not exist)\n";
    return 2;
  }
  if (cars <= 0) cars = std::min<std::int64_t>(5000, std::max<std::int64_t>(20, entries / 200));
  const auto begin = std::chrono::steady_clock::now();
  {
    Shop shop(file, entries, seed, cars);
    shop.run();
  }
  const double s = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  std::cerr << "in " << s << " s, " << static_cast<std::int64_t>(static_cast<double>(entries) / s) << " entries/s\n";
  return 0;
}
