// baybook(1) as scdoc text: the prose here, everything about verbs from the one table.
#include "context.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

namespace baybook::tool {

namespace {

// scdoc gives a meaning to these; a backslash takes it away.
std::string plain(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '_' || c == '*' || c == '\\' || c == '#' || c == '`' || c == '[' || c == '<' || c == '~') out += '\\';
    out += c;
  }
  return out;
}

std::string option_line(const Option& o) {
  std::string out = "*--" + plain(o.name) + "*";
  if (o.letter != 0) out = std::string("*-") + o.letter + "*, " + out;
  if (!o.value.empty()) out += (o.optional_value ? "[=" : " ") + ("_" + plain(o.value) + "_") + (o.optional_value ? "]" : "");
  if (o.optional_value) {
    const std::size_t at = out.find("[=");
    out.insert(at, "\\");
  }
  return out + "\n\t" + plain(o.help) + "\n\n";
}

constexpr std::string_view kHead = R"(baybook(1)

# NAME

baybook - a workshop's book: what was done to each car, and where every litre went

# SYNOPSIS

*baybook* _verb_ \[_operands_] \[_options_]

# DESCRIPTION

A workshop keeps one file, the book. Every fact is an entry that is never edited; each carries a digest of the one before.
A mistake is put right by a later entry. Fluid is moved from one place to another, a circuit of a car, a pan, a drum, the
ground, and every balance is a sum.

Values such as ~1.5L, 0.5..1.2L and -3d are operands. Two dashes end the options.

)";

constexpr std::string_view kTail = R"(# EXIT STATUS

*0*
	done

*1*
	refused, or problems were found

*2*
	wrong usage

*3*
	the book could not be read or written

*4*
	another program is writing: try again

# ENVIRONMENT

*BAYBOOK\_BOOK*
	the book, when *--book* is not given

*BAYBOOK\_BY*
	who writes, when *--by* is not given

*BAYBOOK\_NOW*
	the instant that is taken for now, 2026-03-05T09:40:00.000Z. For tests and demonstrations: a book kept with it says
	what never was.

*NO\_COLOR*
	no colour, whatever it is set to

*PAGER*
	shows an answer that is longer than the screen; empty for none. Else *less -FRX*.

# FILES

_$XDG\_CONFIG\_HOME/baybook/config.toml_
	settings of yours: *book*, *by*, *color* and *pager*, each a text in quotes. An option comes before a variable, a
	variable before this file.

A book that no program has open is one file with everything in it. While one has, files ending in -wal and -shm lie beside it: baybook backup copies the whole.

# CAUTIONS

Never open a hot, pressurised cooling system. Coolant is sweet and toxic. Refrigerant is for people with the certificate
that the law asks for. The program is an aid to the workshop's own records; local codes, the authority and licensed
practice have the last word.
)";

}  // namespace

int run_manual(Context& c) {
  std::string out(kHead);
  std::string_view group;
  out += "# VERBS\n";
  for (const Verb& v : verbs()) {
    if (v.hidden()) continue;
    if (v.group != group) {
      group = v.group;
      out += "\n## " + plain(group) + "\n\n";
    }
    out += "*" + plain(v.name) + "*";
    for (const Operand& o : v.operands) out += std::string(o.optional ? " \\[" : " ") + "_" + plain(o.name) + "_" + (o.optional ? "]" : "");
    out += "\n\t" + plain(v.summary) + ".";
    for (const Operand& o : v.operands) out += " _" + plain(o.name) + "_: " + plain(o.help) + ".";
    out += "\n\n";
    for (const Option& o : v.options) out += "\t" + option_line(o).replace(option_line(o).find("\n\t"), 2, "\n\t\t");
    for (const std::string_view e : v.examples) out += "\t\t" + plain(e) + "\n\n";
  }
  out += "# OPTIONS OF VERBS THAT WRITE\n\n";
  for (const Option& o : common_options(Does::write)) out += option_line(o);
  out += "# OPTIONS OF VERBS THAT READ\n\n";
  for (const Option& o : common_options(Does::read)) out += option_line(o);
  out += kTail;
  c.out().text(out);
  return 0;
}

}  // namespace baybook::tool
