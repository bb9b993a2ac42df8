// The readers of outside bytes, each with a function that reads one input and throws Broken when the reader broke its word.
// A new target: targets/NAME.cpp with `void baybook::fuzz::NAME(std::string_view)`, and its line here (DEVELOPERS.md).
#pragma once

#include <string_view>

#define BAYBOOK_FUZZ_TARGETS(row)                                                                                  \
  row(quantity, "amounts, levels, distances, torques and densities")                                               \
  row(date, "days, months, times, instants and zones")                                                             \
  row(vin, "vehicle identification numbers")                                                                       \
  row(fault_code, "fault codes")                                                                                   \
  row(text, "texts, codes, plates and near names")                                                                 \
  row(interval, "intervals and hour counters")                                                                     \
  row(rules, "a shop's own rule file")                                                                             \
  row(schedule, "schedule files")                                                                                  \
  row(settings, "the settings file of the command")                                                                \
  row(body, "bodies of entries")                                                                                   \
  row(reference, "what the details of an entry are made of")                                                       \
  row(seal, "printed seals")                                                                                       \
  row(csv, "lists that are imported")                                                                              \
  row(exchange, "exchange files, and what entries from elsewhere may say")                                         \
  row(name, "names of cars, jobs, entries and places, looked up in a book")

namespace baybook::fuzz {
#define BAYBOOK_FUZZ_DECLARE(name, readers) void name(std::string_view input);
BAYBOOK_FUZZ_TARGETS(BAYBOOK_FUZZ_DECLARE)
#undef BAYBOOK_FUZZ_DECLARE
}  // namespace baybook::fuzz
