// What was found about one threat: one line of the table in docs/promises.md.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace baybook::faults {

/// `lost`: an entry that was acknowledged, or that was there before, is gone, or is there twice. `unsound`: `prove` finds fault, or an entry is
/// there by halves. `lies`: "done" for what is not stored, or "not written" for what is. `silent`: neither done nor a word. `died`: by a signal.
enum class Fault { lost, unsound, lies, silent, died };

class Row {
 public:
  Row(std::string threat, std::string promise) : threat_(std::move(threat)), promise_(std::move(promise)) {}
  void ran() { ++runs_; }
  void found(Fault what, const std::string& how);
  void skip(const std::string& why) { skipped_ = why; }
  void figure(const std::string& name, std::int64_t value) { figures_[name] += value; }  ///< further figures of this threat
  [[nodiscard]] std::int64_t count(Fault what) const { return counts_[static_cast<int>(what)]; }
  [[nodiscard]] std::int64_t runs() const { return runs_; }
  [[nodiscard]] bool good() const;
  [[nodiscard]] bool skipped() const { return !skipped_.empty(); }
  [[nodiscard]] const std::string& threat() const { return threat_; }
  [[nodiscard]] std::string text() const;   ///< the line for people, and under it the first faults
  [[nodiscard]] std::string json() const;   ///< one object on one line
  static std::string head();

 private:
  std::string threat_, promise_, skipped_;
  std::int64_t runs_ = 0;
  std::int64_t counts_[5]{};
  std::map<std::string, std::int64_t> figures_;
  std::vector<std::string> how_;
};

}  // namespace baybook::faults
