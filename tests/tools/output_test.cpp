// Files that the command writes and reads, and the names that somebody gives them.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <csignal>
#include <map>
#include <sys/resource.h>
#include <sys/stat.h>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::OpenShop;
using baybook::test::Shop;

namespace {

using Words = std::vector<std::string>;

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// Every command that writes a file, without the file; the form is said, so that any name will do.
const std::vector<Words> kWriting = {
    {"exchange", "out"},
    {"export", "cars", "--out"},
    {"export", "readings", "--out"},
    {"export", "tasks", "--out"},
    {"totals", "--form", "pdf", "--out"},
    {"register", "--form", "csv", "--out"},
    {"limits", "--form", "html", "--out"},
    {"due", "--form", "ics", "--out"},
    {"due", "--form", "json", "--out"},
    {"rules", "show", "--form", "text", "--out"},
    {"history", "MARSH-07", "--form", "pdf", "--out"},
};

Words to(Words command, const std::string& file, bool force) {
  command.push_back(file);
  if (force) command.emplace_back("--force");
  return command;
}

// The shop with another book, a backup, a paper and settings in its folder.
struct Full : OpenShop {
  Full() {
    must({"rules", "set", "eu", "--from", "2026-01-01"});
    text("scan.pdf", "%PDF-1.7 signed");
    must({"paper", "add", "last", "scan.pdf"});
    for (const auto& e : std::filesystem::directory_iterator(file("m.baybook.papers")))
      paper = "m.baybook.papers/" + e.path().filename().string();
    must({"start", "other.baybook", "--site", "Reedbank Garage", "--tag", "reed"});
    must({"backup", "old.bak"});
    std::filesystem::create_directories(file("xdg/baybook"));
    text("xdg/baybook/config.toml", "by = \"Tam\"\n");
    variables.emplace_back("XDG_CONFIG_HOME", file("xdg").string());
    text("own.toml",
         "[[value]]\nkey = \"catch.undecided-days\"\nis = \"3 d\"\nsection = \"our own\"\n");
  }
  void text(const std::string& name, const std::string& bytes) const {
    std::ofstream(file(name), std::ios::binary) << bytes;
  }
  std::string paper;
};

}  // namespace

