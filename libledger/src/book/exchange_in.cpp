// An exchange file coming in: read line by line, each entry checked against the chain it continues, all of it in one transaction.
#include "book/bad_lines.hpp"
#include "book/bring.hpp"
#include "book/choice.hpp"
#include "book/closed_months.hpp"
#include "book/erase.hpp"
#include "book/erased_at_work.hpp"
#include "book/exchange_head.hpp"
#include "book/exchange_notes.hpp"
#include "book/forks.hpp"
#include "book/from_caller.hpp"
#include "book/greeting.hpp"
#include "book/news.hpp"
#include "book/opening.hpp"
#include "book/outcome.hpp"
#include "book/peers.hpp"
#include "book/signed.hpp"
#include "book/unfit_prove.hpp"
#include "book/views.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "log/header.hpp"
#include "log/references.hpp"
#include "log/sha256.hpp"
#include "log/version.hpp"

#include <baybook/erase.hpp>
#include <baybook/exchange.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <map>
#include <set>

namespace baybook {

using log::Kind;
using log::Value;

namespace {

// Ends the reading: what is wrong, with the line.
struct Stop {
  Refusal refusal;
};

// Where the chain of one installation stands while its entries come in.
struct Chain {
  log::Installation installation;
  log::Digest previous = log::genesis;
  std::int64_t number = 0;    ///< of `previous`
  std::int64_t recorded = 0;  ///< of `previous`
  std::int64_t here = 0;      ///< last number in this book before
  bool fresh = false;         ///< not in this book before
  std::string in_file;        ///< its tag in the file
  bool open = true;           ///< false: nothing more of it is taken
  std::int64_t parts_at = 0;  ///< from this number on the file's entries may be others than those here; 0: they are the same
  std::vector<std::int64_t> lines{};  ///< in the file, of each entry after `here`; 0: told already
  std::optional<book::Parted> parted{};  ///< one number, two entries
  Exchanged told;
};

class Incoming {
 public:
  Incoming(Book::Inside& in, std::string_view name, const std::vector<std::string>& call)
      : in_(in), name_(name), bad_(name) {
    note_thrown_out();
    for (const std::string& text : call) {
      const std::size_t at = text.find('=');
      auto tag = book::clean_tag(at == std::string::npos ? std::string_view()
                                                         : std::string_view(text).substr(at + 1));
      if (!tag.ok())
        throw Stop{{Code::wrong_usage,
                    "--call " + visible(text) + " is not clear",
                    "the tag in the file, =, and the tag it gets here: 12 characters at most",
                    "--call bay=van",
                    {}}};
      call_[text.substr(0, at)] = *tag;
    }
  }

  void run(const Lines& lines) {
    log::Sha256 all;
    std::string line;
    bool ended = false;
    while (book::from_caller("the function that gives the lines", [&] { return lines(line); })) {
      ++line_;
      if (ended) stop("something follows after the last line");
      if (line.size() > log::max_document_bytes) stop("a line is longer than 1 MiB");
      auto parsed = log::parse_canonical(line);
      if (!parsed.ok() && line_ == 1) not_one();
      if (!parsed.ok()) stop(parsed.refusal().what);
      const Value& v = *parsed;
      if (!v.is_object()) stop("a line is an object");
      if (line_ == 1) {
        head(v);
      } else if (v.has("sha256")) {
        end(v, log::hex(all.finish()));
        ended = true;
        continue;
      } else if (v.has("after")) {
        installation(v);
      } else if (v.has("field")) {
        private_text(v);
      } else {
        body(v, line);
      }
      line += '\n';
      all.update(line);
    }
    if (line_ == 0) stop("the file is empty");
    if (!ended) stop("the file ends in the middle: its last line is missing");
    finish_entry();
    look_at_named();
    note_corrected();
    // What nobody has corrected cannot have been put right.
    for (const Waiting& w : waiting_) {
      if (!bad_.none() || !corrected_.contains(w.entry)) return refuse_waiting();
    }
    if (!bad_.none()) throw Stop{bad_.refusal()};
  }

  /// Whether entries came that say what none can, and that a correction may have put right.
  [[nodiscard]] bool waits() const { return !waiting_.empty() || !let_through_.empty(); }

  /// After everything was folded: what holds must be fit, and what does not must be readable, for it
  /// is listed and shown for ever.
  void look_at_what_holds() {
    for (const EntryId id : let_through_) {
      if (!book::withdrawn_by(in_.db, id))
        throw Stop{{Code::not_allowed,
                    "entry " + name_of(id) + " rests on " + missing(id) +
                        ", and what withdraws it has no effect here",
                    "what holds rests on what is here",
                    "a whole file of the book that it came from: baybook exchange out",
                    {}}};
    }
    for (const Waiting& w : waiting_) {
      book::UnfitEntry e{w.entry, w.kind, w.found};
      book::leave_what_holds(in_.db, e);
      bad_.add(w.line, w.told, e.found);
      if (e.found.empty() && !can_be_told(w.entry)) bad_.add(w.line, w.told, w.found);
    }
    if (!bad_.none()) throw Stop{bad_.refusal()};
  }
  /// All that waits is bad after all: it could not be folded.
  [[noreturn]] void refuse_waiting() {
    for (const Waiting& w : waiting_) bad_.add(w.line, w.told, w.found);
    throw Stop{bad_.refusal()};
  }

