// Inspections, papers on file, rule sets and deadlines.
#include "returns/build.hpp"

#include <baybook/clock.hpp>
#include <baybook/rules.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::returns {

using log::Built;
using log::Desk;
using log::Kind;
using log::Value;

namespace {

// A day that nobody filled in is the first of 1970.
Result<Done> not_long_past(const Desk& desk, Day day, const std::string& what) {
  if (day >= add_months(day_of(desk), -12 * kYearsBack)) return Done{};
  return refuse(Code::not_allowed,
                what + " " + to_string(day) + " is more than " + std::to_string(kYearsBack) +
                    " years before the day of the entry",
                "a day so long past was not filled in, or is a slip (common practice, no source)",
                "the day that it is");
}

}  // namespace

Result<Built> build(Desk& desk, const Inspection& draft) {
  auto area = clean_code(draft.area, "area");
  if (!area.ok()) return std::move(area).refusal();
  if (draft.faults && draft.findings.empty()) return refuse(Code::wrong_usage, "a fault was found in " + *area + ", but not which", "what has to be put right must be said", "--found \"lid of drum-2 open\"");
  {
    auto q = desk.db.query("SELECT 1 FROM place WHERE area = ? LIMIT 1");
    q.bind(*area);
    if (!q.step()) {
      std::vector<std::string> areas;
      auto all = desk.db.query("SELECT DISTINCT area FROM place WHERE area <> '' ORDER BY area");
      while (all.step()) areas.push_back(all.text(0));
      const auto near = near_names(*area, areas);
      return refuse(Code::not_found, "no place stands in an area named " + *area, near.empty() ? "an area is named where its places are added: place add ... --area" : "near it: " + near.front(), near.empty() ? "baybook place add drum-... --area " + *area : near.front());
    }
  }
  Built out;
  out.kind = Kind::inspection;
  out.details["area"] = *area;
  if (draft.faults) out.details["faults"] = true;
  if (draft.next) {
    if (*draft.next <= day_of(desk)) return refuse(Code::not_allowed, "the next look on " + to_string(*draft.next) + " is not after this one", "", "--next " + to_string(Day{day_of(desk).n + 7}));
    out.details["next"] = to_string(*draft.next);
  }
  if (auto ok = keep(out, "findings", draft.findings); !ok.ok()) return std::move(ok).refusal();
  return out;
}

bool is_paper_name(std::string_view name) noexcept {
  return !name.empty() && name.find('/') == std::string_view::npos && name.front() != '.';
}

bool is_file_name(std::string_view name) {
  if (name.empty()) return true;
  // The longest name of a file (POSIX.1-2017, NAME_MAX of Linux); whether it is in NFC is for
  // whoever named it.
  if (name.size() > 255 || name.find('/') != std::string_view::npos) return false;
  const auto clean = clean_text(name, "file");
  return clean.ok() || clean.refusal().code != Code::not_text;
}

Result<Built> build(Desk& desk, const Paper& draft) {
  if (!log::find_fact(desk.db, draft.about)) return refuse(Code::not_found, "there is no entry " + log::entry_name(desk.known, draft.about), "a paper belongs to an entry", "baybook entries");
  const bool hex = draft.sha256.size() == 64 && draft.sha256.find_first_not_of("0123456789abcdef") == std::string::npos;
  if (!hex) return refuse(Code::unclear, "a digest is 64 lower-case hexadecimal digits", "SHA-256 (FIPS 180-4)", "the digest of the file");
  if (draft.bytes < 0)
    return refuse(Code::not_allowed, "a file of " + std::to_string(draft.bytes) + " bytes is none",
                  "", "how many bytes the file has");
  if (!is_paper_name(draft.file))
    return refuse(Code::unclear, "a paper's file is a name in the folder of papers", "",
                  "a name without /");
  Built out;
  out.kind = Kind::paper;
  out.details["about"] = log::write_ref(draft.about.n, desk.known);
  out.details["bytes"] = draft.bytes;
  if (auto ok = open_text(out.details, "file", draft.file, log::most::kFileName); !ok.ok())
    return std::move(ok).refusal();
  out.details["sha256"] = draft.sha256;
  if (auto ok = keep(out, "title", draft.title); !ok.ok()) return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, const ChooseRules& draft) {
  // Read whole before it is written: a book never goes by rules that cannot be read.
  auto read = read_rules(draft.set, draft.file, draft.file_name);
  if (!read.ok()) return std::move(read).refusal();
  if (!is_file_name(draft.file_name))
    return refuse(
        Code::not_text,
        "the name of the rule file, " + visible(draft.file_name.substr(0, 60)) + ", is none",
        "a name has no / and no control character, and at most 255 bytes",
        "the file under another name, for example our-rules.toml");
  constexpr std::size_t most = log::most::kRuleFile;
  if (draft.file.size() > most) return refuse(Code::not_allowed, "the shop's file has " + std::to_string(draft.file.size()) + " bytes", "at most " + std::to_string(most) + " are kept in the log", "a shorter file");
  {
    auto q = desk.db.query("SELECT entry FROM ruling WHERE day = ? AND name = ? LIMIT 1");
    q.bind(std::int64_t{draft.from.n}).bind(read->name);
    if (q.step() && draft.file.empty()) {
      return refuse(Code::already_there, "the book goes by " + read->name + " from " + to_string(draft.from) + " already", "", "another day, or baybook correct " + log::entry_name(desk.known, EntryId{q.num(0)}) + " --withdraw --why \"...\"");
    }
  }
  if (auto ok = not_long_past(desk, draft.from, "rules from"); !ok.ok())
    return std::move(ok).refusal();
  Built out;
  out.kind = Kind::rules;
  out.details["from"] = to_string(draft.from);
  out.details["set"] = read->name;
  if (!draft.file.empty()) {
    out.details["file"] = draft.file;
    out.details["file-name"] = draft.file_name;
  }
  return out;
}

