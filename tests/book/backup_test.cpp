// Copies that can be relied on, and that are never mistaken for the book.
#include "support/exchange_lines.hpp"
#include "support/leave.hpp"
#include "support/random_shop.hpp"

#include "book/copy.hpp"
#include "book/mark.hpp"

#include <baybook/erase.hpp>
#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

#include <SQLiteCpp/SQLiteCpp.h>

#include <csignal>
#include <fstream>
#include <set>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

using namespace baybook;
using namespace baybook::test;

namespace {

void tamper(const std::string& path, const std::string& sql) {
  SQLite::Database db(path, SQLite::OPEN_READWRITE);
  db.exec(sql);
}

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::set<std::string> names_in(const std::string& folder) {
  std::set<std::string> out;
  for (const auto& e : std::filesystem::recursive_directory_iterator(folder)) out.insert(e.path().lexically_relative(folder).string());
  return out;
}

BackupOptions at(Instant now) {
  BackupOptions o;
  o.now = now;
  return o;
}

std::string all(const std::vector<Finding>& findings) {
  std::string out;
  for (const Finding& f : findings) out += f.what + "\n";
  return out;
}

struct BackupShop : TestBook {
  BackupShop() {
    RandomShop shop(*this, 4);
    for (int i = 0; i < 60; ++i) shop.act();
    std::filesystem::create_directory(folder().file("out"));
  }
  [[nodiscard]] std::string out(const std::string& name) const { return folder().file("out/" + name); }
  Backup make(const std::string& name) {
    auto r = backup(book(), out(name), at(now));
    REQUIRE_MESSAGE(r.ok(), why(r));
    return std::move(r).value();
  }
  Rotation into(int keep) {
    auto r = backup_into(book(), out("."), keep, at(now));
    REQUIRE_MESSAGE(r.ok(), why(r));
    return std::move(r).value();
  }
  void pan(const std::string& code) {
    NewPlace p;
    p.code = code;
    write(p);
  }
  /// A file in the folder of papers, and its entry.
  std::string paper(const std::string& text) {
    Paper p;
    p.about = EntryId{book().find_entry("last")->n};
    p.sha256 = sha256_hex(text);
    p.bytes = static_cast<std::int64_t>(text.size());
    p.file = p.sha256.substr(0, 32) + ".txt";
    std::filesystem::create_directory(papers_folder(file()));
    std::ofstream(papers_folder(file()) + "/" + p.file) << text;
    write(p);
    return p.file;
  }
};

}  // namespace