  // What was taken must rest on what is here; the end of a chain that does not is left out.
  void settle_references() {
    for (bool again = true; again;) {
      again = false;
      note_erasures();
      for (auto& [origin, chain] : chains_) {
        const std::int64_t until = last_of(origin);
        for (std::int64_t n = chain.here + 1; n <= until; ++n) {
          const EntryId id{origin << 40 | n};
          const std::string lacks = missing(id);
          if (lacks.empty()) continue;
          // What does not hold need not rest on anything.
          if (withdrawn_.contains(id) && !lacks_text(id)) {
            let_through_.insert(id);
            continue;
          }
          leave(chain, n, until, "entry " + std::to_string(n) + "@" + chain.installation.tag + " rests on " + lacks);
          again = true;
          break;
        }
      }
    }
    // One that brought nothing is not here.
    for (const auto& [origin, chain] : chains_) {
      if (last_of(origin) == 0) forget_installation(origin);
    }
  }

  /// What parted in this file is remembered, and what agrees again is forgotten. Whether anything
  /// of that changed.
  bool note_forks() {
    bool changed = false;
    for (const auto& [origin, chain] : chains_) {
      if (chain.parted) {
        book::note_fork(in_.db, *chain.parted);
        changed = true;
      } else if (!chain.told.fork) {
        changed = book::forget_forks(in_.db, origin, chain.number) || changed;
      }
    }
    return changed;
  }

  /// Entries that are new in this book.
  [[nodiscard]] std::vector<EntryId> taken() const {
    std::vector<EntryId> out;
    for (const auto& [origin, chain] : chains_) {
      for (std::int64_t n = chain.here + 1; n <= last_of(origin); ++n) out.push_back(EntryId{origin << 40 | n});
    }
    return out;
  }

  /// Installations that were not in this book before, and are now.
  [[nodiscard]] std::vector<book::Stranger> strangers() const {
    std::vector<book::Stranger> out;
    for (const auto& [origin, chain] : chains_) {
      if (chain.fresh && last_of(origin) > 0) out.push_back({chain.installation, chain.in_file});
    }
    return out;
  }

  /// Entries that this book threw out are taken in again for these.
  void take_again(const std::vector<std::string>& tags) { again_.insert(tags.begin(), tags.end()); }

  [[nodiscard]] ExchangeIn told() {
    ExchangeIn out;
    for (auto& [origin, chain] : chains_) {
      chain.told.tag = chain.installation.tag;
      chain.told.last = last_of(origin);
      if (const auto row = log::read_row(in_.db, EntryId{origin << 40 | chain.told.last}))
        chain.told.newest = Instant{row->recorded};
      chain.told.in_file = chain.number;
      chain.told.of = Instant{chain.recorded};
      if (chain.installation.identity == by_) out.by = chain.installation.tag;
      out.taken += chain.told.taken;
      out.left += chain.told.left;
      out.installations.push_back(chain.told);
    }
    return out;
  }

  /// What is kept of the file beside the log, so that it is known again and nobody waits for it;
  /// true when something was written.
  bool note(const ExchangeIn& told) {
    std::vector<book::FileReach> reach;
    for (const auto& [origin, chain] : chains_)
      reach.push_back({chain.installation.identity, chain.number});
    // What the lost book had taken in brings nothing that was lost.
    const bool waited =
        !book::was_taken(in_.db, digest_) && book::wait_no_more_for(in_, by_, reach);
    return (told.left == 0 && book::note_taken(in_.db, digest_)) || waited;
  }

 private:
  [[noreturn]] void stop(const std::string& what, Code code = Code::unclear, std::string instead = "the file again, as it was made: baybook exchange out") const {
    throw Stop{{code, std::string(name_) + ":" + std::to_string(std::max<std::int64_t>(line_, 1)) + ":1: " + what, "of a damaged file nothing is taken", std::move(instead), {}}};
  }

  [[noreturn]] void not_one() const { stop("this is no exchange file", Code::unreadable, "a file made by baybook exchange out"); }

  // Each field of such a line is asked for, so that one more is one that nobody reads.
  void only(const Value& v, std::size_t fields) const {
    if (v.as_object().size() > fields) stop("a line has a field that no such line has");
  }

  void head(const Value& v) {
    if (!v.has("baybook-exchange")) not_one();
    const book::ExchangeHead read = book::read_exchange_head(v);
    by_ = read.by;
    if (read.is != book::ExchangeHead::Is::known) stop("the file is of another form than this program reads", Code::unreadable, "a newer baybook");
  }

