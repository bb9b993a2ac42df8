// import, export: the cars, readings and finished tasks that a workshop brings along, as CSV, and the same files out of a book.
#include "context.hpp"
#include "csv_file.hpp"
#include "given_file.hpp"
#include "render/text.hpp"
#include "report/csv.hpp"
#include "sheet/sheet.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/bulk.hpp>
#include <baybook/due.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>
#include <functional>
#include <map>

namespace baybook::tool {

namespace {

Bytes file_bytes(const Context& c, const std::string& path) {
  auto file = std::make_shared<GivenFile>(need(GivenFile::open(path, c.book_if_said(), true)));
  return [file] { return need(file->next()); };
}

// The header of a file: which cell holds what. Every column must be known; which must be there says the caller.
class Columns {
 public:
  Columns(CsvReader& csv, const std::vector<std::string>& known, const std::vector<std::string>& needed) : csv_(csv) {
    CsvRow head;
    if (!csv.next(head)) refuse(Code::unclear, csv.name() + ":1:1: the file is empty", "its first row names the columns", "a first row: " + joined(known));
    // A spreadsheet writes the columns that it shows, the empty ones at the end as well.
    while (!head.cells.empty() && head.cells.back().empty()) head.cells.pop_back();
    for (const std::string& cell : head.cells) {
      std::string name = without_guard(cell);
      if (name.empty())
        refuse(Code::unclear,
               csv.name() + ":" + std::to_string(head.line) + ":1: column " +
                   std::to_string(names_.size() + 1) + " has no name",
               "the columns are: " + joined(known),
               "a name for it, or the file without that column");
      std::transform(name.begin(), name.end(), name.begin(), [](unsigned char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : static_cast<char>(c); });
      if (std::find(known.begin(), known.end(), name) == known.end()) {
        const std::vector<std::string> near = near_names(name, known);
        refuse(Code::unclear, csv.name() + ":" + std::to_string(head.line) + ":1: there is no column " + visible(name), "what is not known is not thrown away in silence; the columns are: " + joined(known), near.empty() ? "the file without that column" : near.front());
      }
      if (std::find(names_.begin(), names_.end(), name) != names_.end()) refuse(Code::unclear, csv.name() + ":" + std::to_string(head.line) + ":1: column " + visible(name) + " comes twice", "", "each column once");
      names_.push_back(std::move(name));
    }
    for (const std::string& name : needed) {
      if (std::find(names_.begin(), names_.end(), name) == names_.end()) refuse(Code::unclear, csv.name() + ":" + std::to_string(head.line) + ":1: column " + name + " is missing", "", "a first row: " + joined(known));
    }
  }

  bool next() {
    if (!csv_.next(row_)) return false;
    while (row_.cells.size() > names_.size() && row_.cells.back().empty()) row_.cells.pop_back();
    if (row_.cells.size() > names_.size()) fault("the row has " + std::to_string(row_.cells.size()) + " cells, the first one names " + std::to_string(names_.size()) + " columns", "a text with a separator in it in quotes");
    return true;
  }
  [[nodiscard]] std::string operator[](const std::string& name) const {
    const auto at = static_cast<std::size_t>(std::find(names_.begin(), names_.end(), name) - names_.begin());
    return at < row_.cells.size() ? without_guard(row_.cells[at]) : std::string();
  }
  /// The row as text that is the same only for the same row, whatever the order of the columns: what a once-key is made of.
  [[nodiscard]] std::string whole(const std::string& kind, const std::vector<std::string>& known) const {
    std::string out = "import " + kind;
    for (const std::string& name : known) {
      const std::string cell = (*this)[name];
      // A column of later versions: what was taken without it is known by the same key.
      if (name == "counter" && cell.empty()) continue;
      out += "\n" + std::to_string(cell.size()) + ":" + cell;
    }
    return out;
  }
  [[noreturn]] void fault(const std::string& what, const std::string& instead) const { refuse(Code::unclear, at() + what, "of a file with a fault nothing is taken", instead); }
  /// Runs `read` and puts the row's place before what it refuses.
  template <class F>
  auto here(const F& read) const {
    try {
      return read();
    } catch (Refused& r) {
      r.refusal.what = at() + r.refusal.what;
      throw;
    }
  }
  [[nodiscard]] std::size_t line() const { return row_.line; }
  [[nodiscard]] std::string at() const { return csv_.name() + ":" + std::to_string(row_.line) + ":1: "; }

