#include "jsonl.hpp"

namespace baybook::tool::render {

std::string jsonl(std::string_view document) {
  std::string out;
  int depth = 0;
  bool in_text = false;
  bool in_list = false;
  std::size_t item = 0;
  for (std::size_t i = 0; i < document.size(); ++i) {
    const char c = document[i];
    if (in_text) {
      if (c == '\\') ++i;
      else if (c == '"') in_text = false;
      continue;
    }
    if (c == '"') in_text = true;
    if (c == '{' || c == '[') {
      ++depth;
      // The document is an object; its first list is the one that lies at the second level.
      if (c == '[' && depth == 2 && !in_list) {
        in_list = true;
        item = i + 1;
      }
    }
    if (in_list && ((c == ',' && depth == 2) || (c == ']' && depth == 2))) {
      if (i > item) out.append(document.substr(item, i - item)).append("\n");
      item = i + 1;
      if (c == ']') return out;
    }
    if (c == '}' || c == ']') --depth;
  }
  return std::string(document) + "\n";
}

}  // namespace baybook::tool::render
