// What people call things, looked up in a book: the golden one, which has cars, jobs, places, people, firms and deadlines.
#include "property.hpp"
#include "targets.hpp"

#include <baybook/book.hpp>
#include <baybook/due.hpp>
#include <baybook/reports.hpp>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <unistd.h>

namespace baybook::fuzz {

namespace {

/// A copy, opened once a run: opening writes beside the file.
class Golden {
 public:
  Golden() : folder_(folder()), book_(open(folder_)) {}
  ~Golden() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  Golden(const Golden&) = delete;
  Golden& operator=(const Golden&) = delete;
  const Book& book() const { return book_; }

 private:
  static std::string folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "baybook-fuzz-XXXXXX").string();
    hold(::mkdtemp(pattern.data()) != nullptr, "a folder for the book can be made");
    return pattern;
  }
  static Book open(const std::string& folder) {
    const std::string path = folder + "/golden.baybook";
    std::filesystem::copy_file(BAYBOOK_SOURCE "/tests/golden/v1.baybook", path);
    std::filesystem::permissions(path, std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
    auto opened = Book::open(path, Access::read, [](std::uint8_t* bytes, std::size_t size) {
      std::fill_n(bytes, size, std::uint8_t{7});
      return true;
    });
    hold(opened.ok(), "the golden book opens");
    return std::move(opened).value();
  }

  std::string folder_;
  Book book_;
};

template <class T>
void found_or_told(const Result<T>& r) {
  if (!r.ok()) told(r.refusal());
}

}  // namespace

void name(std::string_view bytes) {
  static const Golden golden;
  const Book& book = golden.book();
  Input in(bytes);
  const std::size_t what = in.choice(9);
  const std::string_view text = in.rest();
  switch (what) {
    case 0: return found_or_told(book.find_car(text, Match::near));
    case 1: return found_or_told(book.find_job(text, Match::near));
    case 2: {
      const auto entry = book.find_entry(text);
      if (entry.ok()) hold(entry->n > 0 && entry->n < std::int64_t{1} << 58, "an entry that is found can be");
      return found_or_told(entry);
    }
    case 3: return found_or_told(book.find_place(text));
    case 4: return found_or_told(book.find_fluid(text));
    case 5: return found_or_told(book.find_person(text));
    case 6: return found_or_told(book.find_firm(text));
    case 7: return found_or_told(book.find_deadline(text));
    default: return found_or_told(book.find_pickup(text));
  }
}

}  // namespace baybook::fuzz
