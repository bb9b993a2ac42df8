#include "ask.hpp"

#include "context.hpp"
#include "terminal.hpp"

namespace baybook::tool {

void ask_first(Context& c, const std::string& shown, const std::string& what,
               const std::string& why, const std::string& question, const std::string& nothing) {
  if (c.typed().has("yes")) return;
  if (!can_ask())
    refuse(Code::wrong_usage, what + ", and nobody is there to be asked", why,
           "the same with --dry-run, to see what it reaches; only then with --yes");
  c.err().text(shown);
  c.err().text(question + " type yes: ");
  (void)c.err().flush();
  if (typed_line() != "yes")
    refuse(Code::not_allowed, nothing, "the answer was not yes", "the same again");
}

}  // namespace baybook::tool
