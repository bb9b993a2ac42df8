// A question before what no later entry can put right.
#pragma once

#include <string>

namespace baybook::tool {

class Context;

/// Asks on the terminal, after `shown`, and goes on when the answer is yes. Without a terminal, and
/// without --yes, refuses with wrong usage: `what` says what would be done, `why` why it is asked,
/// `nothing` what was not done when the answer is another one.
void ask_first(Context& c, const std::string& shown, const std::string& what,
               const std::string& why, const std::string& question, const std::string& nothing);

}  // namespace baybook::tool
