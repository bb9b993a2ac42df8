// Another program: starts a book, registers a pan, prints what stands where. Only public headers.
#include <baybook/book.hpp>
#include <baybook/reports.hpp>
#include <baybook/version.hpp>

#include <cstdint>
#include <iostream>
#include <random>

using namespace baybook;

int main(int count, char** values) {
  if (count != 2) return 2;
  Settings settings;
  settings.site = "Saltmarsh Motor Works";
  settings.tag = "bay";
  settings.zone = "Europe/Lisbon";
  // An example needs no secrets.
  const Random random = [engine = std::mt19937_64(7)](std::uint8_t* bytes,
                                                      std::size_t size) mutable {
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<std::uint8_t>(engine());
    return true;
  };
  const auto now = read_instant("2026-03-05T09:40:00.000Z");
  auto book = Book::start(values[1], settings, *now, random);
  if (!book.ok()) {
    std::cerr << book.refusal().what << "\n";
    return 1;
  }
  NewPlace pan;
  pan.code = "pan-1";
  pan.role = Role::hold_catch;
  pan.size = parse_amount("20L", settings.units).value();
  Stamp stamp;
  stamp.now = *now;
  const auto receipt = book->append(pan, stamp);
  if (!receipt.ok()) return 1;
  const auto rows = levels(*book);
  if (!rows.ok()) return 1;
  for (const LevelRow& row : *rows) std::cout << row.level.name << " " << row.level.best << " of " << *row.level.size << "\n";
  std::cout << "seal " << book->seal().substr(0, 6) << " library " << BAYBOOK_VERSION_TEXT << "\n";
}
