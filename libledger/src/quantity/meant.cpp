#include "quantity/meant.hpp"

#include "quantity/units.hpp"
#include "quantity/written.hpp"

#include <algorithm>
#include <vector>

namespace baybook::quantity {

namespace {

/// A run of letters or of digits; what stands between the runs is left out.
struct Word {
  std::string text;
  int number;  // -1 for letters, and for more than eight digits
  [[nodiscard]] bool is_year() const { return number >= 0 && text.size() == 4; }
  [[nodiscard]] bool is_short() const { return number >= 0 && text.size() <= 2; }
};

/// The runs of `text`, in small letters; none when a sign stands between them that no written day has.
std::vector<Word> words_of(std::string_view text) {
  std::vector<Word> words;
  const auto kind = [](char c) { return c >= '0' && c <= '9' ? 1 : (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ? 2 : 0; };
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t begin = at;
    const int run = kind(text[at]);
    if (run == 0) {
      if (std::string_view{" .,/-"}.find(text[at]) == std::string_view::npos) return {};
      ++at;
      continue;
    }
    while (at < text.size() && kind(text[at]) == run) ++at;
    const std::string_view word = text.substr(begin, at - begin);
    words.push_back(Word{folded(word), run == 1 ? digits_only(word) : -1});
  }
  return words;
}

/// 1 to 12 for "march" or "mar"; 0 when there is none.
int month_named(std::string_view key) {
  if (key == "sept") return 9;
  for (std::size_t i = 0; i < month_names.size(); ++i) {
    if (key == month_names[i] || key == month_names[i].substr(0, 3)) return static_cast<int>(i) + 1;
  }
  return 0;
}

/// Adds the day if it exists and is not among them.
void add_reading(std::vector<std::string>& readings, const Written& w) {
  if (exists(w) && std::find(readings.begin(), readings.end(), iso(w)) == readings.end()) readings.push_back(iso(w));
}

/// 4 March 2026, March 4th, 2026, Wed 4 Mar: a month by its name with one or two numbers.
std::string day_of_named_month(std::string_view typed, Day today) {
  int month = 0;
  unsigned weekday = 7;
  std::vector<Word> numbers;
  for (const Word& word : words_of(typed)) {
    const bool suffix = word.text == "st" || word.text == "nd" || word.text == "rd" || word.text == "th";
    if (word.number >= 0) {
      numbers.push_back(word);
    } else if (const int named = month_named(word.text); named != 0 && month == 0) {
      month = named;
    } else if (const unsigned name = weekday_named(word.text); name < 7 && weekday == 7) {
      weekday = name;
    } else if (word.text != "of" && word.text != "the" && !(suffix && !numbers.empty())) {
      return "";
    }
  }
  if (month == 0) return "";
  std::vector<std::string> readings;
  if (numbers.size() == 2 && (numbers[0].is_year() || numbers[1].is_year())) {
    const Word& year = numbers[0].is_year() ? numbers[0] : numbers[1];
    const Word& day = numbers[0].is_year() ? numbers[1] : numbers[0];
    if (day.is_short()) add_reading(readings, {year.number, month, day.number});
  } else if (numbers.size() == 2 && numbers[0].is_short() && numbers[1].text.size() == 2) {
    add_reading(readings, {2000 + numbers[1].number, month, numbers[0].number});
  } else if (numbers.size() == 1 && numbers[0].is_short()) {
    // Without a year it is the last such day, or the next one.
    const int year = static_cast<int>(civil(today).year());
    const Written last{year, month, numbers[0].number};
    if (exists(last) && day_of(as_civil(last)) > today) add_reading(readings, {year - 1, month, numbers[0].number});
    add_reading(readings, last);
  }
  if (weekday < 7) {
    std::erase_if(readings, [&](const std::string& reading) { return weekday_of(*read_day(reading)) != weekday; });
  }
  return joined(readings);
}

/// 20260304, 04032026, 260304: nothing between the three numbers.
std::string day_of_digits(std::string_view typed, DateOrder order) {
  if (digits_only(typed) < 0 || (typed.size() != 8 && typed.size() != 6)) return "";
  const auto part = [&](std::size_t from, std::size_t size) { return digits_only(typed.substr(from, size)); };
  const std::size_t wide = typed.size() - 4;  // digits of the year
  const int century = wide == 2 ? 2000 : 0;
  std::vector<std::string> readings;
  add_reading(readings, {century + part(0, wide), part(wide, 2), part(wide + 2, 2)});
  if (order != DateOrder::month_first) add_reading(readings, {century + part(4, wide), part(2, 2), part(0, 2)});
  if (order != DateOrder::day_first) add_reading(readings, {century + part(4, wide), part(0, 2), part(2, 2)});
  return joined(readings);
}

/// 3 days ago, 2 weeks ago, -3 days, -2w.
std::string days_back(std::string_view typed) {
  const std::vector<Word> words = words_of(typed);
  const bool ago = words.size() == 3 && words[2].text == "ago";
  const bool minus = words.size() == 2 && typed.starts_with('-');
  if ((!ago && !minus) || words[0].number < 0 || words[0].number > 36'500) return "";
  const std::string& unit = words[1].text;
  if (unit == "d" || unit == "day" || unit == "days") return '-' + std::to_string(words[0].number) + 'd';
  if (unit == "w" || unit == "week" || unit == "weeks") return words[0].number > 5'000 ? "" : '-' + std::to_string(words[0].number * 7) + 'd';
  return "";
}

/// last monday, on monday, tues: a weekday as it is not read.
std::string day_of_weekday(std::string_view typed, Day today) {
  const std::vector<Word> words = words_of(typed);
  const bool last = words.size() == 2 && (words[0].text == "last" || words[0].text == "past");
  const bool on = words.size() == 2 && words[0].text == "on";
  if (words.empty() || (words.size() != 1 && !last && !on)) return "";
  const std::string& name = words.back().text;
  if (name.size() < 3) return "";
  for (unsigned i = 0; i < weekday_names.size(); ++i) {
    if (!weekday_names[i].starts_with(name) && !(name == "weds" && i == 3)) continue;
    // On a Monday, mon is today and the last Monday was a week ago.
    return last && weekday_of(today) == i ? "-7d" : std::string{weekday_names[i].substr(0, 3)};
  }
  return "";
}

/// 2026-03-04T10:00, 2026-03-04 10:00:30Z: the time of day goes into an option of its own.
std::string day_with_time(std::string_view typed) {
  if (typed.size() < 14 || !read_day(typed.substr(0, 10)) || (typed[10] != 'T' && typed[10] != 't' && typed[10] != ' ')) return "";
  std::string clock{trimmed(typed.substr(11))};
  if (clock.size() >= 8 && clock[2] == ':' && clock[5] == ':') {
    std::size_t end = clock.find_first_not_of("0123456789.", 6);
    if (end == std::string::npos) end = clock.size();
    clock.erase(5, end - 5);
  }
  const auto time = parse_time(clock);
  if (!time.ok()) return "";
  const bool has_offset = time->offset_minutes.has_value();
  return std::string{typed.substr(0, 10)} + " with --at " + (has_offset ? to_string(TimeOfDay{time->minute, *time->offset_minutes}) : to_string(time->minute));
}

}  // namespace

std::string day_meant(std::string_view typed, Day today, DateOrder order) {
  constexpr std::size_t longest = 60;  // a page that was pasted is no day
  if (typed.size() > longest) return day_like(typed, today);
  const std::string key = folded(typed);
  if (key == "daybeforeyesterday" || key == "thedaybeforeyesterday") return "-2d";
  for (const std::string& meant : {day_with_time(typed), day_of_digits(typed, order), days_back(typed), day_of_weekday(typed, today),
                                   day_of_named_month(typed, today)}) {
    if (!meant.empty()) return meant;
  }
  return day_like(typed, today);
}

std::string month_meant(std::string_view typed, Month now) {
  constexpr std::size_t longest = 60;
  const std::string words_for_it = words_like(typed, "month", to_string(now));
  if (typed.size() > longest) return words_for_it;
  if (const auto day = read_day(typed)) return to_string(month_of(*day));
  std::vector<Word> words = words_of(typed);
  if (words.size() == 1 && words[0].number >= 0 && words[0].text.size() == 6) {
    words = {Word{words[0].text.substr(0, 4), words[0].number / 100}, Word{words[0].text.substr(4), words[0].number % 100}};
  }
  if (words.size() != 2) return words_for_it;
  const Word& year = words[0].is_year() ? words[0] : words[1];
  const Word& month = words[0].is_year() ? words[1] : words[0];
  const Written w{year.number, month.is_short() ? month.number : month_named(month.text), 1};
  return year.is_year() && exists(w) ? to_string(month_of(day_of(as_civil(w)))) : words_for_it;
}

std::string offset_meant(std::string_view offset, Minute minute) {
  const std::string time = to_string(minute);
  if (offset == "Z" || offset == "z" || offset == "-00:00") return time + "+00:00";
  std::string digits{offset.substr(1)};
  // 1:30 is 0130; 1:3 may be 0103 or 0130.
  if (digits.size() >= 4 && digits[digits.size() - 3] == ':') digits.erase(digits.size() - 3, 1);
  if (digits.size() == 1) digits.insert(0, 1, '0');
  if (digits.size() == 2) digits += "00";
  if (digits.size() == 3) digits.insert(0, 1, '0');
  if (digits.size() == 4) {
    const std::string whole = time + offset.front() + digits.substr(0, 2) + ':' + digits.substr(2);
    if (const auto read = read_time(whole)) return to_string(*read);
  }
  return time + " and its offset, like " + time + "+01:00";
}

std::string time_meant(std::string_view typed) {
  const std::string words_for_it = words_like(typed, "time", "09:40");
  const std::string key = folded(typed);
  if (key == "noon" || key == "midday") return "12:00";
  std::string_view rest = key;
  const auto number = [&](std::size_t most) {
    std::size_t size = 0;
    while (size < most && size < rest.size() && rest[size] >= '0' && rest[size] <= '9') ++size;
    const std::string_view digits = rest.substr(0, size);
    rest.remove_prefix(size);
    return digits;
  };
  std::string_view hours = number(4);
  std::string_view minutes;
  bool seconds = false;
  if (hours.size() > 2) {
    minutes = hours.substr(hours.size() - 2);
    hours.remove_suffix(2);
  } else if (!rest.empty() && std::string_view{":.,h"}.find(rest.front()) != std::string_view::npos) {
    const bool by_letter = rest.front() == 'h';
    rest.remove_prefix(1);
    minutes = number(2);
    if (minutes.empty() && !by_letter) return words_for_it;
    if (minutes.empty()) minutes = "00";
    seconds = minutes.size() == 2;
  }
  // The seconds of a clock are not kept.
  if (seconds && rest.size() >= 3 && rest.front() == ':' && digits_only(rest.substr(1, 2)) >= 0) rest.remove_prefix(3);
  const bool am = rest == "am" || rest == "a.m.";
  const bool pm = rest == "pm" || rest == "p.m.";
  if (minutes.empty() && (am || pm)) minutes = "00";
  int hour = digits_only(hours);
  const int minute = digits_only(minutes);
  if (hour < 0 || minute < 0 || minute > 59 || hour > 23 || (!rest.empty() && !am && !pm) || (am && hour > 12) || (pm && hour == 0)) return words_for_it;
  const auto at = [](int h, int m) { return to_string(Minute{static_cast<std::int16_t>(h * 60 + m)}); };
  if (minutes.size() == 1) return am || pm ? words_for_it : at(hour, minute) + (minute < 6 && minute > 0 ? " or " + at(hour, minute * 10) : "");
  // 12 am and 12 pm are read both ways (common practice, no source), and half a day hangs on it.
  if ((am || pm) && hour == 12 && minute == 0) return "12:00 or 00:00";
  if (am && hour == 12) hour = 0;
  if (pm && hour < 12) hour += 12;
  return at(hour, minute);
}

}  // namespace baybook::quantity
