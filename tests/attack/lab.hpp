// Where books are damaged and looked at: each case in a child process with a watchdog and a bound on memory, so that a crash or a hang is
// counted and not the end of the run. The parent never has the damaged file open.
#pragma once

#include "attack/whole_shop.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include <functional>
#include <map>
#include <string>
#include <vector>

namespace baybook::test {

/// The full run of tests/attack/run.sh --full; without it about a minute.
[[nodiscard]] bool full_run();
/// Of all cases one in `one_in`, always the same ones for a seed; every one in a full run.
[[nodiscard]] bool chosen(std::size_t i, std::size_t one_in);

/// Cases that a full run once found something in: they are in every run.
[[nodiscard]] bool once_found(const std::string& name);

/// Writes both, and takes away whatever else lay beside them.
void put_book(const std::string& path, const Bytes& bytes);

/// A connection to the file without Baybook, as an insider with the sqlite3 shell has it.
class Shell {
 public:
  explicit Shell(const std::string& path);
  ~Shell();
  Shell(const Shell&) = delete;
  Shell& operator=(const Shell&) = delete;
  /// False when the engine itself refuses.
  bool run(const std::string& sql);
  /// The first column of every row as text; throws when the engine cannot read it.
  std::vector<std::string> column(const std::string& sql);
  std::string one(const std::string& sql);
  [[nodiscard]] sqlite3* raw() const { return db_; }

 private:
  sqlite3* db_ = nullptr;
};
/// Every row of every table of the log, beside it and derived, with types, byte for byte; the tables' text; application id and version.
/// Two books with the same are the same to every reader. Throws when the engine cannot read it.
[[nodiscard]] std::string logical(const std::string& path);

enum class Outcome { found, by_seal, harmless, refused, missed, wrote, crashed, hung };
struct Verdict {
  Outcome fate = Outcome::missed;
  std::string says{};
};

/// What `prove` and the seal have to say, and that every reading verb ends with an answer or a refusal.
struct Look {
  std::string seal{};        ///< printed before the damage
  std::string before{};      ///< logical() of the sound book; empty: whatever is not found is missed
  bool read_all = true;
  bool write_too = false;    ///< also: opened for writing, an entry, a rebuild
};
[[nodiscard]] Verdict look_at(const std::string& path, const Look& look);
/// Asks everything that can be asked of a book.
std::size_t read_everything(const Book& book);

/// Runs `one` for 0 to n-1 in children. `one` puts its own damage in place and looks.
[[nodiscard]] std::vector<Verdict> in_children(std::size_t n, const std::function<Verdict(std::size_t)>& one);

/// What came of a threat. Written as a JSON line to the file BAYBOOK_FIGURES when that is set.
struct Figures {
  explicit Figures(std::string threat_) : threat(std::move(threat_)) {}
  std::string threat;
  std::map<Outcome, std::size_t> count{};
  std::size_t runs = 0;
  std::vector<std::string> bad{};  ///< the first few that must not be
  void add(const Verdict& v, const std::string& name);
  void add_all(const std::vector<Verdict>& all, const std::function<std::string(std::size_t)>& name);
  [[nodiscard]] std::size_t of(Outcome f) const;
  [[nodiscard]] std::string told() const;
  void report() const;
};

/// Computes every digest anew from the bodies, in each chain, and the columns from the bodies: what an insider with our format page can do.
void rechain(const std::string& path);
/// Derives the tables anew with the program's own rebuild, in a child-safe way; "" or the refusal.
[[nodiscard]] std::string rebuild(const std::string& path);

}  // namespace baybook::test
