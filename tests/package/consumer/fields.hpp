// Every field of every draft, one by one, as another program sees them: public headers alone.
//
// The names are bound by their number, so a field that is added to a draft does not compile until
// it stands here, and a new draft not until it has a line of its own. Whatever walks over the
// fields (sweep.hpp) then meets it.
#pragma once

#include <baybook/book.hpp>
#include <baybook/drafts.hpp>

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace consumer {

using namespace baybook;

/// Calls `f(name, field)` for each; `names` are separated by blanks.
template <class F, class... T>
void put(F& f, std::string_view names, T&... values) {
  const auto next = [&] {
    const std::size_t end = std::min(names.find(' '), names.size());
    const std::string name(names.substr(0, end));
    names.remove_prefix(std::min(end + 1, names.size()));
    return name;
  };
  (f(next(), values), ...);
}

// Parts of drafts.
template <class F>
void fields(CircuitDraft& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "circuit capacity specification", a, b, c);
}
template <class F>
void fields(Recheck& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "what after_days after_distance", a, b, c);
}
template <class F>
void fields(MoveLine& d, F& f) {
  auto& [a, b, c, e, g, h, i, j] = d;
  put(f, "from to amount fluid fate treatment lot measured", a, b, c, e, g, h, i, j);
}
template <class F>
void fields(TakenOut& d, F& f) {
  auto& [a, b] = d;
  put(f, "fit amount", a, b);
}
template <class F>
void fields(Determination::Found& d, F& f) {
  auto& [a, b] = d;
  put(f, "what is", a, b);
}
template <class F>
void fields(MassShare& d, F& f) {
  auto& [a, b, c, e, g] = d;
  put(f, "substance low_ppm best_ppm high_ppm typed", a, b, c, e, g);
}
template <class F>
void fields(Patch& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v] = d;
  put(f,
      "amount from into fluid odometer text code part lot document torque takes_out line dial "
      "no_odometer shares haul receives_as streams registered",
      a, b, c, e, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v);
}
template <class F>
void fields(NewFirm::Number& d, F& f) {
  auto& [a, b] = d;
  put(f, "what number", a, b);
}
template <class F>
void fields(ConfirmPickup::Measured& d, F& f) {
  auto& [a, b] = d;
  put(f, "line amount", a, b);
}
template <class F>
void fields(Interval& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k, l, m, n, o, p, q, r] = d;
  put(f,
      "task car make model engine from_year until_year specification circuit parts months distance "
      "hours filtered_percent source at",
      a, b, c, e, g, h, i, j, k, l, m, n, o, p, q, r);
}

