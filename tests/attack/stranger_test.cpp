// A file from somebody who wants to be taken for one of the shop: whatever it says, the entries of
// others stand as they stood.
#include "attack/lab.hpp"
#include "support/exchange_lines.hpp"

#include "log/canonical.hpp"
#include "log/chain.hpp"
#include "log/commitment.hpp"
#include "log/sha256.hpp"

#include <baybook/due.hpp>
#include <baybook/peers.hpp>

#include <map>

using namespace baybook;
using namespace baybook::test;

namespace {

// A chain of entries that anybody could make: no book stands behind it.
class Chain {
 public:
  Chain(std::string identity, std::string tag, log::Value opening = {})
      : identity_(std::move(identity)), tag_(std::move(tag)) {
    opening["algorithm"] = "sha-256";
    opening["site"] = "Saltmarsh Motor Works";
    opening["tag"] = tag_;
    opening["units"] = log::write_units(Units{});
    opening["zone"] = "Europe/Lisbon";
    add("opening", opening);
  }
  // With a private text where one is asked for.
  Chain& add(const char* kind, const log::Value& details, const std::string& field = "") {
    log::Value body;
    const log::Salt salt{7};
    if (!field.empty()) body["private"][field] = log::hex(log::commit(field, salt, "because"));
    body["details"] = details;
    body["format"] = 1;
    body["happened"] = "2026-02-04";
    body["installation"] = identity_;
    body["kind"] = kind;
    body["number"] = ++number_;
    body["recorded"] = "2026-02-04T10:00:00.000Z";
    body["version"] = 1;
    const std::string text = log::canonical(body);
    digest_ = log::chain_digest(digest_, text);
    if (number_ == 1) first_ = log::hex(digest_);
    lines_ += text + "\n";
    if (field.empty()) return *this;
    log::Value private_text;
    private_text["field"] = field;
    private_text["salt"] = log::hex(salt);
    private_text["text"] = "because";
    lines_ += log::canonical(private_text) + "\n";
    return *this;
  }
  [[nodiscard]] std::string lines() const {
    return "{\"after\":0,\"digest\":\"" + std::string(64, '0') + "\",\"installation\":\"" +
           identity_ + "\",\"tag\":\"" + tag_ + "\"}\n" + lines_;
  }
  [[nodiscard]] std::int64_t number() const { return number_; }
  [[nodiscard]] std::string first() const { return first_; }
  [[nodiscard]] std::string ref(std::int64_t n) const {
    return identity_ + ":" + std::to_string(n);
  }

 private:
  std::string identity_, tag_, lines_, first_;
  std::int64_t number_ = 0;
  log::Digest digest_ = log::genesis;
};

std::string file_of_chains(const std::vector<const Chain*>& chains) {
  std::string out = "{\"baybook-exchange\":1}\n";
  std::int64_t entries = 0;
  for (const Chain* c : chains) {
    out += c->lines();
    entries += c->number();
  }
  log::Sha256 all;
  all.update(out);
  return out + "{\"entries\":" + std::to_string(entries) + ",\"sha256\":\"" +
         log::hex(all.finish()) + "\"}\n";
}

log::Value object(std::vector<std::pair<std::string, log::Value>> members) {
  log::Value v;
  for (auto& [key, value] : members) v[key] = std::move(value);
  return v;
}

struct Target {
  std::int64_t id = 0;
  std::string ref;
  std::int64_t kind = 0;
};
std::vector<Target> entries_in(TestBook& b) {
  std::map<std::int64_t, std::string> identities;
  for (const log::Installation& i : b->inside().known.all) identities[i.origin] = i.identity;
  std::vector<Target> out;
  auto q = b->inside().db.query("SELECT id, kind FROM entry ORDER BY id");
  while (q.step())
    out.push_back({q.num(0),
                   identities[q.num(0) >> 40] + ":" + std::to_string(EntryId{q.num(0)}.number()),
                   q.num(1)});
  return out;
}

// Everything that one entry can take from others: each withdrawn, each text erased, each pair of
// places and cars made one.
void harm(Chain& c, TestBook& b) {
  std::map<std::int64_t, std::vector<std::string>> by_kind;
  for (const Target& t : entries_in(b)) {
    const auto kind = static_cast<log::Kind>(t.kind);
    if (kind == log::Kind::opening) continue;
    // What cannot be corrected is refused with the whole file.
    if (kind != log::Kind::erasure && kind != log::Kind::peer)
      c.add("correction", object({{"action", "withdraw"}, {"target", t.ref}}), "why");
    by_kind[t.kind].push_back(t.ref);
    std::vector<log::Value> fields;
    auto q = b->inside().db.query("SELECT field FROM private WHERE entry = ?");
    q.bind(t.id);
    while (q.step()) fields.emplace_back(q.text(0));
    if (fields.empty()) continue;
    log::Value item = object({{"entry", t.ref}, {"fields", log::Value(fields)}});
    c.add("erasure",
          object({{"about", t.ref}, {"list", log::Value::array({item})}, {"reason", "request"}}));
  }
  for (const std::int64_t kind : {2, 4, 5, 6, 18}) {
    const auto& all = by_kind[kind];
    for (std::size_t n = 1; n < all.size(); ++n)
      c.add("settle", object({{"action", "join"}, {"keep", all[0]}, {"other", all[n]}}));
  }
}

// The tables in which the entries of others show: without what the words themselves list.
std::string standing(TestBook& b) {
  std::string out;
  const std::string all = b.dump(true);
  for (const char* table :
       {"amended", "settled", "place", "fluid", "person", "car", "plate", "job", "history", "flow",
        "balance", "account", "tally", "firm", "pickup", "schedule"}) {
    const std::size_t at = all.find("[" + std::string(table) + "]\n");
    REQUIRE(at != std::string::npos);
    out += all.substr(at, all.find("\n[", at) + 1 - at);
  }
  auto q = b->inside().db.query("SELECT count(*) FROM private WHERE value <> 'because'");
  return out + "[texts]\n" + std::to_string(q.step_num()) + "\n";
}

constexpr const char* kStranger = "5b583aa0116d17da297d48992ff62333";
constexpr const char* kFriend = "7c583aa0116d17da297d48992ff62344";

log::Value word_about(const std::string& identity, const std::string& first, const char* what) {
  log::Value v = object({{"installation", identity}, {"what", what}});
  v["first"] = first;
  v["tag"] = "bay";
  return v;
}

}  // namespace

