#include "store/schema.hpp"

namespace baybook::store {

// Packed integer keys, WITHOUT ROWID projections and no second unique index on the log: measured choices, see
// docs/decisions/0002. `moment` is the happened day * 4096 + a slot by the time of day (docs/format.md), so that entries without a
// time come after that day's timed ones. (moment, recorded, entry) is the effect order.
const char* const kLogTables = R"(
CREATE TABLE entry(id INTEGER PRIMARY KEY, recorded INTEGER NOT NULL, moment INTEGER NOT NULL, kind INTEGER NOT NULL, who INTEGER NOT NULL, body TEXT NOT NULL, digest BLOB NOT NULL);
CREATE TABLE private(entry INTEGER NOT NULL, field TEXT NOT NULL, salt BLOB NOT NULL, value TEXT NOT NULL, PRIMARY KEY(entry, field)) WITHOUT ROWID;
CREATE TABLE installation(origin INTEGER PRIMARY KEY, identity TEXT NOT NULL, tag TEXT NOT NULL, own INTEGER NOT NULL);
CREATE TABLE once(key BLOB PRIMARY KEY, request BLOB NOT NULL, entry INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE beside(name TEXT PRIMARY KEY, value BLOB NOT NULL) WITHOUT ROWID;
CREATE TABLE kind(number INTEGER PRIMARY KEY, name TEXT NOT NULL);
)";

const char* const kDerivedTables = R"(
CREATE TABLE correction(target INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, withdrawn INTEGER NOT NULL, PRIMARY KEY(target, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE amended(target INTEGER PRIMARY KEY, entry INTEGER NOT NULL, withdrawn INTEGER NOT NULL);
CREATE TABLE settlement(entry INTEGER PRIMARY KEY, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, joins INTEGER NOT NULL, keep INTEGER NOT NULL, other INTEGER NOT NULL);
CREATE TABLE settled(id INTEGER PRIMARY KEY, goes_by INTEGER NOT NULL);
CREATE TABLE erased(entry INTEGER NOT NULL, field TEXT NOT NULL, erasure INTEGER NOT NULL, asked INTEGER NOT NULL, PRIMARY KEY(entry, field, erasure)) WITHOUT ROWID;
CREATE TABLE place(id INTEGER PRIMARY KEY, code TEXT NOT NULL, role INTEGER NOT NULL, size INTEGER NOT NULL, dimension INTEGER NOT NULL, takes TEXT NOT NULL, stream TEXT NOT NULL, area TEXT NOT NULL, satellite INTEGER NOT NULL, specification TEXT NOT NULL);
CREATE INDEX place_code ON place(code) WHERE role <> 0;
CREATE TABLE mark(place INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, what INTEGER NOT NULL, PRIMARY KEY(place, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE fluid(id INTEGER PRIMARY KEY, code TEXT NOT NULL, class INTEGER NOT NULL, product TEXT NOT NULL, dimension INTEGER NOT NULL, density INTEGER NOT NULL);
CREATE TABLE person(id INTEGER PRIMARY KEY, name TEXT NOT NULL);
CREATE TABLE car(id INTEGER PRIMARY KEY, plate TEXT NOT NULL, key TEXT NOT NULL, vin TEXT NOT NULL, scrapped INTEGER NOT NULL, make TEXT NOT NULL, model TEXT NOT NULL, engine TEXT NOT NULL, year INTEGER NOT NULL);
CREATE TABLE plate(key TEXT NOT NULL, car INTEGER NOT NULL, entry INTEGER NOT NULL, worn TEXT NOT NULL, PRIMARY KEY(car, entry)) WITHOUT ROWID;
CREATE INDEX plate_key ON plate(key);
CREATE TABLE job(id INTEGER PRIMARY KEY, number INTEGER NOT NULL, car INTEGER NOT NULL, moment INTEGER NOT NULL, closed INTEGER NOT NULL, closed_moment INTEGER NOT NULL);
CREATE INDEX job_number ON job(number);
CREATE INDEX job_open ON job(car) WHERE closed = 0;
CREATE TABLE history(car INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, job INTEGER NOT NULL, kind INTEGER NOT NULL, PRIMARY KEY(car, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE reading(car INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, metres INTEGER NOT NULL, reset INTEGER NOT NULL, PRIMARY KEY(car, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE part(number TEXT NOT NULL, lot TEXT NOT NULL, entry INTEGER NOT NULL, PRIMARY KEY(number, lot, entry)) WITHOUT ROWID;
CREATE TABLE recheck(car INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, PRIMARY KEY(car, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE flow(entry INTEGER NOT NULL, seq INTEGER NOT NULL, line INTEGER NOT NULL, source INTEGER NOT NULL, target INTEGER NOT NULL, fluid INTEGER NOT NULL, dimension INTEGER NOT NULL, origin INTEGER NOT NULL, low INTEGER NOT NULL, best INTEGER NOT NULL, high INTEGER NOT NULL, estimated INTEGER NOT NULL, fate INTEGER NOT NULL, mode INTEGER NOT NULL, PRIMARY KEY(entry, seq)) WITHOUT ROWID;
CREATE TABLE leg(place INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, PRIMARY KEY(place, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE balance(place INTEGER NOT NULL, dimension INTEGER NOT NULL, fluid INTEGER NOT NULL, origin INTEGER NOT NULL, low INTEGER NOT NULL, best INTEGER NOT NULL, high INTEGER NOT NULL, PRIMARY KEY(place, dimension, fluid, origin)) WITHOUT ROWID;
CREATE TABLE account(origin INTEGER NOT NULL, place INTEGER NOT NULL, dimension INTEGER NOT NULL, low INTEGER NOT NULL, best INTEGER NOT NULL, high INTEGER NOT NULL, flows INTEGER NOT NULL, PRIMARY KEY(origin, place, dimension)) WITHOUT ROWID;
CREATE TABLE tally(month INTEGER NOT NULL, dimension INTEGER NOT NULL, fluid INTEGER NOT NULL, source INTEGER NOT NULL, target INTEGER NOT NULL, fate INTEGER NOT NULL, estimated INTEGER NOT NULL, low INTEGER NOT NULL, best INTEGER NOT NULL, high INTEGER NOT NULL, flows INTEGER NOT NULL, PRIMARY KEY(month, dimension, fluid, source, target, fate, estimated)) WITHOUT ROWID;
CREATE TABLE waste_tally(month INTEGER NOT NULL, place INTEGER NOT NULL, way INTEGER NOT NULL, other INTEGER NOT NULL, dimension INTEGER NOT NULL, fluid INTEGER NOT NULL, fate INTEGER NOT NULL, estimated INTEGER NOT NULL, low INTEGER NOT NULL, best INTEGER NOT NULL, high INTEGER NOT NULL, flows INTEGER NOT NULL, PRIMARY KEY(month, place, way, other, dimension, fluid, fate, estimated)) WITHOUT ROWID;
CREATE TABLE filling(place INTEGER NOT NULL, number INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, until_moment INTEGER NOT NULL, until_recorded INTEGER NOT NULL, until_entry INTEGER NOT NULL, PRIMARY KEY(place, number)) WITHOUT ROWID;
CREATE TABLE firm(id INTEGER PRIMARY KEY, code TEXT NOT NULL, name TEXT NOT NULL, carries INTEGER NOT NULL, receives INTEGER NOT NULL);
CREATE TABLE ruling(entry INTEGER PRIMARY KEY, day INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, name TEXT NOT NULL);
CREATE TABLE pickup(entry INTEGER PRIMARY KEY, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, document TEXT NOT NULL, carrier INTEGER NOT NULL, receiver INTEGER NOT NULL);
CREATE INDEX pickup_document ON pickup(document);
CREATE TABLE confirmed(pickup INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, day INTEGER NOT NULL, PRIMARY KEY(pickup, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE inspected(area TEXT NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, next INTEGER NOT NULL, faults INTEGER NOT NULL, PRIMARY KEY(area, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE determined(stream TEXT NOT NULL, place INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, hazardous INTEGER NOT NULL, PRIMARY KEY(stream, place, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE paper(about INTEGER NOT NULL, entry INTEGER NOT NULL, file TEXT NOT NULL, digest TEXT NOT NULL, bytes INTEGER NOT NULL, PRIMARY KEY(about, entry)) WITHOUT ROWID;
CREATE TABLE deadline(id INTEGER PRIMARY KEY, code TEXT NOT NULL, due INTEGER NOT NULL, months INTEGER NOT NULL);
CREATE TABLE deadline_done(deadline INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, next INTEGER NOT NULL, PRIMARY KEY(deadline, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE closed(month INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, PRIMARY KEY(month, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE schedule(entry INTEGER PRIMARY KEY, name TEXT NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, reuse_days INTEGER NOT NULL);
CREATE INDEX schedule_name ON schedule(name);
CREATE TABLE interval(schedule INTEGER NOT NULL, n INTEGER NOT NULL, car INTEGER NOT NULL, make TEXT NOT NULL, model TEXT NOT NULL, engine TEXT NOT NULL, from_year INTEGER NOT NULL, until_year INTEGER NOT NULL, specification TEXT NOT NULL, task TEXT NOT NULL, circuit INTEGER NOT NULL, parts TEXT NOT NULL, months INTEGER NOT NULL, metres INTEGER NOT NULL, minutes INTEGER NOT NULL, filtered INTEGER NOT NULL, PRIMARY KEY(schedule, n)) WITHOUT ROWID;
CREATE INDEX interval_car ON interval(car) WHERE car <> 0;
CREATE INDEX interval_model ON interval(make, model) WHERE model <> '';
CREATE INDEX interval_specification ON interval(specification) WHERE specification <> '';
CREATE TABLE task_done(car INTEGER NOT NULL, task TEXT NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, day INTEGER NOT NULL, metres INTEGER NOT NULL, minutes INTEGER NOT NULL, PRIMARY KEY(car, task, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE put_off(car INTEGER NOT NULL, item TEXT NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, until INTEGER NOT NULL, PRIMARY KEY(car, item, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE rechecked(closing INTEGER NOT NULL, n INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, good INTEGER NOT NULL, PRIMARY KEY(closing, n, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE hours(car INTEGER NOT NULL, moment INTEGER NOT NULL, recorded INTEGER NOT NULL, entry INTEGER NOT NULL, minutes INTEGER NOT NULL, reset INTEGER NOT NULL, PRIMARY KEY(car, moment, recorded, entry)) WITHOUT ROWID;
CREATE TABLE due_item(car INTEGER NOT NULL, item TEXT NOT NULL, kind INTEGER NOT NULL, day INTEGER NOT NULL, early INTEGER NOT NULL, late INTEGER NOT NULL, decided_by INTEGER NOT NULL, time_day INTEGER NOT NULL, due_metres INTEGER NOT NULL, at_metres INTEGER NOT NULL, at_day INTEGER NOT NULL, due_minutes INTEGER NOT NULL, at_minutes INTEGER NOT NULL, known INTEGER NOT NULL, over INTEGER NOT NULL, anchor INTEGER NOT NULL, anchor_day INTEGER NOT NULL, anchor_metres INTEGER NOT NULL, anchor_minutes INTEGER NOT NULL, filtered INTEGER NOT NULL, source INTEGER NOT NULL, n INTEGER NOT NULL, put_off INTEGER NOT NULL, put_off_until INTEGER NOT NULL, PRIMARY KEY(car, item)) WITHOUT ROWID;
CREATE INDEX due_day ON due_item(kind, day);
CREATE TABLE breach(entry INTEGER NOT NULL, place INTEGER NOT NULL, rule INTEGER NOT NULL, excess INTEGER NOT NULL, PRIMARY KEY(entry, place, rule)) WITHOUT ROWID;
)";

const char* const kViews = R"(
CREATE VIEW log_by_number AS SELECT i.tag AS installation, e.id & 1099511627775 AS number, k.name AS kind, date((e.moment >> 12) * 86400, 'unixepoch') AS happened, datetime(e.recorded / 1000, 'unixepoch') AS recorded_utc, lower(hex(e.digest)) AS digest, e.body AS body FROM entry e JOIN installation i ON i.origin = e.id >> 40 JOIN kind k ON k.number = e.kind;
CREATE VIEW level_by_place AS SELECT p.code AS place, b.dimension AS dimension, sum(b.best) AS best, sum(b.low) AS low, sum(b.high) AS high FROM balance b JOIN place p ON p.id = b.place GROUP BY b.place, b.dimension;
)";

const char* const kDerivedNames[] = {"correction", "amended", "settlement", "settled", "erased", "place", "mark", "fluid", "person", "car", "plate", "job", "history",
                                     "reading", "part", "recheck", "flow", "leg", "balance", "account", "tally", "waste_tally", "filling",
                                     "firm", "ruling", "pickup", "confirmed", "inspected", "determined", "paper", "deadline", "deadline_done", "closed", "schedule", "interval", "task_done", "put_off", "rechecked", "hours", "due_item", "breach", nullptr};

}  // namespace baybook::store
