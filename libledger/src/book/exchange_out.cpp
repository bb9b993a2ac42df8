// Entries leaving as an exchange file.
#include "book/exchange_head.hpp"
#include "book/from_caller.hpp"
#include "book/inside.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/sha256.hpp"

#include <baybook/exchange.hpp>
#include <baybook/peers.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <map>

namespace baybook {

using book::exchange_head;
using log::Value;

namespace {

struct From {
  std::int64_t number = 0;
  log::Digest digest = log::genesis;
};

log::Digest digest_of(const std::string& bytes, const std::string& where) {
  log::Digest out{};
  if (bytes.size() != out.size()) throw store::Failure(Code::unsound, where + " has no whole digest", "baybook prove");
  std::copy(bytes.begin(), bytes.end(), out.begin());
  return out;
}

// Where the other book stands, by the seals it printed.
Result<std::map<std::int64_t, From>> starts(Book::Inside& in, const std::vector<std::string>& since) {
  std::map<std::int64_t, From> out;
  for (const std::string& text : since) {
    auto seal = log::parse_seal(text);
    if (!seal.ok()) return std::move(seal).refusal();
    // Its tag is the one that the other book knows the installation by; with --call this book may know it by another. The digest tells.
    const auto fits = [&](const log::Installation& i) {
      const auto row = log::read_row(in.db, EntryId{i.origin << 40 | seal->number});
      return row && log::hex(digest_of(row->digest, "entry " + book::entry_name(in, row->id))).starts_with(seal->head);
    };
    const auto named = std::find_if(in.known.all.begin(), in.known.all.end(), [&](const log::Installation& i) { return i.tag == seal->tag; });
    const auto it = named != in.known.all.end() && fits(*named) ? named : std::find_if(in.known.all.begin(), in.known.all.end(), fits) != in.known.all.end() ? std::find_if(in.known.all.begin(), in.known.all.end(), fits) : named;
    if (it == in.known.all.end()) return Refusal{Code::not_found, "there is no installation " + visible(seal->tag) + " in this book", "a seal says how far the other book has come", "only seals of installations that both books have; the rest goes whole", {}};
    const EntryId id{it->origin << 40 | seal->number};
    const auto row = log::read_row(in.db, id);
    if (!row) return Refusal{Code::not_allowed, "seal " + text + " goes further than this book: it has no entry " + book::entry_name(in, id), "the other book knows more of " + it->tag + " than this one", "first the other way: baybook exchange out there, baybook exchange in here", {}};
    const log::Digest digest = digest_of(row->digest, "entry " + book::entry_name(in, id));
    if (log::hex(digest).substr(0, seal->head.size()) != seal->head) return Refusal{Code::not_allowed, "entry " + book::entry_name(in, id) + " has digest " + log::hex(digest).substr(0, 16) + " here and " + seal->head + " there", "one of the two is a copy that went on under the same installation", "baybook prove --seal " + text + "  # in both books", {}};
    out[it->origin] = {seal->number, digest};
  }
  return out;
}

// Writes the lines, and takes the digest of them.
class Outgoing {
 public:
  /// `by`: whose file it is; empty for one that is no file of a book, but a part kept aside.
  Outgoing(Book::Inside& in, const Sink& sink, std::string_view by) : in_(in), sink_(sink) {
    line(exchange_head(by));
  }

  void installation(const log::Installation& i, const From& start) {
    Value v;
    v["after"] = start.number;
    v["digest"] = log::hex(start.digest);
    v["installation"] = i.identity;
    v["tag"] = i.tag;
    line(log::canonical(v));
    log::Digest previous = start.digest;
    std::int64_t last = start.number;
    auto q = in_.db.query("SELECT id, body, digest FROM entry WHERE id > ? AND id < ? ORDER BY id");
    q.bind(i.origin << 40 | start.number).bind((i.origin + 1) << 40);
    while (q.step()) {
      const EntryId id{q.num(0)};
      const std::string body = q.text(1);
      const std::string name = "entry " + book::entry_name(in_, id);
      const log::Digest digest = log::chain_digest(previous, body);
      if (id.number() != last + 1 || digest != digest_of(q.blob(2), name))
        throw store::Failure(Code::unsound, name + " does not follow from the one before it",
                             "baybook prove");
      previous = digest;
      last = id.number();
      line(body);
      ++out_.entries;
      texts(id);
    }
    if (last > 0) out_.seals.push_back(log::seal(i.tag, last, previous));
  }

  [[nodiscard]] ExchangeOut end() {
    all_.update(held_);
    give(held_);
    out_.digest = log::hex(all_.finish());
    Value end;
    end["entries"] = out_.entries;
    end["sha256"] = out_.digest;
    give(log::canonical(end) + "\n");
    return std::move(out_);
  }

 private:
  void line(std::string_view text) {
    held_ += text;
    held_ += '\n';
    if (held_.size() < 64 * 1024) return;
    all_.update(held_);
    give(held_);
    held_.clear();
  }

  void give(std::string_view bytes) const {
    book::from_caller("the function that takes the bytes", [&] { sink_(bytes); });
  }

  void texts(EntryId entry) {
    auto p = in_.db.query("SELECT field, salt, value FROM private WHERE entry = ? ORDER BY field");
    p.bind(entry.n);
    while (p.step()) {
      Value text;
      text["field"] = p.text(0);
      text["salt"] = log::hex_of(p.blob(1));
      text["text"] = p.text(2);
      line(log::canonical(text));
    }
  }

  Book::Inside& in_;
  const Sink& sink_;
  ExchangeOut out_;
  log::Sha256 all_;
  std::string held_;
};

}  // namespace

Result<ExchangeOut> exchange_out(const Book& book, const std::vector<std::string>& since, const Sink& sink) {
  return book::guarded<ExchangeOut>([&]() -> Result<ExchangeOut> {
    Book::Inside& in = book.inside();
    store::Snapshot snapshot(in.db);
    auto from = starts(in, since);
    if (!from.ok()) return std::move(from).refusal();
    Outgoing out(in, sink, in.known.own().identity);
    for (const log::Installation& i : in.known.all)
      out.installation(i, from->contains(i.origin) ? from->at(i.origin) : From{});
    return out.end();
  });
}

Result<ExchangeOut> forget_out(const Book& book, const ForgetPlan& plan, const Sink& sink) {
  return book::guarded<ExchangeOut>([&]() -> Result<ExchangeOut> {
    Book::Inside& in = book.inside();
    store::Snapshot snapshot(in.db);
    Outgoing out(in, sink, "");
    for (const log::Installation& i : in.known.all) {
      if (i.origin != plan.from.id.origin()) continue;
      From start{plan.from.number() - 1, log::genesis};
      // The plan is the caller's: what it names need not be here.
      if (!log::read_row(in.db, plan.from.id) || start.number < 0)
        return Refusal{Code::not_found,
                       "entry " + book::entry_name(in, plan.from.id) + " is not here",
                       "what is thrown out is planned first",
                       "baybook exchange list",
                       {}};
      if (start.number > 0)
        start.digest = digest_of(log::row_of(in.db, EntryId{i.origin << 40 | start.number}).digest,
                                 "the entry before those");
      out.installation(i, start);
    }
    return out.end();
  });
}

}  // namespace baybook
