// Another program that does everything wrong: built and run against the installed library by
// tests/package/package_test.sh, and by the suite as tests/book/misuse_test.cpp. Prints what was
// let through and ends with 1, or says that nothing was.
#include "sweep.hpp"

#include <iostream>

int main(int count, char** values) {
  if (count != 2) return 2;
  consumer::Shop shop(values[1]);
  const std::string seal = shop.book.seal();
  consumer::Swept all = consumer::sweep_drafts(shop);
  const consumer::Swept stamps = consumer::sweep_stamp(shop);
  all.faults.insert(all.faults.end(), stamps.faults.begin(), stamps.faults.end());
  if (shop.book.seal() != seal) all.faults.emplace_back("a dry run wrote something");
  const auto proof = prove(shop.book);
  if (!proof.ok() || !proof->findings.empty() || proof->unfit_found != 0)
    all.faults.emplace_back("the book is not sound");
  for (const std::string& fault : all.faults) std::cout << fault << "\n";
  if (!all.faults.empty()) return 1;
  std::cout << "nothing was let through\n";
}
