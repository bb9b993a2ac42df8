// One run of the command: as it is, or stopped at each of its system calls, where it can be killed, lied to, or cut short.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <sys/resource.h>
#include <sys/types.h>
#include <utility>
#include <vector>

namespace baybook::faults {

/// Whether this machine and build can be stopped at system calls; if not, why.
std::string cannot_trace();

struct Call {
  long number = -1;
  std::uint64_t arg[6]{};
};

struct Ended {
  int status = -1;   ///< of an exit; -1 after a signal
  int signal = 0;
  std::string out, err;
  [[nodiscard]] bool died() const { return signal != 0; }
};

struct Command {
  std::string folder;                                        ///< it runs there
  std::vector<std::string> args;                             ///< without the program's name
  std::string now = "2026-03-05T09:40:00.000Z";
  std::vector<std::pair<std::string, std::string>> variables{};
  std::string program{};                                     ///< else the command under test
  std::string out_to{}, err_to{};                            ///< a file instead of being gathered: /dev/full
};

/// A process that was started and not yet waited for.
class Running {
 public:
  explicit Running(const Command& command, bool traced = false);
  ~Running();
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;
  Running(Running&& other) noexcept;
  Running& operator=(Running&&) = delete;

  [[nodiscard]] pid_t pid() const { return pid_; }
  [[nodiscard]] bool ended() const { return ended_; }
  bool poll();             ///< true once it has ended, without waiting
  void kill();             ///< SIGKILL, and waits for its end
  Ended wait();            ///< to its end
  Ended result();          ///< what is known of one that has ended

  // Of a traced one.
  void steady() { steady_ = true; }  ///< what the program takes for chance is the same at every run, so that runs can be compared
  enum class Stop { entry, exit, ended };
  Stop next();                       ///< on to the next stop
  [[nodiscard]] const Call& call() const { return call_; }
  [[nodiscard]] std::int64_t answer() const { return answer_; }  ///< at an exit stop
  void fail(int error);              ///< at an entry stop: the call is not made, and answers `error`
  void pretend(std::int64_t value);  ///< at an entry stop: the call is not made, and answers `value`
  void set_argument(int which, std::uint64_t value);  ///< at an entry stop
  [[nodiscard]] std::string memory(std::uint64_t at, std::size_t size) const;
  [[nodiscard]] std::string text(std::uint64_t at) const;
  void write_memory(std::uint64_t at, std::string_view bytes) const;
  void let_go();                     ///< runs on without stops

 private:
  void end(int status);
  void no_chance();
  pid_t pid_ = -1;
  int out_ = -1, err_ = -1;
  bool ended_ = false, replaced_ = false, steady_ = false;
  int chance_ = -1;  ///< descriptor of the system's random bytes
  unsigned taken_ = 0;
  int wait_status_ = 0;
  Call call_;
  std::int64_t answer_ = 0, replacement_ = 0;
};

Ended run(const Command& command);

/// Runs it with a limit of the process set after the program was loaded, so that the loading itself is not what fails.
Ended run_limited(const Command& command, int resource, rlim_t limit);

/// Where the command under test is.
extern std::string program;

}  // namespace baybook::faults
