// What an exchange file has and a book has not, without taking anything in.
#include "book/exchange_head.hpp"
#include "book/from_caller.hpp"
#include "book/inside.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/sha256.hpp"

#include <baybook/exchange.hpp>

#include <algorithm>

namespace baybook {

using log::Value;

namespace {

// The chains of the file, walked by their digests alone.
class Walk {
 public:
  explicit Walk(Book::Inside& in) : in_(in) {}

  void line(const Value& v, const std::string& text) {
    if (v.has("after")) return installation(v);
    if (v.has("field")) return;
    if (out_.empty()) throw log::Malformed("an entry comes before its installation");
    previous_ = log::chain_digest(previous_, text);
    Lacking& now = out_.back();
    ++now.in_file;
    auto q = in_.db.query("SELECT digest FROM entry WHERE id = ?");
    q.bind(origin_ << 40 | now.in_file);
    const bool here = q.step() && log::hex_of(q.blob(0)) == log::hex(previous_);
    now.entries += here ? 0 : 1;
  }

  [[nodiscard]] std::vector<Lacking> lacking() {
    std::erase_if(out_, [](const Lacking& l) { return l.entries == 0; });
    return std::move(out_);
  }

 private:
  void installation(const Value& v) {
    origin_ = log::origin_of(v.str("installation"));
    Lacking l;
    l.tag = v.str("tag");
    for (const log::Installation& i : in_.known.all) {
      if (i.identity != v.str("installation")) continue;
      l.tag = i.tag;
      l.own = i.own;
    }
    l.in_file = v.num("after");
    const auto digest = log::unhex(v.str("digest"));
    if (!digest) throw log::Malformed("a digest is 64 hexadecimal digits");
    std::copy(digest->begin(), digest->end(), previous_.begin());
    auto q = in_.db.query("SELECT id FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
    q.bind(origin_ << 40).bind((origin_ + 1) << 40);
    l.last = q.step() ? EntryId{q.num(0)}.number() : 0;
    out_.push_back(std::move(l));
  }

  Book::Inside& in_;
  std::int64_t origin_ = 0;
  log::Digest previous_ = log::genesis;
  std::vector<Lacking> out_;
};

Refusal damaged(std::string what) {
  return Refusal{Code::unclear, std::move(what), "of a damaged file nothing is taken",
                 "the file again, as it was made: baybook exchange out", {}};
}

}  // namespace

Result<std::vector<Lacking>> lacking(const Book& b, const Lines& lines) {
  using Answer = Result<std::vector<Lacking>>;
  return book::guarded<std::vector<Lacking>>([&]() -> Answer {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    Walk walk(in);
    log::Sha256 all;
    std::string line;
    bool first = true;
    try {
      while (book::from_caller("the function that gives the lines", [&] { return lines(line); })) {
        auto parsed = log::parse_canonical(line);
        if (!parsed.ok()) return damaged("a line of the file cannot be read");
        if (first && book::read_exchange_head(*parsed).is != book::ExchangeHead::Is::known)
          return damaged("this is no exchange file that this program reads");
        if (!first && parsed->has("sha256")) {
          if (parsed->str("sha256") != log::hex(all.finish()))
            return damaged("the digest of the file is not the one in its last line");
          return walk.lacking();
        }
        if (!first) walk.line(*parsed, line);
        first = false;
        line += '\n';
        all.update(line);
      }
    } catch (const log::Malformed& m) {
      return damaged(std::string("a line of the file lacks something: ") + m.what());
    }
    return damaged("the file ends in the middle: its last line is missing");
  });
}

}  // namespace baybook