  void end(const Value& v, const std::string& digest) {
    only(v, 2);
    if (v.num("entries") != seen_) stop("the file holds " + std::to_string(seen_) + " entries and says " + std::to_string(v.num("entries")));
    if (v.str("sha256") != digest) stop("the digest of the file is not the one in its last line");
    const bool named = std::any_of(chains_.begin(), chains_.end(), [&](const auto& c) {
      return c.second.installation.identity == by_;
    });
    if (!by_.empty() && !named) stop("the book that wrote the file is none of those in it");
    digest_ = digest;
  }

  [[nodiscard]] std::int64_t last_of(std::int64_t origin) const {
    auto q = in_.db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
    q.bind(origin << 40).bind((origin + 1) << 40);
    return q.step() ? EntryId{q.num(0)}.number() : 0;
  }

  [[nodiscard]] bool is_tag(const std::string& tag) const {
    return std::any_of(in_.known.all.begin(), in_.known.all.end(), [&](const log::Installation& i) { return i.tag == tag; });
  }

  // Another tag that can be typed for an installation: its own with the first number behind it that is not taken.
  [[nodiscard]] std::string free_tag(const std::string& tag) const {
    for (int n = 2;; ++n) {
      const std::string number = "-" + std::to_string(n);
      std::string free = tag.substr(0, 12 - number.size()) + number;
      if (!is_tag(free)) return free;
    }
  }

  void installation(const Value& v) {
    finish_entry();
    only(v, 4);
    log::Installation i;
    i.identity = v.str("installation");
    i.tag = v.str("tag");
    if (!log::is_identity(i.identity))
      stop("an installation is 32 hexadecimal digits, of which the first five are 00004 or more");
    const auto tag = book::clean_tag(i.tag);
    if (!tag.ok() || *tag != i.tag) stop("the tag of an installation is a short name");
    i.origin = log::origin_of(i.identity);
    if (chains_.contains(i.origin)) stop("an installation comes twice");
    bool new_here = true;
    for (const log::Installation& known : in_.known.all) {
      if (known.origin != i.origin) continue;
      if (known.identity != i.identity) throw Stop{{Code::not_allowed, "installations " + known.tag + " and " + visible(i.tag) + " have the same number by chance", "about one pair in 262,144 has; entries could not be told apart (docs/format.md)", "baybook backup --continue NEW.baybook --tag TAG, of one of the two books", {}}};
      i = known;
      new_here = false;
    }
    if (new_here) {
      const std::string in_file = i.tag;
      if (call_.contains(i.tag)) i.tag = call_.at(i.tag);
      if (is_tag(i.tag)) throw Stop{{Code::ambiguous, "two installations are tagged " + i.tag, "the tag tells entries and seals apart", "--call " + in_file + "=" + free_tag(in_file), {}}};
      auto q = in_.db.query("INSERT INTO installation(origin, identity, tag, own) VALUES(?, ?, ?, 0)");
      q.bind(i.origin).bind(i.identity).bind(i.tag).run();
      in_.known = log::installations(in_.db);
    }
    Chain c;
    c.installation = i;
    c.fresh = new_here;
    c.in_file = v.str("tag");
    c.here = last_of(i.origin);
    c.number = v.num("after");
    if (c.number < 0 || c.number >= std::int64_t{1} << 40) stop("no entry has that number");
    const std::string digest(v.str("digest"));
    if (c.number == 0) {
      if (digest != log::hex(log::genesis)) stop("a whole chain begins with a digest of zeros");
    } else {
      if (c.number > c.here) {
        throw Stop{{Code::not_allowed, "the file begins after entry " + std::to_string(c.number) + "@" + i.tag + ", this book ends at " + std::to_string(c.here), "a chain has no gaps", "in the other book: baybook exchange out FILE" + (c.here > 0 ? ", --since with this book's seal of " + i.tag : std::string(", whole")), {}}};
      }
      const auto row = log::read_row(in_.db, EntryId{i.origin << 40 | c.number});
      if (!row) throw store::Failure(Code::unsound, "entry " + std::to_string(c.number) + "@" + i.tag + " is missing here", "baybook prove");
      c.recorded = row->recorded;
      const std::string ours = log::hex_of(row->digest);
      if (ours != digest) {
        fork(c, c.number, ours, digest, {row->recorded, 0});
        c.parts_at = 1;  // somewhere before
      } else {
        std::copy(row->digest.begin(), row->digest.end(), c.previous.begin());
      }
    }
    now_ = &chains_.emplace(i.origin, std::move(c)).first->second;
  }

