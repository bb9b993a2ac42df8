// What a terminal gets that a pipe does not: colour and a pager. Each stream is looked at by itself.
#pragma once

#include <string>
#include <string_view>

namespace baybook::tool {

enum class Colour : unsigned char { automatic, always, never };

/// Whether a stream gets colour: never under NO_COLOR or TERM=dumb, unless asked for.
[[nodiscard]] bool colour_for(int fd, Colour wanted);

/// The same text with the words that matter set apart by weight: "type:" and what follows it, "check:", "baybook:", and headings. Nothing is
/// told by colour alone: the words are there without it.
[[nodiscard]] std::string coloured(std::string_view text, bool is_error);

/// Shows the text through a pager when standard output is a terminal and the text is longer than its screen. False: it was not shown.
[[nodiscard]] bool paged(const std::string& text, const std::string& pager);

/// Whether somebody is there to be asked: standard input and standard error are terminals.
[[nodiscard]] bool can_ask();
/// One line of what is typed, without its end.
[[nodiscard]] std::string typed_line();

}  // namespace baybook::tool
