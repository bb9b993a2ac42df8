// The book that the faults are tried on, the verbs that are tried, and what must hold afterwards.
#pragma once

#include "row.hpp"
#include "traced.hpp"

#include <cstdint>
#include <map>
#include <random>
#include <string>
#include <vector>

namespace baybook::faults {

/// A folder of this run alone, in memory where the machine has a file system for that; removed at the end.
class Work {
 public:
  Work();
  ~Work();
  Work(const Work&) = delete;
  Work& operator=(const Work&) = delete;
  [[nodiscard]] const std::string& path() const { return path_; }
  [[nodiscard]] std::string folder(const std::string& name) const;  ///< made if it is not there

 private:
  std::string path_;
};

/// Files and folders (ending in /) below a folder, with what is in them.
using Files = std::map<std::string, std::string>;
Files read_files(const std::string& folder);
/// Every byte that a book is made of; the index beside it (-shm) is made anew by who opens it first.
std::string bytes_below(const std::string& folder);
void write_files(const std::string& folder, const Files& files);  ///< the folder has these and no others afterwards

/// One thing to type, of one verb.
struct Case {
  std::string verb;
  std::vector<std::string> args;
  std::string makes;  ///< the file that it makes, for a verb that makes a book and not an entry
  bool by_itself = false;  ///< takes no --once: the same again changes nothing
  [[nodiscard]] bool is(const std::string& name) const { return verb == name; }
};

/// verbs.txt as it stands in the tree.
struct Plan {
  struct Line {
    std::string now;
    std::vector<std::string> args;
  };
  std::vector<Line> shop;
  Files files;
  std::vector<Case> cases;
  std::vector<std::string> reads, elsewhere;
};
Plan read_plan(const std::string& path);

/// Every verb that the program's own help names, and whether it takes --once: then it writes an entry.
struct KnownVerb {
  std::string name;
  bool once = false;
};
std::vector<KnownVerb> known_verbs(const std::string& folder);

/// What `prove` says of a book.
struct Proof {
  int status = -1;
  int signal = 0;
  bool sound = false;
  std::int64_t entries = 0;
  std::string seal, said;
};
Proof prove(const std::string& folder, const std::string& book = "m.baybook", const std::string& seal = "");

/// A case with what it does when nothing goes wrong.
struct Known {
  Case c;
  bool once = false;
  Proof before, after;
  [[nodiscard]] std::int64_t adds() const { return after.entries - before.entries; }
  [[nodiscard]] Command command(const std::string& folder, bool with_key = true) const;
  std::string name() const;
};

/// Whether the verb writes in a way of its own: one of each way is enough for a short run.
bool writes_otherwise(const Known& k);

class Shop {
 public:
  explicit Shop(const Work& work, const std::string& plan_file);
  /// The folder as it is before each run. `ripe`: a program that was killed left its log beside the file.
  [[nodiscard]] const Files& files(bool ripe) const { return ripe ? ripe_ : fresh_; }
  [[nodiscard]] std::vector<Known> known(bool ripe, const std::string& only = "");  ///< of that verb alone, if one is named
  [[nodiscard]] const Plan& plan() const { return plan_; }
  [[nodiscard]] const std::string& folder() const { return folder_; }
  void lay_out(bool ripe) const { write_files(folder_, files(ripe)); }

 private:
  const Work& work_;
  Plan plan_;
  std::string folder_;
  Files fresh_, ripe_;
};

/// After a run that something happened to: the book must be sound, hold what it held, and the entry whole or not at all; what was said
/// must be true. `stored`: whether the entry is there.
struct After {
  bool stored = false;
  bool usable = true;
};
After judge(Row& row, const Known& k, const std::string& folder, const Ended& e, bool acknowledged, const std::string& how);

/// The same again under the same key must make it one entry, exactly.
void judge_retry(Row& row, const Known& k, const std::string& folder, const After& a, const std::string& how);

std::string joined(const std::vector<std::string>& words);
bool has(const std::string& text, const std::string& part);

}  // namespace baybook::faults
