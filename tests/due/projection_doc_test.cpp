// docs/projection.md carries tables of how the projection did; they are made here and compared, so that they cannot go stale.
//
//   BAYBOOK_REFRESH=1 ctest --test-dir build -R "due: the tables"     writes the tables of today into docs/projection.md
#include "synthetic_lives.hpp"
#include "synthetic_results.hpp"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string_view>

using namespace baybook_test;
using namespace baybook::due;

namespace {

const std::string kPage = std::string(BAYBOOK_SOURCE) + "/docs/projection.md";

std::string page_text() {
  std::ifstream in(kPage, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::string percent(const Share& share) { return one_decimal(share.percent()) + " %"; }

std::string row(const std::vector<std::string>& cells) {
  std::string out = "|";
  for (const std::string& cell : cells) out += " " + cell + " |";
  return out + "\n";
}

std::string synthetic_row(const std::string& name, const Results& r) {
  return row({name, std::to_string(r.in_range.all), percent(r.in_range), percent(r.day_in_range), km(median(r.baybook)), km(median(r.whole_history)), km(median(r.last_two))});
}

std::string synthetic_table() {
  std::string out =
      "| kind | forecasts | reading in range | day in range | median error, km: Baybook | whole-history line | last-two line |\n"
      "| --- | --- | --- | --- | --- | --- | --- |\n";
  for (const Kind kind : kKinds) out += synthetic_row(std::string(kKindNames[static_cast<std::size_t>(kind)]), held_out().at(kind));
  return out + synthetic_row("all", mix_of(held_out()));
}

std::string ahead_table() {
  const Results mix = mix_of(held_out());
  std::vector<std::string> head = {"days ahead"}, line = {"---"}, held = {"reading in range"};
  for (std::size_t i = 0; i < kAhead.size(); ++i) {
    head.push_back(std::to_string(kAhead[i]));
    line.push_back("---");
    held.push_back(percent(mix.by_days[i]));
  }
  return row(head) + row(line) + row(held);
}

std::string slips_line() {
  const Results& r = held_out().at(Kind::slips);
  return "Typed wrong " + std::to_string(r.wrong) + ", named " + std::to_string(r.wrong_named) + "; right ones named " + std::to_string(r.right_named) + ".\n";
}

struct RealResults {
  std::vector<double> baybook, whole_history, last_two;
  Share in_range;
  void add(const RealResults& r) {
    baybook.insert(baybook.end(), r.baybook.begin(), r.baybook.end());
    whole_history.insert(whole_history.end(), r.whole_history.begin(), r.whole_history.end());
    last_two.insert(last_two.end(), r.last_two.begin(), r.last_two.end());
    in_range.add(r.in_range);
  }
};

RealResults walk_forward(const Readings& readings, std::int64_t width) {
  RealResults out;
  walk(readings, width, [&](const Foretold& f) {
    out.baybook.push_back(off(static_cast<double>(f.at.likely), f.next.metres));
    out.whole_history.push_back(off(whole_history_line(f.known, f.next.day), f.next.metres));
    out.last_two.push_back(off(last_two_line(f.known, f.next.day), f.next.metres));
    out.in_range.count(f.at.low <= f.next.metres && f.next.metres <= f.at.high);
  });
  return out;
}

std::string real_row(const std::string& name, const RealResults& r) {
  const auto both = [](const std::vector<double>& of) { return km(median(of)) + " / " + km(mean(of)); };
  const std::string held = std::to_string(r.in_range.hits) + " of " + std::to_string(r.in_range.all) + " (" + percent(r.in_range) + ")";
  return row({name, std::to_string(r.in_range.all), held, both(r.baybook), both(r.whole_history), both(r.last_two)});
}

std::string real_table() {
  std::string out =
      "| series | forecasts | reading in range | median / mean error, km: Baybook | whole-history line | last-two line |\n"
      "| --- | --- | --- | --- | --- | --- |\n";
  RealResults all;
  for (const auto& series : real_series()) {
    const RealResults r = walk_forward(series.second, kUsualWidth);
    out += real_row(series.first, r);
    all.add(r);
  }
  return out + real_row("all", all);
}

std::string width_text(std::int64_t millionths) {
  return std::to_string(millionths / 1'000'000) + "." + std::to_string(millionths / 100'000 % 10) +
         std::to_string(millionths / 10'000 % 10);
}

/// Shops walked forward: what width they find, and how much of their readings is held by what is usual and by that.
std::string shops_table() {
  std::vector<Readings> real, lives, kinds;
  for (const auto& series : real_series()) real.push_back(series.second);
  for (std::uint64_t i = 0; i < 200; ++i) lives.push_back(life_of_a_car(1'000 + i));
  for (const Kind kind : kKinds) {
    for (std::uint64_t i = 0; i < 40; ++i)
      kinds.push_back(synthetic_car(kind, 3'000'000 + i).readings);
  }
  std::string out =
      "| cars | forecasts | held by what is usual | width of the shop | held by that |\n"
      "| --- | --- | --- | --- | --- |\n";
  const auto add = [&](const std::string& name, const std::vector<Readings>& cars) {
    const std::int64_t width = width_of_shop(cars);
    Share usual, own;
    for (const Readings& car : cars) {
      usual.add(held(car, kUsualWidth));
      own.add(held(car, width));
    }
    out += row({name, std::to_string(usual.all), percent(usual), width_text(width), percent(own)});
  };
  add("three real series", real);
  add("200 invented lives", lives);
  add("200 invented cars of five kinds", kinds);
  return out;
}

void same_or_written_anew(std::string_view name, const std::string& table) {
  const std::string text = page_text();
  const std::string open = "<!-- " + std::string(name) + " -->\n";
  const std::size_t start = text.find(open);
  REQUIRE(start != std::string::npos);
  const std::size_t at = start + open.size();
  const std::size_t end = text.find("<!-- end -->", at);
  REQUIRE(end != std::string::npos);
  const char* const asked = std::getenv("BAYBOOK_REFRESH");
  if (asked != nullptr && std::string_view(asked) == "1") {
    std::ofstream(kPage, std::ios::binary | std::ios::trunc) << text.substr(0, at) << table << text.substr(end);
    return;
  }
  CHECK(text.substr(at, end - at) == table);
}

}  // namespace

TEST_SUITE("due/projection page") {
  // One case: all tables are written into one page.
  TEST_CASE("the tables in docs/projection.md are those of today's projection") {
    same_or_written_anew("synthetic", synthetic_table());
    same_or_written_anew("ahead", ahead_table());
    same_or_written_anew("slips", slips_line());
    same_or_written_anew("shops", shops_table());
    same_or_written_anew("real", real_table());
  }
}
