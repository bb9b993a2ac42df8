// Printed months added up, in litres, US gallons and imperial gallons.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <map>
#include <regex>

using namespace baybook::test;

namespace {

/// A month in which amounts were typed in every unit, shared out of mixes and estimated.
class Month : public Shop {
 public:
  explicit Month(const std::string& unit) {
    variables = {{"BAYBOOK_BOOK", "m.baybook"}};
    must({"start", "m.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay", "--zone", "Europe/Lisbon", "--volume", unit});
    must({"place", "add", "pan-1", "--role", "catch", "--size", "60L"});
    must({"place", "add", "keep-1", "--role", "reuse", "--size", "60L"});
    must({"place", "add", "tank-1", "--role", "stock", "--size", "400L", "--bulk"});
    must({"place", "add", "drum-coolant", "--role", "waste", "--takes", "coolant", "--size", "180L"});
    must({"place", "add", "drum-absorb", "--role", "waste", "--takes", "absorbent"});
    must({"fluid", "add", "oat-violet", "--class", "coolant"});
    must({"fluid", "add", "oat-amber", "--class", "coolant"});
    must({"car", "add", "MARSH-07", "--circuit", "coolant=6.8L", "--circuit", "gearbox=5L"});
    must({"job", "open", "MARSH-07", "--for", "noise"});
    must({"receive", "oat-violet", "7usgal", "--into", "tank-1"});
    must({"receive", "oat-amber", "3.3impgal", "--into", "tank-1"});
    must({"drain", "1", "coolant", "1.6usgal", "--into", "pan-1"});
    must({"place", "add", "drum-gear", "--role", "waste", "--takes", "gear-oil"});
    must({"drain", "1", "gearbox", "4.2L", "--into", "drum-gear"});
    must({"filter", "pan-1", "1.1usgal", "--into", "keep-1"});
    must({"fill", "1", "coolant", "0.9usgal", "--from", "keep-1"});
    must({"fill", "1", "coolant", "1.7usqt", "--from", "tank-1"});
    must({"spill", "1", "coolant", "0.5..1.2L", "--picked-up", "granules 1.5kg", "--into", "drum-absorb"});
    must({"discard", "absorbent", "12lb", "--into", "drum-absorb"});
    must({"decant", "pan-1", "0.3usgal", "--into", "drum-coolant"});
    must({"gauge", "tank-1", "36.6L", "--reason", "read off"});
    must({"pickup", "--carrier", "Tarn", "--doc", "A-1", "--from", "drum-coolant=0.1impgal", "--fate", "recycle"});
  }
  Answer must(const std::vector<std::string>& args) const {
    Answer a = run(args);
    std::string line;
    for (const std::string& s : args) line += " " + s;
    INFO("baybook" << line << ": " << a.err);
    REQUIRE(a.status == 0);
    return a;
  }
};

// "26.497882488" as billionths.
std::int64_t billionths(std::string text) {
  const bool less = !text.empty() && text.front() == '-';
  if (less) text.erase(0, 1);
  const std::size_t point = text.find('.');
  std::string whole = text.substr(0, point);
  std::string part = point == std::string::npos ? "" : text.substr(point + 1);
  REQUIRE(part.size() <= 9);
  part.resize(9, '0');
  const std::int64_t n = std::stoll(whole) * 1'000'000'000 + std::stoll(part);
  return less ? -n : n;
}

// Both sides of a sentence added up, whatever is added and taken away in it.
std::int64_t side(const std::string& text) {
  static const std::regex amount(R"((^|[+-] )(-?[0-9.]+) (L|kg|g|pcs|pc|usgal|impgal)\b)");
  std::int64_t sum = 0;
  for (std::sregex_iterator at(text.begin(), text.end(), amount), end; at != end; ++at) {
    const std::string unit = (*at)[3];
    CHECK_MESSAGE(unit.find("gal") == std::string::npos, text);
    std::int64_t n = billionths((*at)[2]);
    // A gram is shown with three decimals at the most here, so nothing is cut off.
    if (unit == "g") n /= 1000;
    sum += (*at)[1] == "- " ? -n : n;
  }
  return sum;
}

// Every sentence of a print that says what was at the start and what is at the end; how many.
int sentences_close(const std::string& print) {
  static const std::regex sentence(R"((-?[0-9.]+ \w+ at the start[^=]*) = (-?[0-9.]+ \w+ at the end[^:~]*?)(?= at the end | [a-z-]+(, exactly)?: | How sure|$))");
  const std::string text = flat(print);
  int found = 0;
  for (std::sregex_iterator at(text.begin(), text.end(), sentence), end; at != end; ++at) {
    ++found;
    CAPTURE((*at)[0].str());
    CHECK(side((*at)[1]) == side((*at)[2]));
  }
  return found;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    out.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return out;
}

struct Word {
  std::string text;
  std::size_t end;
};
std::vector<Word> words_of(const std::string& line) {
  std::vector<Word> out;
  for (std::size_t at = line.find_first_not_of(' '); at != std::string::npos;) {
    const std::size_t end = std::min(line.find(' ', at), line.size());
    out.push_back({line.substr(at, end - at), end});
    at = line.find_first_not_of(' ', end);
  }
  return out;
}

// Rows of the forms "in and out" on the screen without a mark: start and what has a + is what has a
// - and the end (or the sum that is carried from one form to the next), in the digits that are
// printed. How many there were, and how many had a mark.
std::pair<int, int> rows_close(const std::string& screen) {
  int plain = 0;
  int marked = 0;
  std::vector<Word> head;
  bool second = false;
  for (const std::string& line : lines_of(screen)) {
    second = line.empty() ? false : second || line.starts_with("out, in ");
    const bool first = line.starts_with("in ") && line.find(" start") != std::string::npos;
    if (first || line.starts_with("out, in ")) {
      head = words_of(line);
      head.erase(head.begin(), head.begin() + (first ? 2 : 3));
      continue;
    }
    if (line.empty()) head.clear();
    if (head.empty() || line.front() == ' ') continue;
    std::vector<Word> row = words_of(line);
    if (line.find('~') != std::string::npos) {
      ++marked;
      continue;
    }
    std::int64_t sum = 0;
    for (std::size_t i = 1; i < row.size(); ++i) {
      const auto column = std::min_element(head.begin(), head.end(), [&](const Word& a, const Word& b) {
        const auto off = [&](const Word& w) { return w.end > row[i].end ? w.end - row[i].end : row[i].end - w.end; };
        return off(a) < off(b);
      });
      const bool out = column->text.front() == '-' || column->text == "end" || (column->text == "together" && !second);
      sum += out ? -billionths(row[i].text) : billionths(row[i].text);
    }
    CHECK_MESSAGE(sum == 0, screen);
    ++plain;
  }
  return {plain, marked};
}

}  // namespace

