#include "context.hpp"

#include "render/jsonl.hpp"
#include "render/receipt.hpp"
#include "render/text.hpp"
#include "terminal.hpp"
#include "verbs.hpp"

#include <baybook/keep.hpp>
#include <baybook/text.hpp>

#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <sys/random.h>

namespace baybook::tool {

void refuse(Code code, std::string what, std::string why, std::string instead) {
  throw Refused{Refusal{code, std::move(what), std::move(why), std::move(instead), {}}};
}

bool system_random(std::uint8_t* bytes, std::size_t size) {
  std::size_t done = 0;
  while (done < size) {
    const ssize_t n = ::getrandom(bytes + done, size - done, 0);
    if (n < 0 && errno == EINTR) continue;
    // Salts that are not random would give private values away: better no entry at all.
    if (n <= 0) return false;
    done += static_cast<std::size_t>(n);
  }
  return true;
}

Instant Context::now() {
  if (!now_) {
    if (const char* fixed = std::getenv("BAYBOOK_NOW"); fixed != nullptr && *fixed != '\0') {
      now_ = read_instant(fixed);
      if (!now_) refuse(Code::wrong_usage, "BAYBOOK_NOW is not an instant: " + visible(fixed), "it sets the clock for tests and demonstrations", "BAYBOOK_NOW=2026-03-05T09:40:00.000Z, or leave it unset");
    } else {
      const auto since = std::chrono::system_clock::now().time_since_epoch();
      now_ = Instant{std::chrono::duration_cast<std::chrono::milliseconds>(since).count()};
    }
  }
  return *now_;
}

std::string Context::book_path() const {
  if (const std::string* path = typed_.get("book")) {
    if (path->empty()) refuse(Code::wrong_usage, "--book needs the name of a file", "", "--book marsh.baybook");
    return *path;
  }
  if (const char* path = std::getenv("BAYBOOK_BOOK"); path != nullptr) {
    // A script whose own variable was not set would otherwise write into the book of the settings.
    if (*path == '\0')
      refuse(Code::wrong_usage, "BAYBOOK_BOOK is set and names no book",
             "an empty name is a slip more often than a wish",
             "--book marsh.baybook, or unset BAYBOOK_BOOK");
    return path;
  }
  if (!config_.book.empty()) return config_.book;
  refuse(Code::wrong_usage, "which book is not said", "a book is one file; --book names it, or the variable BAYBOOK_BOOK", "the same with --book marsh.baybook");
}

std::string Context::book_if_said() const {
  if (book_) return book_->path();
  if (const std::string* path = typed_.get("book")) return *path;
  if (const char* path = std::getenv("BAYBOOK_BOOK"); path != nullptr && *path != '\0') return path;
  return config_.book;
}

Placing Context::placing(std::string another) const {
  Placing how;
  how.force = typed_.has("force");
  how.book = book_if_said();
  how.stays = {config_path(), "/proc/self/exe"};
  how.another = std::move(another);
  return how;
}

void Context::open(Access access) {
  book_.emplace(need(Book::open(book_path(), access, system_random)));
  if (!quiet() && !verb_.hidden()) say_where_it_lies(*book_, access == Access::write, err_);
}

Book& Context::book() {
  if (!book_) open(verb_.does == Does::write ? Access::write : Access::read);
  return *book_;
}

Book& Context::book_for_writing() {
  book_.reset();
  open(Access::write);
  return *book_;
}

void Context::begin_again() {
  book_.reset();
  now_.reset();
  today_.reset();
  clock_said_ = true;  // said at the first time
}

bool Context::close_book() {
  if (!book_) return false;
  const std::string path = book_->path();
  book_.reset();
  if (!log_beside(path)) return false;
  if (!json_ && !quiet()) {
    err_.text(wrapped("check: ", "another program has this book open: the newest entries may lie in " + visible(path) + "-wal until it ends. A copy made with cp may be an older book; baybook backup makes one of now"));
  }
  return true;
}

Day Context::today() {
  if (!today_) today_ = need(book().today(now()));
  return *today_;
}

Month Context::month(std::string_view text) {
  // As of a day: one written out needs no today.
  const bool written = !text.empty() && text.front() >= '0' && text.front() <= '9';
  return need(parse_month(text, written ? Day{} : today()));
}

Day Context::as_of_or_today() {
  // A day that was typed needs no clock, and so none that is right.
  const AsOf typed = as_of();
  if (typed) return *typed;
  if (!clock_said_ && !verb_.hidden()) say_of_clock();
  return today();
}

Day Context::day(std::string_view text) {
  // A day written out needs no today, and so no time zone.
  if (const auto written = read_day(text)) return *written;
  return need(parse_day(text, today(), book().settings().date_order));
}

std::optional<Day> Context::day_option(std::string_view name) {
  const std::string* text = typed_.get(name);
  if (text == nullptr) return std::nullopt;
  return day(*text);
}

std::optional<Amount> Context::amount_or_all(std::string_view text) {
  if (text == "all") return std::nullopt;
  return amount(text);
}

std::optional<Amount> Context::amount_option(std::string_view name) {
  const std::string* text = typed_.get(name);
  if (text == nullptr) return std::nullopt;
  return amount(*text);
}

std::optional<Distance> Context::distance_option(std::string_view name) {
  const std::string* text = typed_.get(name);
  if (text == nullptr) return std::nullopt;
  return need(parse_distance(*text, units()));
}

const std::string& Context::required(std::string_view name) const {
  const std::string* text = typed_.get(name);
  if (text == nullptr) {
    std::string value;
    for (const Option& o : verb_.options) {
      if (o.name == name) value = " " + std::string(o.value);
    }
    refuse(Code::wrong_usage, std::string(verb_.name) + " needs --" + std::string(name) + value,
           usage_line(verb_), to_type(verb_));
  }
  return *text;
}

void Context::check_slip(std::string_view typed, CarId found) {
  if (typed.starts_with("car:")) return;  // by its number
  // "MARSH-07@bay" is the MARSH-07 of the installation bay.
  if (const std::size_t at = typed.rfind('@'); at != std::string_view::npos && at > 0 && typed.substr(at + 1) == need(entry(book(), EntryId{found.n})).ref.tag) typed = typed.substr(0, at);
  const std::string key = plate_key(typed);
  if (plate_key(book().plate_of(found)).find(key) != std::string::npos) return;
  const CarView v = need(baybook::car(book(), found));
  for (const std::string& plate : v.earlier_plates) {
    if (plate_key(plate).find(key) != std::string::npos) return;
  }
  if (key.size() >= 4 && plate_key(v.vin).ends_with(key)) return;
  if (verb_.does == Does::write) {
    refuse(Code::not_found, "there is no car named " + visible(typed), "near it: " + visible(v.plate) + "; a slip is never written to the car next to it", as_typed(v.plate));
  }
  err_.line("check: there is no car named " + visible(typed) + "; this is " + visible(v.plate));
}

CarId Context::car(std::string_view text) {
  const CarId found = need(book().find_car(text, Match::near));
  check_slip(text, found);
  return found;
}

JobId Context::job_of_retry(CarId car) {
  const std::string* once = typed_.get("once");
  if (once == nullptr || once->empty()) return {};
  const JobId job = book().job_under_once(*once);
  if (!job) return {};
  return if_there(book().car_of_job(job)) == car ? job : JobId{};
}

JobId Context::job(std::string_view text) {
  auto by_name = book().find_job(text, Match::near);
  if (!by_name.ok()) {
    // A retry under its once-key names the job as the first try did, by its car; it may have been closed since.
    const auto car = if_there(book().find_car(text, Match::near));
    const JobId again = car ? job_of_retry(*car) : JobId{};
    if (again) return again;
  }
  const JobId found = need(std::move(by_name));
  const std::string_view number = text.substr(0, text.find('@'));
  if (number.find_first_not_of("0123456789") != std::string_view::npos) check_slip(text, need(book().car_of_job(found)));
  return found;
}

Stamp Context::stamp() {
  Stamp s;
  s.now = now();
  s.on = day_option("on");
  if (const std::string* at = typed_.get("at")) {
    const TypedTime time = need(parse_time(*at));
    s.at = time.minute;
    s.at_offset = time.offset_minutes;
  }
  if (const std::string* by = typed_.get("by")) {
    s.by = need(book().find_person(*by));
  } else {
    const char* variable = std::getenv("BAYBOOK_BY");
    const bool from_variable = variable != nullptr && *variable != '\0';
    const std::string usual = from_variable ? variable : config_.by;
    if (usual.empty()) return finish(std::move(s));
    auto person = book().find_person(usual);
    if (person.ok()) {
      s.by = *person;
    } else if (verb_.name != "person add" || person.refusal().code != Code::not_found) {  // someone has to be the first in the book
      Refusal r = std::move(person).refusal();
      r.what = (from_variable ? "BAYBOOK_BY: " : "by in " + config_path() + ": ") + r.what;
      throw Refused{std::move(r)};
    }
  }
  return finish(std::move(s));
}

Stamp Context::finish(Stamp s) const {
  if (const std::string* once = typed_.get("once")) {
    if (once->empty()) refuse(Code::wrong_usage, "--once needs a key", "the same key again changes nothing", "--once delivery-0041233");
    s.once = *once;
  }
  s.dry_run = typed_.has("dry-run");
  s.clock_is_right = clock_answered_ || typed_.has("clock-is-right");
  return s;
}

void Context::say_of_clock() {
  if (quiet()) return;
  clock_said_ = true;
  const ClockCheck clock = need(clock_against(book(), now()));
  if (clock.ask) err_.text(wrapped("check: ", visible(clock.what + "; " + clock.way_out)));
}

void Context::ask_of_clock() {
  if (typed_.has("clock-is-right") || typed_.has("dry-run") || !can_ask()) return;
  const ClockCheck clock = need(clock_against(book(), now()));
  if (!clock.ask) return;
  err_.text(wrapped("check: ", visible(clock.what + "; " + clock.way_out)));
  err_.text("is the clock right now? type yes to write (--clock-is-right does not ask): ");
  (void)err_.flush();
  if (typed_line() != "yes")
    refuse(Code::not_allowed, "nothing was written", "the answer was not yes",
           "date and time of this machine set right, then the same again");
  clock_answered_ = true;
}

Receipt Context::append(const Draft& draft) {
  ask_of_clock();
  Receipt r = need(book().append(draft, stamp()));
  if (!r.dry_run && !r.repeated) stored_ = std::to_string(r.entry.number());
  return r;
}

int Context::write(const Draft& draft, std::string_view text) { return say(append(draft), text); }

int Context::say(Receipt r, std::string_view text) {
  if (!json_ && !text.empty() && !r.repeated) r.summary += (r.summary.empty() ? "" : ": ") + std::string(text);
  render::receipt(*this, r);
  return r.no_effect.empty() ? 0 : 1;
}

Json Context::document() const {
  Json j;
  j.begin_object();
  j.key("v").number(1);
  j.key("ok").boolean(true);
  return j;
}

void Context::print(Json& document) {
  document.end_object();
  if (typed_.has("jsonl")) out_.text(render::jsonl(document.text()));
  else out_.line(document.text());
}

}  // namespace baybook::tool
