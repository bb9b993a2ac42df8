// Backups: a marked copy, and a folder of them of which the oldest go.
#include "book/clock.hpp"
#include "book/copy.hpp"
#include "book/erasure_list.hpp"
#include "book/exchange_notes.hpp"
#include "book/from_caller.hpp"
#include "book/mark.hpp"
#include "book/opening.hpp"
#include "book/papers.hpp"
#include "log/chain.hpp"
#include "store/paths.hpp"

#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

#include <algorithm>
#include <charconv>
#include <dirent.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook {

namespace {

using book::copy_book;

constexpr std::string_view kEnding = ".baybook";

// TAG-2026-03-05-000123-3f9a0c12.baybook
struct Name {
  std::string file;
  std::string day;
  std::int64_t number = 0;
  std::string head;  ///< 8 digits
};

std::string padded(std::int64_t n) {
  std::string out = std::to_string(n);
  return out.size() < 6 ? std::string(6 - out.size(), '0') + out : out;
}

std::optional<Name> read_name(const std::string& file, const std::string& tag) {
  if (!file.starts_with(tag + "-") || !file.ends_with(kEnding)) return std::nullopt;
  const std::string_view middle = std::string_view(file).substr(tag.size() + 1, file.size() - tag.size() - 1 - kEnding.size());
  // 10 of the day, a hyphen, at least 6 of the number, a hyphen, 8 of the digest
  if (middle.size() < 10 + 1 + 6 + 1 + 8 || middle[10] != '-' || middle[middle.size() - 9] != '-') return std::nullopt;
  Name n;
  n.file = file;
  n.day = middle.substr(0, 10);
  n.head = middle.substr(middle.size() - 8);
  const std::string_view number = middle.substr(11, middle.size() - 11 - 9);
  if (!read_day(n.day) || n.head.find_first_not_of("0123456789abcdef") != std::string::npos) return std::nullopt;
  const auto [end, error] = std::from_chars(number.data(), number.data() + number.size(), n.number);
  if (error != std::errc() || end != number.data() + number.size() || n.number < 1 || padded(n.number) != number) return std::nullopt;
  return n;
}

std::string head_of(const std::vector<std::string>& seals) {
  // Of one installation the digits are those of its seal.
  if (seals.size() == 1) {
    const auto seal = log::parse_seal(seals.front());
    if (seal.ok()) return seal->head.substr(0, 8);
  }
  std::vector<std::string> sorted = seals;
  std::sort(sorted.begin(), sorted.end());
  std::string all;
  for (const std::string& s : sorted) all += s + "\n";
  return sha256_hex(all).substr(0, 8);
}

std::vector<Name> names_in(const std::string& folder, const std::string& tag) {
  std::vector<Name> out;
  DIR* const dir = ::opendir(folder.c_str());
  if (dir == nullptr) throw store::Failure(Code::unwritable, folder + ": cannot be read as a folder", "mkdir the folder first");
  while (const dirent* const e = ::readdir(dir)) {
    if (auto n = read_name(e->d_name, tag)) out.push_back(std::move(*n));
  }
  ::closedir(dir);
  // The newest first; the day decides only between copies of the same moment.
  std::sort(out.begin(), out.end(), [](const Name& a, const Name& b) { return std::tie(b.number, b.day, b.file) < std::tie(a.number, a.day, a.file); });
  return out;
}

std::vector<std::string> seals_of(Book::Inside& in) {
  std::vector<std::string> out;
  for (const auto& [id, digest] : book::tails_of(in)) {
    log::Digest d{};
    if (digest.size() != d.size()) throw store::Failure(Code::unsound, in.db.path() + ": the last entry has no whole digest", "baybook prove");
    std::copy(digest.begin(), digest.end(), d.begin());
    out.push_back(log::seal(in.known.tag_of(id.origin()), id.number(), d));
  }
  return out;
}

// An older backup of the folder as it is found there.
struct Found {
  enum class What { of_this_book, of_another, unreadable, ahead } what = What::unreadable;
  std::string why;
  std::vector<std::string> papers;
};

Found look(Book::Inside& now, const std::string& path) {
  Found out;
  struct stat st {};
  if (::lstat(path.c_str(), &st) != 0 || !S_ISREG(st.st_mode)) {
    out.what = Found::What::of_another;
    return out;
  }
  try {
    Book::Inside old(path, store::Db::Mode::read, now.random);
    book::load(old);
    if (!old.backup || old.known.own().identity != now.known.own().identity) {
      out.what = Found::What::of_another;
      return out;
    }
    out.what = Found::What::of_this_book;
    for (const auto& [id, digest] : book::tails_of(old)) {
      auto q = now.db.query("SELECT digest FROM entry WHERE id = ?");
      q.bind(id.n);
      const bool there = q.step();
      if (there && q.blob(0) == digest) continue;
      out.what = Found::What::ahead;
      out.why = there ? "has another entry " + book::entry_name(old, id) + " than this book" : "goes to entry " + book::entry_name(old, id) + ", which this book does not have";
    }
    for (const book::KeptPaper& p : book::kept_papers(old.db)) out.papers.push_back(p.file);
  } catch (const store::Failure& f) {
    out.why = f.what();
  } catch (const log::Malformed& m) {
    out.why = m.what();
  }
  return out;
}

void remove_backup(const std::string& path, const std::vector<std::string>& papers) {
  if (::unlink(path.c_str()) != 0) throw store::Failure(Code::unwritable, path + ": the old backup could not be removed; the new one is there", "look at the folder");
  const std::string folder = papers_folder(path);
  for (const std::string& file : papers) {
    if (file.find('/') == std::string::npos) ::unlink((folder + "/" + file).c_str());
  }
  ::rmdir(folder.c_str());  // stays if anything else is in it
}

book::Finish marked(Instant now) {
  return [now](Book::Inside& copy) -> Result<Done> {
    const std::vector<std::string> seals = seals_of(copy);
    std::string own;
    for (const std::string& s : seals) {
      if (s.starts_with(copy.known.own().tag + ":")) own = s;
    }
    book::write_mark(copy.db, BackupMark{now, own});
    return Done{};
  };
}

}  // namespace

