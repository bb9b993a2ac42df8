// Carriers and receivers, and what a pick-up says about them.
#include "returns/build.hpp"

#include "fluids/shares.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <optional>
#include <utility>

namespace baybook::returns {

using log::Built;
using log::Desk;
using log::Kind;
using log::Value;

namespace {

constexpr std::string_view kCollection = "collection-centre";
constexpr std::string_view kAggregation = "aggregation-point";
constexpr int kRegisteredYears = 50;

}  // namespace

Result<Done> write_haul(Value& details, const std::optional<Distance>& haul) {
  if (!haul) return Done{};
  details["haul-m"] = haul->metres;
  details["haul-typed"] = haul->typed;
  return Done{};
}

Result<Done> write_firm(Desk& desk, const NewFirm& draft, Value& details) {
  const auto only = [&](bool said, bool may, const char* what,
                        const char* instead) -> Result<Done> {
    if (!said || may) return Done{};
    return refuse(Code::wrong_usage, "firm " + visible(draft.code) + " is not one that " + what, "",
                  instead);
  };
  const bool of_receiver =
      draft.haul || draft.receives_as != ReceivesAs::not_said || !draft.streams.empty();
  if (auto ok = only(of_receiver, draft.receives, "receives, so waste does not go to it",
                     "--receives as well");
      !ok.ok())
    return ok;
  if (auto ok = only(draft.registered.has_value(), draft.carries,
                     "carries, so no registration of a carrier is renewed", "--carries as well");
      !ok.ok())
    return ok;
  if (auto ok = write_haul(details, draft.haul); !ok.ok()) return ok;
  if (draft.receives_as != ReceivesAs::not_said)
    details["receives-as"] =
        draft.receives_as == ReceivesAs::collection_centre ? kCollection : kAggregation;
  if (draft.streams.size() > log::most::kFirmStreams)
    return refuse(Code::not_allowed, "too many streams are named for one firm", "",
                  "at most " + std::to_string(log::most::kFirmStreams));
  std::vector<Value> streams;
  for (const std::string& name : draft.streams) {
    auto code = clean_code(name, "stream");
    if (!code.ok()) return std::move(code).refusal();
    streams.emplace_back(*code);
  }
  if (!streams.empty()) details["streams"] = Value(std::move(streams));
  if (draft.registered) {
    const Day today = std::max(desk.today, day_of(desk));
    if (*draft.registered > today)
      return refuse(Code::in_future,
                    "registered on " + to_string(*draft.registered) + ", after today",
                    "the book holds what has happened", "the day on the certificate");
    if (*draft.registered < add_months(today, -12 * kRegisteredYears))
      return refuse(
          Code::not_allowed,
          "registered on " + to_string(*draft.registered) + ", more than " +
              std::to_string(kRegisteredYears) + " years ago",
          "a day so long past was not filled in, or is a slip (common practice, no source)",
          "the day on the certificate");
    details["registered"] = to_string(*draft.registered);
  }
  return Done{};
}

Result<Built> build(Desk& desk, const NewFirm& draft) {
  auto code = clean_code(draft.code, "firm");
  if (!code.ok()) return std::move(code).refusal();
  {
    auto q = desk.db.query("SELECT id FROM firm WHERE code = ?");
    q.bind(*code);
    if (q.step()) return refuse(Code::already_there, "there is a firm named " + *code + " already", "a name stands for one thing", "another name, for example " + *code + "-2");
  }
  if (!draft.carries && !draft.receives) return refuse(Code::wrong_usage, "firm " + *code + " neither carries nor receives", "the register names who took the waste and who got it", "--carries, --receives, or both");
  if (draft.name.empty())
    return refuse(Code::wrong_usage, "firm " + *code + " has no name", "the register prints it",
                  "baybook firm add " + *code + " \"...\" --carries");
  Built out;
  out.kind = Kind::firm;
  out.details["code"] = *code;
  if (draft.carries) out.details["carries"] = true;
  if (draft.receives) out.details["receives"] = true;
  if (!draft.numbers.empty()) {
    Value::Array numbers;
    for (const NewFirm::Number& n : draft.numbers) {
      Value v;
      if (n.what.empty() || n.number.empty()) return refuse(Code::wrong_usage, "a number of a firm needs what it is and the number", "", "--number \"permit=T-118\"");
      if (auto ok = open_text(v, "number", n.number, log::most::kFirmNumber); !ok.ok())
        return std::move(ok).refusal();
      if (auto ok = open_text(v, "what", n.what, log::most::kFirmNumber); !ok.ok())
        return std::move(ok).refusal();
      numbers.push_back(std::move(v));
    }
    out.details["numbers"] = Value(std::move(numbers));
  }
  if (auto ok = write_firm(desk, draft, out.details); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = keep(out, "name", draft.name); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = keep(out, "contact", draft.contact); !ok.ok()) return std::move(ok).refusal();
  return out;
}

namespace {

Result<Done> check_firm(Desk& desk, FirmId firm, const char* column, const char* does) {
  auto q = desk.db.query("SELECT code, carries, receives FROM firm WHERE id = ?");
  q.bind(firm.n);
  if (!q.step()) return refuse(Code::not_found, "there is no such firm", "", "baybook firm list");
  if (q.num(std::string_view(column) == "carries" ? 1 : 2) == 0) {
    return refuse(Code::not_allowed, "firm " + q.text(0) + " is not one that " + does, "", "another firm from `baybook firm list`");
  }
  return Done{};
}

std::string_view word_of(Reached r) {
  switch (r) {
    case Reached::floor: return "floor";
    case Reached::drain: return "drain";
    case Reached::soil: return "soil";
    case Reached::water: return "water";
    case Reached::not_said: break;
  }
  return "";
}

// A density makes kilograms of litres; nothing makes pieces of either, so such a figure could never be held against what was booked.
std::optional<Refusal> never_comparable(const Desk& desk, const std::string& line, const Value& booked_line, const Amount& measured, const std::string& option) {
  const Value* amount = booked_line.find("amount");
  if (amount == nullptr) return std::nullopt;
  const Amount booked = log::read_amount(*amount);
  const bool pieces = booked.dimension == Dimension::count;
  if (pieces == (measured.dimension == Dimension::count)) return std::nullopt;
  return refuse(Code::not_allowed, line + " is " + show(booked, desk.units) + "; " + show(measured, desk.units) + " cannot be held against it", "pieces are neither litres nor kilograms",
                pieces ? "the pieces on the paper, for example " + option + "8pcs" : "the litres or kilograms on the paper, for example " + option + "178L");
}

}  // namespace

Result<Done> add_to(Desk& desk, const Movement& draft, Built& built) {
  if (draft.verb == MoveVerb::pickup) {
    auto q = desk.db.query("SELECT entry FROM pickup WHERE document = ? LIMIT 1");
    q.bind(draft.document);
    if (q.step()) {
      const std::string other = log::entry_name(desk.known, EntryId{q.num(0)});
      return refuse(Code::already_there, "paper " + visible(draft.document) + " is that of pick-up " + other + " already", "one paper, one pick-up", "the number on this paper, or baybook entry " + other);
    }
    if (draft.carrier_firm) {
      if (auto ok = check_firm(desk, draft.carrier_firm, "carries", "carries waste"); !ok.ok()) return ok;
      built.details["carrier-firm"] = log::write_ref(draft.carrier_firm.n, desk.known);
    }
    if (draft.receiver_firm) {
      if (auto ok = check_firm(desk, draft.receiver_firm, "receives", "receives waste"); !ok.ok()) return ok;
      built.details["receiver-firm"] = log::write_ref(draft.receiver_firm.n, desk.known);
    }
    for (std::size_t i = 0; i < draft.lines.size(); ++i) {
      const auto& measured = draft.lines[i].measured;
      if (!measured) continue;
      Value::Array lines = built.details.list("lines");
      if (auto bad = never_comparable(desk, "line " + std::to_string(i + 1), lines[i], *measured, "--measured ")) return std::move(*bad);
      const Value* amount = lines[i].find("amount");
      if (measured->dimension != log::read_amount(*amount).dimension) {
        // A drum booked in litres and weighed by the carrier is the ordinary case: both stand, nothing is converted here.
        built.warnings.push_back("the carrier's figure of line " + std::to_string(i + 1) + " is in another kind of quantity than the book's; both are kept");
      }
      lines[i]["measured"] = log::write_amount(*measured);
      built.details["lines"] = Value(std::move(lines));
    }
  }
  if (!draft.transport.empty()) {
    if (draft.verb != MoveVerb::pickup) return refuse(Code::wrong_usage, "only a pick-up is transported", "", "without --transport");
    if (auto ok = open_text(built.details, "transport", draft.transport, log::most::kTransport);
        !ok.ok())
      return ok;
  }
  if (draft.own_vehicle || draft.haul) {
    if (draft.verb != MoveVerb::pickup)
      return refuse(Code::wrong_usage, "only a pick-up is carried somewhere", "",
                    draft.own_vehicle ? "without --own-vehicle" : "without --distance");
    if (draft.own_vehicle) built.details["own-vehicle"] = true;
    if (auto ok = write_haul(built.details, draft.haul); !ok.ok()) return ok;
  }
  if (!draft.shares.empty()) {
    if (draft.verb != MoveVerb::spill)
      return refuse(Code::wrong_usage, "only of a spill is it said what was in it",
                    "a product has its shares of its own",
                    "baybook fluid change CODE --share \"SUBSTANCE=50%\"");
    auto shares = fluids::write_shares(draft.shares);
    if (!shares.ok()) return std::move(shares).refusal();
    built.details["shares"] = std::move(*shares);
  }
  if (draft.reached != Reached::not_said) {
    if (draft.verb != MoveVerb::spill) return refuse(Code::wrong_usage, "only a spill reaches the floor, a drain, soil or water", "", "without --reached");
    built.details["reached"] = word_of(draft.reached);
  }
  if (!draft.cleaned.empty()) {
    if (draft.verb != MoveVerb::spill) return refuse(Code::wrong_usage, "only a spill is cleaned up", "", "--note \"...\"");
    if (auto ok = keep(built, "cleaned", draft.cleaned); !ok.ok()) return ok;
  }
  if (!draft.machine.empty()) {
    if (auto ok = open_text(built.details, "machine", draft.machine, log::most::kMachine); !ok.ok())
      return ok;
  }
  return Done{};
}

Result<Built> build(Desk& desk, const ConfirmPickup& draft) {
  const auto fact = log::find_fact(desk.db, draft.pickup);
  const std::string number = log::entry_name(desk.known, draft.pickup);
  if (!fact || fact->withdrawn || fact->kind != Kind::movement || fact->details.str("verb") != "pickup") {
    return refuse(Code::not_found, "entry " + number + " is not a pick-up", "only a pick-up has a paper that comes back", "baybook register  # or the number of the paper");
  }
  {
    auto q = desk.db.query("SELECT entry, day FROM confirmed WHERE pickup = ? LIMIT 1");
    q.bind(draft.pickup.n);
    if (q.step()) {
      return refuse(Code::already_there, "pick-up " + number + " is confirmed already, signed " + to_string(Day{static_cast<std::int32_t>(q.num(1))}), "a paper comes back once",
                    "baybook correct " + log::entry_name(desk.known, EntryId{q.num(0)}) + " --withdraw --why \"...\"");
    }
  }
  const Day sent = log::day_of_moment(fact->effect.moment);
  if (draft.signed_on < sent) return refuse(Code::not_allowed, "signed on " + to_string(draft.signed_on) + ", before the pick-up of " + to_string(sent), "a receiver signs after the load has left", "--signed " + to_string(sent));
  if (draft.signed_on > day_of(desk)) return refuse(Code::in_future, "signed on " + to_string(draft.signed_on) + ", after " + to_string(day_of(desk)), "the book holds what has happened", "--signed " + to_string(day_of(desk)));
  Built out;
  out.kind = Kind::confirm;
  out.details["pickup"] = log::write_ref(draft.pickup.n, desk.known);
  out.details["signed"] = to_string(draft.signed_on);
  const auto& booked = fact->details.list("lines");
  const auto lines = static_cast<int>(booked.size());
  Value::Array measured;
  std::vector<int> seen;
  for (const ConfirmPickup::Measured& m : draft.measured) {
    if (m.line < 1 || m.line > lines) return refuse(Code::not_found, "pick-up " + number + " has no line " + std::to_string(m.line), "it has " + std::to_string(lines), "--measured 1=180L");
    if (std::find(seen.begin(), seen.end(), m.line) != seen.end()) return refuse(Code::already_there, "line " + std::to_string(m.line) + " is measured twice", "", "each line once");
    if (m.amount.best < 0) return refuse(Code::not_allowed, "a measured amount below nothing", "", "the figure on the paper");
    const std::string n = std::to_string(m.line);
    if (auto bad = never_comparable(desk, "line " + n + " of pick-up " + number, booked[static_cast<std::size_t>(m.line - 1)], m.amount, "--measured " + n + "=")) return std::move(*bad);
    seen.push_back(m.line);
    Value v;
    v["amount"] = log::write_amount(m.amount);
    v["line"] = std::int64_t{m.line};
    measured.push_back(std::move(v));
  }
  if (!measured.empty()) out.details["measured"] = Value(std::move(measured));
  if (auto ok = keep(out, "note", draft.note); !ok.ok()) return std::move(ok).refusal();
  return out;
}

}  // namespace baybook::returns