  struct Times {
    std::int64_t here = 0, in_file = 0;  ///< milliseconds; 0: the file does not say
  };
  // One number, two entries: nobody can tell from the file who is right, a copy that went on or
  // somebody else.
  static void fork(Chain& c, std::int64_t number, const std::string& ours,
                   const std::string& theirs, Times recorded) {
    const log::Installation& i = c.installation;
    const std::string entry = "entry " + std::to_string(number) + "@" + i.tag;
    c.open = false;
    c.parts_at = number;
    c.parted = book::Parted{EntryId{i.origin << 40 | number}, ours.substr(0, 16), theirs.substr(0, 16)};
    c.told.fork = true;
    c.told.why_left = entry + " has digest " + ours.substr(0, 16) + " here and " +
                      theirs.substr(0, 16) + " in the file";
    c.told.why_left +=
        " (recorded " + to_string(Instant{recorded.here}) + " here" +
        (recorded.in_file != 0 ? ", " + to_string(Instant{recorded.in_file}) + " there" : "") + ")";
    c.told.why_left += i.own ? ": a copy of this book went on under the same installation, or "
                               "somebody else writes in its name"
                             : ": a copy of that book went on under the same installation, or "
                               "somebody else writes in its name";
    if (i.own) {
      c.told.what_next.push_back(
          "what is in this book was written here: if no copy of it was ever written in, the file "
          "is not to be trusted");
    } else {
      c.told.what_next.push_back("ask whoever keeps the book of " + i.tag +
                                 " for the digest of its entry " + std::to_string(number) +
                                 ": baybook entry " + std::to_string(number) + ", there");
      c.told.what_next.push_back(
          "if theirs is the one in the file, what is here came in the wrong name: baybook exchange "
          "forget " +
          i.tag + " --from " + std::to_string(number) +
          " --dry-run shows what would be thrown out");
      c.told.what_next.push_back(
          "if theirs is the one that is here, leave the file, and ask whoever made it");
    }
    c.told.what_next.push_back(
        "if both are theirs, a copy went on: docs/exchange-in-depth.md, \"When a copy went on\"");
  }

  // What this book threw out does not come back with the next file of somebody who still has it.
  void note_thrown_out() {
    std::vector<std::pair<EntryId, EntryId>> all;
    {
      auto q = in_.db.query("SELECT entry, other FROM settlement WHERE joins = 7 ORDER BY entry");
      while (q.step()) all.emplace_back(EntryId{q.num(0)}, EntryId{q.num(1)});
    }
    for (const auto& [word, from] : all) {
      if (word.origin() != in_.known.own().origin) continue;
      const Value body = log::parse_body(log::row_of(in_.db, word).body);
      const Value& d = body.at("details");
      thrown_out_.push_back(
          {word, from, EntryId{from.origin() << 40 | d.num("last")}, std::string(d.str("digest"))});
    }
  }

  // The entry that was the last of those thrown out: they are the ones, and go again.
  void leave_thrown_out(Chain& c, EntryId id, const log::Digest& digest) {
    if (again_.contains(c.installation.tag)) return;
    for (const ThrownOut& t : thrown_out_) {
      if (t.last != id || t.digest != log::hex(digest)) continue;
      const std::int64_t from = std::max(t.from.number(), c.here + 1);
      leave(c, from, id.number(),
            "entries " + std::to_string(t.from.number()) + " to " + std::to_string(id.number()) +
                "@" + c.installation.tag + " were thrown out of this book by entry " +
                std::to_string(t.word.number()));
      c.told.what_next.push_back("if they were the true ones: the same with --accept " +
                                 c.installation.tag + " --dry-run shows what they would bring");
      c.open = false;
      c.parts_at = from;
      take_ = false;
      return;
    }
  }

  void body(const Value& v, const std::string& line) {
    finish_entry();
    if (now_ == nullptr) stop("an entry comes before its installation");
    Chain& c = *now_;
    ++seen_;
    log::Header header;
    try {
      header = log::read_header(v);
      if (v.find("details") == nullptr || !v.find("details")->is_object()) throw log::Malformed("its details are missing");
    } catch (const log::Malformed& m) {
      if (v.has("kind") && v.find("kind")->is_string() && !log::read_kind(v.str("kind"))) stop("an entry of kind " + visible(v.str("kind")) + " is not known to this program", Code::unreadable, "a newer baybook");
      return no_header(v, line, m.what());
    }
    const bool known = header.version >= 1 && header.version <= log::kLastVersion;
    if (header.format != log::kFormat || !known) stop("an entry of another form than this program reads", Code::unreadable, "a newer baybook");
    if (header.identity != c.installation.identity) stop("an entry of another installation");
    if (header.row.id.number() != c.number + 1) stop("entry " + std::to_string(header.row.id.number()) + " follows after " + std::to_string(c.number));
    if ((header.row.kind == Kind::opening) != (header.row.id.number() == 1)) stop("the opening is the first entry and no other");
    if (header.row.recorded < c.recorded) stop("the recorded time runs backwards");
    const log::Digest digest = log::chain_digest(c.previous, line);
    c.previous = digest;
    c.number = header.row.id.number();
    c.recorded = header.row.recorded;
    committed_ = {};
    if (const Value* p = v.find("private")) committed_ = *p;
    take_ = false;
    if (!c.open) {
      ++c.told.left;
      return;
    }
    header.row.body = line;
    header.row.digest.assign(digest.begin(), digest.end());
    if (c.number <= c.here) {
      const auto ours = log::read_row(in_.db, header.row.id);
      if (!ours) throw store::Failure(Code::unsound, "entry " + std::to_string(c.number) + "@" + c.installation.tag + " is missing here", "baybook prove");
      if (ours->digest == header.row.digest) {
        ++c.told.known;
        return;
      }
      fork(c, c.number, log::hex_of(ours->digest), log::hex(digest), {ours->recorded, c.recorded});
      ++c.told.left;
      return;
    }
    if (c.installation.own && !again_.contains(c.installation.tag)) {
      c.open = false;
      c.parts_at = c.number;
      c.told.fork = true;
      c.told.why_left =
          "entry " + std::to_string(c.number) +
          " is not in this book, and it is of its own installation: a copy went on, or this is an "
          "older copy, or somebody else writes in its name; of the first two, baybook backup "
          "--continue makes this one go on as another, which can then take it in";
      c.told.what_next.push_back(
          "if this book was put back to an older copy, and no other copy of it was written in: "
          "the same with --accept " +
          c.installation.tag + ", after --dry-run, brings back what it lacks");
      ++c.told.left;
      return;
    }
    std::vector<book::Unfit> unfit = book::unfit_in(header, v);
    c.lines.push_back(unfit.empty() ? line_ : 0);
    judge({header.row.id, header.row.kind, line_, entry_told(header.row), std::move(unfit)});
    book::insert_entry(in_, header.row);
    ++c.told.taken;
    entry_ = header.row.id;
    kind_ = header.row.kind;
    take_ = true;
    leave_thrown_out(c, entry_, digest);
  }

