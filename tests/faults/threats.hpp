// Each threat is tried by one function; main.cpp has the list.
#pragma once

#include "row.hpp"
#include "shop.hpp"

#include <string>

namespace baybook::faults {

struct Setting {
  bool full = false;
  std::uint32_t seed = 1;
  std::string plan;     ///< verbs.txt
  std::string scarce;   ///< the command whose n-th allocation can be made to fail
  std::string only;     ///< cases of this verb alone, for a closer look
  bool blind = false;   ///< the harness' own test: the command's syncs are taken for nothing
};

void every_verb_is_known(const Setting& s, Row& row);
void killed_at_every_call(const Setting& s, Row& row);
void killed_at_random(const Setting& s, Row& row);
void disk_errors(const Setting& s, Row& row);
void disk_fills_up(const Setting& s, Row& row);
void nothing_can_be_printed(const Setting& s, Row& row);
void power_cut_model(const Setting& s, Row& row);
void power_cut_ext4(const Setting& s, Row& row);
void power_cut_xfs(const Setting& s, Row& row);
void many_writers(const Setting& s, Row& row);
void lock_held(const Setting& s, Row& row);
void no_memory(const Setting& s, Row& row);
void few_files(const Setting& s, Row& row);
void size_limit(const Setting& s, Row& row);
void clock_leaps(const Setting& s, Row& row);
void network_share(const Setting& s, Row& row);

}  // namespace baybook::faults