TEST_SUITE("tools/totals_units") {
  TEST_CASE("every sentence of a printed month that says it closes does so to the last digit, in litres and in both gallons") {
    for (const char* unit : {"L", "usgal", "impgal"}) {
      CAPTURE(unit);
      const Month shop(unit);
      const std::string screen = shop.must({"totals"}).out;
      CAPTURE(screen);
      // Coolant, gear oil, absorbent.
      CHECK(sentences_close(screen) == 3);
      const std::string sheet = shop.must({"totals", "--form", "text"}).out;
      CAPTURE(sheet);
      CHECK(sentences_close(sheet) >= 1);
    }
  }

  TEST_CASE("a row of a month's form closes in the digits that are printed or carries the mark, in litres and in both gallons") {
    for (const char* unit : {"L", "usgal", "impgal"}) {
      CAPTURE(unit);
      const Month shop(unit);
      const std::string screen = shop.must({"totals"}).out;
      const auto [plain, marked] = rows_close(screen);
      CAPTURE(screen);
      // Litres that were typed in litres need no mark, gallons always do; kilograms are kilograms.
      CHECK(plain >= (std::string(unit) == "L" ? 1 : 0));
      CHECK(marked >= 1);
      const std::string sheet = flat(shop.must({"totals", "--form", "text"}).out);
      const bool claims = sheet.find(std::string("volumes in ") + unit + ": start and everything") != std::string::npos;
      CHECK(claims == (std::string(unit) == "L"));
      const bool nothing = sheet.find(std::string("figures in ") + unit + " claim nothing") != std::string::npos;
      CHECK(nothing == (std::string(unit) != "L"));
      const bool said = flat(screen).find(std::string("figures in ") + unit + " claim nothing") != std::string::npos;
      CHECK(said == (std::string(unit) != "L"));
    }
  }

  TEST_CASE("what changed in a closed month is told in litres, so that the difference is one to the last digit") {
    Month shop("usgal");
    shop.now = "2026-04-02T10:00:00.000Z";
    shop.must({"decant", "pan-1", "all", "--into", "drum-coolant", "--on", "2026-03-30"});
    shop.must({"close", "2026-03"});
    shop.must({"drain", "1", "gearbox", "0.3usgal", "--into", "drum-gear", "--on", "2026-03-30"});
    const std::string print = flat(shop.must({"totals", "2026-03", "--form", "text"}).out);
    const std::regex row(R"(gear-oil drained ([0-9.]+) L ([0-9.]+) L ([0-9.]+) L)");
    std::smatch m;
    REQUIRE_MESSAGE(std::regex_search(print, m, row), print);
    CHECK(billionths(m[2]) - billionths(m[1]) == billionths(m[3]));
  }
}
