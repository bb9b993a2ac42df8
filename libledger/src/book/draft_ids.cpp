#include "book/draft_ids.hpp"

#include "log/references.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

using log::Kind;
using log::refuse;

namespace {

/// How a person calls what an id stands for, and where the right one is found.
struct Noun {
  std::string_view word, instead;
};
constexpr Noun kCar{"car", "baybook car list"};
constexpr Noun kJob{"job", "baybook job list"};
constexpr Noun kPlace{"place", "a place from `baybook levels`"};
constexpr Noun kFluid{"fluid", "a fluid from `baybook fluid list`"};
constexpr Noun kPerson{"person", "a name from `baybook person list`"};
constexpr Noun kFirm{"firm", "baybook firm list"};
constexpr Noun kDeadline{"deadline", "baybook deadline list"};
constexpr Noun kClosing{"closing of a job", "baybook due"};
constexpr Noun kPart{"fitted part", "baybook fitted PART"};
constexpr Noun kPickup{"pick-up", "baybook pickup list"};
constexpr Noun kEntry{"entry", "baybook entries"};

enum class Need : std::uint8_t { must, may };
/// Whether it has to hold still: what is corrected, settled or erased may have been withdrawn.
enum class Holds : std::uint8_t { now, ever };

class Names {
 public:
  explicit Names(Book::Inside& in) : in_(in) {}
  [[nodiscard]] const std::optional<Refusal>& refusal() const { return refusal_; }

  void thing(std::string_view key, const Noun& noun, std::int64_t id, Need need = Need::must,
             Holds holds = Holds::now) {
    if (refusal_ || not_said(noun, id, need)) return;
    refusal_ = judge(key, noun, id, holds);
  }
  void car(CarId id, Need need = Need::must) { thing("car", kCar, id.n, need); }
  void job(JobId id, Need need = Need::must) { thing("job", kJob, id.n, need); }
  void entry(std::string_view key, EntryId id, Need need = Need::must) {
    thing(key, kEntry, id.n, need, Holds::ever);
  }

  void place(std::string_view key, PlaceId id, Need need = Need::must) {
    if (refusal_ || not_said(kPlace, id.n, need)) return;
    if (id.n >= kBefore.n && id.n <= kMissing.n) return;
    if (id.n < 1000) return none(kPlace, id.n);
    if (is_circuit(id)) return circuit(id);
    refusal_ = judge(key, kPlace, id.n, Holds::now);
  }

  void fluid(FluidId id) {
    if (refusal_ || id.n == 0) return;
    if (id.n >= 1000) return thing("fluid", kFluid, id.n);
    if (find_class(id) == nullptr) none(kFluid, id.n);
  }

  // A job is about one car.
  void same_car(CarId car, JobId job) {
    if (refusal_ || !car || !job) return;
    const auto row = service::job_row(in_.db, job);
    if (!row || row->car.n == log::goes_by(in_.db, car.n)) return;
    const std::string plate = visible(service::plate_of(in_.db, car));
    refusal_ =
        refuse(Code::not_allowed,
               "job " + service::job_name(in_.known, *row) + " is about another car than " + plate,
               "a job is about one car (F6)", "the job of " + plate);
  }

 private:
  bool not_said(const Noun& noun, std::int64_t id, Need need) {
    if (id != 0) return false;
    if (need == Need::must)
      refusal_ = refuse(Code::wrong_usage, "no " + std::string(noun.word) + " is named",
                        "an entry says what it is about", std::string(noun.instead));
    return true;
  }

  void none(const Noun& noun, std::int64_t id) {
    refusal_ = refuse(Code::not_found, none_of(noun, id), "what an entry names is there",
                      std::string(noun.instead));
  }

