// Handing a report over: on the screen, or as a file that is whole or not there.
#include "sheet.hpp"

#include "../render/text.hpp"

#include <baybook/text.hpp>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::tool::sheet {

namespace {

[[noreturn]] void cannot(const std::string& path, const char* what) {
  const int error = errno;
  refuse(Code::unwritable, visible(path) + ": " + what + " (" + std::strerror(error) + ")", "nothing was left half written", "another --out");
}

struct Beside {  // removed on the way out unless it was renamed into place
  std::string path;
  int fd = -1;
  bool keep = false;
  ~Beside() {
    if (fd >= 0) ::close(fd);
    if (!keep && !path.empty()) ::unlink(path.c_str());
  }
};

enum class Form { text, csv, json, html, pdf };

Form form_of(Context& c) {
  const Typed& t = c.typed();
  std::string word = t.text("form");
  if (word.empty()) {
    const std::string out = t.text("out");
    const std::size_t dot = out.rfind('.');
    if (out.empty() || out == "-") return Form::text;
    word = dot == std::string::npos ? "" : out.substr(dot + 1);
    if (word == "htm") word = "html";
    if (word == "txt") word = "text";
  }
  if (word == "text") return Form::text;
  if (word == "csv") return Form::csv;
  if (word == "json") return Form::json;
  if (word == "html") return Form::html;
  if (word == "pdf") return Form::pdf;
  refuse(Code::wrong_usage, word.empty() ? "the name of --out does not say the form" : visible(word) + " is no form of a report", "it is one of: text, csv, json, html, pdf", "--out march.pdf, or --form pdf");
}

}  // namespace

report::Paper paper_of(Context& c) {
  const std::string word = c.typed().text("page");
  if (word.empty() || word == "a4") return report::Paper::a4;
  if (word == "letter") return report::Paper::letter;
  refuse(Code::wrong_usage, "--page " + visible(word) + " is not known", "it is one of: a4, letter", "--page a4");
}

void write_file(const std::string& path, std::string_view bytes, bool force) {
  struct stat there{};
  if (::lstat(path.c_str(), &there) == 0) {
    if (S_ISLNK(there.st_mode)) refuse(Code::already_there, visible(path) + " is a link", "a report is never written through a link", "the name of the file itself");
    if (!S_ISREG(there.st_mode)) refuse(Code::already_there, visible(path) + " is there and is no file", "", "another --out");
    if (!force) refuse(Code::already_there, visible(path) + " is there already", "a report does not overwrite what was printed before", "another name, or --force");
  }
  Beside beside;
  beside.path = path + ".part-" + std::to_string(::getpid());
  beside.fd = ::open(beside.path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
  if (beside.fd < 0) {
    beside.path.clear();
    cannot(path, "it cannot be written");
  }
  for (std::size_t at = 0; at < bytes.size();) {
    const ssize_t n = ::write(beside.fd, bytes.data() + at, bytes.size() - at);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) cannot(path, "it could not be written to the end");
    at += static_cast<std::size_t>(n);
  }
  if (::fsync(beside.fd) != 0) cannot(path, "it could not be made safe on disk");
  // Read again before anybody is told that it is there.
  std::string again(bytes.size(), '\0');
  for (std::size_t at = 0; at < again.size();) {
    const ssize_t n = ::pread(beside.fd, again.data() + at, again.size() - at, static_cast<off_t>(at));
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) cannot(path, "it could not be read again");
    at += static_cast<std::size_t>(n);
  }
  if (again != bytes) refuse(Code::unwritable, visible(path) + " reads otherwise than it was written", "", "another disk");
  // Without --force the name must still be free: a link fails where a rename would overwrite.
  if (force) {
    if (::rename(beside.path.c_str(), path.c_str()) != 0) cannot(path, "it could not be put in its place");
    beside.keep = true;
  } else if (::link(beside.path.c_str(), path.c_str()) != 0) {
    if (errno == EEXIST) refuse(Code::already_there, visible(path) + " is there already", "a report does not overwrite what was printed before", "another name, or --force");
    if (::rename(beside.path.c_str(), path.c_str()) != 0) cannot(path, "it could not be put in its place");  // a file system without links
    beside.keep = true;
  }
  const std::size_t slash = path.rfind('/');
  const std::string folder = slash == std::string::npos ? "." : slash == 0 ? "/" : path.substr(0, slash);
  const int dir = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (dir >= 0) {
    (void)::fsync(dir);
    ::close(dir);
  }
}

int deliver(Context& c, const report::Report& r) {
  const Typed& t = c.typed();
  const std::string out = t.text("out");
  const Form form = c.json() && !t.has("form") && out.empty() ? Form::json : form_of(c);
  std::string bytes;
  switch (form) {
    case Form::text: bytes = report::as_text(r, static_cast<std::size_t>(text_width())); break;
    case Form::csv: bytes = report::as_csv(r, t.has("csv-raw")); break;
    case Form::html: bytes = report::as_html(r, paper_of(c)); break;
    case Form::pdf: bytes = report::as_pdf(r, paper_of(c)); break;
    case Form::json: {
      Json j = c.document();
      j.key("report");
      report::as_json(j, r);
      j.end_object();
      bytes = j.text() + "\n";
      break;
    }
  }
  if ((out.empty() || out == "-") && form == Form::pdf && ::isatty(1) == 1) refuse(Code::wrong_usage, "a PDF is not for a terminal", "", "--out FILE.pdf");
  return hand_over(c, bytes, r.seal);
}

int hand_over(Context& c, const std::string& bytes, const std::string& seal) {
  const std::string out = c.typed().text("out");
  if (out.empty() || out == "-") {
    if (!c.quiet()) c.out().text(bytes);
    return 0;
  }
  write_file(out, bytes, c.typed().has("force"));
  if (c.json()) {
    Json j = c.document();
    j.member("out", out);
    j.key("bytes").number(static_cast<std::int64_t>(bytes.size()));
    j.member("seal", seal);
    c.print(j);
  } else if (!c.quiet()) {
    c.out().line("written to " + visible(out) + ", " + std::to_string(bytes.size()) + " bytes, seal " + seal);
  }
  return 0;
}

}  // namespace baybook::tool::sheet