Result<Backup> backup(const Book& book, const std::string& path, const BackupOptions& options) {
  book::CopyOptions o;
  o.force = options.force;
  o.papers = options.papers;
  o.progress = book::guarded_progress(options.progress);
  auto made = copy_book(book, path, o, marked(options.now));
  if (!made.ok()) return made;
  return book::guarded<Backup>([&]() -> Result<Backup> {
    book::keep_erasure_list(book.inside(), store::folder_of(path), made->findings);
    return made;
  });
}

Result<Backup> continue_as(const Book& book, const std::string& path, const std::string& tag, const BackupOptions& options) {
  return book::guarded<Backup>([&]() -> Result<Backup> {
    auto clean = book::clean_tag(tag);
    if (!clean.ok()) return std::move(clean).refusal();
    for (const log::Installation& i : book.inside().known.all) {
      if (i.tag == *clean) return Refusal{Code::already_there, "an installation of this book is tagged " + *clean + " already", "the tag tells entries and seals apart", "--tag " + clean->substr(0, 10) + "-2", {}};
    }
    book::CopyOptions o;
    o.force = options.force;
    o.papers = options.papers;
    o.progress = book::guarded_progress(options.progress);
    o.goes_on = true;
    std::vector<UnknownErasure> unknown;
    std::vector<Finding> findings;
    auto made = copy_book(book, path, o, [&](Book::Inside& copy) -> Result<Done> {
      auto local = book::read_clock(copy, options.now);
      if (!local.ok()) return std::move(local).refusal();
      std::optional<book::Continues> before;
      for (const auto& [id, digest] : book::tails_of(copy)) {
        if (id.origin() == copy.known.own().origin) before = book::Continues{id, log::hex_of(digest)};
      }
      Settings settings = copy.settings;
      settings.tag = *clean;
      book::remove_mark(copy.db);
      book::open_installation(copy, settings, *local, options.now, before);
      copy.known = log::installations(copy.db);
      if (book.inside().backup || options.in_place_of_lost) book::wait_for_others(copy);
      unknown = book::unknown_in(copy, book::read_erasure_list(store::folder_of(book.path()), findings));
      return Done{};
    });
    if (!made.ok()) return made;
    made->erasures = std::move(unknown);
    made->findings.insert(made->findings.end(), findings.begin(), findings.end());
    return made;
  });
}

