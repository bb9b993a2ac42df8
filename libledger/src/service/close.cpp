// Closing a job: what is left to watch, and the account of each circuit (F7).
#include "service/build.hpp"

#include "fluids/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::service {

using log::Built;
using log::Desk;
using log::keep;
using log::Kind;
using log::refuse;
using log::Value;

namespace {

using State = Account::State;

Result<Done> write_rechecks(Built& out, const std::vector<Recheck>& drafts) {
  std::vector<Value> rechecks;
  for (const Recheck& r : drafts) {
    Value v;
    if (r.after_days) {
      if (*r.after_days <= 0)
        return refuse(Code::not_allowed, "a recheck after no time is not a recheck", "",
                      "--after 3d");
      v["after-days"] = *r.after_days;
    }
    if (r.after_distance) {
      v["after-m"] = r.after_distance->metres;
      v["after-typed"] = r.after_distance->typed;
    }
    rechecks.push_back(std::move(v));
    auto clean = clean_text(r.what, "recheck");
    if (!clean.ok()) return std::move(clean).refusal();
    out.keep_private("recheck-" + std::to_string(rechecks.size()), *clean);
  }
  if (!rechecks.empty()) out.details["rechecks"] = Value(std::move(rechecks));
  return Done{};
}

// What the account says, and what somebody may type about it.
class Teller {
 public:
  Teller(const Desk& desk, const JobRow& job, const Tolerance& tolerance)
      : desk_(desk), job_(job_name(desk.known, job)), tolerance_(tolerance) {
    car_ = plate_of(desk.db, job.car);
  }

  [[nodiscard]] Refusal refuse_to_close(const std::vector<Account>& open, const CloseJob& said);

 private:
  [[nodiscard]] std::string amount(std::int64_t n, const Account& a) const {
    return show(n, static_cast<Dimension>(a.of.second), desk_.units, true);
  }
  [[nodiscard]] std::string entry(const Suspect& s) const {
    return log::entry_name(desk_.known, s.line.entry);
  }
  [[nodiscard]] std::string what_looks_wrong(const Account& a, const Suspect& s) const;
  [[nodiscard]] std::string put_right(const Account& a, const Suspect& s) const;
  [[nodiscard]] std::string does_not_fit(const Account& a, const CloseJob& said) const;
  /// In which order things are offered: what is a slip, what was so before, what nobody saw.
  enum class Rank : std::uint8_t { slip, low, missing, forgotten, size, reason };
  void offer(Rank rank, std::string hint) { hints_.emplace_back(rank, std::move(hint)); }
  void all_hints(Refusal& r);
  void offer_for_over(const Account& a, const std::optional<Suspect>& suspect, bool also_short);
  void offer_for_short(const Account& a, const std::optional<Suspect>& suspect, bool also_over);
  [[nodiscard]] std::string close(const std::string& with) const {
    return "baybook job close " + job_ + " " + with;
  }