  // The chain goes on over an entry whose header says what none does, as long as it is on its
  // place: the lines after it are looked at too.
  void no_header(const Value& v, const std::string& line, const std::string& what) {
    Chain& c = *now_;
    const Value* number = v.find("number");
    const Value* identity = v.find("installation");
    const bool on_its_place = number != nullptr && *number == Value(c.number + 1) &&
                              identity != nullptr && *identity == Value(c.installation.identity);
    if (!on_its_place) stop("an entry lacks something: " + what);
    bad_.add(line_, "entry " + std::to_string(c.number + 1) + "@" + c.installation.tag,
             {{"its header", "cannot be: " + visible(what)}});
    c.previous = log::chain_digest(c.previous, line);
    ++c.number;
    if (c.number > c.here) c.lines.push_back(0);
    committed_ = {};
    if (const Value* p = v.find("private")) committed_ = *p;
    take_ = false;
  }

  void private_text(const Value& v) {
    if (now_ == nullptr || now_->number == 0) stop("a private text comes before its entry");
    only(v, 3);
    const std::string field(v.str("field"));
    const std::string text(v.str("text"));
    const auto salt = log::unhex(v.str("salt"));
    if (!salt) stop("a salt is 64 hexadecimal digits");
    const Value* c = committed_.find(field);
    if (field.empty() || c == nullptr || !c->is_string() || log::hex(log::commit(field, *salt, text)) != c->as_string()) stop("the private text \"" + visible(field) + "\" is not the one that its entry committed to");
    if (!fields_.insert(field).second) stop("the private text \"" + visible(field) + "\" comes twice");
    if (!take_) return;
    // Of a correction the limits are those of what it corrects, which may come later.
    const TextOf of{entry_, kind_, field, line_};
    if (kind_ == Kind::correction && field != "why") later_.push_back(of);
    else look_at_text(kind_, of, text);
    book::insert_private(in_, entry_, {field, std::string(salt->begin(), salt->end()), text});
  }

  void finish_entry() { fields_.clear(); }

  [[nodiscard]] std::string entry_told(const log::Row& row) const {
    return "entry " + name_of(row.id) + ", " + std::string(log::name_of(row.kind));
  }

  // An entry of the file or of this book; none for one that is another in the two.
  [[nodiscard]] std::optional<log::Row> row_here(EntryId id) const {
    const auto chain = chains_.find(id.origin());
    if (chain != chains_.end() && chain->second.parts_at != 0 &&
        id.number() >= chain->second.parts_at)
      return std::nullopt;
    return log::read_row(in_.db, id);
  }

  // An entry of the file that says what none can, and may have been put right since.
  struct Waiting {
    EntryId entry;
    Kind kind;
    std::int64_t line;
    std::string told;
    std::vector<book::Unfit> found;
  };
  // What can be read can be corrected; what has another form than an entry, or a newer one, is not
  // let near any fold.
  void judge(Waiting w) {
    std::erase_if(w.found,
                  [](const book::Unfit& u) { return u.sort == book::Unfit::Sort::absent; });
    if (w.found.empty()) return;
    const bool readable = std::all_of(w.found.begin(), w.found.end(), [](const book::Unfit& u) {
      return u.sort == book::Unfit::Sort::value;
    });
    if (readable) waiting_.push_back(std::move(w));
    else bad_.add(w.line, w.told, w.found);
  }

