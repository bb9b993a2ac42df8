#include "book/unfit_kinds.hpp"

#include "log/canonical.hpp"
#include "log/most.hpp"
#include "log/private_fields.hpp"

#include <algorithm>

namespace baybook::book {

using log::Value;

namespace {

constexpr auto kAlways = Need::always;
constexpr auto kIfSaid = Need::if_said;
constexpr std::int64_t kLastNumber = (std::int64_t{1} << 40) - 1;

// The name of a private text of whatever kind: the erased entry may be one that is not here.
bool names_a_text(const Value& v) {
  if (!v.is_string()) return false;
  for (std::int64_t k = 1; k <= log::kLastKind; ++k) {
    if (log::private_field(static_cast<log::Kind>(k), v.as_string()) != nullptr) return true;
  }
  return false;
}

// The texts that are gone, entry by entry.
void texts(Fields& f, Need need) {
  f.objects("list", need, log::most::kErased, [](Fields& item) {
    item.ref("entry", kAlways);
    item.items("fields", kAlways, log::most::kRechecks + 10,
               [&](const Value& field, const Path& path) {
                 if (!names_a_text(field))
                   item.reading().add(path, "is " + shown(field) + ", which no entry has",
                                      word_sort(field));
               });
  });
}

}  // namespace

void correction(Fields& f) {
  f.ref("target", kAlways);
  const auto action = f.word("action", kAlways, {"withdraw", "replace"});
  const Value* details = f.any("details", action && *action == "replace" ? kAlways : kIfSaid);
  if (details != nullptr && !details->is_object())
    f.malformed("details", "is " + shown(*details) + ", not an object");
  if (details != nullptr && action && *action == "withdraw")
    f.wrong("details", "is said of what is withdrawn");
  f.items("also", kIfSaid, log::max_document_bytes, [&](const Value& item, const Path& path) {
    std::string fault = ref_fault(item, f.reading());
    if (!fault.empty()) f.reading().add(path, std::move(fault), ref_sort(item));
  });
}

namespace {

// A choice: what does not hold, each entry once and not the one that does.
void over(Fields& f) {
  const Value* keep = f.any("keep", kAlways);
  std::vector<Value> told;
  f.items("over", kAlways, log::most::kOver, [&](const Value& item, const Path& path) {
    if (std::string fault = ref_fault(item, f.reading()); !fault.empty())
      return f.reading().add(path, std::move(fault), ref_sort(item));
    if (keep != nullptr && item == *keep) f.reading().add(path, "is the entry that holds");
    if (std::find(told.begin(), told.end(), item) != told.end())
      f.reading().add(path, "is named twice");
    told.push_back(item);
  });
}

}  // namespace

void settle(Fields& f) {
  const auto action = f.word("action", kAlways, {"join", "apart", "keep"});
  const bool keep = f.ref("keep", kAlways);
  if (action && *action == "keep") return over(f);
  const bool other = f.ref("other", kAlways);
  if (keep && other && *f.any("keep", kAlways) == *f.any("other", kAlways))
    f.wrong("other", "is the same entry");
}

void erasure(Fields& f) {
  f.ref("about", kAlways);
  f.word("reason", kAlways, {"request", "expired"});
  f.yes("asked");
  texts(f, kAlways);
}

void peer(Fields& f) {
  const auto installation = f.text("installation", kAlways, kIdentity);
  if (installation && (!log::is_identity(*installation) || *installation == f.reading().identity()))
    f.wrong("installation",
            "is \"" + std::string(*installation) + "\", which is no other installation");
  const auto what = f.word("what", kAlways, {"met", "accept", "agree", "forget"});
  const auto is = [&](std::string_view word) { return what && *what == word; };
  if (is("met") || is("accept")) f.hex("first", kAlways, kDigest);
  if (!is("agree")) tag(f, "tag");
  if (is("agree") || is("forget")) {
    f.hex("digest", kAlways, kDigest);
    f.whole("number", kAlways, 1, kLastNumber);
  }
  if (is("accept")) {
    f.items("but", kIfSaid, log::max_document_bytes, [&](const Value& item, const Path& path) {
      if (!item.is_int() || item.as_int() < 2 || item.as_int() > kLastNumber)
        f.reading().add(path, "is " + shown(item) + ", not the number of an erasure",
                        Unfit::Sort::form);
    });
  }
  if (is("forget")) {
    const auto last = f.whole("last", kAlways, 1, kLastNumber);
    const Value* from = f.any("number", kAlways);
    if (last && from != nullptr && from->is_int() && *last < from->as_int())
      f.wrong("last", "is before the first that was thrown out");
    texts(f, kIfSaid);
  }
}

}  // namespace baybook::book
