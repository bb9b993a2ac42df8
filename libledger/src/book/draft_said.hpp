// What a draft says by itself, whatever it names: figures that can be, and nothing that the entry
// would leave out.
//
// A person's figures went through parse_amount and its sisters; whoever fills a draft by hand is
// held to the same. It is looked at before anything is reckoned with them.
#pragma once

#include <baybook/book.hpp>

namespace baybook::book {

/// The refusal of the first thing that cannot be; none when all can:
///   not_allowed  below nothing, out of its range, bounds out of order or of a measured amount, a
///   day
///                or a time that is none, a choice that is none, another figure than `typed` says
///   wrong_usage  something is said that no such entry keeps
[[nodiscard]] std::optional<Refusal> refuse_said(const Draft& draft, const Stamp& stamp,
                                                 const Units& units);
/// The same of how a book begins.
[[nodiscard]] std::optional<Refusal> refuse_settings(const Settings& settings);

}  // namespace baybook::book