  struct TextOf {
    EntryId entry;
    Kind kind;
    std::string field;
    std::int64_t line;
  };
  void look_at_text(Kind kind, const TextOf& of, const std::string& text) {
    if (auto bad = book::unfit_text(kind, of.field, text))
      judge({of.entry, of.kind, of.line, "a text of entry " + name_of(of.entry), {std::move(*bad)}});
  }

  // Which entries a correction is about, in the file and in the book.
  void note_corrected() {
    {
      auto q = in_.db.query("SELECT target, withdrawn FROM correction");
      while (q.step()) {
        corrected_.insert(EntryId{q.num(0)});
        if (q.num(1) == 1) withdrawn_.insert(EntryId{q.num(0)});
      }
    }
    for (const EntryId id : taken()) {
      // One whose header says what none does is counted and not here.
      const auto row = log::read_row(in_.db, id);
      if (!row || (row->kind != Kind::correction && row->kind != Kind::settle)) continue;
      const Value body = log::parse_body(row->body);
      const Value& details = body.at("details");
      if (row->kind == Kind::settle) {
        note_chosen(details, id.origin());
        continue;
      }
      bool withdraws = details.str("action") == "withdraw";
      for (const EntryId target : book::targets_of(details, id.origin())) {
        corrected_.insert(target);
        if (withdraws) withdrawn_.insert(target);
        withdraws = true;  // those beside the first are withdrawn with it
      }
    }
  }

  void note_chosen(const Value& details, std::int64_t origin) {
    if (!book::is_choice(details)) return;
    for (const EntryId target : book::over_of(details, origin)) {
      corrected_.insert(target);
      withdrawn_.insert(target);
    }
  }

  // Whether it can be listed and shown.
  [[nodiscard]] bool can_be_told(EntryId id) const {
    try {
      return book::views_of(in_, {id.n}, true).size() == 1;
    } catch (const store::Failure&) {
      return false;
    } catch (const log::Malformed&) {
      return false;
    }
  }

  [[nodiscard]] bool lacks_text(EntryId id) const {
    const Value body = log::parse_body(log::row_of(in_.db, id).body);
    const Value* committed = body.find("private");
    if (committed == nullptr) return false;
    return std::any_of(committed->as_object().begin(), committed->as_object().end(),
                       [&](const auto& one) {
                         return !erased_.contains({id.n, one.first}) &&
                                !log::erased(in_.db, id, one.first) && !has_text(id, one.first);
                       });
  }

  // What an entry names may stand further down in the file, so this comes when all of them are
  // here.
  void look_at_named() {
    const book::NamedRow named = [&](EntryId id) { return row_here(id); };
    for (const TextOf& t : later_) {
      const Value body = log::parse_body(log::row_of(in_.db, t.entry).body);
      auto q = in_.db.query("SELECT value FROM private WHERE entry = ? AND field = ?");
      q.bind(t.entry.n).bind(t.field);
      if (!q.step()) continue;  // erased here
      const Kind kind =
          book::kind_of_text(Kind::correction, t.field, body, t.entry.origin(), named);
      look_at_text(kind, t, q.text(0));
    }
    for (const auto& [origin, chain] : chains_) {
      for (std::size_t n = 0; n < chain.lines.size(); ++n) {
        if (chain.lines[n] == 0) continue;  // said already
        const log::Row row = log::row_of(
            in_.db, EntryId{origin << 40 | (chain.here + 1 + static_cast<std::int64_t>(n))});
        judge({row.id, row.kind, chain.lines[n], entry_told(row),
               book::unfit_named(row, log::parse_body(row.body), named)});
      }
    }
  }

  // What an entry names and is not here, "" when all is.
  [[nodiscard]] std::string missing(EntryId id) const {
    const log::Row row = log::row_of(in_.db, id);
    const Value body = log::parse_body(row.body);
    std::vector<log::Reference> all = log::references_in(body.at("details"), id.origin());
    if (row.who != 0) all.push_back({"by", EntryId{row.who}, {Kind::person}});
    for (const log::Reference& r : all) {
      const auto chain = chains_.find(r.entry.origin());
      if (chain != chains_.end() && chain->second.parts_at != 0 && r.entry.number() >= chain->second.parts_at) return "entry " + name_of(r.entry) + ", which is another one here";
      if (!log::read_row(in_.db, r.entry))
        return "entry " + name_of(r.entry) + ", which is not here";
    }
    // A text that is not there has to be erased by an entry: without it `prove` would call it removed, from then on.
    if (const Value* committed = body.find("private")) {
      for (const auto& one : committed->as_object()) {
        if (!erased_.contains({id.n, one.first}) && !log::erased(in_.db, id, one.first) && !has_text(id, one.first)) return "an erasure of its private text \"" + visible(one.first) + "\", which is not here";
      }
    }
    return "";
  }

