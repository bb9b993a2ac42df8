#include "traced.hpp"

#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <stdexcept>
#include <sys/mman.h>
#include <sys/ptrace.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/user.h>
#include <sys/wait.h>
#include <unistd.h>

namespace baybook::faults {

std::string program;

namespace {

[[noreturn]] void broken(const char* what) { throw std::runtime_error(std::string("the harness: ") + what + ": " + std::strerror(errno)); }

std::string all_of(int fd) {
  std::string out;
  if (fd < 0) return out;
  struct stat st{};
  if (::fstat(fd, &st) != 0) return out;
  out.resize(static_cast<std::size_t>(st.st_size));
  const ssize_t n = ::pread(fd, out.data(), out.size(), 0);
  out.resize(n > 0 ? static_cast<std::size_t>(n) : 0);
  return out;
}

int channel(const std::string& to, const char* name) {
  return to.empty() ? ::memfd_create(name, MFD_CLOEXEC) : ::open(to.c_str(), O_WRONLY | O_CLOEXEC);
}

long trace(int request, pid_t pid, std::uintptr_t at, std::uintptr_t data) {
  return ::ptrace(static_cast<__ptrace_request>(request), pid, reinterpret_cast<void*>(at), reinterpret_cast<void*>(data));
}

}  // namespace

std::string cannot_trace() {
#if !defined(__x86_64__)
  return "the registers of this processor are not known to the harness (x86-64 only)";
#else
  const pid_t child = ::fork();
  if (child == 0) ::_exit(::ptrace(PTRACE_TRACEME, 0, nullptr, nullptr) == 0 ? 0 : 1);
  int status = 0;
  if (child < 0 || ::waitpid(child, &status, 0) != child || !WIFEXITED(status) || WEXITSTATUS(status) != 0) return "processes cannot be traced on this machine (ptrace is not allowed)";
  return "";
#endif
}

Running::Running(const Command& command, bool traced) {
  out_ = channel(command.out_to, "out");
  err_ = channel(command.err_to, "err");
  if (out_ < 0 || err_ < 0) broken("no place for what is printed");
  std::vector<std::string> environment = {"BAYBOOK_NOW=" + command.now, "TZ=Asia/Kathmandu", "PATH=/usr/bin:/bin", "HOME=" + command.folder};
  for (const auto& [name, value] : command.variables) environment.push_back(name + "=" + value);
  std::vector<std::string> args = {"baybook"};
  args.insert(args.end(), command.args.begin(), command.args.end());
  std::vector<char*> values;
  std::vector<char*> names;
  for (std::string& a : args) values.push_back(a.data());
  for (std::string& e : environment) names.push_back(e.data());
  values.push_back(nullptr);
  names.push_back(nullptr);
  const std::string& path = command.program.empty() ? program : command.program;
  const pid_t parent = ::getpid();
  pid_ = ::fork();
  if (pid_ < 0) broken("no child");
  if (pid_ == 0) {
    if (::chdir(command.folder.c_str()) != 0) ::_exit(126);
    ::dup2(::open("/dev/null", O_RDONLY | O_CLOEXEC), 0);
    ::dup2(out_, 1);
    ::dup2(err_, 2);
    (void)parent;
    if (traced && ::ptrace(PTRACE_TRACEME, 0, nullptr, nullptr) != 0) ::_exit(125);
    ::execve(path.c_str(), values.data(), names.data());
    ::_exit(127);
  }
  if (traced) {
    int status = 0;
    if (::waitpid(pid_, &status, 0) != pid_) broken("the child was lost");
    if (!WIFSTOPPED(status)) {
      end(status);
      throw std::runtime_error("the harness: the program could not be started under trace");
    }
    if (trace(PTRACE_SETOPTIONS, pid_, 0, PTRACE_O_TRACESYSGOOD | PTRACE_O_EXITKILL) != 0) broken("trace options");
  }
}

Running::Running(Running&& other) noexcept
    : pid_(other.pid_), out_(other.out_), err_(other.err_), ended_(other.ended_), replaced_(other.replaced_), steady_(other.steady_), chance_(other.chance_), taken_(other.taken_), wait_status_(other.wait_status_), call_(other.call_),
      answer_(other.answer_), replacement_(other.replacement_) {
  other.pid_ = -1;
  other.out_ = other.err_ = -1;
  other.ended_ = true;
}

Running::~Running() {
  if (!ended_ && pid_ > 0) kill();
  if (out_ >= 0) ::close(out_);
  if (err_ >= 0) ::close(err_);
}

void Running::end(int status) {
  ended_ = true;
  wait_status_ = status;
}

bool Running::poll() {
  if (ended_) return true;
  int status = 0;
  if (::waitpid(pid_, &status, WNOHANG) == pid_ && (WIFEXITED(status) || WIFSIGNALED(status))) end(status);
  return ended_;
}

void Running::kill() {
  if (ended_) return;
  ::kill(pid_, SIGKILL);
  int status = 0;
  while (!ended_) {
    const pid_t got = ::waitpid(pid_, &status, 0);
    if (got < 0 && errno != EINTR) broken("the child was lost");
    if (got == pid_ && (WIFEXITED(status) || WIFSIGNALED(status))) end(status);
  }
}

Ended Running::wait() {
  int status = 0;
  while (!ended_) {
    const pid_t got = ::waitpid(pid_, &status, 0);
    if (got < 0 && errno != EINTR) broken("the child was lost");
    if (got == pid_ && (WIFEXITED(status) || WIFSIGNALED(status))) end(status);
  }
  return result();
}

Ended Running::result() {
  Ended e;
  if (WIFSIGNALED(wait_status_)) e.signal = WTERMSIG(wait_status_);
  else e.status = WEXITSTATUS(wait_status_);
  e.out = all_of(out_);
  e.err = all_of(err_);
  return e;
}

Running::Stop Running::next() {
  int deliver = 0;
  for (;;) {
    if (ended_) return Stop::ended;
    if (trace(PTRACE_SYSCALL, pid_, 0, static_cast<std::uintptr_t>(deliver)) != 0 && errno != ESRCH) broken("going on");
    int status = 0;
    while (::waitpid(pid_, &status, 0) < 0) {
      if (errno != EINTR) broken("the child was lost");
    }
    if (WIFEXITED(status) || WIFSIGNALED(status)) {
      end(status);
      return Stop::ended;
    }
    if (WSTOPSIG(status) != (SIGTRAP | 0x80)) {  // a signal for the program itself
      deliver = WSTOPSIG(status) == SIGTRAP ? 0 : WSTOPSIG(status);
      continue;
    }
    __ptrace_syscall_info info{};
    if (trace(PTRACE_GET_SYSCALL_INFO, pid_, sizeof info, reinterpret_cast<std::uintptr_t>(&info)) <= 0) broken("what was called");
    if (info.op == PTRACE_SYSCALL_INFO_ENTRY) {
      call_.number = static_cast<long>(info.entry.nr);
      for (int i = 0; i < 6; ++i) call_.arg[i] = info.entry.args[i];
      return Stop::entry;
    }
    answer_ = static_cast<std::int64_t>(info.exit.rval);
    if (replaced_) {
      replaced_ = false;
      answer_ = replacement_;
#if defined(__x86_64__)
      user_regs_struct registers{};
      if (::ptrace(PTRACE_GETREGS, pid_, nullptr, &registers) != 0) broken("registers");
      registers.rax = static_cast<unsigned long long>(replacement_);
      if (::ptrace(PTRACE_SETREGS, pid_, nullptr, &registers) != 0) broken("registers");
#endif
    }
    if (steady_) no_chance();
    return Stop::exit;
  }
}

void Running::no_chance() {
  std::uint64_t at = 0;
  if (call_.number == SYS_getrandom) at = call_.arg[0];
  else if (call_.number == SYS_read && static_cast<int>(call_.arg[0]) == chance_) at = call_.arg[1];
  else if (call_.number == SYS_openat && text(call_.arg[1]) == "/dev/urandom") chance_ = static_cast<int>(answer_);
  else if (call_.number == SYS_close && static_cast<int>(call_.arg[0]) == chance_) chance_ = -1;
  if (at == 0 || answer_ <= 0) return;
  std::string bytes(static_cast<std::size_t>(answer_), '\0');
  for (char& b : bytes) b = static_cast<char>((taken_++ * 2654435761U) >> 16);
  write_memory(at, bytes);
}

void Running::pretend(std::int64_t value) {
#if defined(__x86_64__)
  user_regs_struct registers{};
  if (::ptrace(PTRACE_GETREGS, pid_, nullptr, &registers) != 0) broken("registers");
  registers.orig_rax = static_cast<unsigned long long>(-1);
  if (::ptrace(PTRACE_SETREGS, pid_, nullptr, &registers) != 0) broken("registers");
#endif
  replaced_ = true;
  replacement_ = value;
}

void Running::fail(int error) { pretend(-error); }

void Running::set_argument(int which, std::uint64_t value) {
#if defined(__x86_64__)
  user_regs_struct r{};
  if (::ptrace(PTRACE_GETREGS, pid_, nullptr, &r) != 0) broken("registers");
  unsigned long long* const places[] = {&r.rdi, &r.rsi, &r.rdx, &r.r10, &r.r8, &r.r9};
  *places[which] = value;
  if (::ptrace(PTRACE_SETREGS, pid_, nullptr, &r) != 0) broken("registers");
#else
  (void)which;
  (void)value;
#endif
}

std::string Running::memory(std::uint64_t at, std::size_t size) const {
  std::string out(size, '\0');
  iovec here{out.data(), size};
  iovec there{reinterpret_cast<void*>(at), size};
  const ssize_t n = ::process_vm_readv(pid_, &here, 1, &there, 1, 0);
  out.resize(n > 0 ? static_cast<std::size_t>(n) : 0);
  return out;
}

std::string Running::text(std::uint64_t at) const {
  std::string out;
  while (out.size() < 4096) {
    // Up to the end of the page: the next one may not be there.
    const std::string part = memory(at + out.size(), 4096 - ((at + out.size()) & 4095));
    if (part.empty()) break;
    const std::size_t end = part.find('\0');
    out += part.substr(0, end);
    if (end != std::string::npos) break;
  }
  return out;
}

void Running::write_memory(std::uint64_t at, std::string_view bytes) const {
  std::string copy(bytes);
  iovec here{copy.data(), copy.size()};
  iovec there{reinterpret_cast<void*>(at), copy.size()};
  if (::process_vm_writev(pid_, &here, 1, &there, 1, 0) != static_cast<ssize_t>(copy.size())) broken("writing into the program");
}

void Running::let_go() {
  if (!ended_) (void)trace(PTRACE_DETACH, pid_, 0, 0);
}

Ended run(const Command& command) { return Running(command).wait(); }

Ended run_limited(const Command& command, int resource, rlim_t limit) {
  Running r(command, true);
  const rlimit both{limit, limit};
  if (::prlimit(r.pid(), static_cast<__rlimit_resource>(resource), &both, nullptr) != 0) broken("setting a limit");
  r.let_go();
  return r.wait();
}

}  // namespace baybook::faults
