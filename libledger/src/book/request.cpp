#include "book/request.hpp"

#include <type_traits>

namespace baybook::book {

namespace {

// Each value with its length before it, so that no two requests run together into the same text.
class Text {
 public:
  void put(std::string_view s) { out_ += std::to_string(s.size()) + ":" + std::string(s) + ","; }
  void put(const std::string& s) { put(std::string_view(s)); }
  void put(bool b) { put(std::string_view(b ? "yes" : "no")); }
  void put(int n) { put(std::to_string(n)); }
  void put(std::int64_t n) { put(std::to_string(n)); }
  template <class E>
    requires std::is_enum_v<E>
  void put(E e) {
    put(static_cast<int>(e));
  }
  template <class Tag>
  void put(Made<Tag> id) {
    put(id.n);
  }
  void put(EntryId id) { put(id.n); }
  void put(Day d) { put(int{d.n}); }
  void put(Minute m) { put(int{m.n}); }
  void put(const Amount& a) { all(a.dimension, a.low, a.best, a.high, a.estimated); }
  void put(const Distance& d) { put(d.metres); }
  void put(const Torque& t) { put(t.millinewton_metres); }
  void put(const Density& d) { put(d.ppm_kg_per_l); }
  template <class T>
  void put(const std::optional<T>& value) {
    put(value.has_value());
    if (value) put(*value);
  }
  template <class T>
  void put(const std::vector<T>& list) {
    put(static_cast<std::int64_t>(list.size()));
    for (const T& item : list) put(item);
  }
  void put(const CircuitDraft& c) { all(c.circuit, c.capacity, c.specification); }
  void put(const Recheck& r) { all(r.what, r.after_days, r.after_distance); }
  void put(const MoveLine& l) { all(l.from, l.to, l.amount, l.fluid, l.fate, l.treatment, l.lot, l.measured); }

