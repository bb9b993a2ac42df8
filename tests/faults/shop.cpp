#include "shop.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <sys/syscall.h>
#include <unistd.h>

namespace fs = std::filesystem;

namespace baybook::faults {

namespace {

constexpr const char* kKey = "the-one-key";

std::string bytes_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<std::string> words_of(const std::string& line) {
  std::vector<std::string> out;
  std::string word;
  bool inside = false;
  bool any = false;
  for (const char c : line) {
    if (c == '"') {
      inside = !inside;
      any = true;
    } else if (c == ' ' && !inside) {
      if (any) out.push_back(word);
      word.clear();
      any = false;
    } else {
      word += c;
      any = true;
    }
  }
  if (any) out.push_back(word);
  return out;
}

void must(const Command& c) {
  const Ended e = run(c);
  if (e.status != 0) throw std::runtime_error("baybook " + joined(c.args) + " answered " + std::to_string(e.status) + ": " + e.err);
}

}  // namespace

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& w : words) out += (out.empty() ? "" : " ") + w;
  return out;
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

Work::Work() {
  std::string name = (fs::is_directory("/dev/shm") && ::access("/dev/shm", W_OK) == 0 ? std::string("/dev/shm") : fs::temp_directory_path().string()) + "/baybook-faults-XXXXXX";
  if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
  path_ = name;
}

Work::~Work() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

std::string Work::folder(const std::string& name) const {
  fs::create_directories(path_ + "/" + name);
  return path_ + "/" + name;
}

Files read_files(const std::string& folder) {
  Files out;
  for (const auto& e : fs::recursive_directory_iterator(folder)) {
    const std::string name = fs::relative(e.path(), folder).string();
    if (e.is_directory()) out[name + "/"] = "";
    else out[name] = bytes_of(e.path());
  }
  return out;
}

std::string bytes_below(const std::string& folder) {
  std::string out;
  for (const auto& [name, bytes] : read_files(folder)) {
    if (!name.ends_with("-shm")) out += name + "\n" + bytes;
  }
  return out;
}

void write_files(const std::string& folder, const Files& files) {
  for (const auto& e : fs::directory_iterator(folder)) fs::remove_all(e.path());
  for (const auto& [name, bytes] : files) {
    if (name.back() == '/') {
      fs::create_directories(folder + "/" + name);
      continue;
    }
    std::ofstream out(folder + "/" + name, std::ios::binary);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    out.close();
    if (!out) throw std::runtime_error("the harness: " + folder + "/" + name + " could not be laid out");
    fs::permissions(folder + "/" + name, fs::perms::owner_read | fs::perms::owner_write);
  }
}

Plan read_plan(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("the harness: " + path + " cannot be read");
  Plan plan;
  std::string line, part, now = "2026-03-05T09:40:00.000Z";
  while (std::getline(in, line)) {
    if (line.empty() || line[0] == '#') continue;
    if (line[0] == '[' && !line.starts_with("[[")) {
      part = line;
      continue;
    }
    if (part == "[reads]") {
      plan.reads.push_back(line);
    } else if (part == "[elsewhere]") {
      plan.elsewhere.push_back(line);
    } else if (part.starts_with("[file ")) {
      plan.files[part.substr(6, part.size() - 7)] += line + "\n";
    } else if (part == "[shop]") {
      if (line.starts_with("at ")) now = line.substr(3);
      else plan.shop.push_back({now, words_of(line)});
    } else if (part == "[writes]") {
      Case c;
      c.args = words_of(line);
      if (c.args.front().starts_with("makes=")) {
        c.makes = c.args.front().substr(6);
        c.args.erase(c.args.begin());
      } else if (c.args.front() == "again") {
        c.by_itself = true;
        c.args.erase(c.args.begin());
      }
      plan.cases.push_back(c);
    } else {
      throw std::runtime_error("the harness: " + path + ": a line before the first part");
    }
  }
  return plan;
}

std::vector<KnownVerb> known_verbs(const std::string& folder) {
  Command c{folder, {"help", "--json"}};
  const Ended e = run(c);
  const nlohmann::json all = nlohmann::json::parse(e.out);
  std::vector<KnownVerb> out;
  for (const auto& v : all.at("verbs")) {
    KnownVerb k;
    k.name = v.at("verb").get<std::string>();
    for (const auto& o : v.at("options")) {
      k.once = k.once || o.at("name") == "once";
    }
    out.push_back(k);
  }
  return out;
}

