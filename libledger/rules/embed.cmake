# Writes OUT, a source with the text of every rule file beside this script: sorted by name, the same bytes from the same files.
file(GLOB files ${CMAKE_CURRENT_LIST_DIR}/*.toml)
list(SORT files)
set(texts "")
set(rows "")
set(count 0)
foreach(file IN LISTS files)
  get_filename_component(name ${file} NAME_WE)
  file(READ ${file} text)
  string(APPEND texts "constexpr std::string_view kText${count} = R\"baybook_rules(${text})baybook_rules\";\n")
  string(APPEND rows "    {\"${name}\", kText${count}},\n")
  math(EXPR count "${count} + 1")
endforeach()
file(WRITE ${OUT} "// Made by libledger/rules/embed.cmake; edit the rule files instead.
#include \"returns/rule_files.hpp\"

#include <array>

namespace baybook::returns {

namespace {

${texts}
constexpr std::array<RuleFile, ${count}> kFiles = {{
${rows}}};

}  // namespace

std::span<const RuleFile> rule_files() noexcept { return kFiles; }

}  // namespace baybook::returns
")