// Drafts.
template <class F>
void fields(NewPlace& d, F& f) {
  auto& [a, b, c, e, g, h, i, j] = d;
  put(f, "code role size takes stream area satellite bulk", a, b, c, e, g, h, i, j);
}
template <class F>
void fields(PlaceMark& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "what place note", a, b, c);
}
template <class F>
void fields(NewFluid& d, F& f) {
  auto& [a, b, c, e, g, h, i] = d;
  put(f, "code of_class product dimension density density_source shares", a, b, c, e, g, h, i);
}
template <class F>
void fields(NewPerson& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "name contact certificate", a, b, c);
}
template <class F>
void fields(NewCar& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k] = d;
  put(f, "plate vin make model engine year circuits keeper keeper_contact", a, b, c, e, g, h, i, j,
      k);
}
template <class F>
void fields(CarChange& d, F& f) {
  auto& [a, b, c, e, g, h, i, j] = d;
  put(f, "car plate vin keeper keeper_contact circuits scrapped note", a, b, c, e, g, h, i, j);
}
template <class F>
void fields(OpenJob& d, F& f) {
  auto& [a, b, c, e, g] = d;
  put(f, "car odometer odometer_reason complaint dial", a, b, c, e, g);
}
template <class F>
void fields(CloseJob& d, F& f) {
  auto& [a, b, c, e, g, h] = d;
  put(f, "job result rechecks book_missing was_low as_is", a, b, c, e, g, h);
}
template <class F>
void fields(Odometer& d, F& f) {
  auto& [a, b, c, e, g] = d;
  put(f, "car job reading reason dial", a, b, c, e, g);
}
template <class F>
void fields(CodeNote& d, F& f) {
  auto& [a, b, c, e] = d;
  put(f, "what job code note", a, b, c, e);
}
template <class F>
void fields(Work& d, F& f) {
  auto& [a, b, c, e] = d;
  put(f, "job text kind takes_out", a, b, c, e);
}
template <class F>
void fields(Fit& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k, l, m, n] = d;
  put(f,
      "job part description lot quantity warranty_months warranty_distance old old_into old_amount "
      "old_class takes_out",
      a, b, c, e, g, h, i, j, k, l, m, n);
}
template <class F>
void fields(TorqueNote& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "job fastener torque", a, b, c);
}
template <class F>
void fields(Movement& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k, l, m, n, o, p, q, r, s] = d;
  put(f,
      "verb job lines note carrier receiver document carrier_firm receiver_firm transport reached "
      "cleaned machine mixing_reason shares own_vehicle haul",
      a, b, c, e, g, h, i, j, k, l, m, n, o, p, q, r, s);
}
template <class F>
void fields(Gauge& d, F& f) {
  auto& [a, b, c, e, g, h, i, j] = d;
  put(f, "place level gross tare density density_source fluid reason", a, b, c, e, g, h, i, j);
}
template <class F>
void fields(Correction& d, F& f) {
  auto& [a, b, c, e, g] = d;
  put(f, "target withdraw patch why with_dependants", a, b, c, e, g);
}
template <class F>
void fields(NewFirm& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k, l] = d;
  put(f, "code name contact carries receives numbers haul receives_as streams registered", a, b, c,
      e, g, h, i, j, k, l);
}
template <class F>
void fields(ChooseRules& d, F& f) {
  auto& [a, b, c, e] = d;
  put(f, "set from file file_name", a, b, c, e);
}
template <class F>
void fields(ConfirmPickup& d, F& f) {
  auto& [a, b, c, e] = d;
  put(f, "pickup signed_on measured note", a, b, c, e);
}
template <class F>
void fields(Inspection& d, F& f) {
  auto& [a, b, c, e] = d;
  put(f, "area faults findings next", a, b, c, e);
}
template <class F>
void fields(Determination& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k, l] = d;
  put(f, "stream place hazardous basis reason laboratory codes found ground rebuts", a, b, c, e, g,
      h, i, j, k, l);
}
template <class F>
void fields(Paper& d, F& f) {
  auto& [a, b, c, e, g] = d;
  put(f, "about file sha256 bytes title", a, b, c, e, g);
}
template <class F>
void fields(Deadline& d, F& f) {
  auto& [a, b, c, e, g] = d;
  put(f, "code due every_months section what", a, b, c, e, g);
}
template <class F>
void fields(DeadlineDone& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "deadline next note", a, b, c);
}
template <class F>
void fields(Filing& d, F& f) {
  auto& [a, b, c, e, g, h] = d;
  put(f, "what period on about way note", a, b, c, e, g, h);
}
template <class F>
void fields(Circumstance& d, F& f) {
  auto& [a, b, c, e, g, h, i, j] = d;
  put(f, "what day planned petitioned containers days about note", a, b, c, e, g, h, i, j);
}
template <class F>
void fields(CloseMonth& d, F& f) {
  auto& [a, b] = d;
  put(f, "month note", a, b);
}
template <class F>
void fields(Schedule& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "name intervals reuse_days", a, b, c);
}
template <class F>
void fields(TaskDone& d, F& f) {
  auto& [a, b, c, e, g, h, i] = d;
  put(f, "car job task when odometer engine_minutes note", a, b, c, e, g, h, i);
}
template <class F>
void fields(PutOff& d, F& f) {
  auto& [a, b, c, e, g, h] = d;
  put(f, "car task closing recheck until why", a, b, c, e, g, h);
}
template <class F>
void fields(RecheckDone& d, F& f) {
  auto& [a, b, c, e, g] = d;
  put(f, "closing number good job note", a, b, c, e, g);
}
template <class F>
void fields(EngineHours& d, F& f) {
  auto& [a, b, c, e, g, h] = d;
  put(f, "car job minutes typed reason dial", a, b, c, e, g, h);
}
template <class F>
void fields(Settle& d, F& f) {
  auto& [a, b, c, e] = d;
  put(f, "keep other join why", a, b, c, e);
}
template <class F>
void fields(Choice& d, F& f) {
  auto& [a, b] = d;
  put(f, "holds why", a, b);
}
template <class F>
void fields(Erasure& d, F& f) {
  auto& [a, b, c, e, g, h, i, j, k, l, m, n] = d;
  put(f, "car keeper plate vin texts person firm entry field asked reason when_allowed", a, b, c, e,
      g, h, i, j, k, l, m, n);
}
template <class F>
void fields(PeerWord& d, F& f) {
  auto& [a, b, c] = d;
  put(f, "what entry tag", a, b, c);
}

// The stamp of an append.
template <class F>
void fields(Stamp& d, F& f) {
  auto& [a, b, c, e, g, h, i, j] = d;
  put(f, "now by on at at_offset once dry_run clock_is_right", a, b, c, e, g, h, i, j);
}

/// What has fields of its own, and is walked into.
template <class T, class F>
concept HasFields = requires(T& t, F& f) {
  fields(t, f);
};

/// Calls `f(path, field)` for every field of `thing` that has none of its own, inside of lists and
/// of what may be there too; the list or the optional itself comes first.
template <class T, class F>
void every_field(const std::string& path, T& thing, F& f);

template <class F>
struct Walk {
  std::string path;
  F& f;
  template <class T>
  void operator()(const std::string& name, T& field) {
    every_field(path.empty() ? name : path + "." + name, field, f);
  }
};

template <class T>
struct is_optional : std::false_type {};
template <class T>
struct is_optional<std::optional<T>> : std::true_type {};
template <class T>
struct is_list : std::false_type {};
template <class T>
struct is_list<std::vector<T>> : std::true_type {};

template <class T, class F>
void every_field(const std::string& path, T& thing, F& f) {
  Walk<F> walk{path, f};
  if constexpr (HasFields<T, Walk<F>>) {
    fields(thing, walk);
  } else if constexpr (is_optional<T>::value) {
    f(path, thing);
    if (thing) every_field(path, *thing, f);
  } else if constexpr (is_list<T>::value) {
    f(path, thing);
    for (std::size_t i = 0; i < thing.size(); ++i)
      every_field(path + "[" + std::to_string(i) + "]", thing[i], f);
  } else {
    f(path, thing);
  }
}

}  // namespace consumer
