#include "book/exchange_head.hpp"

#include "book/exchange_notes.hpp"
#include "book/inside.hpp"

#include "log/canonical.hpp"

#include <baybook/exchange.hpp>

#include <algorithm>

namespace baybook::book {

using log::Value;

std::string exchange_head(std::string_view by) {
  Value head;
  head["baybook-exchange"] = by.empty() ? 1 : kExchangeForm;
  if (!by.empty()) head["by"] = std::string(by);
  return log::canonical(head);
}

ExchangeHead read_exchange_head(const Value& v) {
  ExchangeHead out;
  const Value* form = v.is_object() ? v.find("baybook-exchange") : nullptr;
  if (form == nullptr) return out;
  out.is = ExchangeHead::Is::newer;
  const std::size_t fields = v.as_object().size();
  if (*form == Value(std::int64_t{1}) && fields == 1) out.is = ExchangeHead::Is::known;
  if (*form != Value(kExchangeForm) || fields != 2) return out;
  const Value* by = v.find("by");
  if (by == nullptr || !by->is_string() || !log::is_identity(by->as_string())) return out;
  out.is = ExchangeHead::Is::known;
  out.by = by->as_string();
  return out;
}

ExchangeHead read_exchange_head(std::string_view line) {
  constexpr std::size_t longest = 200;  // of a form that is known
  if (line.size() > longest) return {};
  const auto parsed = log::parse_canonical(line);
  return parsed.ok() ? read_exchange_head(*parsed) : ExchangeHead{};
}

std::string writer_of_exchange(std::string_view line) { return read_exchange_head(line).by; }

}  // namespace baybook::book

namespace baybook {

Result<ExchangeGlance> glance_at_exchange(const Book& b, std::string_view first,
                                          std::string_view last) {
  return book::guarded<ExchangeGlance>([&]() -> Result<ExchangeGlance> {
    const book::ExchangeHead head = book::read_exchange_head(first);
    if (head.is == book::ExchangeHead::Is::none)
      return Refusal{Code::unreadable, "this is no exchange file", "",
                     "a file made by baybook exchange out", {}};
    if (head.is == book::ExchangeHead::Is::newer)
      return Refusal{Code::unreadable, "the file is of another form than this program reads", "",
                     "a newer baybook", {}};
    const auto end = log::parse_canonical(last);
    const bool whole = end.ok() && end->is_object() && end->as_object().size() == 2 &&
                       end->has("sha256") && end->find("sha256")->is_string() &&
                       end->has("entries") && end->find("entries")->is_int();
    if (!whole)
      return Refusal{Code::unclear, "its last line is missing: it was cut off, or is being written",
                     "of a damaged file nothing is taken",
                     "the file again, as it was made: baybook exchange out", {}};
    Book::Inside& in = b.inside();
    ExchangeGlance out;
    out.by = head.by;
    out.entries = end->num("entries");
    out.digest = end->str("sha256");
    out.taken = book::was_taken(in.db, out.digest);
    for (const log::Installation& i : in.known.all) {
      if (i.identity != out.by) continue;
      out.tag = i.tag;
      out.own = i.own;
    }
    return out;
  });
}

}  // namespace baybook
