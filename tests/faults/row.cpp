#include "row.hpp"

#include <cstdio>

namespace baybook::faults {

namespace {

constexpr const char* kNames[] = {"lost", "unsound", "lies", "silent", "died"};
constexpr std::size_t kMostShown = 12;

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) < 0x20) out += ' ';
    else out += c;
  }
  return out + "\"";
}

}  // namespace

void Row::found(Fault what, const std::string& how) {
  ++counts_[static_cast<int>(what)];
  if (how_.size() >= kMostShown) return;
  how_.push_back(std::string(kNames[static_cast<int>(what)]) + ": " + how);
  while (how_.back().back() == '\n') how_.back().pop_back();
}

bool Row::good() const {
  for (const std::int64_t n : counts_) {
    if (n != 0) return false;
  }
  return skipped() || runs_ > 0;
}

std::string Row::head() { return "threat | promise | runs | lost | unsound | lies | silent | died\n"; }

std::string Row::text() const {
  std::string out = threat_ + " | " + promise_ + " | ";
  if (skipped()) return out + "skipped: " + skipped_ + "\n";
  out += std::to_string(runs_);
  for (const std::int64_t n : counts_) out += " | " + std::to_string(n);
  out += "\n";
  std::string more;
  for (const auto& [name, value] : figures_) more += (more.empty() ? "  " : ", ") + name + " " + std::to_string(value);
  if (!more.empty()) out += more + "\n";
  for (const std::string& h : how_) out += "  " + h + "\n";
  if (runs_ == 0) out += "  nothing was run\n";
  return out;
}

std::string Row::json() const {
  std::string out = "{\"threat\":" + quoted(threat_) + ",\"promise\":" + quoted(promise_) + ",\"runs\":" + std::to_string(runs_);
  for (int i = 0; i < 5; ++i) out += ",\"" + std::string(kNames[i]) + "\":" + std::to_string(counts_[i]);
  out += ",\"skipped\":" + (skipped() ? quoted(skipped_) : std::string("null")) + ",\"figures\":{";
  bool first = true;
  for (const auto& [name, value] : figures_) {
    out += (first ? "" : ",") + quoted(name) + ":" + std::to_string(value);
    first = false;
  }
  return out + "}}\n";
}

}  // namespace baybook::faults