  // By its name where it could have one: that of an entry of an installation that is known.
  [[nodiscard]] std::string none_of(const Noun& noun, std::int64_t id) const {
    const EntryId entry{id};
    const auto& all = in_.known.all;
    const bool known = std::any_of(all.begin(), all.end(), [&](const log::Installation& i) {
      return i.origin == entry.origin();
    });
    const std::string such = "there is no such " + std::string(noun.word);
    if (!known || entry.number() == 0) return such + " (" + std::to_string(id) + ")";
    const std::string named = "there is no entry " + entry_name(in_, entry);
    return noun.word == kEntry.word ? named : such + ": " + named;
  }

  [[nodiscard]] std::optional<Refusal> judge(std::string_view key, const Noun& noun,
                                             std::int64_t id, Holds holds) {
    std::int64_t kind = 0;
    {
      auto q = in_.db.query("SELECT kind FROM entry WHERE id = ?");
      q.bind(id);
      if (!q.step()) return none(noun, id), refusal_;
      kind = q.num(0);
    }
    const std::vector<Kind>& kinds = log::kinds_of(key);
    const std::string word(noun.word);
    if (!kinds.empty() && std::find(kinds.begin(), kinds.end(), Kind{kind}) == kinds.end())
      return refuse(Code::not_found,
                    "there is no such " + word + ": entry " + entry_name(in_, EntryId{id}) +
                        " is not one, but of kind " + std::string(log::name_of(Kind{kind})),
                    "what an entry names is of the kind that it needs", std::string(noun.instead));
    if (holds == Holds::ever) return std::nullopt;
    const auto by = withdrawn_by(in_.db, EntryId{log::goes_by(in_.db, id)});
    if (!by) return std::nullopt;
    return refuse(Code::not_found,
                  "that " + word + " was withdrawn: entry " + entry_name(in_, EntryId{id}) +
                      ", by entry " + entry_name(in_, *by),
                  "what an entry names is there", std::string(noun.instead));
  }

  // A circuit has no entry of its own: its car has one, and the car's row says which it has.
  void circuit(PlaceId id) {
    const Circuit* known = find_circuit(id.n >> 58);
    if (known == nullptr) return none(kPlace, id.n);
    car(car_of(id));
    if (refusal_) return;
    const CarId car{log::goes_by(in_.db, car_of(id).n)};
    auto q = in_.db.query("SELECT 1 FROM place WHERE id = ?");
    q.bind(circuit_of(car, *known).n);
    if (q.step()) return;
    const std::string plate = service::plate_of(in_.db, car);
    refusal_ =
        refuse(Code::not_found,
               visible(plate) + " has no circuit " + std::string(known->name) + " in the book",
               "a circuit is one that the car was registered with",
               "baybook car change " + as_typed(plate) + " --circuit " + std::string(known->name) +
                   "=AMOUNT");
  }