TEST_SUITE("attack/stranger") {
  TEST_CASE(
      "nothing that a stranger's file says of our entries takes effect, whatever it calls itself "
      "and whoever speaks for it") {
    WholeShop shop;
    TestBook& bay = shop.bay;
    bay.reopen();
    const auto all = peers(bay.book());
    REQUIRE(all.ok());
    const Peer own = all->front();
    const Peer office = all->back();
    REQUIRE(office.state == Peer::State::accepted);
    log::Value goes_on;
    goes_on["continues"] = object({{"digest", own.first}, {"last", own.identity + ":1"}});
    struct Case {
      const char* what;
      std::string tag;
      log::Value opening;
      bool words, accomplice;
    };
    const std::vector<Case> cases = {
        {"a stranger", "fen", {}, false, false},
        {"one that calls itself like this book", "bay", {}, false, false},
        {"one that says it goes on from this book", "fen", goes_on, false, false},
        {"one that says it has met us and would accept itself", "fen", {}, true, false},
        {"one whom an accomplice accepts that says it goes on from this book",
         "fen",
         {},
         true,
         true},
    };
    for (const Case& c : cases) {
      CAPTURE(std::string(c.what));
      WholeShop again;
      TestBook& b = again.bay;
      b.reopen();
      b.now = instant("2026-02-05T10:00:00.000Z");
      Chain stranger(kStranger, c.tag, c.opening);
      harm(stranger, b);
      if (c.words) {
        for (const Peer* p : {&own, &office})
          stranger.add("peer", word_about(p->identity, p->first, "met"));
        // A word about oneself is none, and the file with it is refused.
        Chain alone = stranger;
        alone.add("peer", word_about(kStranger, stranger.first(), "accept"));
        const std::string before = b.dump(true);
        CHECK(!meet(b, file_of_chains({&alone}), {}).ok());
        CHECK(difference(before, b.dump(true)) == "");
      }
      Chain accomplice(kFriend, "friend", goes_on);
      accomplice.add("peer", word_about(kStranger, stranger.first(), "accept"));
      accomplice.add("peer", word_about(office.identity, office.first, "met"));
      std::vector<const Chain*> chains{&stranger};
      if (c.accomplice) chains.push_back(&accomplice);
      const std::string stood = standing(b);
      ExchangeOptions o;
      if (c.tag == "bay") o.call = {"bay=fen"};
      const auto in = meet(b, file_of_chains(chains), o);
      REQUIRE_MESSAGE(in.ok(), why(in));
      CHECK(in->left == 0);
      CHECK(in->waiting > 50);
      CHECK(in->texts_erased == 0);
      REQUIRE(in->met.size() == chains.size());
      for (const Meeting& m : in->met) CHECK_FALSE(m.accepted);
      CHECK(difference(stood, standing(b)) == "");
      const auto proof = prove(b.book());
      REQUIRE(proof.ok());
      const std::string live = b.dump(true);
      REQUIRE(b.book().rebuild().ok());
      CHECK(difference(live, b.dump(true)) == "");
      // And out again, whole.
      for (const Chain* chain : chains) {
        const auto plan = plan_forget(b.book(), chain == &stranger ? "fen" : "friend", 1);
        REQUIRE_MESSAGE(plan.ok(), why(plan));
        const auto gone = forget_installation(b.book(), *plan, b.stamp());
        REQUIRE_MESSAGE(gone.ok(), why(gone));
      }
      CHECK(difference(stood, standing(b)) == "");
      CHECK(peers(b.book())->size() == 2);
    }
  }
}