Proof prove(const std::string& folder, const std::string& book, const std::string& seal) {
  Command c{folder, {"prove", "--json", "--book", book}};
  if (!seal.empty()) c.args.insert(c.args.end(), {"--seal", seal});
  const Ended e = run(c);
  Proof p;
  p.status = e.status;
  p.signal = e.signal;
  p.said = e.out + e.err;
  const nlohmann::json j = nlohmann::json::parse(e.out, nullptr, false);
  if (e.died() || j.is_discarded() || !j.is_object() || !j.value("ok", false)) return p;
  p.sound = e.status == 0 && j.value("sound", false);
  p.entries = j.value("entries", std::int64_t{0});
  std::size_t chains = 0;
  if (j.contains("seals")) {
    for (const auto& one : j["seals"]) {
      ++chains;
      if (chains == 1 || one.get<std::string>().starts_with("bay:")) p.seal = one.get<std::string>();
    }
  }
  // Numbers without gaps: the last number is the count, where there is one chain.
  if (p.sound && chains == 1 && !has(p.seal, ":" + std::to_string(p.entries) + ":")) {
    p.sound = false;
    p.said += " (the last number is not the count of the entries)";
  }
  return p;
}

Command Known::command(const std::string& folder, bool with_key) const {
  Command out{folder, c.args};
  if (c.makes.empty()) out.args.insert(out.args.end(), {"--book", "m.baybook"});
  if (once && with_key) out.args.insert(out.args.end(), {"--once", kKey});
  return out;
}

std::string Known::name() const { return c.verb; }

bool writes_otherwise(const Known& k) {
  for (const char* v : {"start", "drain", "job close", "correct", "close", "paper add", "schedule load", "import", "exchange in", "erase", "backup"}) {
    if (k.c.is(v)) return true;
  }
  return false;
}

Shop::Shop(const Work& work, const std::string& plan_file) : work_(work), plan_(read_plan(plan_file)), folder_(work.folder("shop")) {
  write_files(folder_, plan_.files);
  for (const Plan::Line& line : plan_.shop) {
    Command c{folder_, line.args, line.now};
    if (line.args.front() != "start") c.args.insert(c.args.end(), {"--book", "m.baybook"});
    must(c);
  }
  fresh_ = read_files(folder_);
  fresh_.erase("m.baybook-shm");  // made anew by who opens it first
  // A writer that was killed as it closed leaves its log beside the file.
  {
    Running writer(Command{folder_, {"discard", "absorbent", "0.1kg", "--into", "drum-absorb", "--book", "m.baybook"}}, true);
    for (Running::Stop stop = writer.next(); stop != Running::Stop::ended; stop = writer.next()) {
      if (stop == Running::Stop::entry && writer.call().number == SYS_unlink) break;
    }
    if (writer.ended()) throw std::runtime_error("the harness: a writer closed without taking its log away; has the way it is folded in changed?");
    writer.kill();
  }
  if (!fs::exists(folder_ + "/m.baybook-wal")) throw std::runtime_error("the harness: nothing was left by a writer that was killed");
  ripe_ = read_files(folder_);
  ripe_.erase("m.baybook-shm");
}

std::vector<Known> Shop::known(bool ripe, const std::string& only) {
  const std::vector<KnownVerb> verbs = known_verbs(folder_);
  std::vector<Known> out;
  for (const Case& c : plan_.cases) {
    Known k;
    k.c = c;
    for (const KnownVerb& v : verbs) {
      const std::string two = c.args.size() > 1 ? c.args[0] + " " + c.args[1] : c.args[0];
      if ((v.name == two || v.name == c.args[0]) && v.name.size() > k.c.verb.size()) {
        k.c.verb = v.name;
        k.once = v.once && c.makes.empty() && !c.by_itself;
      }
    }
    if (k.c.verb.empty()) throw std::runtime_error("the program has no verb for: " + joined(c.args));
    if (!only.empty() && k.c.verb != only) continue;
    lay_out(ripe);
    k.before = prove(folder_);
    const Ended e = run(k.command(folder_));
    if (e.status != 0) throw std::runtime_error("baybook " + joined(c.args) + " answered " + std::to_string(e.status) + " with nothing in its way: " + e.err);
    k.after = prove(folder_);
    if (!k.before.sound || !k.after.sound) throw std::runtime_error("the book is not sound with nothing in the way: " + k.after.said);
    if (c.makes.empty() && k.adds() <= 0) throw std::runtime_error("baybook " + joined(c.args) + " added no entry");
    if (!c.makes.empty() && !prove(folder_, c.makes).sound) throw std::runtime_error("baybook " + joined(c.args) + " made no sound book");
    out.push_back(k);
  }
  return out;
}

