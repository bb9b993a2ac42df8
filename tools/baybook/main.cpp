// Parse, dispatch, and the one place where a result becomes an exit status.
#include "context.hpp"
#include "help.hpp"
#include "no_memory.hpp"
#include "options.hpp"
#include "out.hpp"
#include "terminal.hpp"
#include "render/refusal.hpp"
#include "verbs.hpp"
#include "warm.hpp"

#include <baybook/text.hpp>

#include <cstdlib>
#include <cstring>
#include <new>

namespace baybook::tool {

namespace {

struct Run {
  Out out{1};
  Out err{2};
  Config config;
  bool json = false;
  bool reads = false;     ///< a verb that only reads: its answer may be paged
  bool no_pager = false;
  Colour colour = Colour::automatic;
  std::string stored;  ///< the entry that was written, when one was
  int status = 0;
};

void say(Run& run, const Refusal& told) {
  // Whoever made it: nothing that was typed or read moves the terminal.
  const Refusal refusal = printable(told);
  if (run.json) run.out.text(render::refusal_json(refusal));
  else run.err.text(render::refusal_text(refusal));
  run.status = render::status_of(refusal.code);
}

/// --json, or --json=1; another form is wrong usage.
bool read_json(const std::vector<std::string>& args, bool& known_form) {
  bool wanted = false;
  for (const std::string& a : args) {
    if (a == "--") break;
    if (a == "--jsonl") wanted = true;
    if (a == "--json" || a.starts_with("--json=")) {
      wanted = true;
      known_form = known_form && (a == "--json" || a == "--json=1");
    }
  }
  return wanted;
}

void help(Run& run, const Found& found) {
  if (run.json) run.out.text(help_json(found.verb));
  else if (found.verb != nullptr) run.out.text(help_for(*found.verb));
  else if (is_family(found.word)) run.out.text(help_for_family(found.word));
  else run.out.text(help_overview());
}

Refusal no_such_verb(const std::string& word) {
  const std::vector<std::string> near = near_verbs(word);
  std::string list;
  for (const std::string& n : near) list += (list.empty() ? "" : ", ") + n;
  return Refusal{Code::wrong_usage, "there is no verb " + visible(word), near.empty() ? "" : "near it: " + list, near.empty() ? "baybook help" : "baybook help " + near.front(), {}};
}

void run_verb(Run& run, const Verb& verb, const std::vector<std::string>& rest) {
  auto typed = parse(verb, rest);
  if (!typed.ok()) return say(run, typed.refusal());
  run.reads = verb.does == Does::read;
  run.no_pager = typed->has("no-pager");
  if (const std::string* when = typed->get("color")) {
    if (*when == "always") run.colour = Colour::always;
    else if (*when == "never") run.colour = Colour::never;
    else if (*when != "auto") return say(run, Refusal{Code::wrong_usage, "--color is auto, always or never, not " + visible(*when), "", "--color never", {}});
  } else if (!run.config.color.empty()) {
    run.colour = run.config.color == "always" ? Colour::always : run.config.color == "never" ? Colour::never : Colour::automatic;
  }
  Context context(verb, std::move(typed).value(), run.config, run.json, run.out, run.err);
  try {
    run.status = verb.run(context);
  } catch (const Refused& refused) {
    say(run, refused.refusal);
  } catch (const std::bad_alloc&) {
    run.stored = context.stored();  // the number of an entry fits the string itself: nothing is asked for
    throw;
  }
  run.stored = context.stored();
}

void dispatch(Run& run, std::vector<std::string> args) {
  bool known_form = true;
  run.json = read_json(args, known_form);
  if (!known_form) return say(run, Refusal{Code::wrong_usage, "that form of JSON is not known", "there is one form, 1", "--json, or --json=1", {}});
  if (asks_for(args, "version", 0)) {
    if (run.json) {
      Json j;
      j.begin_object();
      j.key("v").number(1);
      j.key("ok").boolean(true);
      j.member("version", version_text());
      j.end_object();
      run.out.line(j.text());
    } else {
      run.out.text(version_text());
    }
    return;
  }
  Found found = find_verb(args);
  if (found.word == "help") {
    const Found asked = find_verb(found.rest);
    if (!asked.word.empty() && asked.verb == nullptr && !is_family(asked.word)) return say(run, no_such_verb(asked.word));
    return help(run, asked);
  }
  if (asks_for(args, "help", 'h')) return help(run, found);
  if (found.verb == nullptr) {
    if (found.word.empty() && !found.rest.empty() && !run.json) {
      return say(run, Refusal{Code::wrong_usage, "no verb was given", "", "baybook help", {}});
    }
    if (found.word.empty() || is_family(found.word)) return help(run, found);
    return say(run, no_such_verb(found.word));
  }
  // A verb alone that cannot do anything alone shows its help.
  bool needs_more = false;
  for (const Operand& o : found.verb->operands) needs_more = needs_more || !o.optional;
  if (found.rest.empty() && (needs_more || found.verb->name == "pickup")) return help(run, found);
  auto config = read_config(config_path());
  if (!config.ok()) return say(run, config.refusal());
  run.config = *config;
  run_verb(run, *found.verb, found.rest);
}

// What a terminal gets beside the text; a pipe or a file gets the text alone.
void show(Run& run) {
  if (!run.json && !run.out.held().empty() && colour_for(1, run.colour)) run.out.replace(coloured(run.out.held(), false));
  if (!run.err.held().empty() && colour_for(2, run.colour)) run.err.replace(coloured(run.err.held(), true));
  if (!run.reads || run.no_pager || run.json) return;
  const char* variable = std::getenv("PAGER");
  const std::string pager = variable != nullptr ? variable : run.config.pager.empty() ? "less -FRX" : run.config.pager;
  if (paged(run.out.held(), pager)) run.out.replace("");
}

int answer(Run& run, int count, char** values) {
  dispatch(run, std::vector<std::string>(values + 1, values + count));
  show(run);
  const bool printed = run.out.flush();
  if (!printed && !run.out.reader_gone()) {
    const std::string why = std::strerror(run.out.error());
    if (!run.stored.empty()) run.err.line("baybook: entry " + run.stored + " is stored, but it could not be printed: " + why + "\ntype: baybook entry " + run.stored);
    else run.err.line("baybook: the answer could not be written: " + why);
    run.status = 3;
  }
  if (!run.err.flush() && run.status == 0 && !run.err.reader_gone()) run.status = 3;
  return run.status;
}

}  // namespace

int main(int count, char** values) {
  begin_with_memory(count, values);
  prepare_streams();
  warm_up();
  Run run;
  try {
    return answer(run, count, values);
  } catch (const std::bad_alloc&) {
    return say_no_memory(run.stored, run.json);
  }
}

}  // namespace baybook::tool

int main(int count, char** values) { return baybook::tool::main(count, values); }