Result<Built> build(Desk& desk, const Deadline& draft) {
  auto code = clean_code(draft.code, "deadline");
  if (!code.ok()) return std::move(code).refusal();
  {
    auto q = desk.db.query("SELECT id FROM deadline WHERE code = ?");
    q.bind(*code);
    if (q.step())
      return refuse(Code::already_there, "there is a deadline named " + *code + " already",
                    "a name stands for one thing",
                    "another name, or baybook deadline done " + *code + " if it was done");
  }
  if (draft.every_months < 0 || draft.every_months > log::most::kDeadlineMonths)
    return refuse(Code::not_allowed, std::to_string(draft.every_months) + " months is no interval",
                  "", "--every 12mo");
  if (auto ok = not_long_past(desk, draft.due, "a deadline on"); !ok.ok())
    return std::move(ok).refusal();
  Built out;
  out.kind = Kind::deadline;
  out.details["code"] = *code;
  out.details["due"] = to_string(draft.due);
  if (draft.every_months > 0) out.details["months"] = std::int64_t{draft.every_months};
  if (auto ok = open_text(out.details, "section", draft.section, log::most::kSection); !ok.ok())
    return std::move(ok).refusal();
  if (auto ok = keep(out, "what", draft.what); !ok.ok()) return std::move(ok).refusal();
  return out;
}

namespace {

// Counted from the first day, not from one that a short month has clamped; after a day that was set by hand, from that one.
Day next_in_turn(Day first, Day due, int months) {
  for (int turns = 1;; ++turns) {
    const Day next = add_months(first, turns * months);
    if (next > due) return add_months(first, (turns - 1) * months) == due ? next : add_months(due, months);
  }
}

}  // namespace

Result<Built> build(Desk& desk, const DeadlineDone& draft) {
  std::string code;
  Day first, due;
  std::int64_t months = 0;
  {
    auto q = desk.db.query("SELECT code, due, months FROM deadline WHERE id = ?");
    q.bind(draft.deadline.n);
    if (!q.step()) return refuse(Code::not_found, "there is no such deadline", "", "baybook limits");
    code = q.text(0);
    first = due = Day{static_cast<std::int32_t>(q.num(1))};
    months = q.num(2);
  }
  {
    auto q = desk.db.query("SELECT next FROM deadline_done WHERE deadline = ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
    q.bind(draft.deadline.n);
    if (q.step()) {
      if (q.num(0) == 0) return refuse(Code::already_there, code + " is settled for good already", "", "baybook deadline add for a new one");
      due = Day{static_cast<std::int32_t>(q.num(0))};
    }
  }
  Built out;
  out.kind = Kind::deadline_done;
  out.details["deadline"] = log::write_ref(draft.deadline.n, desk.known);
  std::optional<Day> next = draft.next;
  if (!next && months > 0) next = next_in_turn(first, due, static_cast<int>(months));
  if (next) {
    if (*next <= due) return refuse(Code::not_allowed, "the next day, " + to_string(*next) + ", is not after the one that is settled, " + to_string(due), "", "--next " + to_string(add_months(due, 12)));
    out.details["next"] = to_string(*next);
  }
  if (auto ok = keep(out, "note", draft.note); !ok.ok()) return std::move(ok).refusal();
  return out;
}

}  // namespace baybook::returns