  [[nodiscard]] bool has_text(EntryId id, std::string_view field) const {
    auto q = in_.db.query("SELECT 1 FROM private WHERE entry = ? AND field = ?");
    q.bind(id.n).bind(field);
    return q.step();
  }

  // What the erasures among what was taken name: they are folded later.
  void note_erasures() {
    erased_.clear();
    for (const EntryId id : taken()) {
      const log::Row row = log::row_of(in_.db, id);
      if (row.kind != Kind::erasure && row.kind != Kind::peer) continue;
      const Value body = log::parse_body(row.body);
      const Value& details = body.at("details");
      if (details.has("asked") || !details.has("list")) continue;
      for (const book::PrivateText& t : book::named_by_erasure(details, id.origin())) erased_.emplace(t.entry.n, t.field);
    }
  }

  [[nodiscard]] std::string name_of(EntryId id) const { return std::to_string(id.number()) + "@" + std::string(in_.known.tag_of(id.origin())); }

  void leave(Chain& c, std::int64_t from, std::int64_t until, std::string why) {
    const std::int64_t origin = c.installation.origin;
    for (const char* sql : {"DELETE FROM private WHERE entry >= ? AND entry <= ?", "DELETE FROM entry WHERE id >= ? AND id <= ?"}) {
      auto q = in_.db.query(sql);
      q.bind(origin << 40 | from).bind(origin << 40 | until).run();
    }
    // What is not here is judged by nobody.
    for (std::int64_t n = from; n <= until; ++n)
      c.lines.at(static_cast<std::size_t>(n - c.here - 1)) = 0;
    const auto left = [&](const auto& of) {
      return of.entry.origin() == origin && of.entry.number() >= from && of.entry.number() <= until;
    };
    std::erase_if(later_, left);
    std::erase_if(waiting_, left);
    c.told.taken -= until - from + 1;
    c.told.left += until - from + 1;
    if (c.told.why_left.empty()) c.told.why_left = std::move(why);
  }

  void forget_installation(std::int64_t origin) {
    auto q = in_.db.query("DELETE FROM installation WHERE origin = ? AND own = 0");
    q.bind(origin).run();
    in_.known = log::installations(in_.db);
  }

