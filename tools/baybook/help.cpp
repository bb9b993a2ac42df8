#include "help.hpp"

#include "render/json.hpp"
#include "render/table.hpp"
#include "verbs.hpp"

#include <baybook/book.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool {

namespace {

std::string option_name(const Option& o) {
  std::string out = o.letter != 0 ? std::string("-") + o.letter + ", " : std::string();
  out += "--" + std::string(o.name);
  if (o.optional_value) out += "[=" + std::string(o.value) + "]";
  else if (!o.value.empty()) out += " " + std::string(o.value);
  return out;
}

void verb_object(Json& j, const Verb& v) {
  j.begin_object();
  j.member("verb", v.name);
  j.member("group", v.group);
  j.member("summary", v.summary);
  j.member("usage", usage_line(v));
  j.key("examples").begin_array();
  for (const std::string_view e : v.examples) j.string(e);
  j.end_array();
  j.key("operands").begin_array();
  for (const Operand& o : v.operands) {
    j.begin_object();
    j.member("name", o.name);
    j.member("help", o.help);
    j.key("optional").boolean(o.optional);
    j.end_object();
  }
  j.end_array();
  j.key("options").begin_array();
  for_each_option(v, [&](const Option& o) {
    j.begin_object();
    j.member("name", o.name);
    j.member("value", o.value);
    j.member("help", o.help);
    j.key("many").boolean(o.many);
    j.end_object();
  });
  j.end_array();
  j.end_object();
}

}  // namespace

std::string help_overview() {
  std::string out;
  out += "baybook keeps a workshop's book: what was done to each car, and where every litre went.\n\n";
  out += "  baybook start marsh.baybook --site \"Saltmarsh Motor Works\" --tag bay --zone Europe/Lisbon\n";
  out += "  baybook drain 17 coolant 5.4L --into pan-1\n";
  std::string_view group;
  Table t;
  const auto flush = [&] {
    if (t.empty()) return;
    out += "\n" + std::string(group) + "\n" + t.text(2);
  };
  for (const Verb& v : verbs()) {
    if (v.hidden()) continue;
    if (v.group != group) {
      flush();
      group = v.group;
      t = Table();
      t.column("");
      t.column("");
    }
    t.row({std::string(v.name), std::string(v.summary)});
  }
  flush();
  out += "\nThe book is named by --book FILE or the variable BAYBOOK_BOOK, who writes by --by NAME or BAYBOOK_BY.\n";
  out += "More about one: baybook help drain. Exit status: 0 done, 1 refused or problems found, 2 wrong usage,\n";
  out += "3 the book could not be read or written, 4 another program is writing: try again.\n";
  return out;
}

std::string help_for(const Verb& v) {
  std::string out;
  for (const std::string_view e : v.examples) out += "  " + std::string(e) + "\n";
  out += "\n" + std::string(v.name) + ": " + std::string(v.summary) + "\n\n" + usage_line(v) + "\n";
  Table operands;
  operands.column("");
  operands.column("");
  for (const Operand& o : v.operands) operands.row({std::string(o.name), std::string(o.help)});
  if (!operands.empty()) out += "\n" + operands.text(2);
  Table own;
  own.column("");
  own.column("");
  for (const Option& o : v.options) own.row({option_name(o), std::string(o.help)});
  if (!own.empty()) out += "\n" + own.text(2);
  Table common;
  common.column("");
  common.column("");
  for (const Option& o : common_options(v.does)) common.row({option_name(o), std::string(o.help)});
  out += "\n" + common.text(2);
  if (!v.more.empty()) out += "\n" + std::string(v.more) + "\n";
  return out;
}

std::string help_for_family(std::string_view family) {
  std::string out;
  Table t;
  t.column("");
  t.column("");
  int examples = 0;
  for (const Verb& v : verbs()) {
    if (!v.name.starts_with(std::string(family) + " ")) continue;
    if (examples++ < 2) out += "  " + std::string(v.examples[0]) + "\n";
    t.row({std::string(v.name), std::string(v.summary)});
  }
  return out + "\n" + t.text(2);
}

std::string help_json(const Verb* only) {
  Json j;
  j.begin_object();
  j.key("v").number(1);
  j.key("ok").boolean(true);
  j.key("verbs").begin_array();
  for (const Verb& v : verbs()) {
    if (only == &v || (only == nullptr && !v.hidden())) verb_object(j, v);
  }
  j.end_array();
  j.end_object();
  return j.text() + "\n";
}

std::string version_text() { return std::string("baybook " BAYBOOK_VERSION "\nSQLite ") + engine_version() + "\nlicence: not chosen yet\n"; }

std::vector<std::string> near_verbs(std::string_view typed) {
  const std::size_t blank = typed.find(' ');
  std::vector<std::string> known;
  for (const Verb& v : verbs()) {
    if (v.hidden()) continue;
    const std::size_t b = v.name.find(' ');
    if (blank == std::string_view::npos) {
      const std::string word(v.name.substr(0, b));
      if (std::find(known.begin(), known.end(), word) == known.end()) known.push_back(word);
    } else if (b != std::string_view::npos && v.name.substr(0, b) == typed.substr(0, blank)) {
      known.emplace_back(v.name.substr(b + 1));
    }
  }
  if (blank == std::string_view::npos) {
    known.emplace_back("help");
    return near_names(typed, known);
  }
  std::vector<std::string> near = near_names(typed.substr(blank + 1), known);
  for (std::string& n : near) n = std::string(typed.substr(0, blank + 1)) + n;
  return near;
}

}  // namespace baybook::tool