After judge(Row& row, const Known& k, const std::string& folder, const Ended& e, bool acknowledged, const std::string& how) {
  After a;
  const std::string what = k.name() + ", " + how;
  const Proof p = prove(folder, "m.baybook", k.before.seal);
  if (p.signal != 0) row.found(Fault::died, what + ": prove was ended by signal " + std::to_string(p.signal));
  else if (!p.sound && has(p.said, "\"sound\"") && has(p.said, k.before.seal)) row.found(Fault::lost, what + ": an earlier seal does not hold any more: " + p.said);
  else if (!p.sound) row.found(Fault::unsound, what + ": " + p.said);
  a.usable = p.sound;
  if (!k.c.makes.empty()) {
    const Proof made = prove(folder, k.c.makes);
    a.stored = made.sound;
    // What was left half made must be refused as no book, never taken for one.
    if (!made.sound && (made.status != 3 || made.signal != 0)) row.found(Fault::unsound, what + ": what was made is neither a book nor refused: " + made.said);
    if (p.sound && p.entries != k.before.entries) row.found(Fault::unsound, what + ": the book beside it changed");
  } else {
    a.stored = p.entries == k.after.entries;
    if (p.sound && !a.stored && p.entries != k.before.entries) row.found(Fault::unsound, what + ": an entry by halves, " + std::to_string(p.entries) + " entries");
  }
  if (acknowledged && !a.stored && p.sound) row.found(e.signal != 0 ? Fault::lost : Fault::lies, what + ": said to be stored, and is not");
  return a;
}

void judge_retry(Row& row, const Known& k, const std::string& folder, const After& a, const std::string& how) {
  if (!a.usable) return;
  const std::string what = k.name() + ", " + how;
  Command once_more = k.command(folder);
  if (k.once) once_more.args.emplace_back("--json");
  const Ended again = run(once_more);
  if (!k.c.makes.empty()) {
    const Proof made = prove(folder, k.c.makes);
    if (again.status != 0 && !made.sound) row.figure("unfinished files that the next try leaves alone and names", 1);
    if (again.died()) row.found(Fault::died, what + ": the retry died");
    if (again.status == 0 && !made.sound) row.found(Fault::lies, what + ": the retry said done, and there is no sound book");
    return;
  }
  if (k.once) {
    const nlohmann::json j = nlohmann::json::parse(again.out, nullptr, false);
    if (again.died()) row.found(Fault::died, what + ": the retry: signal " + std::to_string(again.signal));
    else if (again.status != 0 || !j.is_object()) row.found(Fault::lost, what + ": the retry under the same key answered " + std::to_string(again.status) + ": " + again.out + again.err);
    else if (k.adds() == 1 && j["entry"]["number"] != k.after.entries) row.found(Fault::lost, what + ": the retry tells of another entry: " + again.out);
    else if (j["repeated"] != a.stored) row.found(Fault::lost, what + ": the retry " + (a.stored ? "wrote what was there" : "took for written what was not there") + ": " + again.out);
  }
  if (k.c.by_itself) {
    if (again.died()) row.found(Fault::died, what + ": the same again: signal " + std::to_string(again.signal));
    else if (again.status != 0) row.found(Fault::lost, what + ": the same again answered " + std::to_string(again.status) + ": " + again.out + again.err);
  }
  // What a sound book and a good receipt leave open is seldom: not every run pays for it.
  if (row.runs() % 8 != 0 && k.once) return;
  const Proof p = prove(folder, "m.baybook", k.before.seal);
  if (!p.sound) row.found(Fault::unsound, what + ": after the retry: " + p.said);
  else if ((k.once || k.c.by_itself) && p.entries != k.after.entries) row.found(Fault::lost, what + ": after the retry " + std::to_string(p.entries) + " entries, not " + std::to_string(k.after.entries));
}

}  // namespace baybook::faults
