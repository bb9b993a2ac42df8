// Ways to change one entry of a file so that it says what no typing could have put there, with the
// words that tell of it.
#pragma once

#include "attack/whole_shop.hpp"
#include "support/forged_file.hpp"

namespace baybook::test {

// The whole shop as one file.
inline const std::string& shop_file() {
  static const std::string file = [] {
    WholeShop shop(1);
    shop.bay.reopen();
    return file_of(shop.bay.book());
  }();
  return file;
}

struct Bad {
  std::string what;
  std::function<void(Forged&)> how;
  const char* says;
};

inline std::function<void(Forged&)> in_details(const char* kind,
                                               std::function<void(log::Value&)> how, int n = 1) {
  return [kind, how = std::move(how), n](Forged& f) { f.details(f.line_of(kind, n), how); };
}
inline std::function<void(Forged&)> set(const char* kind, const char* key, log::Value v) {
  return in_details(kind, [key, v = std::move(v)](log::Value& d) { d[key] = v; });
}
inline std::function<void(Forged&)> take_out(const char* kind, const char* key) {
  return in_details(kind, [key](log::Value& d) { d = without(d, key); });
}
inline std::function<void(Forged&)> private_text(const char* kind, const char* field,
                                                 std::string text) {
  return [kind, field, text = std::move(text)](Forged& f) { f.text(f.line_of(kind), field, text); };
}
inline std::function<void(Forged&)> in_line(const char* key, log::Value v) {
  return in_details("movement", [key, v = std::move(v)](log::Value& d) {
    log::Value::Array lines = d.list("lines");
    lines[0][key] = v;
    d["lines"] = log::Value(lines);
  });
}
inline log::Value amount(const char* best, const char* unit = "nl") {
  log::Value v;
  v["best"] = best;
  v["typed"] = "some";
  v["unit"] = unit;
  return v;
}

// The one that takes out a part, of the shop's entries of work.
inline constexpr int kTakesOut = 4;
inline log::Value taken_out_parts(std::initializer_list<int> entries) {
  log::Value::Array items;
  for (const int n : entries) {
    log::Value item;
    item["fit"] = n;
    items.push_back(std::move(item));
  }
  return log::Value(std::move(items));
}

inline std::vector<Bad> bad_bodies() {
  return {
      {"a field of a later version in an entry of the first",
       [](Forged& f) {
         f.change(f.line_of("work"), [](log::Value& b) {
           b["details"]["takes-out"] = taken_out_parts({1});
           b["version"] = 1;
         });
       },
       "version is 1, and what it says is of version 2"},
      {"a part that comes off twice",
       in_details("work", [](log::Value& d) {
         const log::Value one = d.list("takes-out").front();
         d["takes-out"] = log::Value::array({one, one});
       }, kTakesOut),
       "details/takes-out/2/fit is"},
      {"what comes off was never fitted",
       in_details("work", [](log::Value& d) { d["takes-out"] = taken_out_parts({2}); }, kTakesOut),
       "details/fit names entry 2, which is of kind"},
      {"litres of a part that was fitted in pieces",
       in_details("work", [](log::Value& d) {
         log::Value one = d.list("takes-out").front();
         one["amount"] = amount("1000000000");
         d["takes-out"] = log::Value::array({one});
       }, kTakesOut),
       "details/takes-out/1/amount is in nl, and the part was fitted in pcs"},
      {"a field that no such entry has", set("torque", "colour", "red"),
       "details/colour is a field that no such entry has"},
      {"a header field that no entry has",
       [](Forged& f) { f.change(f.line_of("work"), [](log::Value& b) { b["extra"] = 1; }); },
       "extra is a field that no such entry has"},
      {"an amount beyond what can be typed", in_line("amount", amount("1000000000000001")),
       "details/lines/1/amount/best is 1000000000000001, more than"},
      {"an amount of nothing", in_line("amount", amount("0")),
       "details/lines/1/amount/best is nothing"},
      {"an amount below nothing", in_line("amount", amount("-5")),
       "details/lines/1/amount/best is -5, below nothing"},
      {"an amount in another spelling", in_line("amount", amount("0150")),
       "details/lines/1/amount/best is \"0150\", not a whole number"},
      {"an amount in an unknown unit", in_line("amount", amount("5", "gal")),
       "details/lines/1/amount/unit is \"gal\""},
      {"a lot with a control character", in_line("lot", "77\x1b[2J"),
       "details/lines/1/lot has the control character"},
      {"a make that is not in NFC", set("car", "make", "Cora\xCC\x82vane"),
       "details/make is not as texts are kept"},
      {"a make with a blank at its end", set("car", "make", "Corvane "),
       "details/make is not as texts are kept"},
      {"a day in year 9999",
       [](Forged& f) {
         f.change(f.line_of("work"), [](log::Value& b) { b["happened"] = "9999-12-31"; });
       },
       "the day on which it happened is none"},
      {"a day after it was recorded",
       [](Forged& f) {
         f.change(f.line_of("place"), [](log::Value& b) {
           b = without(b, "time");
           b["happened"] = "2031-05-05";
         });
       },
       "happened is 2031-05-05, after it was recorded"},
      {"a due day that is none", set("deadline", "due", "2026-02-30"),
       "details/due is \"2026-02-30\", not a day"},
      {"a rule file that does not read",
       in_details("rules",
                  [](log::Value& d) {
                    d["file"] = "[[value]]\nkey = 3";
                    d["file-name"] = "ours.toml";
                  }),
       "details/file is no rule file"},
      {"a rule set that is none", set("rules", "set", "atlantis"),
       "details/set is \"atlantis\", a rule set that this program does not have"},
      {"a paper that leads out of its folder", set("paper", "file", "../x"),
       "details/file is \"../x\", which is no name in the folder of papers"},
      {"a paper that hides", set("paper", "file", ".slip"), "details/file is \".slip\""},
      {"a paper of less than no bytes", set("paper", "bytes", -1),
       "details/bytes is -1, not a whole number"},
      {"a code that no typing gives", set("place", "code", "Pan 1"),
       "details/code is \"Pan 1\", not a code"},
      {"a plate of 5,000 letters", private_text("car", "plate", std::string(5000, 'A')),
       "private/plate has 5000 bytes, more than 40"},
      {"a plate that a command would take for an option", private_text("car", "plate", "-7"),
       "private/plate is no plate"},
      {"a VIN of 16 characters", private_text("car", "vin", "1M8GDM9AXKP04278"),
       "private/vin is no VIN"},
      {"a private text longer than any typed one",
       private_text("work", "text", std::string(4001, 'x')),
       "private/text has 4001 bytes, more than 4000"},
      {"a private text with a line break", private_text("work", "text", "one\ntwo"),
       "private/text has the control character"},
      {"a private text that is not in NFC", private_text("work", "text", "e\xCC\x81tanche"),
       "private/text is not as texts are kept"},
      {"a private field that its kind does not have", private_text("torque", "keeper", "Oona"),
       "private/keeper is a text that no torque has"},
      {"a text that its kind always has",
       [](Forged& f) { f.without_text(f.line_of("determination"), "reason"); },
       "private has no reason"},
      {"a torque below nothing", set("torque", "torque-mnm", -5),
       "details/torque-mnm is -5, not a whole number between 1 and 10000000"},
      {"a movement without a line", set("movement", "lines", log::Value::array()),
       "details/lines is an empty list"},
      {"a movement of too many lines",
       in_details("movement",
                  [](log::Value& d) {
                    d["lines"] = log::Value(log::Value::Array(1001, d.list("lines")[0]));
                  }),
       "details/lines has 1001 in it, more than 1000"},
      {"a movement that is none", set("movement", "verb", "pour"),
       "details/verb is \"pour\", which is no movement"},
      {"a way that the verb does not go", in_line("from", "ground"),
       "details/lines/1 is a way that no receive goes: from ground to stock (F6)"},
      {"an end of the world that is none", in_line("from", "moon"),
       "details/lines/1/from is \"moon\", which is no place"},
      {"what is missing in an entry of the version before it",
       [](Forged& f) {
         f.change(f.line_of("job-close"), [](log::Value& b) {
                    log::Value& d = b["details"];
                    b["version"] = 1;
                    log::Value line;
                    line["amount"] = amount("5");
                    line["from"]["car"] = 1;
                    line["from"]["circuit"] = "coolant";
                    line["to"] = "missing";
                    d["lines"] = log::Value(log::Value::Array{line});
         });
       },
       "version is 1, and what it says is of version 2"},
      {"a version that what it says does not need",
       [](Forged& f) { f.change(f.line_of("work"), [](log::Value& b) { b["version"] = 2; }); },
       "version is 2, and what it says is of version 1"},
      {"a circuit that was low and is none",
       in_details("job-close",
                  [](log::Value& d) {
                    d["was-low"] = log::Value(log::Value::Array{log::Value("flux")});
                  }),
       "details/was-low/1 is \"flux\", which no car has"},
      {"a circuit that was low twice",
       in_details("job-close",
                  [](log::Value& d) {
                    d["was-low"] =
                        log::Value(log::Value::Array{log::Value("brake"), log::Value("brake")});
                  }),
       "details/was-low/2 is \"brake\" for the second time"},
      {"what a closing booked and put into a drum",
       in_details("job-close",
                  [](log::Value& d) {
                    log::Value line;
                    line["amount"] = amount("5");
                    line["from"]["car"] = 1;
                    line["from"]["circuit"] = "coolant";
                    line["to"] = "receiver";
                    d["lines"] = log::Value(log::Value::Array{line});
                  }),
       "details/lines/1/to is neither missing nor the ground"},
      {"a circuit that is none",
       in_details("car",
                  [](log::Value& d) {
                    log::Value c;
                    c["circuit"] = "flux";
                    d["circuits"] = log::Value(log::Value::Array{c});
                  }),
       "details/circuits/1/circuit is \"flux\", which no car has"},
      {"a class that is none",
       in_details(
           "place",
           [](log::Value& d) { d["takes"] = log::Value(log::Value::Array{log::Value("lava")}); },
           3),
       "details/takes/1 is \"lava\", which is no class"},
      {"a month that is none", set("close", "month", "2026-13"),
       "details/month is \"2026-13\", not a month"},
      {"a month that had not ended", set("close", "month", "2026-02"),
       "details/month is 2026-02, which had not ended"},
      {"a seal that is none",
       in_details("close",
                  [](log::Value& d) {
                    d["seals"] = log::Value(log::Value::Array{log::Value("bay:0:00")});
                  }),
       "details/seals/1 is \"bay:0:00\", which is no seal"},
      {"an interval without any limit",
       in_details("schedule",
                  [](log::Value& d) {
                    log::Value i = d.list("intervals")[0];
                    for (const char* key : {"months", "hours", "distance-m", "distance-typed"})
                      i = without(i, key);
                    d["intervals"] = log::Value(log::Value::Array{i});
                  }),
       "details/intervals/1 has none of months, distance and hours"},
      {"a warranty of 5,000 months", set("fit", "warranty-months", 5000),
       "details/warranty-months is 5000, not a whole number between 1 and 1200"},
      {"an odometer beyond any vehicle",
       set("odometer", "odometer-m", std::int64_t{10'000'000'001}),
       "details/odometer-m is 10000000001"},
      {"an instrument that is another one and began again",
       in_details("odometer",
                  [](log::Value& d) {
                    d["reset"] = true;
                    d["rolled-over"] = "km";
                  }),
       "details/rolled-over is said of an instrument that is another one"},
      {"hours that count in miles", set("hours", "rolled-over", "mi"),
       "details/rolled-over is \"mi\""},
      {"a fault code that is none", set("code", "code", "P9217"),
       "details/code is \"P9217\", which is no fault code"},
      {"no where there is only yes", set("inspection", "faults", false),
       "details/faults is false, not true"},
      {"a reference to itself",
       [](Forged& f) {
         f.details(f.line_of("paper"),
                   [&](log::Value& d) { d["about"] = f.body(f.line_of("paper")).num("number"); });
       },
       "details/about names entry"},
      {"a reference to what is of another kind", set("place-mark", "place", 1),
       "details/place names entry 1, which is of kind opening"},
      {"a reference to an installation whose number belongs to nobody",
       set("paper", "about", "00003" + std::string(27, '0') + ":4"), "which names no entry"},
      {"a copy that goes on from itself",
       in_details("opening",
                  [](log::Value& d) {
                    log::Value c;
                    c["digest"] = std::string(64, 'a');
                    c["last"] = 7;
                    d["continues"] = c;
                  }),
       "details/continues/last is 7, not an entry of the installation that this one goes on from"},
      {"a tag that stands for all", set("opening", "tag", "all"),
       "details/tag is \"all\", which is no tag"},
      {"a replacement that does not fit what it replaces",
       in_details("correction", [](log::Value& d) { d["details"]["warp"] = 9; }),
       "details/details/warp is a field that no such entry has"},
      {"a person's name put right to one that no person may have",
       [](Forged& f) {
         const std::size_t line = f.line_of("correction");
         f.details(line, [&](log::Value& d) {
           d = without(d, "also");
           d["details"] = log::Value();
           d["action"] = "replace";
           d["target"] = 2;
         });
         f.text(line, "name", std::string(121, 'x'));
       },
       "private/name has 121 bytes, more than 120"},
      {"a correction of an opening", set("correction", "target", 1),
       "details/target names an opening, which cannot be corrected"},
      {"an erasure of a text that was never there",
       in_details("erasure",
                  [](log::Value& d) {
                    log::Value item = d.list("list")[0];
                    item["fields"] = log::Value(log::Value::Array{log::Value("vin")});
                    d["list"] = log::Value(log::Value::Array{item});
                  }),
       "which never had it"},
      {"a join of what cannot be one", set("settle", "keep", 8), "which cannot be one with a"},
      {"a signature before the pick-up", set("confirm", "signed", "2026-01-01"),
       "details/signed is before the pick-up"},
      {"a product taken alone out of a delivery", in_line("alone", true),
       "details/lines/1/alone is said of what was not taken from a shelf"},
      {"what was drained put on a shelf",
       in_details(
           "movement",
           [](log::Value& d) {
             log::Value::Array lines = d.list("lines");
             lines[0]["beside"] = true;
             d["lines"] = log::Value(lines);
           },
           2),
       "details/lines/1/beside is said of what was not put on a shelf"},
      {"a pan that is a bulk tank", set("place", "bulk", true),
       "details/bulk is said of a place that is not for stock"},
      {"a drum that becomes a bulk tank", set("place-mark", "what", "bulk"),
       "details/what is bulk, said of a place that is not for stock"},
      {"a reading of one product in a drum",
       in_details("gauge",
                  [](log::Value& d) {
                    d["alone"] = true;
                    d["fluid"] = "coolant";
                  }),
       "details/alone is said of a place that is no shelf"},
      {"a reading of one product that is not named", set("gauge", "alone", true),
       "details/fluid is missing"},
      {"a level that does not follow from the weights",
       in_details("gauge",
                  [](log::Value& d) {
                    d["gross"] = amount("20", "ug");
                    d["tare"] = amount("5", "ug");
                  }),
       "details/level does not follow from what was weighed"},
  };
}

}  // namespace baybook::test