 private:
  static std::string joined(const std::vector<std::string>& list) {
    std::string out;
    for (const std::string& s : list) out += (out.empty() ? "" : ",") + s;
    return out;
  }
  CsvReader& csv_;
  std::vector<std::string> names_;
  CsvRow row_;
};

// Made when they are asked for: what is made before main has nobody to say that there is no memory
// for it.
const std::vector<std::string>& car_columns() {
  static const std::vector<std::string> all = {"plate",  "vin",    "make",    "model",   "year",
                                               "engine", "keeper", "contact", "circuits"};
  return all;
}
const std::vector<std::string>& reading_columns() {
  static const std::vector<std::string> all = {"plate", "day", "reading", "reason", "counter"};
  return all;
}
const std::vector<std::string>& task_columns() {
  static const std::vector<std::string> all = {"plate", "task", "day", "odometer", "hours", "note"};
  return all;
}

std::string trimmed(std::string s) {
  s.erase(0, std::min(s.find_first_not_of(' '), s.size()));
  s.erase(s.find_last_not_of(' ') + 1);
  return s;
}

// Whether a circuit is named there: a specification may have a semicolon in it.
bool names_circuit(const std::string& text) {
  const std::string word = trimmed(text.substr(0, text.find_first_of(":=;")));
  return word.empty() || find_circuit(std::string_view(word)) != nullptr;
}

// "coolant=6.8L:OAT; engine-oil=4.5L"
std::vector<CircuitDraft> circuits_of(Context& c, const std::string& text) {
  std::vector<CircuitDraft> out;
  for (std::size_t at = 0; at < text.size();) {
    std::size_t end = std::min(text.find(';', at), text.size());
    while (end < text.size() && !names_circuit(text.substr(end + 1))) end = std::min(text.find(';', end + 1), text.size());
    const std::string one = trimmed(text.substr(at, end - at));
    at = end + 1;
    if (!one.empty()) out.push_back(circuit_draft(c, one));
  }
  return out;
}

Draft car_of(Context& c, const Columns& row) {
  NewCar d;
  d.plate = row["plate"];
  d.vin = row["vin"];
  d.make = row["make"];
  d.model = row["model"];
  d.engine = row["engine"];
  d.keeper = row["keeper"];
  d.keeper_contact = row["contact"];
  if (const std::string year = row["year"]; !year.empty()) {
    const auto [end, error] = std::from_chars(year.data(), year.data() + year.size(), d.year);
    if (error != std::errc() || end != year.data() + year.size()) refuse(Code::unclear, "year " + visible(year) + " is no year", "", "2014");
  }
  d.circuits = circuits_of(c, row["circuits"]);
  return d;
}

constexpr const char* kRolledOver = "rolled-over";
constexpr const char* kReplaced = "replaced";

// What a reading that is less than the one before says of its instrument.
Dial dial_of(const Columns& row) {
  const std::string word = row["counter"];
  if (word.empty()) return Dial::goes_on;
  if (word == kReplaced) return Dial::replaced;
  if (word == kRolledOver || word == "rolled over") return Dial::rolled_over;
  if (word == "misread")
    refuse(Code::unclear, "column counter says misread", "what was misread is no reading",
           "a file without the row that was misread; one that the book has: baybook correct ENTRY "
           "--withdraw --why \"...\"");
  refuse(Code::unclear, "column counter says " + visible(word), "it is one of: rolled-over, replaced",
         "rolled-over, replaced or nothing");
}
const char* counter_word(Dial d) {
  return d == Dial::replaced ? kReplaced : d == Dial::rolled_over ? kRolledOver : "";
}

Draft reading_of(Context& c, const Columns& row) {
  const std::string typed = row["reading"];
  if (meant_as_hours(typed)) {
    EngineHours h;
    h.car = need(car_of_plate(c.book(), row["plate"]));
    h.minutes = need(parse_hours(typed));
    h.typed = typed;
    h.reason = row["reason"];
    h.dial = dial_of(row);
    return h;
  }
  Odometer d;
  d.car = need(car_of_plate(c.book(), row["plate"]));
  d.reading = need(parse_distance(typed, c.units()));
  d.reason = row["reason"];
  d.dial = dial_of(row);
  return d;
}

Draft task_of(Context& c, const Columns& row) {
  TaskDone d;
  d.car = need(car_of_plate(c.book(), row["plate"]));
  d.task = row["task"];
  d.when = c.day(row["day"]);
  if (const std::string odometer = row["odometer"]; !odometer.empty()) d.odometer = need(parse_distance(odometer, c.units()));
  if (const std::string hours = row["hours"]; !hours.empty()) d.engine_minutes = need(parse_hours(hours));
  d.note = row["note"];
  return d;
}

struct Kind {
  const char* word;
  const char* one;
  const char* many;
  const std::vector<std::string>& columns;
  std::vector<std::string> needed;
  std::function<Draft(Context&, const Columns&)> draft;
  bool on_its_day;  ///< the entry happened on the day in the row
};

// What the command warns of when a row is typed by hand, with the line it came from. A list may
// have the same slip in every row.
class Warned {
 public:
  void take(std::size_t line, const Receipt& r) {
    for (const std::string& w : r.warnings) {
      if (all_.size() < kMost) all_.push_back({line, w});
      else ++further_;
    }
  }
  void tell(Context& c, const std::string& name) const {
    for (const One& w : all_)
      c.err().text(
          wrapped("check: ", name + ":" + std::to_string(w.line) + ": " + visible(w.text)));
    if (further_ > 0)
      c.err().text(wrapped(
          "check: ", std::to_string(further_) + " further warnings are not shown; `baybook "
                                                "entries` and `baybook due` show what was taken"));
  }
  void write(Json& j) const {
    j.objects("warnings", all_, [&](const One& w) {
      j.key("line").number(static_cast<std::int64_t>(w.line));
      j.member("text", w.text);
    });
    j.key("warnings_not_shown").number(further_);
  }