Result<Rotation> backup_into(const Book& book, const std::string& folder, int keep, const BackupOptions& options) {
  return book::guarded<Rotation>([&]() -> Result<Rotation> {
    if (folder.empty()) return Refusal{Code::wrong_usage, "the folder needs a name", "", "--into /media/stick", {}};
    if (keep < 0)
      return Refusal{Code::wrong_usage,
                     "fewer than one backup cannot be kept",
                     "",
                     "--keep N: so many stay, and the oldest beyond them go",
                     {}};
    const std::string where = store::absolute(folder);
    // A copy is made whatever the clock says: the day is a part of its name, and nothing is judged
    // by it.
    auto local = book::local_now(book.inside(), options.now);
    if (!local.ok()) return std::move(local).refusal();
    const Day today = local->day;
    Book::Inside now(book.path(), store::Db::Mode::read, book.inside().random);
    book::load(now);
    const std::string tag = now.known.own().tag;
    const std::vector<std::string> seals = seals_of(now);
    const std::string head = head_of(seals);
    std::int64_t number = 0;
    for (const auto& [id, digest] : book::tails_of(now)) {
      if (id.origin() == now.known.own().origin) number = id.number();
    }
    now.db.end_read();

    Rotation out;
    std::string made =
        tag + "-" + to_string(today) + "-" + padded(number) + "-" + head + std::string(kEnding);
    std::optional<Backup> there;
    for (const Name& n : names_in(where, tag)) {
      if (there || n.number != number || n.head != head) continue;
      // Nothing was written since: another copy of the same would push an older one out for nothing.
      const std::string path = folder + "/" + n.file;
      const Found found = look(now, store::absolute(path));
      if (found.what == Found::What::of_another) continue;
      try {
        if (found.what != Found::What::of_this_book) throw store::Failure(Code::unsound, found.why, "");
        Book::Inside copy(path, store::Db::Mode::read, book.inside().random);
        book::load(copy);
        there = book::read_again(copy, {}, book::guarded_progress(options.progress));
        there->was_there = true;
        made = n.file;
      } catch (const store::Failure& f) {
        if (f.code == Code::callback_failed) throw;
        out.findings.push_back({visible(path) + " does not read back: " + f.what(),
                                {},
                                "keep it aside, and look at that disk"});
      }
    }
    if (there) {
      out.made = std::move(*there);
      if (options.papers) {
        Book::Inside copy(out.made.path, store::Db::Mode::read, book.inside().random);
        book::load(copy);
        book::PapersCopy papers(copy, papers_folder(store::absolute(book.path())), papers_folder(store::absolute(out.made.path)));
        out.made.findings = papers.run(book::guarded_progress(options.progress));
        out.made.papers = papers.copied();
        papers.keep();
      }
    } else {
      auto copied = backup(book, folder + "/" + made, options);
      if (!copied.ok()) return std::move(copied).refusal();
      out.made = std::move(copied).value();
      // While it was copied the book may have gone on: what is in the file counts, but its name stays as it is.
    }

    // The old ones, only now.
    struct Old {
      std::string path;
      std::vector<std::string> papers;
    };
    std::vector<Old> own;
    for (const Name& n : names_in(where, tag)) {
      const std::string path = folder + "/" + n.file;
      if (n.file == made) {
        own.push_back({path, {}});
        continue;
      }
      Found found = look(now, store::absolute(path));
      switch (found.what) {
        case Found::What::of_this_book: own.push_back({path, std::move(found.papers)}); break;
        case Found::What::of_another: break;
        case Found::What::unreadable:
          out.findings.push_back({visible(path) + " does not open: " + found.why,
                                  {},
                                  "keep it aside, and look at that disk"});
          break;
        case Found::What::ahead:
          out.findings.push_back(
              {visible(path) + " " + found.why +
                   ": this book lost its end, was written anew, or went on from an older copy",
               {},
               "keep both; baybook prove --book " + as_typed(path)});
          break;
      }
    }
    for (std::size_t i = 0; i < own.size(); ++i) {
      // As long as something is not as it should be, nothing is removed: the old one may be the one that is needed.
      const bool newest = own[i].path == folder + "/" + made;
      if (keep > 0 && i >= static_cast<std::size_t>(keep) && !newest && out.findings.empty()) {
        remove_backup(own[i].path, own[i].papers);
        out.removed.push_back(own[i].path);
      } else {
        out.kept.push_back(own[i].path);
      }
    }
    if (!out.removed.empty()) (void)store::sync_path(where, true);
    return out;
  });
}

}  // namespace baybook