TEST_SUITE("tools/output") {
  TEST_CASE(
      "no verb writes a print, a list or an exchange file over a book, a backup, a paper or a file "
      "of settings, with force or without") {
    const Full shop;
    std::filesystem::create_hard_link(shop.file("other.baybook"), shop.file("march.pdf"));
    std::filesystem::create_directory_symlink(shop.folder(), shop.file("door"));
    const Words there = {"m.baybook", "door/m.baybook", "./m.baybook", "other.baybook",
                         "march.pdf", "old.bak",        shop.paper,    "xdg/baybook/config.toml",
                         "own.toml"};
    std::map<std::string, std::string> before;
    for (const std::string& name : there) before[name] = bytes_of(shop.file(name));
    for (const Words& command : kWriting) {
      CAPTURE(command.front());
      for (const std::string& name : there) {
        CAPTURE(name);
        for (const bool force : {false, true}) {
          const Answer a = shop.run(to(command, name, force));
          CAPTURE(a.err);
          CHECK(a.status == 1);
          CHECK(a.out.empty());
          CHECK(holds(a.err, "type: another "));
          CHECK(!holds(a.err.substr(std::min(a.err.find("type: "), a.err.size())), "--force"));
        }
      }
      for (const char* name : {"m.baybook-journal", "other.baybook-wal", "other.baybook-shm",
                               "m.baybook.papers/new.pdf"}) {
        CAPTURE(name);
        const bool was = std::filesystem::exists(shop.file(name));
        const Answer a = shop.run(to(command, name, true));
        CHECK(a.status == 1);
        CHECK(std::filesystem::exists(shop.file(name)) == was);
        CHECK(!holds(bytes_of(shop.file(name)), "baybook"));
      }
    }
    for (const Words& command : {Words{"label", "drum-coolant", "--out"}}) {
      std::filesystem::copy_file(shop.file("other.baybook"), shop.file("label.pdf"));
      CHECK(shop.run(to(command, "label.pdf", true)).status == 1);
      CHECK(bytes_of(shop.file("label.pdf")) == before["other.baybook"]);
    }
    for (const auto& [name, bytes] : before) {
      CAPTURE(name);
      CHECK(bytes_of(shop.file(name)) == bytes);
    }
    CHECK(shop.run({"prove"}).status == 0);
  }

  TEST_CASE(
      "a print is written over with force, which is offered where a print is and nowhere else") {
    const Full shop;
    for (const Words& command : kWriting) {
      CAPTURE(command.front());
      shop.must(to(command, "print", false));
      const std::string first = bytes_of(shop.file("print"));
      const Answer again = shop.run(to(command, "print", false));
      // A book's own exchange file is made anew every evening (tools/exchange_with_test).
      if (command.front() == "exchange") {
        CHECK(again.status == 0);
        CHECK(bytes_of(shop.file("print")) == first);
        std::filesystem::remove(shop.file("print"));
        continue;
      }
      CHECK(again.status == 1);
      CHECK(holds(again.err, "is there already"));
      const bool a_list = command.front() == "export" || command.front() == "exchange";
      CHECK(holds(again.err, ", or --force\n") == !a_list);
      CHECK(bytes_of(shop.file("print")) == first);
      shop.must(to(command, "print", true));
      std::filesystem::remove(shop.file("print"));
    }
    shop.text("letter.txt", "dear sir");
    CHECK(!holds(shop.run({"totals", "--out", "letter.txt"}).err, "--force"));
    CHECK(bytes_of(shop.file("letter.txt")) == "dear sir");
    for (const auto& e : std::filesystem::directory_iterator(shop.folder()))
      CHECK(!holds(e.path().filename().string(), ".part-"));
  }

  TEST_CASE(
      "an empty name of a file is refused, and an empty variable is not taken for another book") {
    OpenShop shop;
    for (const Words& words : {Words{"totals", "--out", ""},
                               {"label", "drum-coolant", "--out="},
                               {"due", "--out", ""},
                               {"export", "cars", "--out", ""},
                               {"exchange", "out", ""},
                               {"exchange", "in", ""},
                               {"import", "cars", ""},
                               {"backup", ""},
                               {"backup", "--into", ""},
                               {"backup", "--continue", "", "--tag", "x"},
                               {"levels", "--book", ""},
                               {"start", "", "--site", "x", "--tag", "y"},
                               {"rules", "check", ""},
                               {"schedule", "load", ""}}) {
      CAPTURE(words.front());
      const Answer a = shop.run(words);
      CAPTURE(a.err);
      CHECK(a.status == 2);
      CHECK(holds(a.err, "needs the name of a f"));
      CHECK(a.out.empty());
    }
    std::filesystem::create_directories(shop.file("xdg/baybook"));
    std::ofstream(shop.file("xdg/baybook/config.toml")) << "book = \"m.baybook\"\n";
    shop.variables = {{"XDG_CONFIG_HOME", shop.file("xdg").string()}};
    CHECK(shop.run({"levels"}).status == 0);
    shop.variables.emplace_back("BAYBOOK_BOOK", "");
    const Answer empty = shop.run({"levels"});
    CHECK(empty.status == 2);
    CHECK(holds(empty.err, "BAYBOOK_BOOK is set and names no book"));
    CHECK(shop.run({"levels", "--book", "m.baybook"}).status == 0);
    shop.variables.pop_back();
    std::ofstream(shop.file("xdg/baybook/config.toml")) << "book = \"\"\n";
    CHECK(holds(shop.run({"levels"}).err, "book names no file"));
  }

  TEST_CASE(
      "a pipe, a device or a folder in the place of a file is refused at once, and so is the book "
      "itself") {
    OpenShop shop;
    REQUIRE(::mkfifo(shop.file("pipe").c_str(), 0600) == 0);
    for (const char* name : {"pipe", "/dev/zero", ".", "m.baybook", "./m.baybook-wal"}) {
      CAPTURE(name);
      for (const Words& words : {Words{"import", "cars", name},
                                 {"exchange", "in", name},
                                 {"rules", "check", name},
                                 {"rules", "set", "eu", "--file", name},
                                 {"schedule", "load", name},
                                 {"paper", "add", "last", name}}) {
        CAPTURE(words.front());
        const Answer a = shop.run(words);
        CHECK(a.status == 3);
        CHECK(holds(a.err, "is not a file that can be read"));
      }
    }
    CHECK(shop.run({"levels", "--book", "pipe"}).status == 3);
    std::filesystem::copy_file(shop.file("m.baybook"), shop.file("copy.baybook"));
    REQUIRE(::mkfifo(shop.file("copy.baybook-journal").c_str(), 0600) == 0);
    CHECK(
        holds(shop.run({"levels", "--book", "copy.baybook"}).err, "lies beside it and is no file"));
    std::filesystem::create_directories(shop.file("xdg/baybook"));
    shop.variables.emplace_back("XDG_CONFIG_HOME", shop.file("xdg").string());
    REQUIRE(::mkfifo(shop.file("xdg/baybook/config.toml").c_str(), 0600) == 0);
    const Answer settings = shop.run({"levels"});
    CHECK(settings.status == 3);
    CHECK(holds(settings.err, "config.toml: the settings cannot be read\nwhy:  it is a pipe"));
    std::filesystem::remove(shop.file("xdg/baybook/config.toml"));
    std::filesystem::create_symlink("/dev/zero", shop.file("xdg/baybook/config.toml"));
    CHECK(shop.run({"levels"}).status == 3);
  }

  TEST_CASE(
      "the name of a file moves no terminal and begins no line of its own, in no answer and no "
      "refusal") {
    OpenShop shop;
    const std::string evil = "m\x1b[2J\xe2\x80\xae\nbaybook: all is well.baybook";
    for (const char* suffix : {"", "-wal", "-shm"}) {
      if (std::filesystem::exists(shop.file(std::string("m.baybook") + suffix)))
        std::filesystem::copy_file(shop.file(std::string("m.baybook") + suffix),
                                   shop.file(evil + suffix));
    }
    std::filesystem::create_directory(shop.file("dir\x1b[2J\n"));
    shop.variables = {{"BAYBOOK_BOOK", evil}};
    std::vector<Words> all = {{"levels"},
                              {"prove"},
                              {"totals", "--out", evil + ".pdf"},
                              {"totals", "--out", evil + ".pdf"},
                              {"backup", evil + ".bak"},
                              {"backup", evil + ".bak"},
                              {"backup", evil, "--force"},
                              {"backup", "--into", "dir\x1b[2J\n"},
                              {"backup", "--continue", evil + "2", "--tag", "two"},
                              {"exchange", "out", evil + ".x"},
                              {"exchange", "in", evil + ".x"},
                              {"export", "cars", "--out", evil},
                              {"import", "cars", evil},
                              {"import", "cars", evil + "-none"},
                              {"rules", "check", evil + ".x"},
                              {"schedule", "load", evil + ".x"},
                              {"paper", "add", "2", evil + ".x"},
                              {"paper", "list"},
                              {"start", evil, "--site", "x", "--tag", "y"},
                              {"start", evil + "3", "--site", "x", "--tag", "y"},
                              {"start", "none\n/x", "--site", "x", "--tag", "y"},
                              {"levels", "--book", evil + "-none"},
                              {"place", "add", "pan-9", "--role", "catch", "--book", evil + ".bak"},
                              {"prove", "--rebuild"},
                              {"work", "1", "hoses", "--book", evil + ".x"},
                              {"label", "drum-coolant", "--out", evil + ".html"}};
    // A damaged copy, a newer one, and one beside which a journal lies.
    shop.must({"exchange", "out", "whole.x"});
    const std::string book = bytes_of(shop.file("m.baybook"));
    const auto put = [&](const std::string& name, std::string bytes, std::size_t at,
                         const std::string& part) {
      bytes.replace(at, part.size(), part);
      std::ofstream(shop.file(name), std::ios::binary) << bytes;
      all.push_back({"levels", "--book", name});
      all.push_back({"prove", "--book", name});
    };
    put("newer\x1b[2J", book, 60, std::string("\0\0\0\x09", 4));
    put("torn\x1b[2J", book, 4096, std::string(4096, '~'));
    put("cut\x1b[2J", book.substr(0, 60), 0, "SQLite");
    put("beside\x1b[2J", book, 0, "SQLite");
    std::ofstream(shop.file("beside\x1b[2J-journal")) << "x";
    std::size_t shown = 0;
    for (const Words& words : all) {
      std::string typed;
      for (const std::string& w : words) typed += w + " ";
      CAPTURE(typed);
      const Answer a = shop.run(words);
      for (const std::string* text : {&a.out, &a.err}) {
        CHECK(!holds(*text, "\x1b"));
        CHECK(!holds(*text, "\xe2\x80\xae"));
        CHECK(!holds(*text, "\nbaybook: all is well"));
        if (holds(flat(*text), "\\x1b")) ++shown;
      }
    }
    CHECK(shown > 25);  // else the names were not there to be seen
  }

  TEST_CASE("what to type instead is typed as it stands, whatever the name of the book is") {
    OpenShop shop;
    const std::string name = "it's a \x1b[1mbook $HOME.baybook";
    shop.must({"backup", name});
    const Answer a = shop.run({"work", "1", "hoses", "--book", name});
    REQUIRE(holds(a.err, "type: baybook backup --continue NEW.baybook --tag NEW-TAG --book "));
    const std::string hint = a.err.substr(a.err.find("type: baybook ") + 14,
                                          a.err.rfind('\n') - a.err.find("type: baybook ") - 14);
    std::ofstream(shop.file("typed.sh"))
        << "cd '" << shop.folder().string() << "' && '" << BAYBOOK_PROGRAM << "' " << hint << "\n";
    // bash, for $'...'
    CHECK(std::system(
              ("/bin/bash '" + shop.file("typed.sh").string() + "' > /dev/null 2>&1").c_str()) ==
          0);
    CHECK(std::filesystem::exists(shop.file("NEW.baybook")));
  }

  TEST_CASE(
      "words of a hint that stand for one's own are not taken, and an incomplete command is "
      "answered by nothing that writes") {
    const OpenShop shop;
    const std::string before = shop.dump();
    for (const Words& words : {Words{"correct", "last", "--withdraw", "--why", "..."},
                               {"correct", "last", "--withdraw", "--why", "\xe2\x80\xa6"},
                               {"odo", "MARSH-07", "12km", "--replaced", "--reason", "..."},
                               {"job", "close", "1", "--as-is", "..."},
                               {"person", "add", "Ann", "--contact", "..."}}) {
      const Answer a = shop.run(words);
      CHECK(a.status == 2);
      CHECK(holds(a.err, "says nothing"));
    }
    for (const Words& words : {Words{"drain", "1"},
                               {"correct", "--why", "x"},
                               {"pickup", "--from", "drum-coolant"},
                               {"gauge", "pan-1"},
                               {"erase", "entry", "--yes"},
                               {"odo", "MARSH-07"},
                               {"car", "add", "--make", "Corvane"},
                               {"fill", "1", "coolant", "2L", "and"},
                               {"pickup", "--measured", "3L"},
                               {"backup", "--keep", "3"}}) {
      CAPTURE(words.front());
      CHECK(shop.run(words).status != 0);  // run() looks at the hint itself
    }
    CHECK(shop.dump() == before);
  }

#ifndef __SANITIZE_ADDRESS__  // the sanitizer itself needs terabytes of address space
  TEST_CASE(
      "with too little memory the command ends with its own words and status 3, never by abort") {
    const OpenShop shop;
    bool ran = false;
    for (rlim_t kib = 8192; kib < 200'000 && !ran; kib += kib < 24'000 ? 32 : 1024) {
      const pid_t child = ::fork();
      REQUIRE(child >= 0);
      if (child == 0) {
        const int err = ::open(shop.file("err").c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
        ::dup2(err, 2);
        ::dup2(err, 1);
        const rlimit limit{kib * 1024, kib * 1024};
        if (::chdir(shop.folder().c_str()) != 0 || ::setrlimit(RLIMIT_AS, &limit) != 0)
          ::_exit(126);
        ::execl(BAYBOOK_PROGRAM, "baybook", "levels", "--book", "m.baybook",
                static_cast<char*>(nullptr));
        ::_exit(125);
      }
      int status = 0;
      REQUIRE(::waitpid(child, &status, 0) == child);
      const std::string said = bytes_of(shop.file("err"));
      CAPTURE(kib);
      CAPTURE(said);
      CHECK_FALSE((WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT));
      // Where not even the program fits, the system or the C library ends it before it begins.
      if (!WIFEXITED(status) || WEXITSTATUS(status) == 125 || WEXITSTATUS(status) == 127) continue;
      ran = WEXITSTATUS(status) == 0;
      if (ran) continue;
      CHECK(WEXITSTATUS(status) == 3);
      CHECK(holds(said, "baybook: "));
    }
    CHECK(ran);
  }
#endif
}
