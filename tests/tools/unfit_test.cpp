// What no entry can say, as the command tells it: in a file that comes in, and in a book that has
// it already.
#include "run_program.hpp"

#include "support/forged_file.hpp"
#include "support/past_the_funnel.hpp"
#include "support/past_the_reader.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// A file of the bay with a torque below nothing and a work text that moves the cursor.
std::string forged() {
  TestBook bay("bay", 21);
  const JobId job = bay.job(bay.car("MARSH-07"));
  bay.write(TorqueNote{job, "pump bolts", {25'000, "25Nm"}});
  Work w;
  w.job = job;
  w.text = "pump renewed";
  bay.write(w);
  Forged f(file_of(bay.book()));
  f.details(f.line_of("torque"), [](log::Value& d) { d["torque-mnm"] = -5; });
  f.text(f.line_of("work"), "text", "pump\x1b[2J");
  return f.file();
}

}  // namespace

TEST_SUITE("tools/unfit") {
  TEST_CASE(
      "a file with bad lines is refused with each of them on a line of its own, as text and as one "
      "document") {
    Shop s;
    std::ofstream(s.file("bay.exchange"), std::ios::binary) << forged();
    s.variables = {{"BAYBOOK_BOOK", "office.baybook"}};
    REQUIRE(s.run({"start", "office.baybook", "--site", "Saltmarsh Motor Works", "--tag", "office",
                   "--zone", "Europe/Lisbon"})
                .status == 0);
    const Answer text = s.run({"exchange", "in", "bay.exchange"});
    CHECK(text.status == 1);
    CHECK(holds(text.err, "baybook: bay.exchange: 2 lines say what no entry can\n"));
    CHECK(holds(text.err,
                "\n  - bay.exchange:7:1: entry 4@bay, torque: details/torque-mnm is -5, not a "
                "whole number between 1 and 10000000\n"));
    CHECK(holds(text.err,
                "\n  - bay.exchange:10:1: a text of entry 5@bay: private/text has the control "
                "character \\x1b at byte 5\n"));
    CHECK(holds(text.err, "\ntype: the file again, as it was made: baybook exchange out"));
    const Answer json = s.run({"exchange", "in", "bay.exchange", "--json"});
    CHECK(json.status == 1);
    CHECK(is_json(json.out));
    CHECK(holds(json.out, "\"lines\":[\"bay.exchange:7:1: entry 4@bay, torque: "));
    CHECK(holds(json.out, "\"figures\":{\"bad_lines\":\"2\"}"));
    CHECK(holds(s.run({"prove"}).out, "sound: 1 entry"));
  }

  TEST_CASE(
      "a book in which a program wrote a place as a car goes to the office once the command that prove "
      "prints was typed as it stands") {
    TestBook bay("bay", 21);
    const PlaceId drum = bay.place("drum-1", Role::waste, "200L", {"coolant"});
    log::Value d;
    d["car"] = log::write_ref(drum.n, bay->inside().known);
    d["odometer-m"] = std::int64_t{88'210'000};
    d["odometer-typed"] = "88210km";
    past_the_funnel(bay, {log::Kind::odometer, d, 0});
    bay.close();
    Shop s;
    s.now = "2026-03-06T10:00:00.000Z";
    REQUIRE(s.run({"start", "office.baybook", "--site", "Saltmarsh Motor Works", "--tag", "office",
                   "--zone", "Europe/Lisbon"})
                .status == 0);
    s.variables = {{"BAYBOOK_BOOK", bay.file()}};
    REQUIRE(s.run({"exchange", "out", "bay.exchange"}).status == 0);
    const Answer no = s.run({"exchange", "in", "bay.exchange", "--book", "office.baybook"});
    CHECK(no.status == 1);
    CHECK(holds(no.err, "entry 3@bay, odometer: details/car names entry 2, which is of kind place"));
    const Answer told = s.run({"prove"});
    CHECK(told.status == 1);
    CHECK(holds(flat(told.out), "type: baybook correct 3 --withdraw --why \"...\""));
    REQUIRE(s.run({"correct", "3", "--withdraw", "--why", "a drum has no odometer"}).status == 0);
    CHECK(s.run({"prove"}).status == 0);
    REQUIRE(s.run({"exchange", "out", "bay.exchange", "--force"}).status == 0);
    const Answer in = s.run({"exchange", "in", "bay.exchange", "--book", "office.baybook"});
    CHECK_MESSAGE(in.status == 0, in.err);
    CHECK(s.run({"prove", "--book", "office.baybook"}).status == 0);
    CHECK(s.run({"correct", "4", "--withdraw", "--why", "it was right"}).status == 1);
  }

  TEST_CASE(
      "prove of a book that took such entries is sound, names each with its correction, ends with "
      "1, and with 0 when they are typed") {
    TestBook office("office", 22);
    past_the_reader(office, forged());
    office.close();
    Shop s;
    s.now = "2026-03-06T10:00:00.000Z";
    s.variables = {{"BAYBOOK_BOOK", office.file()}};
    const Answer told = s.run({"prove"});
    CHECK(told.status == 1);
    CHECK(holds(told.out, "sound: 6 entries"));
    CHECK(holds(told.out,
                "2 entries hold and say what no entry can; an older version took them in\n"));
    CHECK(holds(flat(told.out),
                "entry 4@bay, torque: details/torque-mnm is -5, not a whole number between 1 and "
                "10000000 type: baybook correct 4@bay --torque TORQUE --why \"...\""));
    CHECK(holds(flat(told.out),
                "entry 5@bay, work: private/text has the control character \\x1b at byte 5 type: "
                "baybook correct 5@bay --text \"...\" --why \"...\""));
    CHECK(!holds(told.out, "a backup of the book"));
    const Answer json = s.run({"prove", "--json"});
    CHECK(json.status == 1);
    CHECK(is_json(json.out));
    CHECK(holds(json.out, "\"sound\":true"));
    CHECK(holds(json.out,
                "\"unfit_found\":2,\"unfit_open\":2,\"unfit\":[{\"what\":\"entry 4@bay, torque:"));
    // A backup is made of it: its log is sound.
    CHECK(s.run({"backup", "copy.baybook"}).status == 0);
    CHECK(s.run({"correct", "4@bay", "--torque", "25Nm", "--why", "as the sheet says"}).status ==
          0);
    CHECK(s.run({"correct", "5@bay", "--text", "pump renewed", "--why", "the text alone"}).status ==
          0);
    CHECK(s.run({"prove"}).status == 0);
  }
}
