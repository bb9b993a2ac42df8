// A long list as JSON Lines: one object a line, the same objects as in the document.
#pragma once

#include <string>
#include <string_view>

namespace baybook::tool::render {

/// The items of the document's first list, one a line; a document without a list is one line. `document` is one that Json has written.
[[nodiscard]] std::string jsonl(std::string_view document);

}  // namespace baybook::tool::render
