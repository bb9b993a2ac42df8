#include <baybook/book.hpp>
#include <baybook/reports.hpp>

#include <fstream>
#include <string>

// A pan, a car, a job, 5.4 L drained. Nothing in the library reads the clock or a random device: both are handed in. Every answer is
// the value, or a refusal that says what is wrong and what to do instead.
inline baybook::Result<std::string> drain_one_car(const std::string& file, baybook::Instant now) {
  using namespace baybook;
  const Random random = [](std::uint8_t* bytes, std::size_t size) {
    std::ifstream source("/dev/urandom", std::ios::binary);
    source.read(reinterpret_cast<char*>(bytes), static_cast<std::streamsize>(size));
    return source.good();  // false: nothing is written with salts that are none
  };
  Settings settings;
  settings.site = "Saltmarsh Motor Works";
  settings.tag = "bay";
  settings.zone = "Europe/Lisbon";
  auto book = Book::start(file, settings, now, random);
  if (!book.ok()) return book.refusal();

  Stamp stamp;
  stamp.now = now;
  NewPlace pan;
  pan.code = "pan-1";
  pan.role = Role::hold_catch;
  NewCar car;
  car.plate = "MARSH-07";
  car.circuits = {{"coolant"}};
  for (const Draft& draft : {Draft(pan), Draft(car)}) {
    if (auto r = book->append(draft, stamp); !r.ok()) return r.refusal();
  }

  OpenJob job;
  job.car = *book->find_car("MARSH-07");
  job.complaint = "water pump weeping";
  if (auto r = book->append(job, stamp); !r.ok()) return r.refusal();

  auto litres = parse_amount("5.4L", settings.units);
  if (!litres.ok()) return litres.refusal();
  Movement drain;
  drain.verb = MoveVerb::drain;
  drain.job = *book->find_job("MARSH-07");
  MoveLine line;
  line.from = *book->find_circuit_of(drain.job, "coolant");
  line.to = *book->find_place("pan-1");
  line.amount = *litres;
  drain.lines.push_back(line);
  auto receipt = book->append(drain, stamp);
  if (!receipt.ok()) return receipt.refusal();
  return receipt->summary + ", " + book->seal();
}
