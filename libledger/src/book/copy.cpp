#include "book/copy.hpp"

#include "book/conflict_list.hpp"
#include "book/erase.hpp"
#include "book/in_the_way.hpp"
#include "book/mark.hpp"
#include "book/papers.hpp"
#include "book/prove.hpp"
#include "store/paths.hpp"

#include <baybook/returns.hpp>

#include <sys/stat.h>
#include <unistd.h>

namespace baybook::book {

namespace {

using store::Failure;

// With --force a backup goes of which the book has every entry; any other book may hold what
// nothing else holds.
MayGo only_what_the_book_has(const Book& book) {
  return [&book](const std::string& file, const std::string& path) -> std::optional<Refusal> {
    const auto stays = [&](const std::string& what, const std::string& why) {
      return Refusal{Code::not_allowed, path + " " + what, why, "another name", {}};
    };
    constexpr const char* kLost =
        "its entries would be lost; --force writes over a backup of this book, never over a book";
    try {
      Book::Inside other(file, store::Db::Mode::read, book.inside().random);
      load(other);
      if (!other.backup) return stays("is a book and no backup", kLost);
      for (const auto& [id, digest] : tails_of(other)) {
        auto q = book.inside().db.query("SELECT digest FROM entry WHERE id = ?");
        q.bind(id.n);
        if (!q.step() || q.blob(0) != digest)
          return stays("is a backup that holds entry " + entry_name(other, id) +
                           ", which this book does not have",
                       "it may be the only copy of it");
      }
      return std::nullopt;
    } catch (const Failure&) {
      // A newer or damaged book may hold what nothing else holds.
    } catch (const log::Malformed&) {
    }
    return stays("cannot be read as a backup, and may be a newer or damaged book", kLost);
  };
}

Placing placing_of(const Book& book, bool force) {
  Placing how;
  how.force = force;
  how.book = book.path();
  return how;
}

// The file under its passing name; gone on the way out unless it got its own.
struct Part {
  std::string path;
  bool there = false;
  ~Part() {
    if (there) store::remove_with_side_files(path);
  }
};

}  // namespace

std::vector<std::pair<EntryId, std::string>> tails_of(Book::Inside& in) {
  std::vector<std::pair<EntryId, std::string>> out;
  for (const log::Installation& i : in.known.all) {
    auto q = in.db.query("SELECT id, digest FROM entry WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1");
    q.bind(i.origin << 40).bind((i.origin + 1) << 40);
    if (q.step()) out.emplace_back(EntryId{q.num(0)}, q.blob(1));
  }
  return out;
}

namespace {

// The log of a copy whose tables are damaged is as good as any, and the copy is kept: prove says
// what is wrong with them.
std::int64_t conflicts_in(Book::Inside& copy) {
  try {
    return std::ssize(list_conflicts(copy));
  } catch (const Failure& f) {
    if (f.code != Code::unsound && f.code != Code::unreadable) throw;
  } catch (const log::Malformed&) {
  }
  return 0;
}

}  // namespace

Backup read_again(Book::Inside& copy, const std::vector<std::pair<EntryId, std::string>>& tails, const Progress& progress) {
  const std::string& path = copy.db.path();
  Proof proof;
  store::Snapshot snapshot(copy.db);
  prove_log(copy, proof, progress);
  if (!proof.findings.empty()) throw Failure(Code::unsound, proof.findings.front().what, "baybook prove");
  for (const auto& [id, digest] : tails) {
    auto q = copy.db.query("SELECT digest FROM entry WHERE id = ?");
    q.bind(id.n);
    if (!q.step() || q.blob(0) != digest) throw Failure(Code::unsound, path + ": entry " + entry_name(copy, id) + " of the book is not in it", "baybook prove");
  }
  Backup out;
  out.path = path;
  out.seals = proof.seals;
  out.entries = proof.entries;
  out.conflicts = conflicts_in(copy);
  for (const std::string& seal : proof.seals) {
    if (seal.starts_with(copy.known.own().tag + ":")) out.seal = seal;
  }
  struct stat st {};
  if (::stat(store::absolute(path).c_str(), &st) == 0) out.bytes = st.st_size;
  return out;
}

Result<Backup> copy_book(const Book& book, const std::string& path, const CopyOptions& options, const Finish& finish) {
  return guarded<Backup>([&]() -> Result<Backup> {
    if (path.empty()) return Refusal{Code::wrong_usage, "the copy needs a name", "it is one file", "baybook backup /media/stick/marsh.baybook", {}};
    const Placing placing = placing_of(book, options.force);
    const MayGo may_go = only_what_the_book_has(book);
    if (auto no = in_the_way(path, placing, may_go)) return std::move(*no);

    // A connection of its own: the copy is one moment of the book, and the caller's own reading goes on.
    std::string doing = "copying";
    std::int64_t done = 0;
    std::int64_t of = 0;
    Progress told;
    const auto still = [&] { options.progress(doing, done, of); };
    if (options.progress) {
      told = [&](std::string_view what, std::int64_t now, std::int64_t all) {
        doing = what;
        done = now;
        of = all;
        options.progress(what, now, all);
      };
    }
    Book::Inside source(book.path(), store::Db::Mode::read, book.inside().random);
    load(source);
    source.db.end_read();
    const auto tails = tails_of(source);
    Part part{store::make_beside(path, 0600), true};
    if (told) {
      told("copying", 0, 0);
      source.db.while_running(still);
    }
    try {
      source.db.copy_into(part.path);
    } catch (const Failure& f) {
      // What SQLite says of the book may be meant for the disk that the copy goes to.
      if (f.code != Code::unwritable && f.code != Code::unreadable) throw;
      throw Failure(Code::unwritable, path + ": could not be written to the end (the disk or the quota is full, or the disk reported an error); nothing was kept", "make room, or another disk");
    }
    {
      Book::Inside copy(part.path, store::Db::Mode::write, book.inside().random);
      load(copy);
      store::Transaction t(copy.db);
      forget_unfinished(copy.db);
      copy.db.forget_log();
      if (auto finished = finish(copy); !finished.ok()) return std::move(finished).refusal();
      t.commit();
      if (options.goes_on) {
        copy.db.use_write_ahead();
        if (!copy.db.settle()) throw Failure(Code::unwritable, path + ": could not be written to the end; nothing was kept", "another disk");
      }
    }
    Backup out;
    {
      Book::Inside copy(part.path, store::Db::Mode::read, book.inside().random);
      load(copy);
      if (told) copy.db.while_running(still);
      try {
        out = read_again(copy, tails, told);
      } catch (const Failure& f) {
        if (f.code != Code::unsound) throw;
        throw Failure(Code::unsound,
                      std::string("the copy does not read back as a sound book: ") + f.what() +
                          "; nothing was kept",
                      "baybook prove --book " + as_typed(book.path()));
      }
      copy.db.end_read();
      PapersCopy papers(copy, papers_folder(store::absolute(book.path())), papers_folder(store::absolute(path)));
      if (options.papers) {
        out.findings = papers.run(told);
        out.papers = papers.copied();
      }
      // Everything is on the disk before the name says that it is there.
      for (const char* suffix : {"-wal", "-shm", "-journal"}) ::unlink((store::absolute(part.path) + suffix).c_str());
      if (!store::sync_path(store::absolute(part.path), false)) throw Failure(Code::unwritable, path + ": could not be made safe on disk; nothing was kept", "another disk");
      if (auto no = put_in_place(part.path, path, placing, may_go)) return std::move(*no);
      part.there = false;
      papers.keep();
    }
    out.path = path;
    if (!store::sync_path(store::folder_of(store::absolute(path)), true))
      throw Failure(Code::unwritable,
                    path + ": is there, but the folder could not be made safe on disk",
                    "look at the disk; then baybook prove --book " + as_typed(path));
    if (told) told("", out.entries, out.entries);
    return out;
  });
}

}  // namespace baybook::book
