// Standard output and standard error of the tool: gathered in memory, written in one go, every write looked at.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>

namespace baybook::tool {

/// Text on its way to one file descriptor.
class Out {
 public:
  explicit Out(int fd) : fd_(fd) {}
  void text(std::string_view s) { held_ += s; }
  void line(std::string_view s = {}) {
    held_ += s;
    held_ += '\n';
  }
  [[nodiscard]] const std::string& held() const { return held_; }
  void replace(std::string text) { held_ = std::move(text); }
  /// Writes what is held. False when not all of it could be written; error() is then the system's number for why.
  [[nodiscard]] bool flush();
  [[nodiscard]] int error() const { return error_; }
  /// The reader went away (a closed pipe): nothing to complain about.
  [[nodiscard]] bool reader_gone() const;

 private:
  int fd_;
  int error_ = 0;
  std::string held_;
};

/// Writes it to that descriptor without asking for memory; what cannot be written is left.
void write_at_once(int fd, const char* text, std::size_t size) noexcept;

/// Descriptors 0 to 2 are made sure of, so that a book can never be opened as one of them; SIGPIPE and SIGXFSZ come back as errors
/// of the write that met them.
void prepare_streams();

}  // namespace baybook::tool