  Book::Inside& in_;
  std::string_view name_;
  std::string by_;      ///< identity of the installation whose book wrote the file; "": not said
  std::string digest_;  ///< of the file
  std::map<std::string, std::string> call_;
  std::int64_t line_ = 0, seen_ = 0;
  std::map<std::int64_t, Chain> chains_;
  Chain* now_ = nullptr;
  Value committed_;
  EntryId entry_;
  Kind kind_ = Kind::opening;
  bool take_ = false;
  book::BadLines bad_;
  std::vector<TextOf> later_;
  std::vector<Waiting> waiting_;
  std::set<EntryId> corrected_, withdrawn_, let_through_;
  std::set<std::string> fields_;
  std::set<std::pair<std::int64_t, std::string>> erased_;
  struct ThrownOut {
    EntryId word, from, last;
    std::string digest;  ///< of `last`
  };
  std::vector<ThrownOut> thrown_out_;
  std::set<std::string> again_;
};

// Papers are files; an entry that names one does not bring it.
std::int64_t papers_among(Book::Inside& in, const std::vector<EntryId>& taken) {
  const std::set<EntryId> brought(taken.begin(), taken.end());
  std::int64_t n = 0;
  auto q = in.db.query("SELECT entry FROM paper");
  while (q.step()) n += brought.contains(EntryId{q.num(0)}) ? 1 : 0;
  return n;
}

// Private texts of entries that were here before this file.
std::int64_t texts_before(store::Db& db, const std::vector<EntryId>& entries) {
  std::int64_t n = 0;
  {
    auto q = db.query("SELECT count(*) FROM private");
    n = q.step_num();
  }
  for (const EntryId id : entries) {
    auto q = db.query("SELECT count(*) FROM private WHERE entry = ?");
    q.bind(id.n);
    n -= q.step_num();
  }
  return n;
}

// One after the other, or all anew where entries among them say what none can: what was withdrawn of
// those is then never folded as if it held.
void fold(Book::Inside& in, Incoming& incoming, const std::vector<EntryId>& taken) {
  if (!incoming.waits()) return book::fold_brought(in, taken);
  try {
    book::fold_anew(in);
  } catch (const log::Malformed&) {
    incoming.refuse_waiting();
  } catch (const store::Failure& f) {
    if (f.code != Code::unsound) throw;
    incoming.refuse_waiting();
  }
}

// Folds what was taken, with the words about whom it comes from, and tells what became of it.
// Nothing is committed yet.
std::optional<Refusal> fold_and_tell(Book& book, Incoming& incoming,
                                     const std::vector<EntryId>& taken,
                                     book::Greeting& greeting, Instant now, ExchangeIn& out) {
  Book::Inside& in = book.inside();
  const std::vector<book::Stranger> strangers = incoming.strangers();
  in.takes_in = true;
  bool may_erase = greeting.accepts();
  bool may_bring_back = greeting.accepts();
  for (const EntryId id : taken) {
    const log::Row row = log::row_of(in.db, id);
    may_bring_back = may_bring_back || row.kind == Kind::peer || row.kind == Kind::correction;
    if (row.kind == Kind::peer) book::list_word(in.db, row);
    may_erase = may_erase || row.kind == Kind::peer || row.kind == Kind::erasure;
  }
  if (auto refused = greeting.meet(strangers, out)) return refused;
  in.takes_in = false;
  const book::SignedFigures papers = book::signed_figures(in);
  out.erased_while_held = book::held_and_erased(in, taken);
  const std::int64_t texts = may_erase ? texts_before(in.db, taken) : 0;
  const book::ErasedAtWork at_work =
      may_erase ? book::erased_at_work(in) : book::ErasedAtWork();
  book::ReachesBack all;
  all.all = true;
  const book::ClosedMonths closed(in, all);
  const book::News news(in, taken, now);
  const std::set<EntryId> unfit = may_bring_back ? book::unfit_that_hold(in.db) : std::set<EntryId>();
  fold(in, incoming, taken);
  if (auto refused = greeting.accept_known()) return refused;
  incoming.look_at_what_holds();
  if (may_bring_back) {
    for (const EntryId id : book::unfit_that_hold(in.db)) {
      if (unfit.contains(id)) continue;
      if (auto refused = book::unfit_to_come_back(in, id)) return refused;
    }
  }
  out.closed_months = closed.since(book);
  out.closed_told = book::told(in, out.closed_months);
  if (may_erase) {
    out.texts_erased = texts - texts_before(in.db, taken);
    out.erased_at_work = book::told_since(in, at_work);
  }
  out.waiting = std::ssize(book::held_entries(in));
  out.pickups_moved = book::moved_since(in, papers);
  auto open = conflicts(book);
  if (!open.ok()) return std::move(open).refusal();
  out.conflicts = static_cast<std::int64_t>(open->size());
  out.papers_wanted = papers_among(in, taken);
  out.changed = news.since();
  return std::nullopt;
}

// Commits it; what an erasure among it still asks of the files is noted.
std::optional<Refusal> keep(Book& book, EntryId last, ExchangeIn& out) {
  Book::Inside& in = book.inside();
  const log::Row row = log::row_of(in.db, last);
  log::Digest digest{};
  std::copy_n(row.digest.begin(), std::min(row.digest.size(), digest.size()), digest.begin());
  if (auto refusal = book::commit_or_look(in, last, digest, out.noted)) return refusal;
  // An erasure among them asks more of this book's files than a commit.
  const auto owed = erasure_unfinished(book);
  if (!owed.ok() || !*owed || finish_erasures(book).ok()) return std::nullopt;
  out.noted += std::string(out.noted.empty() ? "" : "; ") +
               "an erasure came in, but bytes of what was erased may still be in the files of this "
               "book: type baybook erase finish";
  return std::nullopt;
}

}  // namespace

Result<ExchangeIn> exchange_in(Book& book, const Lines& lines, std::string_view name,
                               const Stamp& stamp, const ExchangeOptions& options) {
  Book::Inside& in = book.inside();
  const log::Installations before = in.known;
  bool kept = false;
  auto result = book::guarded<ExchangeIn>([&]() -> Result<ExchangeIn> {
    try {
      store::Transaction transaction(in.db);
      book::Greeting greeting(book, stamp, options);
      Incoming incoming(in, name, options.call);
      incoming.take_again(options.accept);
      incoming.run(lines);
      incoming.settle_references();
      ExchangeIn out = incoming.told();
      out.dry_run = options.dry_run;
      const std::vector<EntryId> taken = incoming.taken();
      if (auto refused = fold_and_tell(book, incoming, taken, greeting, stamp.now, out)) {
        return std::move(*refused);
      }
      const EntryId last = taken.empty() ? greeting.written() : taken.back();
      if (options.dry_run) return out;
      const bool forks = incoming.note_forks();
      const bool noted = incoming.note(out) || forks;
      if (last.n == 0) {
        if (noted) in.db.commit();
        kept = noted;
        return out;
      }
      if (auto refused = keep(book, last, out)) return std::move(*refused);
      kept = true;
      return out;
    } catch (const Stop& s) {
      return s.refusal;
    } catch (const log::Malformed& m) {
      return Refusal{Code::unclear,
                     "an entry in the file cannot be read: " + visible(m.what()),
                     "of a damaged file nothing is taken",
                     "the file again, as it was made: baybook exchange out",
                     {}};
    }
  });
  // What was not kept must not stay in memory either. The file is not asked: it may be what failed.
  if (!kept) {
    in.known = before;
    in.zone_window_stored = false;
  }
  in.takes_in = false;
  in.ledger.forget();
  (void)in.ledger.take_cars();
  in.due_moved.clear();
  in.due_moved_for_all = in.settlements_moved = false;
  return result;
}

}  // namespace baybook