  const Desk& desk_;
  std::string job_, car_;
  const Tolerance& tolerance_;
  std::vector<std::pair<Rank, std::string>> hints_{};
};

void Teller::all_hints(Refusal& r) {
  std::stable_sort(hints_.begin(), hints_.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  // Two circuits ask for the same word.
  hints_.erase(std::unique(hints_.begin(), hints_.end()), hints_.end());
  for (const auto& [rank, hint] : hints_) {
    if (r.instead.empty())
      r.instead = hint;
    else
      r.others.push_back(hint);
  }
}

std::string Teller::what_looks_wrong(const Account& a, const Suspect& s) const {
  const std::string moved = amount(s.line.best, a) + (s.line.in ? " in" : " out");
  switch (s.why) {
    case Suspect::Why::power_of_ten: {
      const std::int64_t n = s.times < 0 ? -s.times : s.times;
      const std::string factor = s.times > 0 ? (n == 10    ? "ten times"
                                                : n == 100 ? "a hundred times"
                                                           : "a thousand times")
                                             : (n == 10    ? "a tenth of"
                                                : n == 100 ? "a hundredth of"
                                                           : "a thousandth of");
      return "entry " + entry(s) + " looks wrong: " + moved + ", " + factor +
             " what goes with the rest";
    }
    case Suspect::Why::more_than_it_holds:
      return "entry " + entry(s) + " looks wrong: " + moved +
             (s.line.best > a.capacity ? ", and the circuit holds " : ", together more than the ") +
             amount(a.capacity, a) + (s.line.best > a.capacity ? "" : " that the circuit holds");
    case Suspect::Why::nothing_drained:
      return "entry " + entry(s) + " put " + moved + ", and nothing was drained";
  }
  return "";
}

// A command with words in capitals for what only the one who was there knows.
std::string Teller::put_right(const Account& a, const Suspect& s) const {
  if (s.why == Suspect::Why::nothing_drained)
    return "baybook drain " + job_ + " " + std::string(a.circuit().name) +
           " AMOUNT --into PLACE  # if it was drained";
  const auto fact = log::read_fact(desk_.db, s.line.entry);
  const bool several = fact.details.list("lines").size() > 1;
  return "baybook correct " + entry(s) + " --amount AMOUNT" +
         (several ? " --line " + std::to_string(s.line.line) : "") +
         " --why \"...\"  # if that is a slip";
}

// Why what was said does not settle an account; "" when nothing was said of it.
std::string Teller::does_not_fit(const Account& a, const CloseJob& said) const {
  const std::string name(a.circuit().name);
  if (a.state == State::short_of) {
    if (said.book_missing)
      return "of " + name + " more came out than went in: nothing of that is missing";
    return said.was_low ? "of " + name + " more came out than went in: it was not low" : "";
  }
  if (said.was_low && !a.can_have_been_low())
    return name + " cannot have been low by " + amount(a.net.best, a) +
           ": what went in and out asks for " + amount(a.swing, a) + ", and it holds " +
           amount(a.capacity, a);
  if (said.book_missing && a.net.left == 0)
    return "nothing came out of " + name + " in this job, so nothing of it can be missing";
  if (said.book_missing && !a.can_be_missing())
    return amount(a.net.best, a) + " of " + name + " cannot be missing: it holds " +
           amount(a.capacity, a);
  return "";
}

void Teller::offer_for_over(const Account& a, const std::optional<Suspect>& suspect,
                            bool also_short) {
  const std::string rest = also_short ? " --as-is \"...\"" : "";
  // What only tops a circuit up is low more often than its drain is forgotten.
  const bool topped_up = suspect && suspect->why == Suspect::Why::nothing_drained &&
                         a.capacity > 0 && suspect->line.best < a.capacity - suspect->line.best;
  if (suspect) offer(topped_up ? Rank::forgotten : Rank::slip, put_right(a, *suspect));
  if (a.can_have_been_low())
    offer(Rank::low, close("--was-low" + rest) + "  # if it was low or empty when it came");
  if (a.can_be_missing()) offer(Rank::missing, close("--missing" + rest) + "  # if it left unseen");
  // Nobody is led to say of a refrigerant that it was let out.
  if (a.circuit().takes != "refrigerant")
    offer(Rank::forgotten, "baybook spill " + job_ + " " + std::string(a.circuit().name) +
                               " AMOUNT  # if it ran out here");
  if (!a.can_have_been_low())
    offer(Rank::size, "baybook car change " + as_typed(car_) + " --circuit " +
                          std::string(a.circuit().name) + "=AMOUNT  # if it holds more");
}

void Teller::offer_for_short(const Account& a, const std::optional<Suspect>& suspect,
                             bool also_over) {
  if (suspect) offer(Rank::slip, put_right(a, *suspect));
  offer(Rank::forgotten, "baybook fill " + job_ + " " + std::string(a.circuit().name) +
                             " AMOUNT --from PLACE  # if a fill was not written");
  if (!also_over)
    offer(Rank::reason, close("--as-is \"...\"") + "  # with the reason, if it goes out short");
}

Refusal Teller::refuse_to_close(const std::vector<Account>& open, const CloseJob& said) {
  const auto any = [&](State s) {
    return std::any_of(open.begin(), open.end(), [s](const Account& a) { return a.state == s; });
  };
  const bool over = any(State::over);
  const bool both = over && any(State::short_of);
  std::string what;
  std::string wrong;
  std::string misfit;
  Refusal r;
  for (const Account& a : open) {
    const std::optional<Suspect> suspect = suspect_in(a);
    what += (what.empty() ? "" : "; ") + told(a.of, a.net, desk_.units);
    if (suspect) wrong += "; " + what_looks_wrong(a, *suspect);
    if (const std::string text = does_not_fit(a, said); !text.empty())
      misfit += (misfit.empty() ? "" : "; ") + text;
    if (a.state == State::over)
      offer_for_over(a, suspect, both);
    else
      offer_for_short(a, suspect, over);
    r.figures.push_back({std::string(a.circuit().name) + "_change_" +
                             std::string(base_unit(static_cast<Dimension>(a.of.second))),
                         std::to_string(a.net.best)});
  }
  if (over) offer(Rank::reason, close("--as-is \"...\"") + "  # with the reason");
  r.code = Code::does_not_close;
  r.what = "job " + job_ + " does not close: " + what + wrong;
  r.why = (misfit.empty() ? "" : misfit + "; ") + "what went in and what came out agree within " +
          std::to_string(tolerance_.percent) + " % of what the circuit holds, at least " +
          show(tolerance_.least_nl, Dimension::volume, desk_.units) + ", refrigerant " +
          show(tolerance_.refrigerant_ug, Dimension::mass, desk_.units) + " (F7)";
  all_hints(r);
  return r;
}

// What the closing says of accounts with more in than out.
class Words {
 public:
  Words(const Desk& desk, std::string job, const CloseJob& said)
      : desk_(desk), job_(std::move(job)), said_(said) {}

  /// Whether what was said is true of it; then it is written.
  bool settle(const Account& a) {
    if (said_.book_missing && a.can_be_missing()) {
      const Net& n = a.net;
      const Amount gone{static_cast<Dimension>(a.of.second),
                        std::max<std::int64_t>(0, n.low),
                        n.best,
                        n.high,
                        n.low != n.high,
                        "missing in job " + job_};
      missing_.push_back(fluids::write_line(desk_, PlaceId{a.of.first}, kMissing, gone, FluidId{}));
      return true;
    }
    if (!said_.was_low || !a.can_have_been_low()) return false;
    const Value name(a.circuit().name);
    // Of a circuit that is kept by volume and by weight, both were low.
    if (std::find(low_.begin(), low_.end(), name) == low_.end()) low_.push_back(name);
    return true;
  }
  [[nodiscard]] bool none() const { return missing_.empty() && low_.empty(); }
  void write(Value& details) && {
    if (!missing_.empty()) details["lines"] = Value(std::move(missing_));
    if (!low_.empty()) details["was-low"] = Value(std::move(low_));
  }

 private:
  const Desk& desk_;
  std::string job_;
  const CloseJob& said_;
  std::vector<Value> missing_{}, low_{};
};

}  // namespace

Result<Built> build(Desk& desk, fluids::Ledger& ledger, const ToleranceOf& tolerance,
                    const CloseJob& draft) {
  auto row = open_job(desk, draft.job);
  if (!row.ok()) {
    Refusal r = std::move(row).refusal();
    const auto closed = job_row(desk.db, draft.job);
    if (closed && closed->closed > 0) r.code = Code::already_there;
    return r;
  }
  if (draft.book_missing && draft.was_low)
    return refuse(Code::wrong_usage, "--missing and --was-low exclude each other",
                  "what went in beyond what came out left unseen, or was not in it before",
                  "one of the two; what ran out here is a spill of its own");
  Built out;
  out.kind = Kind::job_close;
  out.details["job"] = log::write_ref(draft.job.n, desk.known);
  if (auto ok = keep(out, "result", draft.result); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = write_rechecks(out, draft.rechecks); !ok.ok()) return std::move(ok).refusal();

  Tolerance held_to;
  const std::vector<Account> accounts =
      accounts_of(desk.db, ledger, row->car, draft.job, [&] { return held_to = tolerance(); });
  Words words(desk, job_name(desk.known, *row), draft);
  std::vector<Account> open;
  for (const Account& a : accounts) {
    const bool settled = a.state == State::agrees || (a.state == State::over && words.settle(a));
    if (!settled) open.push_back(a);
  }
  if (!open.empty() && draft.as_is.empty())
    return Teller(desk, *row, held_to).refuse_to_close(open, draft);
  if (!open.empty()) out.details["as-is"] = true;
  // What is within the tolerance is asked by nobody. Said all the same, it is written.
  const bool said = draft.book_missing || draft.was_low;
  const bool meant = said && open.empty() && words.none();
  for (const Account& a : accounts) {
    if (meant && a.net.best > 0 && !a.net.even()) (void)words.settle(a);
  }
  if (said && words.none())
    out.warnings.push_back(std::string(draft.was_low ? "--was-low" : "--missing") +
                           " is about nothing: of no circuit more went in than came out");
  if (auto ok = keep(out, "as-is", draft.as_is); !ok.ok()) return std::move(ok).refusal();
  std::move(words).write(out.details);
  return out;
}

}  // namespace baybook::service
