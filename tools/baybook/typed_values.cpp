#include "typed_values.hpp"

#include "context.hpp"

#include <baybook/text.hpp>

#include <charconv>
#include <fstream>
#include <sys/stat.h>

namespace baybook::tool {

bool meant_as_hours(const std::string& typed) {
  const std::size_t unit = typed.find_first_not_of("+-0123456789., ");
  return unit != std::string::npos && unit > 0 && (typed[unit] == 'h' || typed[unit] == 'H');
}

int whole(const std::string& text, const char* what, const char* like) {
  int n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size() || n < 1) refuse(Code::wrong_usage, std::string(what) + " " + visible(text) + " is no whole number", "", like);
  return n;
}

std::string read_file(const std::string& path, std::size_t most) {
  struct stat st{};
  if (::stat(path.c_str(), &st) != 0 || !S_ISREG(st.st_mode)) refuse(Code::unreadable, visible(path) + " is not a file that can be read", "", "the path of the file");
  if (static_cast<std::size_t>(st.st_size) > most) refuse(Code::not_allowed, visible(path) + " has " + std::to_string(st.st_size) + " bytes", "at most " + std::to_string(most) + " are taken", "a smaller file");
  std::ifstream in(path, std::ios::binary);
  std::string out;
  bool whole = in.is_open();
  try {
    out.assign(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  } catch (const std::ios_base::failure&) {  // the disk said no in the middle
    whole = false;
  }
  if (!whole) refuse(Code::unreadable, visible(path) + " could not be read to the end", "", "the path of the file");
  return out;
}

CircuitDraft circuit_draft(Context& c, const std::string& text) {
  // NAME[=CAPACITY][:SPECIFICATION]
  CircuitDraft d;
  const std::size_t end = text.find_first_of("=:");
  d.circuit = text.substr(0, end);
  if (end == std::string::npos) return d;
  std::size_t colon = end;
  if (text[end] == '=') {
    colon = text.find(':', end);
    d.capacity = c.amount(text.substr(end + 1, colon == std::string::npos ? colon : colon - end - 1));
  }
  if (colon != std::string::npos) d.specification = text.substr(colon + 1);
  return d;
}

std::string file_name(const std::string& path) { return path.substr(path.rfind('/') == std::string::npos ? 0 : path.rfind('/') + 1); }

}  // namespace baybook::tool
