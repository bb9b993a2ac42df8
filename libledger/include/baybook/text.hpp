// What people type: is it text at all, how wide is it on a screen, which known name did they mean.
#pragma once

#include <baybook/export.hpp>
#include <baybook/result.hpp>

#include <string>
#include <string_view>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// `text` in Unicode NFC without outer blanks. Refuses with `not_text`: invalid UTF-8, C0 or C1 control characters, DEL, text
/// with more than `max_bytes` bytes; `unclear`: empty. `field` names it in the message ("complaint").
[[nodiscard]] Result<std::string> clean_text(std::string_view text, std::string_view field, std::size_t max_bytes = 4000);

/// A code for people and labels: 1 to 40 of a-z, 0-9 and `-`, beginning and ending with a letter or digit; capitals are folded.
[[nodiscard]] Result<std::string> clean_code(std::string_view text, std::string_view field);

/// How a plate is compared: NFC, upper case (Unicode simple mapping), without blanks, `-`, `.`, `/`.
[[nodiscard]] std::string plate_key(std::string_view plate);

/// Stored text made safe for a terminal: C0, C1, DEL and invalid UTF-8 bytes become \xNN, bidirectional and zero-width controls
/// become U+202E and the like in words. Never fails. Newline is escaped too.
[[nodiscard]] std::string visible(std::string_view text);
/// One word of a command to type, in double quotes when a shell would take it apart. What `visible`
/// would show otherwise is written as the shell reads it back, $'\x1b': the word that is typed is
/// the word that was meant, and nothing of it moves a terminal.
[[nodiscard]] std::string as_typed(std::string_view text);
/// Columns that `text` takes on a terminal (utf8proc width), after `visible`.
[[nodiscard]] int display_width(std::string_view text);

/// Damerau-Levenshtein distance (optimal string alignment) over code points, case folded.
[[nodiscard]] int edit_distance(std::string_view a, std::string_view b);
/// At most `most` names of `known` within max(1, length/3) of `typed`, nearest first, then in byte order; none for a `typed` of more than 400 bytes.
[[nodiscard]] std::vector<std::string> near_names(std::string_view typed, const std::vector<std::string>& known, std::size_t most = 3);

}  // namespace baybook
BAYBOOK_API_END