  // What came later is put only when it is said, so that a key that was used before is known again.
  void put(const NewPlace& d) {
    all(d.code, d.role, d.size, d.takes, d.stream, d.area, d.satellite);
    if (d.bulk) put(d.bulk);
  }
  void put(const PlaceMark& d) { all(d.what, d.place, d.note); }
  void put(const NewFluid& d) { all(d.code, d.of_class, d.product, d.dimension, d.density, d.density_source); }
  void put(const NewPerson& d) { all(d.name, d.contact, d.certificate); }
  void put(const NewCar& d) { all(d.plate, d.vin, d.make, d.model, d.engine, d.year, d.circuits, d.keeper, d.keeper_contact); }
  void put(const CarChange& d) { all(d.car, d.plate, d.vin, d.keeper, d.keeper_contact, d.circuits, d.scrapped, d.note); }
  void put(const OpenJob& d) {
    all(d.car, d.odometer, d.odometer_reason, d.complaint);
    put_dial(d.dial);
  }
  void put(const CloseJob& d) {
    all(d.job, d.result, d.rechecks, d.book_missing, d.as_is);
    // Keys that were remembered before this could be said go on to be known.
    if (d.was_low) put(d.was_low);
  }
  void put(const Odometer& d) {
    all(d.car, d.job, d.reading, d.reason);
    put_dial(d.dial);
  }
  void put(const CodeNote& d) { all(d.what, d.job, d.code, d.note); }
  void put(const TakenOut& t) { all(t.fit, t.amount); }
  // Where nothing comes out a request reads as it did before there was a word for it: a retry is
  // known across versions.
  void put_takes_out(const std::vector<TakenOut>& list) {
    if (!list.empty()) all(std::string_view("takes-out"), list);
  }
  void put(const Work& d) {
    all(d.job, d.text, d.kind);
    put_takes_out(d.takes_out);
  }
  void put(const Fit& d) {
    all(d.job, d.part, d.description, d.lot, d.quantity, d.warranty_months, d.warranty_distance);
    all(d.old, d.old_into, d.old_amount, d.old_class);
    put_takes_out(d.takes_out);
  }
  void put(const TorqueNote& d) { all(d.job, d.fastener, d.torque); }
  void put(const Movement& d) { all(d.verb, d.job, d.lines, d.note, d.carrier, d.receiver, d.document, d.mixing_reason, d.carrier_firm, d.receiver_firm, d.transport, d.reached, d.cleaned, d.machine); }
  void put(const Gauge& d) { all(d.place, d.level, d.gross, d.tare, d.density, d.density_source, d.fluid, d.reason); }
  void put(const Patch& p) {
    all(p.amount, p.from, p.into, p.odometer, p.text, p.code, p.part, p.lot, p.document, p.torque);
    put(p.line);
    if (p.takes_out) all(std::string_view("takes-out"), *p.takes_out);
    if (p.fluid) put(*p.fluid);
    if (p.dial) put_dial(*p.dial, true);
    if (p.no_odometer) put(true);
  }
  void put(const NewFirm::Number& n) { all(n.what, n.number); }
  void put(const NewFirm& d) { all(d.code, d.name, d.contact, d.carries, d.receives, d.numbers); }
  void put(const ChooseRules& d) { all(d.set, d.from, d.file, d.file_name); }
  void put(const ConfirmPickup::Measured& m) { all(m.line, m.amount); }
  void put(const ConfirmPickup& d) { all(d.pickup, d.signed_on, d.measured, d.note); }
  void put(const Inspection& d) { all(d.area, d.faults, d.findings, d.next); }
  void put(const Determination& d) { 
    all(d.stream, d.place, d.hazardous, d.basis, d.reason, d.laboratory);
    // Only where said: a request from before they could be said stays the same text.
    if (!d.codes.empty()) all(std::string_view("codes"), d.codes);
    if (!d.found.empty()) all(std::string_view("found"), d.found);
    if (d.ground != Determination::Ground::not_said) all(std::string_view("ground"), d.ground);
    if (d.rebuts) put(true);
  }
  void put(const Determination::Found& f) { all(f.what, f.is); }
  void put(const Paper& d) { all(d.about, d.file, d.sha256, d.bytes, d.title); }
  void put(const Deadline& d) { all(d.code, d.due, d.every_months, d.section, d.what); }
  void put(const DeadlineDone& d) { all(d.deadline, d.next, d.note); }
  void put(const Filing& d) { all(d.what, d.period, d.on, d.about, d.way, d.note); }
  void put(const Circumstance& d) {
    all(d.what, d.day, d.planned, d.petitioned, d.containers, d.days, d.about, d.note);
  }
  void put(const CloseMonth& d) { all(int{d.month.n}, d.note); }
  void put(const Interval& i) { all(i.task, i.car, i.make, i.model, i.engine, i.from_year, i.until_year, i.specification, i.circuit, i.parts, i.months, i.distance, i.hours, i.filtered_percent, i.source); }
  void put(const Schedule& d) { all(d.name, d.intervals, d.reuse_days); }
  void put(const TaskDone& d) { all(d.car, d.job, d.task, d.when, d.odometer, d.engine_minutes, d.note); }
  void put(const PutOff& d) { all(d.car, d.task, d.closing, d.recheck, d.until, d.why); }
  void put(const RecheckDone& d) { all(d.closing, d.number, d.good, d.job, d.note); }
  void put(const EngineHours& d) { all(d.car, d.job, d.minutes, d.reason); put_dial(d.dial); }
  void put(const Settle& d) { all(d.keep, d.other, d.join, d.why); }
  void put(const Choice& d) { all(d.holds, d.why); }
  void put(const Erasure& d) { all(d.car, d.keeper, d.plate, d.vin, d.texts, d.person, d.firm, d.entry, d.field, d.asked, d.reason, d.when_allowed); }
  void put(const PeerWord& d) { all(d.what, d.entry, d.tag); }
  void put(const Correction& d) { all(d.target, d.withdraw, d.patch, d.why, d.with_dependants); }

  // Only when it is said: a key that was used before there were dials stands for the same request.
  void put_dial(Dial d, bool always = false) {
    if (always || d != Dial::goes_on) put(d);
  }

  template <class... T>
  void all(const T&... values) {
    (put(values), ...);
  }

  std::string out_;
};

}  // namespace

std::string request_text(const Draft& draft, const Stamp& stamp) {
  Text text;
  text.put(static_cast<std::int64_t>(draft.index()));
  std::visit([&](const auto& d) { text.put(d); }, draft);
  text.all(stamp.by, stamp.on, stamp.at, stamp.at_offset);
  return std::move(text.out_);
}

}  // namespace baybook::book
