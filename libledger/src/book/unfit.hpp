// What in an entry no typing could have put there: one knowledge for the funnel, for entries from
// elsewhere, and for the proof.
//
// `append` asks before it writes, `exchange in` before it takes, `prove` of what is there already.
// Each limit stands where typing has it (quantity/most.hpp, log/most.hpp, log/private_fields.hpp,
// text/clean.cpp) and is asked for here, never repeated.
#pragma once

#include "log/built.hpp"
#include "log/header.hpp"
#include "store/db.hpp"

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::book {

/// One thing that no entry of its kind says.
struct Unfit {
  std::string
      field;  ///< where: "details/lines/2/amount/best", counted from 1; "happened"; "private/note"
  std::string what;    ///< "is -5, not between 1 and 10000000"
  enum class Sort : std::uint8_t {
    value,   ///< it can be read, and is what none can be
    form,    ///< something is missing, or of another type
    newer,   ///< a field or a word that this program does not know: a newer one may have written it
    absent,  ///< it names what is not here: of a file that comes in, a matter of what else comes
  };
  Sort sort = Sort::value;
  [[nodiscard]] std::string sentence() const { return field + " " + what; }
};

/// At most so many are told of one entry.
inline constexpr std::size_t kMostUnfit = 20;

/// Of a body alone, whatever it names. `header` is read_header of the same body.
[[nodiscard]] std::vector<Unfit> unfit_in(const log::Header& header, const log::Value& body);
/// Of one private text beside an entry of that kind.
[[nodiscard]] std::optional<Unfit> unfit_text(log::Kind kind, std::string_view field,
                                              std::string_view text);

/// Whether an entry claims a day that had not begun anywhere when it was recorded: what such an
/// entry says can be corrected before that day comes.
[[nodiscard]] bool before_its_day(const log::Row& row);

/// The row of an entry that is named; none when it is not here, which is for the caller to judge.
using NamedRow = std::function<std::optional<log::Row>(EntryId)>;
[[nodiscard]] NamedRow rows_of(store::Db& db);
/// The kind to whose limits a private text is held: a correction's main text to those of what it
/// corrects, where that is here.
[[nodiscard]] log::Kind kind_of_text(log::Kind kind, std::string_view field, const log::Value& body,
                                     std::int64_t origin, const NamedRow& named);
/// Of what an entry names: whether it is here, of a kind that fits, and what can only be judged
/// together with it (a replacement against the kind of what it replaces, the way of a movement against the
/// roles of its places). Details whose references cannot be read are told as such; unfit_in of the
/// same body has more to say about them.
[[nodiscard]] std::vector<Unfit> unfit_named(const log::Row& row, const log::Value& body,
                                             const NamedRow& named);

/// What the funnel says when an entry that is about to be written holds something unfit; none when
/// it is fit.
[[nodiscard]] std::optional<Refusal> refuse_unfit(store::Db& db, const log::Value& body,
                                                  const log::Built& built);

}  // namespace baybook::book
