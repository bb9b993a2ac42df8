#include "verbs.hpp"

#include "verb_list.hpp"

namespace baybook::tool {

namespace {

constexpr Option kWriting[] = {
    {"book", "FILE", "the book (else the variable BAYBOOK_BOOK)"},
    {"on", "DATE", "the day it happened: 2026-03-05, yesterday, -3d, mon (else today)"},
    {"at", "HH:MM", "the time of day it happened"},
    {"by", "NAME", "who did it (else the variable BAYBOOK_BY)"},
    {"dry-run", "", "check everything, show the entry, write nothing", false, 'n'},
    {"once", "KEY", "the same key again changes nothing: safe to repeat"},
    {"clock-is-right", "",
     "do not ask about the clock of this machine, whatever the book makes of it"},
    {"json", "1", "answer as one JSON document", false, 0, true},
    {"color", "WHEN", "auto, always or never"},
    {"quiet", "", "print nothing when it went well", false, 'q'},
    {"help", "", "this help", false, 'h'},
};
constexpr Option kReading[] = {
    {"book", "FILE", "the book (else the variable BAYBOOK_BOOK)"},
    {"as-of", "DATE", "the book as it stood at the end of that day"},
    {"json", "1", "answer as one JSON document", false, 0, true},
    {"jsonl", "", "a list as JSON Lines: one object a line"},
    {"no-pager", "", "do not page a long answer on a terminal"},
    {"color", "WHEN", "auto, always or never"},
    {"quiet", "", "print nothing, only answer with the exit status", false, 'q'},
    {"help", "", "this help", false, 'h'},
};
constexpr Option kNeither[] = {
    {"dry-run", "", "check everything, show the entry, write nothing", false, 'n'},
    {"json", "1", "answer as one JSON document", false, 0, true},
    {"color", "WHEN", "auto, always or never"},
    {"quiet", "", "print nothing when it went well", false, 'q'},
    {"help", "", "this help", false, 'h'},
};

constexpr Option kMixing = {"mixing-reason", "TEXT", "why two kinds may meet in one place; it stays in the book"};
constexpr Operand kJob = {"JOB", "the job's number, or its car when that has one open job"};
constexpr Operand kCar = {"CAR", "its plate, a part of it, or the end of its VIN"};
constexpr Operand kPlace = {"PLACE", "a place of the shop, by its code"};
constexpr Operand kCircuit = {"CIRCUIT", "a circuit of the car: coolant, engine-oil, brake, ..."};
constexpr Operand kAmountOrAll = {"AMOUNT", "5.4L, ~1.5L, 0.5..1.2L, or all"};
constexpr Operand kAmount = {"AMOUNT", "5.4L, ~1.5L, 0.5..1.2L"};
constexpr Option kNote = {"note", "TEXT", "a note that stays with it"};
constexpr Option kInto = {"into", "PLACE", "where it goes"};

constexpr Operand kStartOperands[] = {{"FILE", "the file to make"}};
constexpr Option kStartOptions[] = {
    {"site", "TEXT", "the workshop's name"},
    {"tag", "TAG", "short name of this installation, printed on every seal"},
    {"zone", "ZONE", "time zone of the site, an IANA name (else UTC)"},
    {"volume", "L|usgal|impgal", "unit that volumes are printed in (else L)"},
    {"distance", "km|mi", "unit that odometers are printed in (else km)"},
    {"torque", "Nm|lbft", "unit that torques are printed in (else Nm)"},
    {"gallon", "us|imperial", "what a bare gal, qt, pt means (else such amounts are refused)"},
    {"estimate", "PERCENT", "how far off ~1.5L may be, either side (else 10)"},
    {"dates", "day-first|month-first", "how 03/04/2026 is read (else it is refused)"},
    {"rules", "NAME", "the rule set for the returns"},
    {"group", "", "everybody of your group may read and write it (mode 0660, else 0600)"},
    {"network-share", "", "on a network share too, against the advice: locks fail there"},
};

constexpr Operand kCodeOperand[] = {{"CODE", "a short name of your own: letters, digits and -"}};
constexpr Option kPlaceOptions[] = {
    {"role", "ROLE", "catch (a pan, undecided), reuse (filtered, kept), stock (new), waste (one stream)"},
    {"size", "AMOUNT", "how much it holds"},
    {"takes", "CLASS", "what may go in; again for each class", true},
    {"stream", "NAME", "what it is as waste (waste places)"},
    {"area", "NAME", "where it stands, for `inspect`: yard"},
    {"satellite", "", "a waste container at the point of generation (needs --area)"},
    {"bulk", "", "a bulk tank: what comes in mixes (else products are kept apart)"},
};
constexpr Operand kPlaceOperand[] = {kPlace};
constexpr Option kNoteOptions[] = {kNote};
constexpr Option kShare = {
    "share", "SUBSTANCE=PERCENT",
    "how much of its mass is a substance: 'ethylene glycol=50%'; again for each", true};
constexpr Operand kFluidOperand[] = {{"FLUID", "a product of the book, by its code"}};
constexpr Option kFluidChangeOptions[] = {kShare, {"why", "TEXT", "where it was read"}};
constexpr Option kFluidOptions[] = {
    {"class", "CLASS", "what it is, whoever made it: coolant, engine-oil, ... (baybook fluid list)"},
    {"product", "TEXT", "the maker's name for it"},
    {"in", "volume|mass|count", "how it is counted (else volume; refrigerant by mass)"},
    {"density", "DENSITY", "1.07kg/L, to turn weights into volumes"},
    {"source", "TEXT", "where the density was read"},
    kShare,
};
constexpr Operand kNameOperand[] = {{"NAME", "the person's name"}};
constexpr Option kPersonOptions[] = {{"contact", "TEXT", "how to reach them"}, {"certificate", "TEXT", "for refrigerant work: its number and who gave it"}};
constexpr Operand kPlateOperand[] = {{"PLATE", "the plate as it is on the car"}};
constexpr Option kCarOptions[] = {
    {"vin", "VIN", "vehicle identification number"},
    {"make", "TEXT", "maker"},
    {"model", "TEXT", "model"},
    {"year", "YEAR", "model year"},
    {"engine", "TEXT", "engine"},
    {"circuit", "NAME=AMOUNT:SPEC", "a circuit, its capacity and the fluid its maker asks for; again for each", true},
    {"keeper", "TEXT", "who keeps the car"},
    {"contact", "TEXT", "how to reach the keeper"},
};
constexpr Operand kCarOperand[] = {kCar};
constexpr Option kReplaced = {"replaced", "", "the first reading of another instrument: distance goes on from it"};
constexpr Option kRolledOver = {"rolled-over", "", "it came to its last figure and began again at 0"};
constexpr Option kMisread = {"misread", "", "the reading before was misread: it is withdrawn"};
constexpr Option kCarChangeOptions[] = {
    {"plate", "PLATE", "the new plate; the old one still finds the car"},
    {"vin", "VIN", "vehicle identification number"},
    {"keeper", "TEXT", "the new keeper"},
    {"contact", "TEXT", "how to reach the keeper"},
    {"circuit", "NAME=AMOUNT:SPEC", "a circuit with its capacity and fluid; again for each", true},
    {"scrapped", "", "the car is gone for good"},
    kNote,
};

constexpr Operand kTaskOperands[] = {kCar, {"TASK", "a short name: engine-oil, brake, timing-belt"}};
constexpr Option kScheduleOptions[] = {
    {"every", "12mo|15000km|250h", "a limit by time, distance or engine hours; again for each", true},
    {"source", "TEXT", "where the figures are from"},
    {"circuit", "CIRCUIT", "done when this circuit is drained and filled"},
    {"part", "NUMBER", "done when this part is fitted; again for each", true},
    {"filtered", "PERCENT", "of the interval when filtered fluid was put back (else 50)"},
};
constexpr Option kOfCarOptions[] = {{"car", "CAR", "only those that hold for this car"}};
constexpr Option kDueOptions[] = {
    {"within", "30d|4w|2mo", "how far ahead (else 30 days)"},
    {"car", "CAR", "all of one car, however far"},
    {"for", "GROUP", "only cars, rechecks, containers or papers"},
    {"fail-if-overdue", "", "exit status 1 when something is over, for scheduled runs"},
    {"personal", "", "a calendar with plates, names and texts"},
    {"out", "FILE", "write it to a file; its name says the form: .ics .pdf .html .csv .json .txt"},
    {"form", "FORM", "text, csv, json, html, pdf or ics (else by the name of --out)"},
    {"page", "a4|letter", "size of the paper (else a4)"},
    {"force", "", "overwrite the file of --out"},
    {"csv-raw", "", "CSV for programs: text that could be a formula is left as it is"},
};
constexpr Option kDueDoneOptions[] = {
    {"job", "JOB", "the job in which it was done"},
    {"when", "DATE", "the day it was done, if earlier"},
    {"odo", "READING", "odometer when it was done (else the reading of that day)"},
    {"hours", "READING", "engine hours when it was done: 1250h"},
    kNote,
};
constexpr Operand kPutOffOperands[] = {{"ITEM", "a car, or a recheck as due shows it: 17/2"}, {"TASK", "the task of the car", true}};
constexpr Option kPutOffOptions[] = {{"until", "DATE", "the day until which it waits"}, {"why", "TEXT", "the reason; it stays in the book"}};
constexpr Operand kRecheckOperand[] = {{"RECHECK", "17/2, or the job when one is open"}};
constexpr Option kRecheckOptions[] = {{"good", "", "as it should be"}, {"bad", "", "the fault is there"}, {"found", "TEXT", "what was found"}, {"job", "JOB", "the job in which it was looked at"}};
constexpr Option kComebackOptions[] = {{"car", "CAR", "only of this car"}, {"by", "part|kind", "grouped by the parts fitted, or the kind of work done, in the job that cleared it"}};
constexpr Option kTakesOut = {
    "takes-out", "ENTRY|PART",
    "a part that came off, by the entry that fitted it or its number; 15=1pcs: not all of it", true};
constexpr Option kWorkOptions[] = {kTakesOut, {"kind", "CODE", "what sort of work: cooling, brakes; comebacks are counted by it"}};

constexpr Option kJobOpenOptions[] = {
    {"odo", "READING", "odometer: 88210km"},
    {"for", "TEXT", "what the car came in for"},
    kReplaced,
    kRolledOver,
    kMisread,
    {"odo-reason", "TEXT", "what is told beside it: cluster replaced at 88240 km"},
};
constexpr Operand kJobOperand[] = {kJob};
constexpr Option kJobCloseOptions[] = {
    {"result", "TEXT", "how it ended"},
    {"recheck", "TEXT", "something left to watch; again for each", true},
    {"after", "3d|200km", "when to look, for the --recheck before it", true},
    {"was-low", "", "what went in beyond what came out: it was low, or empty, when it came"},
    {"missing", "", "or it left unseen: booked as missing, with its bounds"},
    {"lost", "", "the same as --missing"},
    {"as-is", "REASON", "leave an account open, and why; also of one that goes out short"},
};
constexpr Option kJobListOptions[] = {{"open", "", "only the open ones"}};
constexpr Operand kOdoOperands[] = {{"CAR|JOB", "its plate or the job's number"}, {"READING", "88210km"}};
constexpr Option kOdoOptions[] = {kReplaced, kRolledOver, kMisread, {"reason", "TEXT", "what is told beside it: cluster replaced at 88240 km"}};
constexpr Operand kCodeOperands[] = {kJob, {"CODE", "a fault code: P0217"}};
constexpr Option kCodeOptions[] = {
    {"read", "", "it was read (what is meant when nothing is said)"},
    {"cleared", "", "it was cleared"},
    {"returned", "", "it came back"},
    kNote,
};
constexpr Operand kWorkOperands[] = {kJob, {"TEXT", "what was done, in quotes"}};
constexpr Operand kFitOperands[] = {kJob, {"PART", "the maker's part number"}};
constexpr Option kFitOptions[] = {
    {"what", "TEXT", "what it is"},
    {"lot", "LOT", "the maker's lot"},
    {"qty", "AMOUNT", "how many; a bare number is pieces (else 1pcs)"},
    {"warranty", "24mo|20000km", "how long it is warranted; twice for both", true},
    {"old", "waste:PLACE|core|customer|none", "where the old part went"},
    {"old-amount", "AMOUNT", "how much went into the waste place (else as many as were fitted)"},
    {"old-class", "CLASS", "what it is as waste (else old-parts)"},
    kTakesOut,
};
constexpr Operand kTorqueOperands[] = {kJob, {"FASTENER", "which one, in quotes"}, {"TORQUE", "110Nm, 81lbft"}};

constexpr Operand kDrainOperands[] = {kJob, kCircuit, kAmount};
constexpr Option kMachine = {"machine", "TEXT", "refrigerant: the machine that recovered or charged it"};
constexpr Option kDrainOptions[] = {kInto, kMachine, kMixing};
constexpr Option kOfShelf = {"fluid", "FLUID", "from a shelf with several products: which one"};
constexpr Option kDecantOptions[] = {kInto, kOfShelf, kMixing};
constexpr Operand kPlaceAmountOperands[] = {kPlace, kAmountOrAll};
constexpr Option kFilterOptions[] = {kInto, {"through", "TEXT", "what it was filtered through"}, kMixing};
constexpr Operand kFillOperands[] = {kJob, kCircuit, kAmount};
constexpr Option kFillOptions[] = {{"from", "PLACE|new:FLUID", "where it comes from; new:FLUID was bought for this job"}, kOfShelf, kMachine, kMixing};
constexpr Operand kSpillOperands[] = {
    {"JOB CIRCUIT|PLACE", "out of what: a circuit of a job's car, or a place"}, {"AMOUNT", "how much was spilled"}, {"AMOUNT", "with JOB CIRCUIT", true}};
constexpr Option kSpillOptions[] = {
    {"picked-up", "AMOUNT", "what was picked up of it: 0.3L; or what soaked it up: 'granules 1.5kg'", true},
    {"into", "PLACE", "where that went, for each --picked-up before it", true},
    kOfShelf,
    {"where", "TEXT", "where it was spilled"},
    {"reached", "floor|drain|soil|water", "what it reached"},
    {"cleaned", "TEXT", "how it was cleaned up"},
    kShare,
    kMixing,
};
constexpr Operand kReceiveOperands[] = {{"FLUID", "a fluid of the book"}, kAmount};
constexpr Option kReceiveOptions[] = {kInto, {"lot", "LOT", "the maker's lot"}, {"doc", "NUMBER", "number of the delivery note"}, {"from", "TEXT", "who delivered it"}, kMixing};
constexpr Operand kDiscardOperands[] = {{"CLASS|FLUID", "what it is: absorbent, old-parts, batteries, ..."}, kAmount};
constexpr Option kDiscardOptions[] = {kInto, kNote, kMixing};
constexpr Operand kGaugeOperands[] = {kPlace, {"LEVEL", "what was read off: 12L", true}};
constexpr Option kGaugeOptions[] = {
    {"gross", "WEIGHT", "full weight, with --tare"},
    {"tare", "WEIGHT", "weight of the empty container"},
    {"density", "DENSITY", "1.07kg/L, to turn the weight into a volume"},
    {"source", "TEXT", "where the density was read"},
    {"fluid", "FLUID", "the product on a shelf; or what it is, where the book thinks it is empty"},
    {"reason", "TEXT", "why it differs from the book"},
};
constexpr Option kPickupOptions[] = {
    {"carrier", "FIRM|TEXT", "who took it: a firm of the book, or a name"},
    {"receiver", "FIRM", "where it goes: a firm of the book that receives waste"},
    {"transport", "TEXT", "the mode of transport: road"},
    {"doc", "NUMBER", "number of the paper that goes with it"},
    {"from", "PLACE=AMOUNT|PLACE=all", "what was taken from which waste place; again for each", true},
    {"fate", "recycle|dispose", "what becomes of the --from before it, or of all when given once", true},
    {"measured", "AMOUNT", "what the carrier measured, for the --from before it", true},
    {"treatment", "CODE", "the rules' code for the treatment: R9; like --fate", true},
    {"own-vehicle", "", "the shop carried it itself (no --carrier is needed)"},
    {"distance", "DISTANCE", "how far it went: 210mi (else as the receiver's entry says)"},
    kMixing,
};

constexpr Operand kShellOperand[] = {{"SHELL", "bash, zsh or fish"}};
constexpr Operand kWordsOperand[] = {{"WORDS", "what was typed so far", true, true}};
constexpr Operand kLastOperands[] = {kCar, {"CIRCUIT", "only this circuit", true}};
constexpr Operand kFittedOperands[] = {{"PART", "the maker's part number"}};
constexpr Option kFittedOptions[] = {{"lot", "LOT", "only this lot"}};
constexpr Option kLevelsOptions[] = {{"circuits", "", "the circuits of cars as well"}};
constexpr Operand kTotalsOperands[] = {{"MONTH", "2026-03, last-month, 2026-q1, 2026, or 2026-01-01..2026-03-31 (else this month)", true}};
constexpr Option kOut = {"out", "FILE", "write it to a file; its name says the form: .pdf .html .csv .json .txt", false, 'o'};
constexpr Option kForm = {"form", "text|csv|json|html|pdf", "the form, when the name does not say it"};
constexpr Option kPage = {"page", "a4|letter", "the paper (else a4)"};
constexpr Option kForce = {"force", "", "overwrite a file that is there"};
constexpr Option kRaw = {"csv-raw", "", "CSV with text as it is, without the mark before = + - @"};
constexpr Option kPrintOptions[] = {kOut, kForm, kPage, kForce, kRaw};
constexpr Option kTotalsOptions[] = {{"by-product", "", "one row for each product, not each class"}, {"split", "car|job|person", "drained, put back, new, lost and missing by car, job or person"}, kOut, kForm, kPage, kForce, kRaw};
constexpr Option kLabelOptions[] = {{"out", "FILE", "write it to a file; its name says the form: .pdf or .html", false, 'o'}, {"sheet", "", "eight on a sheet to cut, else one a page"}, kPage, kForce};
constexpr Operand kPlacesOperand[] = {{"PLACE", "a waste place of the shop", false}, {"PLACE", "further ones", true, true}};
constexpr Operand kSpanOperand[] = {{"SPAN", "2026-03, 2026-q1, 2026, or 2026-01-01..2026-03-31 (else this month)", true}};
constexpr Operand kMonthOperand[] = {{"MONTH", "2026-03, last-month"}};
constexpr Option kHaul = {"distance", "DISTANCE", "how far waste goes to it: 210mi"};
constexpr Option kReceivesAs = {"receives-as", "collection-centre|aggregation-point",
                                "what it is recognised as, for loads in the shop's own vehicle"};
constexpr Option kForStream = {
    "for", "STREAM", "whose waste goes to it, while none has gone anywhere; again for each", true};
constexpr Option kRegistered = {"registered", "DATE",
                                "of a carrier: the day its registration was made or renewed"};
constexpr Operand kFirmOperands[] = {{"CODE", "a short name of your own: letters, digits and -"}, {"NAME", "the firm's name, in quotes"}};
constexpr Option kFirmOptions[] = {{"carries", "", "it carries waste"}, {"receives", "", "it receives waste"}, {"number", "WHAT=NUMBER", "a registration, permit or identification number; again for each", true}, {"contact", "TEXT", "how to reach them"}, kHaul, kReceivesAs, kForStream, kRegistered};
constexpr Operand kFirmOperand[] = {{"FIRM", "a firm of the book, by its code"}};
constexpr Option kFirmChangeOptions[] = {kHaul, kReceivesAs, kForStream, kRegistered,
                                         {"why", "TEXT", "where that is from"}};
constexpr Operand kRuleSetOptional[] = {{"SET", "a rule set from `baybook rules list` (else the book's)", true}};
constexpr Operand kRuleSetOperand[] = {{"SET", "a rule set from `baybook rules list`"}};
constexpr Option kRulesSetOptions[] = {{"from", "DATE", "the first day (else today)"}, {"file", "FILE", "the shop's own file on top; its text goes into the log"}};
constexpr Operand kFileOperand[] = {{"FILE", "the shop's own rule file"}};
constexpr Option kRulesCheckOptions[] = {{"set", "SET", "the rule set it lies over (else us-federal)"}};
constexpr Operand kPaperOperand[] = {{"PAPER", "the number of the pick-up's paper, or of its entry"}};
constexpr Option kConfirmOptions[] = {{"signed", "DATE", "when the receiver signed"}, {"measured", "LINE=AMOUNT", "what was measured of a line of the pick-up; again for each", true}, kNote};
constexpr Option kPickupListOptions[] = {{"open", "", "only those whose signed copy has not come"}};
constexpr Operand kAreaOperand[] = {{"AREA", "where containers stand: yard"}};
constexpr Option kInspectOptions[] = {{"found", "TEXT", "something that has to be put right"}, kNote, {"next", "DATE", "the next look (else by the rules)"}};
constexpr Operand kStreamOperand[] = {{"STREAM", "a stream of the rules or of a waste place"}};
constexpr Option kDetermineOptions[] = {{"hazardous", "", "it is"}, {"not-hazardous", "", "it is not"}, {"basis", "test|knowledge", "by a test, or by what is known (else a test if a laboratory is named)"}, {"why", "TEXT", "the result, or what is known and from where"}, {"laboratory", "TEXT", "who tested it"}, {"place", "PLACE", "only what stands there (else every batch)"},
                                        {"code", "CODE", "its waste code: D008, F005, \"16 01 14*\"; again for each", true},
                                        {"found", "WHAT=FIGURE", "a figure of the analysis: lead=5.0mg/L, halogens=1200ppm, flash-point=140F; again for each", true},
                                        {"ground", "mixed|halogens|disposal|conditions", "why what is left out of the count is hazardous waste all the same"},
                                        {"rebuts", "", "the reason rebuts the presumption of the halogens of used oil"}};
constexpr Operand kPaperAddOperands[] = {{"ENTRY", "the entry it belongs to"}, {"FILE", "the scan, sheet or photograph"}};
constexpr Option kPaperAddOptions[] = {{"title", "TEXT", "what it is"}};
constexpr Operand kDeadlineAddOperands[] = {{"CODE", "a short name of your own"}, {"DATE", "the day: 2027-03-01"}};
constexpr Option kDeadlineAddOptions[] = {{"what", "TEXT", "what has to be done"}, {"every", "12mo", "it comes again so many months later"}, {"section", "TEXT", "the section that asks for it"}};
constexpr Operand kDeadlineOperand[] = {{"CODE", "a deadline from `baybook deadline list`"}};
constexpr Option kDeadlineDoneOptions[] = {{"next", "DATE", "the next day (else by its months)"}, kNote};
constexpr Operand kFilingOperand[] = {
    {"WHAT", "biennial-report, re-notification, exception-report, event-notice, return-received, "
             "carrier-record, receiver-record, or a name of your own"}};
constexpr Option kFilingOptions[] = {
    {"filed", "DATE", "when it was filed, or received"},
    {"period", "YEAR|QUARTER", "what it is for: 2025, 2026-q1"},
    {"about", "PAPER|ENTRY|FIRM", "the pick-up of an exception report, an event, a firm"},
    {"electronic", "", "it was filed in the national electronic system"},
    {"on-paper", "", "it was filed on paper"},
    kNote,
};
constexpr Operand kStandingEntry[] = {{"ENTRY", "its entry, from `baybook limits`"}};
constexpr Option kEventOptions[] = {
    {"planned", "", "it was told ahead"},
    {"unplanned", "", "it came by itself"},
    {"from", "DATE", "its first day"},
    {"container", "PLACE", "a waste place that holds nothing else; again for each", true},
    {"petitioned", "", "one more in its year, which the authority allowed"},
    kNote,
};
constexpr Option kEndOptions[] = {{"last", "DATE", "the last day"}, kNote};
constexpr Option kHoldOptions[] = {{"from", "DATE", "the day on which it began"}, kNote};
constexpr Operand kExtendedPlace[] = {{"PLACE", "the container that may stand longer"}};
constexpr Option kExtensionOptions[] = {{"days", "NUMBER", "how many days more"}, {"granted", "DATE", "when the authority granted them"}, kNote};
constexpr Option kEntriesOptions[] = {
    {"saying", "TEXT", "only with these words in them, whatever their case and accents"},
    {"car", "CAR", "only of this car"}, {"place", "PLACE", "only of this place"},          {"day", "DATE", "only of this day"},
    {"from", "DATE", "from this day"},  {"until", "DATE", "until this day"}, {"newest", "NUMBER", "at most so many, the newest (else 40)"},
};
constexpr Operand kEntryOperands[] = {{"ENTRY", "its number, 17@office for another installation's, or last"}};
constexpr Option kCorrectOptions[] = {
    {"why", "TEXT", "why it is put right"},
    {"withdraw", "", "it did not happen"},
    {"amount", "AMOUNT", "the right amount"},
    {"from", "PLACE", "the right place it came from"},
    {"into", "PLACE", "the right place it went"},
    {"fluid", "FLUID", "the right product: delivered, taken from a shelf, or gauged"},
    {"odo", "READING", "the right odometer reading"},
    kReplaced,
    kRolledOver,
    {"no-odo", "", "the opening of a job says no reading"},
    {"text", "TEXT", "the right text"},
    {"code", "CODE", "the right code"},
    {"part", "PART", "the right part number"},
    {"lot", "LOT", "the right lot"},
    {"doc", "NUMBER", "the right paper number"},
    {"torque", "TORQUE", "the right torque"},
    {"takes-out", "ENTRY|PART", "all that work or a fitted part took out, for what it says so far",
     true},
    {"line", "NUMBER", "which line of a movement (else 1)"},
    {"share", "SUBSTANCE=PERCENT", "all shares of a product or of a spill, for what it says so far", true},
    {"distance", "DISTANCE", "how far a load went, or a firm is"},
    {"with-dependants", "", "withdraw what stands on it as well"},
};
constexpr Operand kExchangeOperand[] = {{"FILE", "the exchange file; - for standard input or output"}};
constexpr Option kExchangeOutOptions[] = {
    {"since", "SEAL", "only what comes after this seal of the other book; again for each installation", true},
    {"force", "", "overwrite the file"},
};
constexpr Option kYesAsked = {"yes", "", "do not ask first"};
constexpr Option kExchangeInOptions[] = {
    {"call", "OLD=NEW", "another tag for an installation, when two have the same", true},
    {"accept", "TAG", "accept an installation, its digest compared; again for each", true},
    {"meet", "TAG", "take in an installation of another site, and accept nothing; again for each",
     true},
    kYesAsked,
};
constexpr Operand kExchangeFolder[] = {
    {"FOLDER", "the folder that the books of the workshop share, or a stick"}};
constexpr Option kExchangeWithOptions[] = {
    {"every", "TIME", "again and again until it is stopped: 30s, 10m, 1h"},
    kExchangeInOptions[0],
    kExchangeInOptions[1],
    kExchangeInOptions[2],
    kYesAsked,
};
constexpr Operand kTagOperand[] = {{"TAG", "an installation, as exchange list names it"}};
constexpr Operand kHeldOperand[] = {{"ENTRY", "an entry of another installation, 31@office"}};
constexpr Option kWordOptions[] = {kYesAsked};
constexpr Option kForgetOptions[] = {
    {"from", "NUMBER", "only from this entry of it on (else all of it)"}, kYesAsked};
constexpr Operand kCsvOperand[] = {{"FILE", "a CSV file whose first row names its columns; - for standard input"}};
constexpr Option kExportOptions[] = {kOut, kForce, kRaw};
constexpr Operand kSettleOperands[] = {{"ENTRY", "the entry that made the one that stays, as settle list shows it"}, {"ENTRY", "the entry that made the other one"}};
constexpr Operand kKeepOperands[] = {{"ENTRY", "the one that holds, as settle list shows it"}};
constexpr Operand kRenameOperands[] = {{"ENTRY", "the entry that made it"}, {"NAME", "its new name"}};
constexpr Option kWhy[] = {{"why", "TEXT", "the reason; it stays in the book"}};
constexpr Operand kBackupOperands[] = {{"FILE", "the file to make", true}};
constexpr Option kBackupOptions[] = {
    {"into", "FOLDER", "a file in that folder, named by tag, day, number and digest"},
    {"keep", "N", "with --into: the oldest backups of this book beyond N go"},
    {"continue", "FILE", "a copy that goes on as a book of its own (needs --tag)"},
    {"tag", "TAG", "with --continue: short name of the new installation"},
    {"force", "", "over a file of that name, never over a book"},
};
constexpr Operand kRestoreOperand[] = {{"FILE", "the backup"}};
constexpr Option kRestoreOptions[] = {
    {"tag", "TAG", "short name of the installation that goes on (else the old one with a number)"},
    {"over-newer", "", "also where the book there opens and has entries that the backup does not have"},
};
constexpr Option kYes = {"yes", "", "do not ask first: what is erased does not come back"};
constexpr Option kWhenAllowed = {"when-allowed", "", "while a rule holds it: put on record that it was asked for"};
constexpr Option kEraseReason = {"reason", "request|expired", "why it goes (else request)"};
constexpr Option kEraseOptions[] = {kWhenAllowed, kEraseReason, kYes};
constexpr Option kEraseAskedOptions[] = {kEraseReason, kYes};
constexpr Option kEraseCarOptions[] = {
    {"keeper", "", "its keepers and how to reach them (what is meant when nothing is said)"},
    {"plate", "", "every plate it wore; it is called by its number then: car:6"},
    {"vin", "", "its VIN"},
    {"texts", "", "complaints, work, results and notes of its jobs"},
    {"all", "", "all of these"},
    kWhenAllowed,
    kEraseReason,
    kYes,
};
constexpr Operand kEraseCarOperand[] = {{"CAR", "its whole plate, or its number: car:6"}};
constexpr Operand kErasePersonOperand[] = {{"NAME", "the person's name"}};
constexpr Operand kEraseFirmOperand[] = {{"FIRM", "a firm of the book, by its code"}};
constexpr Operand kEraseEntryOperands[] = {{"ENTRY", "its number, 17@office for another installation's, or last"}, {"FIELD", "one of its private texts, as `baybook entry` lists them (else all)", true}};
constexpr Operand kEraseAskedOperand[] = {{"ENTRY", "the entry that asked for it, from `baybook due`"}};
constexpr Option kProveOptions[] = {{"seal", "TAG:NUMBER:HEX", "a seal from a printed page"}, {"rebuild", "", "make every table that is derived from the log anew, then prove"}};

constexpr std::string_view kSetUp = "Setting up";
constexpr std::string_view kJobs = "A job";
constexpr std::string_view kFluids = "Fluids and waste";
constexpr std::string_view kLook = "Looking things up";
constexpr std::string_view kOffice = "The office";
constexpr std::string_view kDue = "What is due";
constexpr std::string_view kRight = "Putting right and proving";
constexpr std::string_view kTogether = "Bringing books together";

constexpr Verb kVerbs[] = {
    {"start", kSetUp, "make a new book", {"baybook start marsh.baybook --site \"Saltmarsh Motor Works\" --tag bay --zone Europe/Lisbon", "baybook start marsh.baybook --site \"Saltmarsh Motor Works\" --tag bay --volume usgal --distance mi --gallon us"}, kStartOperands, kStartOptions, Does::neither, run_start, {}},
    {"place add", kSetUp, "a pan, keg, can or drum", {"baybook place add pan-1 --role catch --size 20L", "baybook place add drum-coolant --role waste --takes coolant --size 180L"}, kCodeOperand, kPlaceOptions, Does::write, run_place_add, {}},
    {"place seal", kSetUp, "a filling is finished and waits for its pick-up", {"baybook place seal drum-coolant", "baybook place seal drum-coolant --note \"lid banded\""}, kPlaceOperand, kNoteOptions, Does::write, run_place_seal, {}},
    {"place open", kSetUp, "an empty container stands there again", {"baybook place open drum-coolant", "baybook place open drum-coolant --on yesterday"}, kPlaceOperand, kNoteOptions, Does::write, run_place_open, {}},
    {"place retire", kSetUp, "a place is not used any more", {"baybook place retire pan-2", "baybook place retire pan-2 --note \"cracked\""}, kPlaceOperand, kNoteOptions, Does::write, run_place_retire, {}},
    {"place bulk", kSetUp, "a stock place is one tank: what comes in mixes, and leaves in proportion", {"baybook place bulk tank-1", "baybook place bulk tank-1 --note \"both deliveries in one tank\""}, kPlaceOperand, kNoteOptions, Does::write, run_place_bulk, {}},
    {"place shelf", kSetUp, "a stock place is a shelf: products are kept apart", {"baybook place shelf tank-1", "baybook place shelf tank-1 --on yesterday"}, kPlaceOperand, kNoteOptions, Does::write, run_place_shelf, {}},
    {"place list", kSetUp, "every place and how full it is (the same as levels)", {"baybook place list", "baybook place list --json"}, {}, kLevelsOptions, Does::read, run_levels, {}},
    {"fluid add", kSetUp, "a product that the shop uses", {"baybook fluid add oat-violet --class coolant --product \"Violet OAT premix\"", "baybook fluid add hoat-blue --class coolant --density 1.08kg/L --source \"maker's data sheet\""}, kCodeOperand, kFluidOptions, Does::write, run_fluid_add, {}},
    {"fluid change", kSetUp, "what a product is made of",
     {"baybook fluid change oat-violet --share \"ethylene glycol=50%\"",
      "baybook fluid change brake-clean --share toluene=20..30% --share xylenes=5%"},
     kFluidOperand, kFluidChangeOptions, Does::write, run_fluid_change,
     "All the shares of it, by mass: a spill is compared with the quantities of the rules by them,\n"
     "those before it too. What is not named is taken not to be in it."},
    {"fluid list", kSetUp, "products of the book and every class", {"baybook fluid list", "baybook fluid list --json"}, {}, {}, Does::read, run_fluid_list, {}},
    {"person add", kSetUp, "someone who writes in the book", {"baybook person add Tam", "baybook person add \"Oona Reed\" --contact \"bay 2\""}, kNameOperand, kPersonOptions, Does::write, run_person_add, {}},
    {"person list", kSetUp, "who is in the book", {"baybook person list", "baybook person list --json"}, {}, {}, Does::read, run_person_list, {}},
    {"car add", kSetUp, "register a car", {"baybook car add MARSH-07 --make Corvane --model Tern --year 2014 --circuit coolant=6.8L", "baybook car add MARSH-08 --circuit coolant=6.8L:OAT --circuit engine-oil=4.2L:\"5W-30 low ash\""}, kPlateOperand, kCarOptions, Does::write, run_car_add, {}},
    {"car change", kSetUp, "new plate, keeper or circuit; or scrapped", {"baybook car change MARSH-07 --plate MARSH-70", "baybook car change MARSH-07 --scrapped --note \"rust\""}, kCarOperand, kCarChangeOptions, Does::write, run_car_change, {}},
    {"car show", kSetUp, "what is known about a car", {"baybook car show MARSH-07", "baybook car show 4417 --json"}, kCarOperand, {}, Does::read, run_car_show, {}},
    {"car list", kSetUp, "all cars", {"baybook car list", "baybook car list --json"}, {}, {}, Does::read, run_car_list, {}},

    {"job open", kJobs, "a car comes in", {"baybook job open MARSH-07 --odo 88210km --for \"water pump weeping\"", "baybook job open MARSH-07 --odo 12km --replaced --odo-reason \"cluster dead\""}, kCarOperand, kJobOpenOptions, Does::write, run_job_open, {}},
    {"code", kJobs, "a fault code was read, cleared or came back", {"baybook code 17 P0217", "baybook code 17 P0217 --cleared"}, kCodeOperands, kCodeOptions, Does::write, run_code, {}},
    {"work", kJobs, "what was done", {"baybook work 17 \"water pump replaced, belt kept\"", "baybook work 17 \"pump taken out, warranty claim\" --takes-out WP-4471"}, kWorkOperands, kWorkOptions, Does::write, run_work, {}},
    {"fit", kJobs, "a part was fitted, and where the old one went", {"baybook fit 17 WP-4471 --what \"water pump\" --lot L22 --warranty 24mo --old core", "baybook fit 17 OF-12 --what \"oil filter\" --old waste:drum-filters --old-class oil-filters --old-amount 1pcs"}, kFitOperands, kFitOptions, Does::write, run_fit, {}},
    {"torque", kJobs, "a fastener was tightened", {"baybook torque 17 \"pump bolts\" 22Nm", "baybook torque 17 \"wheel nuts\" 81lbft"}, kTorqueOperands, {}, Does::write, run_torque, {}},
    {"odo", kJobs, "an odometer reading", {"baybook odo MARSH-07 88240km", "baybook odo MARSH-07 12mi --rolled-over"}, kOdoOperands, kOdoOptions, Does::write, run_odo,
     "A reading that is less than the one before says which it was. --rolled-over: the odometer came to its last figure and began\nagain at 0; what it counts to is added. --replaced: this is the first reading of another instrument, and distance goes on from\nit; a reading of the old one at the change loses nothing. --misread: the reading before was wrong and is withdrawn."},
    {"job close", kJobs, "the car leaves; its fluid accounts must close", {"baybook job close 17 --result \"tight, no leak\" --recheck \"coolant level\" --after 3d", "baybook job close 17 --was-low"}, kJobOperand, kJobCloseOptions, Does::write, run_job_close,
     "Each --after belongs to the --recheck before it. What went in and what came out agree within 5 % of\n"
     "what the circuit holds, at least 0.2 L, of refrigerant 30 g (or as the shop's rule file says). More in\n"
     "than out asks for --was-low or --missing; what ran out here is a spill. A circuit that goes out short,\n"
     "or anything else, asks for --as-is REASON."},
    {"job show", kJobs, "one job with its fluid accounts", {"baybook job show 17", "baybook job show MARSH-07 --json"}, kJobOperand, {}, Does::read, run_job_show, {}},
    {"job list", kJobs, "all jobs", {"baybook job list --open", "baybook job list --json"}, {}, kJobListOptions, Does::read, run_job_list, {}},

    {"drain", kFluids, "out of a car into a pan, keg or drum", {"baybook drain 17 coolant 5.4L --into pan-1", "baybook drain MARSH-07 engine-oil ~4L --into drum-oil"}, kDrainOperands, kDrainOptions, Does::write, run_drain, {}},
    {"filter", kFluids, "clean what is in a pan and keep it", {"baybook filter pan-1 4.2L --into keep-1 --through \"10 um paper\"", "baybook filter pan-1 all --into keep-1"}, kPlaceAmountOperands, kFilterOptions, Does::write, run_filter, {}},
    {"fill", kFluids, "into a car, kept or new", {"baybook fill 17 coolant 4.2L --from keep-1", "baybook fill 17 coolant 1.9L --from can-1 --fluid oat-violet"}, kFillOperands, kFillOptions, Does::write, run_fill, {}},
    {"spill", kFluids, "out of a car or a place onto the ground", {"baybook spill 17 coolant 0.5..1.2L --picked-up \"granules 1.5kg\" --into drum-absorb", "baybook spill pan-1 0.4L --picked-up 0.3L --into drum-coolant"}, kSpillOperands, kSpillOptions, Does::write, run_spill,
     "--picked-up with an amount alone is the fluid itself, got back: the rest is gone. With a word before it (granules,\nrags, absorbent) it is what soaked the fluid up: that much new waste, and the fluid counts as gone.\n--into holds for every --picked-up before it that has none yet; given once, for all."},
    {"decant", kFluids, "from one place of the shop to another", {"baybook decant pan-1 all --into drum-coolant", "baybook decant keep-1 2L --into drum-coolant"}, kPlaceAmountOperands, kDecantOptions, Does::write, run_decant, {}},
    {"receive", kFluids, "a delivery of new fluid", {"baybook receive oat-violet 20L --into can-1 --lot 7731", "baybook receive oat-violet 20L --into can-1 --doc 5531 --from \"Tarn Supplies\""}, kReceiveOperands, kReceiveOptions, Does::write, run_receive, {}},
    {"discard", kFluids, "shop waste that belongs to no job", {"baybook discard absorbent 2kg --into drum-absorb", "baybook discard batteries 1pcs --into battery-box --note \"left at the door\""}, kDiscardOperands, kDiscardOptions, Does::write, run_discard, {}},
    {"gauge", kFluids, "what a place holds, read off or weighed", {"baybook gauge drum-coolant 62L --reason \"evaporation\"", "baybook gauge drum-coolant --gross 84kg --tare 17kg --density 1.07kg/L --source \"data sheet\""}, kGaugeOperands, kGaugeOptions, Does::write, run_gauge, {}},
    {"pickup", kFluids, "a carrier takes waste away", {"baybook pickup --carrier \"Quill & Tarn Recovery\" --doc 0041233 --from drum-coolant=all --fate recycle", "baybook pickup --carrier \"Quill & Tarn Recovery\" --doc 0041234 --from drum-oil=180L --fate recycle --from drum-absorb=all --fate dispose"}, {}, kPickupOptions, Does::write, run_pickup, {}},

    {"last", kLook, "what was last done to a car, on one screen", {"baybook last MARSH-07", "baybook last MARSH-07 coolant"}, kLastOperands, {}, Does::read, run_last, {}},
    {"history", kLook, "the whole story of a car", {"baybook history MARSH-07", "baybook history MARSH-07 --as-of 2026-03-31"}, kCarOperand, kPrintOptions, Does::read, run_history, {}},
    {"fitted", kLook, "which cars carry a part, and where it came off", {"baybook fitted WP-4471", "baybook fitted WP-4471 --lot L22"}, kFittedOperands, kFittedOptions, Does::read, run_fitted, {}},
    {"levels", kLook, "how full every place is", {"baybook levels", "baybook levels --circuits"}, {}, kLevelsOptions, Does::read, run_levels, {}},
    {"totals", kLook, "a month's fluids, in and out", {"baybook totals 2026-03", "baybook totals 2026-01-01..2026-03-31 --by-product"}, kTotalsOperands, kTotalsOptions, Does::read, run_totals, {}},
    {"entries", kLook, "what was written", {"baybook entries --car MARSH-07", "baybook entries --saying \"water pump\""}, {}, kEntriesOptions, Does::read, run_entries, {}},
    {"entry", kLook, "one entry in full", {"baybook entry 17", "baybook entry last --json"}, kEntryOperands, {}, Does::read, run_entry, {}},
    {"cars", kLook, "all cars (the same as car list)", {"baybook cars", "baybook cars --json"}, {}, {}, Does::read, run_car_list, {}},
    {"jobs", kLook, "all jobs (the same as job list)", {"baybook jobs --open", "baybook jobs --json"}, {}, kJobListOptions, Does::read, run_job_list, {}},

    {"rules list", kOffice, "the rule sets that come with the program", {"baybook rules list", "baybook rules list --json"}, {}, {}, Does::neither, run_rules_list, {}},
    {"rules show", kOffice, "every value of a rule set with its section and how sure it is", {"baybook rules show us-federal", "baybook rules show --form csv --out rules.csv"}, kRuleSetOptional, kPrintOptions, Does::read, run_rules_show, {}},
    {"rules set", kOffice, "the book goes by another rule set from a day on", {"baybook rules set us-federal --from 2026-01-01", "baybook rules set us-california --file our-rules.toml --from 2026-07-01"}, kRuleSetOperand, kRulesSetOptions, Does::write, run_rules_set, "A month is judged by the rules of its last day. A shop's own file becomes a part of the log, so that an old month can be judged again."},
    {"rules check", kOffice, "read a shop's own rule file and say what is wrong with it", {"baybook rules check our-rules.toml", "baybook rules check our-rules.toml --set eu"}, kFileOperand, kRulesCheckOptions, Does::neither, run_rules_check, {}},
    {"firm add", kOffice, "a carrier or receiver of waste", {"baybook firm add quill-tarn \"Quill & Tarn Recovery\" --carries --receives --number \"permit=T-118\"", "baybook firm add fen-works \"Fen Works\" --receives"}, kFirmOperands, kFirmOptions, Does::write, run_firm_add, {}},
    {"firm change", kOffice, "how far a firm is, what it is recognised as, when it was registered",
     {"baybook firm change fen-works --distance 210mi",
      "baybook firm change fen-works --receives-as collection-centre"},
     kFirmOperand, kFirmChangeOptions, Does::write, run_firm_change,
     "It holds from the beginning: what is judged by it is judged anew."},
    {"firm list", kOffice, "carriers and receivers of the book", {"baybook firm list", "baybook firm list --json"}, {}, {}, Does::read, run_firm_list, {}},
    {"pickup confirm", kOffice, "the signed copy of a pick-up's paper came back", {"baybook pickup confirm 0041233 --signed 2026-03-20", "baybook pickup confirm 0041233 --signed yesterday --measured 1=178L"}, kPaperOperand, kConfirmOptions, Does::write, run_pickup_confirm, {}},
    {"pickup list", kOffice, "pick-ups and whether their papers came back", {"baybook pickup list --open", "baybook pickup list --json"}, {}, kPickupListOptions, Does::read, run_pickup_list, {}},
    {"inspect", kOffice, "somebody looked at the containers of an area", {"baybook inspect yard", "baybook inspect yard --found \"lid of drum-coolant open\" --next 2026-03-16"}, kAreaOperand, kInspectOptions, Does::write, run_inspect, {}},
    {"determine", kOffice, "why a stream is or is not hazardous", {"baybook determine coolant --not-hazardous --found lead=1.2mg/L --why \"sheet 4471\" --laboratory \"Reedbank Analysis\"", "baybook determine used-oil --hazardous --place drum-oil --ground mixed --code F005 --why \"solvent went in\""}, kStreamOperand, kDetermineOptions, Does::write, run_determine, {}},
    {"paper add", kOffice, "keep a signed copy, laboratory sheet or photograph beside the book", {"baybook paper add 41 scan.pdf --title \"signed copy of 0041233\"", "baybook paper add last sheet.jpg"}, kPaperAddOperands, kPaperAddOptions, Does::write, run_paper_add, "The file is copied into the folder BOOK.papers under a name made from its digest; prove finds one that is missing or changed."},
    {"paper list", kOffice, "papers on file", {"baybook paper list", "baybook paper list --json"}, {}, {}, Does::read, run_paper_list, {}},
    {"deadline add", kOffice, "a renewal or report by a day", {"baybook deadline add carrier-licence 2027-03-01 --every 36mo --what \"renew the carrier registration\"", "baybook deadline add tank-test 2026-11-30"}, kDeadlineAddOperands, kDeadlineAddOptions, Does::write, run_deadline_add, {}},
    {"deadline done", kOffice, "it was done; the next one follows by its months", {"baybook deadline done carrier-licence", "baybook deadline done tank-test --next 2027-11-30"}, kDeadlineOperand, kDeadlineDoneOptions, Does::write, run_deadline_done, {}},
    {"deadline list", kOffice, "renewals and reports", {"baybook deadline list", "baybook deadline list --json"}, {}, {}, Does::read, run_deadline_list, {}},
    {"filing add", kOffice, "a report, notice or return was filed or received", {"baybook filing add biennial-report --period 2025 --filed 2026-02-20", "baybook filing add exception-report --about 0041233 --filed yesterday --electronic"}, kFilingOperand, kFilingOptions, Does::write, run_filing_add,
     "What `limits` asks for stands there until it is on record here. Keep its paper with `paper add`."},
    {"filing list", kOffice, "what was filed or received", {"baybook filing list", "baybook filing list --json"}, {}, {}, Does::read, run_filing_list, {}},
    {"event add", kOffice, "an episodic event, planned or not, with its containers", {"baybook event add --planned --from 2026-06-01 --container drum-event", "baybook event add --unplanned --from yesterday --container drum-event --container drum-7"}, {}, kEventOptions, Does::write, run_event_add,
     "What goes into these containers in its days does not count toward the category while the event keeps its terms."},
    {"event end", kOffice, "its waste was sent off", {"baybook event end 41 --last yesterday", "baybook event end 41 --last 2026-07-10"}, kStandingEntry, kEndOptions, Does::write, run_event_end, {}},
    {"hold add", kOffice, "an enforcement action that is not resolved: records are kept", {"baybook hold add --from 2026-03-02", "baybook hold add --from yesterday --note \"letter of the authority\""}, {}, kHoldOptions, Does::write, run_hold_add, {}},
    {"hold end", kOffice, "the enforcement action was resolved", {"baybook hold end 52 --last yesterday", "baybook hold end 52 --last 2026-11-30"}, kStandingEntry, kEndOptions, Does::write, run_hold_end, {}},
    {"extension add", kOffice, "days that the authority granted one container", {"baybook extension add drum-solvent --days 14 --granted yesterday", "baybook extension add drum-solvent --days 30 --granted 2026-06-20"}, kExtendedPlace, kExtensionOptions, Does::write, run_extension_add, {}},
    {"limits", kOffice, "standing limits, clocks and deadlines, the nearest first", {"baybook limits", "baybook limits --as-of 2026-03-31 --out limits.pdf"}, {}, kPrintOptions, Does::read, run_limits, {}},
    {"register", kOffice, "the chronological register of waste", {"baybook register 2026-q1", "baybook register 2026 --out register.pdf --page letter"}, kSpanOperand, kPrintOptions, Does::read, run_register, {}},
    {"close", kOffice, "freeze the figures of a month", {"baybook close 2026-03", "baybook close last-month --note \"handed to the authority\""}, kMonthOperand, kNoteOptions, Does::write, run_close, "Refused while a pan is undecided or the books do not balance. What changes the month later shows as an amendment,\neach difference with who and why, wherever the month is printed."},
    {"label", kOffice, "container labels", {"baybook label drum-coolant --out label.pdf", "baybook label drum-coolant drum-oil --sheet --out labels.html"}, kPlacesOperand, kLabelOptions, Does::read, run_label, {}},

    {"schedule set", kDue, "how often a task falls due on one car", {"baybook schedule set MARSH-07 brake --every 24mo --source \"workshop booklet, page 12\"", "baybook schedule set MARSH-07 engine-oil --every 12mo --every 15000km --source \"workshop booklet, page 9\""}, kTaskOperands, kScheduleOptions, Does::write, run_schedule_set,
     "Whichever limit comes first. A task named like a circuit is done by a job that drains and fills it; with --part, by a job\nthat fits it; any other by `due done`."},
    {"schedule load", kDue, "the intervals of models and specifications, from a file", {"baybook schedule load tern.toml", "baybook schedule load tern.toml --dry-run"}, kFileOperand, {}, Does::write, run_schedule_load,
     "A file of the same name takes the place of the one before. Its form is told in docs/what-is-due.md."},
    {"schedule list", kDue, "schedules as they hold", {"baybook schedule list", "baybook schedule list --car MARSH-07"}, {}, kOfCarOptions, Does::read, run_schedule_list, {}},
    {"due", kDue, "what must happen next, by when, and why", {"baybook due --within 2w", "baybook due --out week.pdf --within 7d"}, {}, kDueOptions, Does::read, run_due,
     "With --as-of the book as it stood at the end of that day. With --out due.ics a calendar file; it holds no plate, name or text\nunless --personal asks for them."},
    {"due done", kDue, "a task was done, or when it was last done elsewhere", {"baybook due done MARSH-07 brake --job 17", "baybook due done MARSH-07 timing-belt --when 2024-05-02 --odo 61200km --note \"bill of the shop before\""}, kTaskOperands, kDueDoneOptions, Does::write, run_due_done, {}},
    {"due put-off", kDue, "put off a task or a recheck, with the reason", {"baybook due put-off MARSH-07 brake --until 2026-05-01 --why \"fluid on order\"", "baybook due put-off 17/2 --until 2026-05-01 --why \"keeper is abroad\""}, kPutOffOperands, kPutOffOptions, Does::write, run_due_put_off, {}},
    {"recheck", kDue, "what a recheck found", {"baybook recheck 17/1 --good --found \"level where it was\"", "baybook recheck 17/2 --bad --found \"P0217 is back\""}, kRecheckOperand, kRecheckOptions, Does::write, run_recheck, {}},
    {"comebacks", kDue, "codes that came back after a job had cleared them", {"baybook comebacks", "baybook comebacks --by part"}, {}, kComebackOptions, Does::read, run_comebacks, {}},

    {"correct", kRight, "withdraw an entry or put its details right", {"baybook correct last --amount 5.6L --why \"read the jug wrong\"", "baybook correct 42 --withdraw --why \"wrong car\""}, kEntryOperands, kCorrectOptions, Does::write, run_correct,
     "The entry stays as it was written; a further entry says what holds instead, and every view follows."},
    {"erase car", kRight, "remove a car's keeper, plate, VIN or texts for good", {"baybook erase car MARSH-07 --dry-run", "baybook erase car MARSH-07 --keeper --plate --when-allowed"}, kEraseCarOperand, kEraseCarOptions, Does::write, run_erase_car,
     "Every version that was ever written goes, and no figure changes. Refused while a rule holds a record. Printed pages and\nolder backups are not reached: docs/personal-data.md."},
    {"erase person", kRight, "remove the name and contact of somebody who wrote in the book", {"baybook erase person \"Oona Reed\" --dry-run", "baybook erase person Tam --yes"}, kErasePersonOperand, kEraseOptions, Does::write, run_erase_person, "Their entries stay, as those of person:5. Free texts that name them are erased entry by entry."},
    {"erase firm", kRight, "remove the name and contact of a firm", {"baybook erase firm quill-tarn --dry-run", "baybook erase firm quill-tarn --when-allowed"}, kEraseFirmOperand, kEraseOptions, Does::write, run_erase_firm, {}},
    {"erase entry", kRight, "remove the private texts of one entry", {"baybook erase entry 17 note --yes", "baybook erase entry 17 --dry-run"}, kEraseEntryOperands, kEraseOptions, Does::write, run_erase_entry, {}},
    {"erase asked", kRight, "do what was asked for while a rule held it", {"baybook erase asked 41 --dry-run", "baybook erase asked 41 --yes"}, kEraseAskedOperand, kEraseAskedOptions, Does::write, run_erase_asked, {}},
    {"erase finish", kRight, "rid the files of what was erased while the book was open elsewhere", {"baybook erase finish", "baybook erase finish --dry-run"}, {}, {}, Does::write, run_erase_finish, {}},
    {"prove", kRight, "recompute the chain and every table", {"baybook prove", "baybook prove --seal bay:214:3f9a0c12d4e5b678"}, {}, kProveOptions, Does::read, run_prove,
     "Exit status 1 when something is wrong. The chain alone cannot show that its end was cut off, or that all of it was\nwritten anew: for that, compare a seal from a printed page with --seal."},

    {"backup", kRight, "a copy in one file, read again before it counts", {"baybook backup /media/stick/marsh.baybook", "baybook backup --into /media/stick --keep 14"}, kBackupOperands, kBackupOptions, Does::read, run_backup,
     "The papers beside the book are copied too. A backup opens like any book and is never written in. Its seal is printed:\nnote it on paper. With --into nothing is removed while a backup in the folder holds what the book does not."},
    {"backup restore", kRight, "a backup in the place of a book that is lost or damaged", {"baybook backup restore /media/stick/bay-2026-03-05-000123-3f9a0c12.baybook", "baybook backup restore bay.baybook --tag bay-2"}, kRestoreOperand, kRestoreOptions, Does::read, run_backup_restore,
     "The book goes on there as an installation of its own. What lay there, the file with its log, is put aside under another name.\nWhat was erased after the backup was made is named, as far as the list beside it or the book aside tells."},
    {"completion", kRight, "a completion script for your shell", {"baybook completion bash > ~/.local/share/bash-completion/completions/baybook", "source <(baybook completion bash)"}, kShellOperand, {}, Does::neither, run_completion,
     "It completes verbs, options, and the names of your book: places, fluids, people, cars, open jobs."},

    {"exchange with", kTogether, "take in what lies in a folder and lay this book's file there",
     {"baybook exchange with /media/stick", "baybook exchange with shared --every 10m"},
     kExchangeFolder, kExchangeWithOptions, Does::write, run_exchange_with,
     "Every other book's file is taken in, then this book's own is written anew; nothing else there is\n"
     "touched. How fresh each book is, whose clock is off and what changed is said. Exit status 1\n"
     "when a file could not be taken whole: it is taken the next time."},
    {"exchange out", kTogether, "the entries of this book as a file for another one", {"baybook exchange out for-office.exchange", "baybook exchange out new.exchange --since bay:214:3f9a0c12d4e5b678"}, kExchangeOperand, kExchangeOutOptions, Does::read, run_exchange_out,
     "The seal for --since is that of the other book: its `prove` prints one for each installation it has. Whole files are as good,\nonly longer. The file holds names, plates and texts."},
    {"exchange in", kTogether, "take in the entries of another book", {"baybook exchange in from-bay.exchange", "baybook exchange in from-bay.exchange --dry-run"}, kExchangeOperand, kExchangeInOptions, Does::write, run_exchange_in,
     "Any order, and the same file twice, give the same book. Of a damaged file nothing is taken. Exit status 1 when something was\nleft: a copy of a book that went on under the same installation is not taken beyond where it parts."},
    {"exchange none", kTogether, "a book in the place of a lost one waits for no other",
     {"baybook exchange none --dry-run", "baybook exchange none"}, {}, {}, Does::write,
     run_exchange_none,
     "Only when no other book is left that could have what was lost: backup restore says which may."},
    {"exchange list", kTogether, "the installations of this book and their first digests",
     {"baybook exchange list", "baybook exchange list --json"}, {}, {}, Does::read,
     run_exchange_list,
     "The digest is the same in every book that holds the installation: read it aloud over the\n"
     "telephone before you accept one."},
    {"exchange accept", kTogether, "what another installation does to our entries takes effect",
     {"baybook exchange accept office --dry-run", "baybook exchange accept office"},
     kTagOperand, kWordOptions, Does::write, run_exchange_accept,
     "What it corrects, settles and erases, for good. Compare the digest of its entry 1 first:\n"
     "exchange list, here and there. What a rule holds is not erased by it."},
    {"exchange agree", kTogether, "one entry of another installation takes effect",
     {"baybook exchange agree 31@office --dry-run", "baybook exchange agree 31@office"},
     kHeldOperand, kWordOptions, Does::write, run_exchange_agree,
     "For one that is not accepted, and for an erasure that a rule held.\n"
     "baybook due --for papers lists what waits."},
    {"exchange forget", kTogether, "throw out what came in the name of another installation",
     {"baybook exchange forget office --from 31 --dry-run", "baybook exchange forget office"},
     kTagOperand, kForgetOptions, Does::write, run_exchange_forget,
     "It is kept as an exchange file beside the book. Refused while entries of others name it,\n"
     "and for this book's own entries."},
    {"settle list", kTogether, "what two books did without knowing of each other", {"baybook settle list", "baybook settle list --json"}, {}, {}, Does::read, run_settle_list, {}},
    {"settle keep", kTogether, "of entries that cannot all be right, the one that holds", {"baybook settle keep 31@office", "baybook settle keep 12 --why \"the jug was read twice\""}, kKeepOperands, kWhy, Does::write, run_settle_keep, {}},
    {"settle join", kTogether, "two cars, places, fluids, people or firms are one", {"baybook settle join 12 7@office", "baybook settle join 12 7@office --why \"the same drum\""}, kSettleOperands, kWhy, Does::write, run_settle_join,
     "Everything written on the second counts for the first from the beginning. To undo it, withdraw the entry."},
    {"settle apart", kTogether, "two things of one name are two, and stay so", {"baybook settle apart 12 7@office --why \"the plate was moved over\"", "baybook settle apart 31 40@office --why \"one paper, two loads\""}, kSettleOperands, kWhy, Does::write, run_settle_apart, {}},
    {"settle rename", kTogether, "another name for one of two", {"baybook settle rename 7@office drum-oil-2", "baybook settle rename 9@office \"Maren Quill (office)\""}, kRenameOperands, kWhy, Does::write, run_settle_rename, {}},

    {"import cars", kTogether, "the cars of a list", {"baybook import cars cars.csv", "baybook import cars cars.csv --dry-run"}, kCsvOperand, {}, Does::write, run_import_cars,
     "Columns: plate (always), vin, make, model, year, engine, keeper, contact, circuits (coolant=6.8L:OAT; engine-oil=4.5L).\nAll rows or none. A row that was taken before is not taken again."},
    {"import readings", kTogether, "odometer and engine-hours readings of a list", {"baybook import readings readings.csv", "baybook import readings - < readings.csv"}, kCsvOperand, {}, Does::write, run_import_readings,
     "Columns: plate, day, reading (88210km, 1250h); counter (rolled-over, replaced) for one that shows less than the one\nbefore; reason, what is told beside it."},
    {"import tasks", kTogether, "when tasks were last done, from a list", {"baybook import tasks done.csv", "baybook import tasks done.csv --dry-run"}, kCsvOperand, {}, Does::write, run_import_tasks,
     "Columns: plate, task, day (always), odometer, hours, note. What is due counts from there."},
    {"export cars", kTogether, "the cars of this book as such a list", {"baybook export cars --out cars.csv", "baybook export cars"}, {}, kExportOptions, Does::read, run_export_cars, "Scrapped cars and cars without a plate are left out."},
    {"export readings", kTogether, "all readings as such a list", {"baybook export readings --out readings.csv", "baybook export readings"}, {}, kExportOptions, Does::read, run_export_readings, {}},
    {"export tasks", kTogether, "the tasks that were said to be done as such a list", {"baybook export tasks --out tasks.csv", "baybook export tasks"}, {}, kExportOptions, Does::read, run_export_tasks, {}},

    {"suggest", "", "what could be typed next, for completion scripts", {"baybook suggest -- dra", "baybook suggest -- drain MARSH-07 coolant 5.4L --into ''"}, kWordsOperand, {}, Does::neither, run_suggest, {}},
    {"manual", "", "the manual page as scdoc text, for the build", {"baybook manual", "baybook manual > baybook.1.scd"}, {}, {}, Does::neither, run_manual, {}},
};

}  // namespace

std::span<const Verb> verbs() noexcept { return kVerbs; }

const Verb* find(std::string_view name) noexcept {
  for (const Verb& v : kVerbs) {
    if (v.name == name) return &v;
  }
  return nullptr;
}

bool is_family(std::string_view word) noexcept {
  for (const Verb& v : kVerbs) {
    if (v.name.size() > word.size() && v.name.starts_with(word) && v.name[word.size()] == ' ') return true;
  }
  return false;
}

std::span<const Option> common_options(Does does) noexcept {
  switch (does) {
    case Does::write: return kWriting;
    case Does::read: return kReading;
    case Does::neither: break;
  }
  return kNeither;
}

std::string to_type(const Verb& verb) {
  return verb.does == Does::read ? std::string(verb.examples[0])
                                 : "baybook help " + std::string(verb.name);
}

std::string usage_line(const Verb& verb) {
  std::string out = "baybook " + std::string(verb.name);
  for (const Operand& o : verb.operands) out += o.optional ? " [" + std::string(o.name) + "]" : " " + std::string(o.name);
  if (!verb.options.empty()) out += " [options]";
  return out;
}

}  // namespace baybook::tool