 private:
  struct One {
    std::size_t line;
    std::string text;
  };
  static constexpr std::size_t kMost = 1000;
  std::vector<One> all_;
  std::int64_t further_ = 0;
};

int import(Context& c, const Kind& kind) {
  const Typed& t = c.typed();
  if (t.has("once")) refuse(Code::wrong_usage, "--once is not needed here", "a row that was taken before is not taken again", "baybook import " + std::string(kind.word) + " FILE");
  const std::string path = c.operand(0);
  CsvReader csv(visible(path == "-" ? "standard input" : path), file_bytes(c, path));
  Columns row(csv, kind.columns, kind.needed);
  c.ask_of_clock();
  const Stamp stamp = c.stamp();
  // What the book refuses is refused at the row it came from.
  std::optional<Refused> mine;
  const auto next = [&]() -> Result<std::optional<Item>> {
    try {
      if (!row.next()) return std::optional<Item>{};
      return row.here([&]() -> std::optional<Item> {
        Item item{kind.draft(c, row), stamp};
        if (kind.on_its_day) item.stamp.on = c.day(row["day"]);
        item.stamp.dry_run = false;
        item.if_not_there = true;
        item.stamp.once = row.whole(kind.word, kind.columns);
        return item;
      });
    } catch (const Refused& r) {
      mine = r;
      return r.refusal;
    }
  };
  Warned warned;
  auto done = append_all(c.book(), next, t.has("dry-run"),
                         [&](const Receipt& r) { warned.take(row.line(), r); });
  if (!done.ok()) {
    Refusal r = std::move(done).refusal();
    if (!mine && r.code != Code::busy && r.code != Code::unknown_outcome && r.code != Code::unwritable && r.code != Code::unreadable && r.code != Code::callback_failed) r.what = row.at() + r.what;
    // What can be typed at the command is a column here.
    if (!mine && r.code == Code::runs_backwards) r.instead = "that row's reading or day put right; or if it is right, column counter: rolled-over or replaced";
    if (!mine && r.code == Code::in_future) r.instead = "that row's day put right";
    if (r.why.empty()) r.why = "of a file with a fault nothing is taken";
    throw Refused{r};
  }
  if (done->clock.is != ClockCheck::Is::fits)
    c.err().text(wrapped("check: ", visible(done->clock.what + "; " + done->clock.way_out)));
  if (!c.json()) warned.tell(c, csv.name());
  if (!done->noted.empty()) c.err().text(wrapped("check: ", visible(done->noted)));
  if (done->last) c.note_stored(ref_text(*done->last, c.book().settings().tag));
  if (c.json()) {
    Json j = c.document();
    j.key("written").number(done->written);
    j.key("known").number(done->known);
    j.member("first", done->first ? ref_text(*done->first, c.book().settings().tag) : std::string());
    j.member("last", done->last ? ref_text(*done->last, c.book().settings().tag) : std::string());
    j.key("dry_run").boolean(t.has("dry-run"));
    j.member("seal", c.book().seal());
    warned.write(j);
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Out& out = c.out();
  const auto count = [&](std::int64_t n) { return std::to_string(n) + " " + (n == 1 ? kind.one : kind.many); };
  std::string line = std::string(t.has("dry-run") ? "would take " : "took ") + count(done->written);
  if (done->first && !t.has("dry-run")) line += ", entries " + std::to_string(done->first->number()) + " to " + std::to_string(done->last->number());
  if (done->known > 0) line += "; " + count(done->known) + " had been there before";
  out.text(wrapped("", line));
  if (t.has("dry-run")) out.line("nothing was written");
  else out.line("seal " + c.book().seal());
  return 0;
}

// What is not brought anywhere: a scrapped car, and one whose plate was erased. How many rows of those there were is told, not hidden.
class LeftOut {
 public:
  explicit LeftOut(Context& c) : c_(c) {}
  LeftOut(const LeftOut&) = delete;
  LeftOut& operator=(const LeftOut&) = delete;
  bool operator()(const CarView& car) {
    if (!car.plate_erased && !car.scrapped) return false;
    ++rows_;
    return true;
  }
  void tell(const char* one, const char* many) const {
    if (rows_ > 0) c_.err().text(wrapped("check: ", std::to_string(rows_) + " " + (rows_ == 1 ? one : many) + " left out: of scrapped cars, and of cars whose plate was erased"));
  }

 private:
  Context& c_;
  std::int64_t rows_ = 0;
};

int export_rows(Context& c, const std::vector<std::string>& columns, const std::function<void(report::Csv&)>& rows) {
  const Typed& t = c.typed();
  if (c.json() || t.has("jsonl")) refuse(Code::wrong_usage, "what is exported is CSV", "the same is there as JSON: baybook cars, history, due", "no --json");
  if (t.has("as-of")) refuse(Code::wrong_usage, "an export is what holds now", "it is made to be imported elsewhere", "no --as-of");
  report::Csv csv(t.has("csv-raw"));
  for (const std::string& name : columns) csv.cell(name);
  csv.end();
  rows(csv);
  return sheet::hand_over(c, csv.text(), c.book().seal());
}

// By plate, so that a list taken into another book and out again is the same list. Each row with its car's plate.
template <class T>
std::vector<std::pair<std::string, T>> by_plate(Context& c, std::vector<T> rows, const char* one, const char* many) {
  LeftOut left_out(c);
  std::map<CarId, CarView> cars;
  std::vector<std::pair<std::string, T>> out;
  for (T& r : rows) {
    auto known = cars.find(r.car);
    if (known == cars.end()) known = cars.emplace(r.car, need(car(c.book(), r.car))).first;
    if (!left_out(known->second)) out.emplace_back(known->second.plate, std::move(r));
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  left_out.tell(one, many);
  return out;
}

}  // namespace

int run_import_cars(Context& c) {
  return import(c, {"cars", "car", "cars", car_columns(), {"plate"}, car_of, false});
}
int run_import_readings(Context& c) {
  return import(c, {"readings",
                    "reading",
                    "readings",
                    reading_columns(),
                    {"plate", "day", "reading"},
                    reading_of,
                    true});
}
int run_import_tasks(Context& c) {
  return import(
      c, {"tasks", "task", "tasks", task_columns(), {"plate", "task", "day"}, task_of, false});
}

int run_export_cars(Context& c) {
  return export_rows(c, car_columns(), [&](report::Csv& csv) {
    LeftOut left_out(c);
    for (const CarRecord& r : need(car_records(c.book()))) {
      if (left_out(r.car)) continue;
      std::string circuits;
      for (const auto& v : r.car.circuits) {
        circuits += (circuits.empty() ? "" : "; ") + v.name;
        if (v.capacity) circuits += "=" + v.capacity->typed;
        if (!v.specification.empty()) circuits += ":" + v.specification;
      }
      for (const std::string& text : {r.car.plate, r.car.vin, r.car.make, r.car.model}) csv.cell(text);
      csv.cell(r.car.year != 0 ? std::to_string(r.car.year) : "", true);
      for (const std::string& text : {r.car.engine, r.car.keeper, r.contact, circuits}) csv.cell(text);
      csv.end();
    }
    left_out.tell("car", "cars");
  });
}

int run_export_readings(Context& c) {
  return export_rows(c, reading_columns(), [&](report::Csv& csv) {
    for (const auto& [plate, r] : by_plate(c, need(reading_records(c.book())), "reading", "readings")) {
      for (const std::string& text : {plate, to_string(r.day), r.typed, r.reason, std::string(counter_word(r.dial))}) csv.cell(text);
      csv.end();
    }
  });
}

int run_export_tasks(Context& c) {
  return export_rows(c, task_columns(), [&](report::Csv& csv) {
    for (const auto& [plate, r] : by_plate(c, need(task_records(c.book())), "task", "tasks")) {
      for (const std::string& text : {plate, r.task, to_string(r.day), r.odometer, r.hours, r.note}) csv.cell(text);
      csv.end();
    }
  });
}

}  // namespace baybook::tool