  Book::Inside& in_;
  std::optional<Refusal> refusal_{};
};

// Each draft with its ids. Those without any are listed too, so that a new draft is not passed over
// in silence.
void named(Names&, const NewPlace&) {}
void named(Names& n, const PlaceMark& d) { n.place("place", d.place); }
void named(Names&, const NewFluid&) {}
void named(Names&, const NewPerson&) {}
void named(Names&, const NewCar&) {}
void named(Names& n, const CarChange& d) { n.car(d.car); }
void named(Names& n, const OpenJob& d) { n.car(d.car); }
void named(Names& n, const CloseJob& d) { n.job(d.job); }
void named(Names& n, const Odometer& d) {
  n.car(d.car);
  n.job(d.job, Need::may);
  n.same_car(d.car, d.job);
}
void named(Names& n, const CodeNote& d) { n.job(d.job); }
void named_out(Names& n, const std::vector<TakenOut>& list) {
  for (const TakenOut& t : list) n.thing("fit", kPart, t.fit.n);
}
void named(Names& n, const Work& d) {
  n.job(d.job);
  named_out(n, d.takes_out);
}
void named(Names& n, const Fit& d) {
  n.job(d.job);
  named_out(n, d.takes_out);
  n.place("to", d.old_into, d.old == Fit::Old::waste ? Need::must : Need::may);
}
void named(Names& n, const TorqueNote& d) { n.job(d.job); }
void named(Names& n, const Movement& d) {
  n.job(d.job, Need::may);
  for (const MoveLine& line : d.lines) {
    n.place("from", line.from);
    n.place("to", line.to);
    n.fluid(line.fluid);
  }
  n.thing("carrier-firm", kFirm, d.carrier_firm.n, Need::may);
  n.thing("receiver-firm", kFirm, d.receiver_firm.n, Need::may);
}
void named(Names& n, const Gauge& d) {
  n.place("place", d.place);
  n.fluid(d.fluid);
}
void named(Names& n, const Correction& d) {
  n.entry("target", d.target);
  if (d.patch.from) n.place("from", *d.patch.from);
  if (d.patch.into) n.place("to", *d.patch.into);
  if (d.patch.fluid) n.fluid(*d.patch.fluid);
  if (d.patch.takes_out) named_out(n, *d.patch.takes_out);
}
void named(Names&, const NewFirm&) {}
void named(Names&, const ChooseRules&) {}
void named(Names& n, const ConfirmPickup& d) { n.thing("pickup", kPickup, d.pickup.n); }
void named(Names&, const Inspection&) {}
void named(Names& n, const Determination& d) { n.place("place", d.place, Need::may); }
void named(Names& n, const Paper& d) { n.thing("about", kEntry, d.about.n); }
void named(Names&, const Deadline&) {}
void named(Names& n, const DeadlineDone& d) { n.thing("deadline", kDeadline, d.deadline.n); }
void named(Names& n, const Filing& d) { n.thing("about", kEntry, d.about.n, Need::may); }
void named(Names& n, const Circumstance& d) {
  for (const PlaceId p : d.containers) n.place("place", p);
  const bool end = d.what == Circumstance::What::end;
  n.thing("about", kEntry, d.about.n, end ? Need::must : Need::may);
}
void named(Names&, const CloseMonth&) {}
void named(Names& n, const Schedule& d) {
  for (const Interval& i : d.intervals) n.car(i.car, Need::may);
}
void named(Names& n, const TaskDone& d) {
  n.car(d.car);
  n.job(d.job, Need::may);
  n.same_car(d.car, d.job);
}
void named(Names& n, const PutOff& d) {
  n.car(d.car, d.recheck == 0 ? Need::must : Need::may);
  n.thing("closing", kClosing, d.closing.n, d.recheck != 0 ? Need::must : Need::may);
}
void named(Names& n, const RecheckDone& d) {
  n.thing("closing", kClosing, d.closing.n);
  n.job(d.job, Need::may);
}
void named(Names& n, const EngineHours& d) {
  n.car(d.car);
  n.job(d.job, Need::may);
  n.same_car(d.car, d.job);
}
void named(Names& n, const Settle& d) {
  n.entry("keep", d.keep);
  n.entry("other", d.other);
}
void named(Names& n, const Choice& d) { n.entry("keep", d.holds); }
void named(Names& n, const Erasure& d) {
  n.thing("car", kCar, d.car.n, Need::may, Holds::ever);
  n.thing("by", kPerson, d.person.n, Need::may, Holds::ever);
  n.thing("carrier-firm", kFirm, d.firm.n, Need::may, Holds::ever);
  n.entry("entry", d.entry, Need::may);
  n.entry("entry", d.asked, Need::may);
}
void named(Names& n, const PeerWord& d) { n.entry("entry", d.entry); }

}  // namespace

std::optional<Refusal> refuse_named(Book::Inside& in, const Draft& draft, const Stamp& stamp) {
  Names n(in);
  n.thing("by", kPerson, stamp.by.n, Need::may);
  std::visit([&](const auto& d) { named(n, d); }, draft);
  return n.refusal();
}

}  // namespace baybook::book