TEST_SUITE("book/backup") {
  TEST_CASE("a backup is one file in rollback mode for its owner alone, and tells what the book tells") {
    BackupShop s;
    const std::string before = s.dump();
    const mode_t old = ::umask(0);
    const Backup b = s.make("b.baybook");
    ::umask(old);
    CHECK(names_in(s.out(".")) == std::set<std::string>{"b.baybook"});
    struct stat st {};
    REQUIRE(::stat(s.out("b.baybook").c_str(), &st) == 0);
    CHECK((st.st_mode & 0777) == 0600);
    const std::string header = bytes_of(s.out("b.baybook")).substr(0, 20);
    CHECK(header[18] == 1);
    CHECK(header[19] == 1);
    CHECK(b.seal == s->seal());
    CHECK(b.bytes == static_cast<std::int64_t>(std::filesystem::file_size(s.out("b.baybook"))));
    auto copy = Book::open(s.out("b.baybook"), Access::read, repeatable(1));
    REQUIRE_MESSAGE(copy.ok(), why(copy));
    CHECK(difference(before, test::dump(copy->inside().db)) == "");
    REQUIRE(copy->backup().has_value());
    CHECK(copy->backup()->seal == b.seal);
    CHECK(copy->backup()->made == s.now);
    const auto p = prove(*copy, b.seal);
    REQUIRE_MESSAGE(p.ok(), why(p));
    CHECK(all(p->findings) == "");
    CHECK_FALSE(s->backup().has_value());
  }

  TEST_CASE("nothing is written in a backup, and what to do instead is said") {
    BackupShop s;
    const Backup b = s.make("b.baybook");
    const std::string before = bytes_of(b.path);
    const auto w = Book::open(b.path, Access::write, repeatable(1));
    REQUIRE_FALSE(w.ok());
    CHECK(w.refusal().code == Code::not_allowed);
    CHECK(w.refusal().what.find(b.seal) != std::string::npos);
    CHECK(w.refusal().instead.find("baybook backup --continue") != std::string::npos);
    auto r = Book::open(b.path, Access::read, repeatable(1));
    REQUIRE(r.ok());
    NewPlace p;
    p.code = "pan-77";
    CHECK_FALSE(r->append(p, s.stamp()).ok());
    CHECK_FALSE(r->rebuild().ok());
    CHECK(bytes_of(b.path) == before);
  }

  TEST_CASE("a book that is opened for reading takes no entry") {
    BackupShop s;
    const std::string before = s.dump();
    auto r = Book::open(s.file(), Access::read, repeatable(1));
    REQUIRE(r.ok());
    NewPlace p;
    p.code = "pan-77";
    const auto a = r->append(p, s.stamp());
    REQUIRE_FALSE(a.ok());
    CHECK(a.refusal().code == Code::unwritable);
    CHECK(difference(before, s.dump()) == "");
  }

  TEST_CASE("while another program writes, the backup is the book without what is not finished") {
    BackupShop s;
    SQLite::Database other(s.file(), SQLite::OPEN_READWRITE);
    other.exec("BEGIN IMMEDIATE; DELETE FROM entry WHERE id = (SELECT max(id) FROM entry)");
    const Backup b = s.make("b.baybook");
    other.exec("ROLLBACK");
    CHECK(b.seal == s->seal());
  }

  TEST_CASE("what is there is left alone, and force writes over a backup or a letter, but over no book, link or folder") {
    BackupShop s;
    const Backup first = s.make("b.baybook");
    const std::string before = bytes_of(first.path);
    s.pan("pan-77");
    auto again = backup(s.book(), first.path, at(s.now));
    REQUIRE_FALSE(again.ok());
    CHECK(again.refusal().code == Code::already_there);
    CHECK(bytes_of(first.path) == before);

    BackupOptions force = at(s.now);
    force.force = true;
    std::ofstream(s.out("letter.txt")) << "dear sir";
    std::filesystem::create_symlink("letter.txt", s.out("link"));
    TestBook other("office", 2);
    const std::string live = other.file();
    other.close();
    for (const std::string& path : {s.file(), live, s.out("link"), s.out("."), s.file() + "-wal"}) {
      CAPTURE(path);
      const std::string was = std::filesystem::is_directory(path) ? "" : bytes_of(path);
      const auto r = backup(s.book(), path, force);
      REQUIRE_FALSE(r.ok());
      CHECK((r.refusal().code == Code::not_allowed || r.refusal().code == Code::already_there));
      if (!was.empty()) CHECK(bytes_of(path) == was);
    }
    CHECK(backup(s.book(), s.out("letter.txt"), force).ok());
    const auto over = backup(s.book(), first.path, force);
    REQUIRE_MESSAGE(over.ok(), why(over));
    CHECK(over->seal == s->seal());
    CHECK(backup(s.book(), "", force).refusal().code == Code::wrong_usage);
    CHECK(backup(s.book(), s.out("none/b.baybook"), force).refusal().code == Code::unwritable);
    CHECK(names_in(s.out(".")) == std::set<std::string>{"b.baybook", "letter.txt", "link"});
  }

  TEST_CASE("a name beside which another book left its newest entries is refused") {
    BackupShop s;
    std::ofstream(s.out("b.baybook-wal")) << "frames of another book";
    CHECK(backup(s.book(), s.out("b.baybook"), at(s.now)).refusal().code == Code::already_there);
    CHECK(names_in(s.out(".")) == std::set<std::string>{"b.baybook-wal"});
    Settings marsh;
    marsh.site = "Saltmarsh Motor Works";
    marsh.tag = "bay";
    CHECK(Book::start(s.out("b.baybook"), marsh, s.now, repeatable(9)).refusal().code == Code::already_there);
  }

  TEST_CASE("names that SQLite could take for something else are names of files") {
    BackupShop s;
    for (const char* name : {"file:x?mode=memory", ":memory:", "a b%20#c?immutable=0&x.baybook", "'; drop table entry; --"}) {
      CAPTURE(name);
      const Backup b = s.make(name);
      CHECK(std::filesystem::file_size(s.out(name)) > 4096);
      const auto copy = Book::open(b.path, Access::read, repeatable(1));
      REQUIRE_MESSAGE(copy.ok(), why(copy));
    }
  }

  TEST_CASE("a book whose log is not sound is not backed up, and nothing is left of the trial") {
    BackupShop s;
    s.close();
    tamper(s.file(), "UPDATE entry SET body = replace(body, 'format\":1', 'format\":2') WHERE (id & 1099511627775) = 20");
    s.reopen();
    const auto r = backup(s.book(), s.out("b.baybook"), at(s.now));
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::unsound);
    CHECK(r.refusal().what.find("entry 20@bay") != std::string::npos);
    CHECK(names_in(s.out(".")).empty());
  }

  TEST_CASE("a disk that is full leaves nothing but what was there") {
    BackupShop s;
    s.close();
    // In a program of its own, whose files may not grow past a size.
    for (const rlim_t most : {rlim_t{0}, rlim_t{8192}, rlim_t{100'000}}) {
      CAPTURE(most);
      const pid_t child = ::fork();
      REQUIRE(child >= 0);
      if (child == 0) {
        std::signal(SIGXFSZ, SIG_IGN);
        int status = 9;
        {
          auto b = Book::open(s.file(), Access::read, repeatable(1));
          const rlimit limit{most, most};
          ::setrlimit(RLIMIT_FSIZE, &limit);
          if (b.ok()) {
            const auto r = backup(*b, s.out("b.baybook"), at(s.now));
            status = r.ok() ? 0 : r.refusal().code == Code::unwritable ? 1 : 2;
          }
        }
        leave(status);
      }
      int status = 0;
      REQUIRE(::waitpid(child, &status, 0) == child);
      CHECK(WEXITSTATUS(status) == 1);
      CHECK(names_in(s.out(".")).empty());
    }
  }

  TEST_CASE("a text that was deleted is in no byte of a new backup") {
    BackupShop s;
    NewPerson person;
    person.name = "Teodor Vasak-Marrow";
    const auto r = s.write(person);
    // Deleted as the engine does it by default: the bytes stay in the pages, and an erasure that is on record says why the text is gone.
    Erasure e;
    e.person = PersonId{r.entry.id.n};
    s.write(e);
    s.close();
    tamper(s.file(), "PRAGMA secure_delete=OFF; CREATE TABLE kept(t TEXT); INSERT INTO kept VALUES('Teodor Vasak-Marrow'); DROP TABLE kept; PRAGMA wal_checkpoint(TRUNCATE)");
    REQUIRE(bytes_of(s.file()).find("Vasak-Marrow") != std::string::npos);
    s.reopen();
    const Backup b = s.make("b.baybook");
    CHECK(bytes_of(b.path).find("Vasak-Marrow") == std::string::npos);
  }

  TEST_CASE("papers are copied and read again, and one that is missing or changed is named while the rest is kept") {
    BackupShop s;
    const std::string good = s.paper("signed copy of 0041233");
    const std::string gone = s.paper("laboratory sheet");
    const std::string changed = s.paper("photograph");
    std::filesystem::remove(papers_folder(s.file()) + "/" + gone);
    std::ofstream(papers_folder(s.file()) + "/" + changed) << "phot0graph";
    const Backup b = s.make("b.baybook");
    CHECK(b.papers == 1);
    CHECK(b.findings.size() == 2);
    CHECK(all(b.findings).find(gone) != std::string::npos);
    CHECK(all(b.findings).find(changed) != std::string::npos);
    CHECK(names_in(papers_folder(b.path)) == std::set<std::string>{good});
    CHECK(bytes_of(papers_folder(b.path) + "/" + good) == "signed copy of 0041233");
  }

  TEST_CASE("a paper that this user may not read is not called missing, and not called changed") {
    BackupShop s;
    const std::string closed = s.paper("laboratory sheet");
    const std::string linked = s.paper("photograph");
    const std::string folder = papers_folder(s.file());
    std::filesystem::permissions(folder + "/" + closed, std::filesystem::perms::none);
    std::filesystem::remove(folder + "/" + linked);
    std::filesystem::create_symlink(closed, folder + "/" + linked);
    s.close();
    const auto everybody = std::filesystem::perms::all;
    std::filesystem::permissions(folder, everybody);
    for (const auto& e : std::filesystem::directory_iterator(s.folder().file(".")))
      std::filesystem::permissions(e.path(), everybody);
    std::filesystem::permissions(s.folder().file("."), everybody);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      if (::geteuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) leave(99);
      auto b = Book::open(s.file(), Access::read, repeatable(1));
      if (!b.ok()) leave(98);
      const auto p = prove(*b, "");
      if (!p.ok() || p->findings.size() != 2) leave(97);
      const Finding& f = p->findings.front();
      const bool said = f.what.find(closed) != std::string::npos &&
                        f.what.find("cannot be read here") != std::string::npos &&
                        f.instead.find("let you read it") != std::string::npos;
      leave(said && p->findings.back().what.find("was changed") != std::string::npos ? 0 : 1);
    }
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    CHECK(WEXITSTATUS(status) == 0);
  }

  TEST_CASE("force does not write over a backup that holds what the book does not") {
    BackupShop s;
    BackupOptions force = at(s.now);
    force.force = true;
    const Backup old = s.make("old.baybook");
    s.pan("pan-77");
    const Backup ahead = s.make("b.baybook");
    // The book as it was before: what a restored or lost end leaves.
    auto lost = Book::open(old.path, Access::read, repeatable(1));
    REQUIRE(lost.ok());
    const std::string before = bytes_of(ahead.path);
    const auto over = backup(*lost, ahead.path, force);
    REQUIRE_FALSE(over.ok());
    CHECK(over.refusal().code == Code::not_allowed);
    CHECK(over.refusal().what.find("which this book does not have") != std::string::npos);
    CHECK(over.refusal().instead == "another name");
    CHECK(bytes_of(ahead.path) == before);
    // A hint offers force where the book has all of it.
    CHECK(backup(s.book(), old.path, at(s.now)).refusal().instead == "another name, or --force");
    CHECK(backup(*lost, ahead.path, at(s.now)).refusal().instead == "another name");
    CHECK(backup(s.book(), old.path, force).ok());
  }

  TEST_CASE("a file in the folder of papers of a copy is not taken for a paper of its name") {
    BackupShop s;
    Paper p;
    p.about = EntryId{s.place("pan-77", Role::hold_catch, "5L").n};
    p.file = "scan.pdf";
    p.sha256 = sha256_hex("ours");
    p.bytes = 4;
    s.write(p);
    std::filesystem::create_directories(papers_folder(s.file()));
    std::ofstream(papers_folder(s.file()) + "/scan.pdf") << "ours";
    std::filesystem::create_directory(papers_folder(s.out("b.baybook")));
    std::ofstream(papers_folder(s.out("b.baybook")) + "/scan.pdf") << "theirs";
    const Backup b = s.make("b.baybook");
    REQUIRE(b.findings.size() == 1);
    CHECK(b.findings.front().what.find("another file of that name") != std::string::npos);
    CHECK(bytes_of(papers_folder(b.path) + "/scan.pdf") == "theirs");
  }

  TEST_CASE("papers of another installation lie beside its own book, so their absence is no finding of a backup, but a changed one is") {
    BackupShop s;
    TestBook other("other", 9);
    (void)taken(s, file_of(other.book()));
    Paper p;
    p.about = EntryId{other.place("pan-1", Role::hold_catch, "5L").n};
    p.sha256 = sha256_hex("their scan");
    p.bytes = 10;
    p.file = p.sha256.substr(0, 32) + ".txt";
    other.write(p);
    (void)taken(s, file_of(other.book()));
    s.now = std::max(s.now, other.now);
    const Backup b = s.make("b.baybook");
    CHECK(all(b.findings) == "");
    CHECK(b.papers == 0);
    CHECK(s.into(2).findings.empty());
    // One of its own is missed, also by the copy that goes on as another installation.
    const std::string own = s.paper("signed copy of 0041234");
    std::filesystem::remove(papers_folder(s.file()) + "/" + own);
    CHECK(s.make("c.baybook").findings.size() == 1);
    const auto next = continue_as(s.book(), s.out("d.baybook"), "bay-2", at(s.now));
    REQUIRE_MESSAGE(next.ok(), why(next));
    REQUIRE(next->findings.size() == 1);
    CHECK(next->findings.front().what.find(own) != std::string::npos);
    // Brought here by hand, it is looked at and copied like any other.
    std::ofstream(papers_folder(s.file()) + "/" + p.file) << "their scam";
    CHECK(all(s.make("e.baybook").findings).find(p.file) != std::string::npos);
  }

  TEST_CASE("a backup made while an erasure is not finished holds nothing of it and does not ask to have it finished") {
    BackupShop s;
    NewCar c;
    c.plate = "QX-SECRET-9";
    Erasure e;
    e.car = CarId{s.write(c).entry.id.n};
    e.plate = true;
    {
      SQLite::Database reader(s.file(), SQLite::OPEN_READONLY);
      reader.exec("BEGIN");
      SQLite::Statement q(reader, "SELECT count(*) FROM entry");
      REQUIRE(q.executeStep());
      REQUIRE(s.write(e).unfinished);
      const Backup b = s.make("b.baybook");
      const auto next = continue_as(s.book(), s.out("d.baybook"), "bay-2", at(s.now));
      REQUIRE_MESSAGE(next.ok(), why(next));
      for (const std::string& path : {b.path, next->path}) {
        CAPTURE(path);
        CHECK(bytes_of(path).find("QX-SECRET-9") == std::string::npos);
        const auto copy = Book::open(path, Access::read, repeatable(7));
        REQUIRE_MESSAGE(copy.ok(), why(copy));
        CHECK_FALSE(erasure_unfinished(*copy).value());
      }
    }
    CHECK(erasure_unfinished(s.book()).value());
    REQUIRE(finish_erasures(s.book()).ok());
  }

  TEST_CASE("a paper whose name leads out of its folder is neither read nor written") {
    BackupShop s;
    std::ofstream(s.folder().file("secret.txt")) << "not for others";
    Paper p;
    p.about = EntryId{s->find_entry("last")->n};
    p.file = "x.txt";
    p.sha256 = sha256_hex("not for others");
    p.bytes = 14;
    s.write(p);
    std::filesystem::create_directory(papers_folder(s.file()));
    s.close();
    tamper(s.file(), "UPDATE paper SET file = '../secret.txt'");
    s.reopen();
    const Backup b = s.make("b.baybook");
    CHECK(all(b.findings).find("leads out of the folder") != std::string::npos);
    CHECK(b.papers == 0);
    CHECK(names_in(s.out(".")) == std::set<std::string>{"b.baybook"});
  }

  TEST_CASE("a folder keeps the newest backups of this book and nothing else is touched") {
    BackupShop s;
    TestBook other("bay", 77);  // another site with the same tag
    other.close();
    other.reopen();
    const auto theirs = backup_into(other.book(), s.out("."), 0, at(other.now));
    REQUIRE_MESSAGE(theirs.ok(), why(theirs));
    std::ofstream(s.out("bay-notes.txt")) << "mine";
    std::vector<std::string> made;
    for (int i = 0; i < 4; ++i) {
      s.pan("pan-8" + std::to_string(i));
      const Rotation r = s.into(2);
      CHECK(all(r.findings) == "");
      CHECK(r.kept.size() == (i == 0 ? 1u : 2u));
      CHECK(r.removed.size() == (i < 2 ? 0u : 1u));
      made.push_back(std::filesystem::path(r.made.path).filename().string());
    }
    CHECK(made.back().starts_with("bay-2026-03-0"));
    CHECK(names_in(s.out(".")) == std::set<std::string>{made[2], made[3], "bay-notes.txt", std::filesystem::path(theirs->made.path).filename().string()});

    // Nothing new: nothing is made, nothing goes.
    const Rotation again = s.into(1);
    CHECK(again.made.was_there);
    CHECK(again.made.seal == s->seal());
    CHECK(std::filesystem::path(again.made.path).filename().string() == made[3]);
    CHECK(again.removed.size() == 1);
  }

  TEST_CASE("as long as a backup holds what the book does not, none is removed") {
    BackupShop s;
    const Rotation old = s.into(0);
    s.pan("pan-81");
    const Rotation first = s.into(0);
    // The book lost its end, as by a copy that was put back by hand.
    s.close();
    tamper(s.file(), "DELETE FROM entry WHERE id = (SELECT max(id) FROM entry); DELETE FROM private WHERE entry NOT IN (SELECT id FROM entry)");
    s.reopen();
    REQUIRE(s->rebuild().ok());
    s.pan("pan-82");
    s.pan("pan-83");
    const Rotation second = s.into(1);
    CHECK(second.removed.empty());
    CHECK(all(second.findings).find("has another entry") != std::string::npos);
    CHECK(std::filesystem::exists(old.made.path));
    CHECK(std::filesystem::exists(first.made.path));
    CHECK(std::filesystem::exists(second.made.path));
  }

  TEST_CASE("a backup that does not read back any more is not taken for one") {
    BackupShop s;
    const Rotation first = s.into(3);
    {
      std::fstream f(first.made.path, std::ios::in | std::ios::out | std::ios::binary);
      f.seekp(9000);
      f << std::string(3000, 'z');
    }
    s.now.ms += 86'400'000;
    const Rotation second = s.into(1);
    CHECK_FALSE(second.made.was_there);
    CHECK_FALSE(second.findings.empty());
    CHECK(std::filesystem::exists(first.made.path));
  }

  TEST_CASE("a copy that goes on is a book like any other, and what its maker refuses leaves nothing") {
    BackupShop s;
    const Backup b = s.make("b.baybook");
    const auto from = Book::open(b.path, Access::read, repeatable(1));
    REQUIRE(from.ok());
    book::CopyOptions o;
    o.goes_on = true;
    const auto no = book::copy_book(*from, s.out("new.baybook"), o, [](Book::Inside&) -> Result<Done> { return Refusal{Code::unclear, "not like this", "", "", {}}; });
    REQUIRE_FALSE(no.ok());
    CHECK(no.refusal().what == "not like this");
    CHECK(names_in(s.out(".")) == std::set<std::string>{"b.baybook"});
    const auto made = book::copy_book(*from, s.out("new.baybook"), o, [](Book::Inside& copy) -> Result<Done> {
      book::remove_mark(copy.db);
      return Done{};
    });
    REQUIRE_MESSAGE(made.ok(), why(made));
    CHECK(names_in(s.out(".")) == std::set<std::string>{"b.baybook", "new.baybook"});
    auto goes_on = Book::open(s.out("new.baybook"), Access::write, repeatable(1));
    REQUIRE_MESSAGE(goes_on.ok(), why(goes_on));
    NewPlace p;
    p.code = "pan-77";
    CHECK(goes_on->append(p, s.stamp()).ok());
    CHECK(std::filesystem::exists(s.out("new.baybook-wal")));
  }
}
