// What was asked for, as one text: the same draft and stamp give the same text whatever the book holds by then.
#pragma once

#include <baybook/book.hpp>

#include <string>

namespace baybook::book {

/// Every field of the draft, and who and when; not what the book would make of it (the job of a pan, the litres of "all").
[[nodiscard]] std::string request_text(const Draft& draft, const Stamp& stamp);

}  // namespace baybook::book
