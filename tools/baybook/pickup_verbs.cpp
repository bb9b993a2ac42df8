// Whom waste goes to and the papers of it: firm add, list; pickup confirm, list; paper add, list.
#include "context.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "sheet/sheet.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "whole_file.hpp"

#include <baybook/returns.hpp>
#include <baybook/text.hpp>

#include <cerrno>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::tool {

namespace {

// "booked 80 L (71.9 kg at 0.899 kg/L), measured 72 kg"
std::string booked_and_measured(Context& c, const PickupView::Line& l) {
  std::string out = "line " + std::to_string(l.number) + " " + visible(l.place) + ": booked " + show(l.best, l.dimension, c.units());
  if (l.booked_ug) out += " (" + show(*l.booked_ug, Dimension::mass, c.units()) + " at " + visible(l.density) + ")";
  out += ", measured " + show(l.measured->best, l.measured->dimension, c.units());
  if (l.measured->dimension != l.dimension && !l.booked_ug) out += ", in another kind of quantity";
  return out;
}

// Measured less booked, in what the carrier measured; none when the two cannot be compared.
std::optional<std::int64_t> off_by(const PickupView::Line& l) {
  if (l.measured->dimension == l.dimension) return l.difference;
  return l.booked_ug ? std::optional(l.measured->best - *l.booked_ug) : std::nullopt;
}

// A gauge finds a level in what stands there: of a container that is empty there is nothing left to find.
bool is_empty(Context& c, std::string_view place) {
  for (const LevelRow& r : need(levels(c.book()))) {
    if (r.level.name == place && r.level.best != 0) return false;
  }
  return true;
}

std::string_view receives_as(const FirmView& f) {
  return f.receives_as == ReceivesAs::collection_centre   ? "collection-centre"
         : f.receives_as == ReceivesAs::aggregation_point ? "aggregation-point"
                                                          : "";
}

constexpr std::size_t kMostPaper = 64 * 1024 * 1024;

}  // namespace

int run_firm_add(Context& c) {
  NewFirm f;
  f.code = c.operand(0);
  f.name = c.operand(1);
  f.contact = c.typed().text("contact");
  f.carries = c.typed().has("carries");
  f.receives = c.typed().has("receives");
  for (const std::string& n : c.typed().all("number")) {
    const std::size_t equals = n.find('=');
    if (equals == std::string::npos) refuse(Code::wrong_usage, "--number " + visible(n) + " does not say what it is", "", "--number \"permit=T-118\"");
    f.numbers.push_back({n.substr(0, equals), n.substr(equals + 1)});
  }
  f.haul = c.distance_option("distance");
  f.receives_as = receives_as_option(c);
  f.streams = c.typed().all("for");
  f.registered = c.day_option("registered");
  return c.write(f, f.name);
}

int run_firm_change(Context& c) {
  const Typed& t = c.typed();
  Correction d;
  d.target = EntryId{need(c.book().find_firm(c.operand(0))).n};
  d.patch.haul = c.distance_option("distance");
  if (t.has("receives-as")) d.patch.receives_as = receives_as_option(c);
  if (t.has("for")) d.patch.streams = t.all("for");
  d.patch.registered = c.day_option("registered");
  if (!d.patch.haul && !d.patch.receives_as && !d.patch.streams && !d.patch.registered)
    refuse(Code::wrong_usage, "it is not said what changes",
           "its name is put right by correct ENTRY --text",
           "--distance 210mi, --receives-as collection-centre, --for STREAM, --registered DATE");
  d.why = t.has("why") ? t.text("why") : "what is known of it now";
  return c.write(d);
}

int run_firm_list(Context& c) {
  const std::vector<FirmView> list = need(firms(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.objects("firms", list, [&](const FirmView& f) {
      j.member("code", f.code);
      j.member("name", f.name);
      j.key("carries").boolean(f.carries);
      j.key("receives").boolean(f.receives);
      j.objects("numbers", f.numbers, [&](const NewFirm::Number& n) {
        j.member("what", n.what);
        j.member("number", n.number);
      });
      j.key("distance_m");
      if (f.haul)
        j.string(std::to_string(f.haul->metres));
      else
        j.null();
      j.member("receives_as", receives_as(f));
      j.strings("streams", f.streams);
      j.day("registered", f.registered);
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line("no firm is in the book: baybook firm add quill-tarn \"Quill & Tarn Recovery\" --carries --receives");
    return 0;
  }
  Table t;
  t.column("code");
  t.column("name");
  t.column("does");
  t.column("numbers");
  for (const FirmView& f : list) {
    std::string numbers;
    for (const NewFirm::Number& n : f.numbers) numbers += (numbers.empty() ? "" : ", ") + n.what + " " + n.number;
    const auto more = [&](const std::string& s) { numbers += (numbers.empty() ? "" : ", ") + s; };
    if (f.haul) more(show_distance(*f.haul, c.units()) + " away");
    if (!receives_as(f).empty()) more(std::string(receives_as(f)));
    if (!f.streams.empty()) more("for " + joined(f.streams));
    if (f.registered) more("registered " + to_string(*f.registered));
    t.row({visible(f.code), visible(f.name), f.carries ? (f.receives ? "carries, receives" : "carries") : "receives", visible(numbers)});
  }
  c.out().text(t.text());
  return 0;
}

int run_pickup_confirm(Context& c) {
  ConfirmPickup d;
  d.pickup = need(c.book().find_pickup(c.operand(0)));
  d.signed_on = c.day(c.required("signed"));
  d.note = c.typed().text("note");
  for (const std::string& m : c.typed().all("measured")) {
    const std::size_t equals = m.find('=');
    if (equals == std::string::npos) refuse(Code::wrong_usage, "--measured " + visible(m) + " does not name the line of the pick-up", "", "--measured 1=178L");
    d.measured.push_back({whole(m.substr(0, equals), "line", "--measured 1=178L"), need(parse_level(m.substr(equals + 1), c.units()))});
  }
  Receipt r = c.append(d);
  if (c.json()) {
    render::receipt(c, r);
    return 0;
  }
  render::receipt(c, r);
  if (c.quiet() || r.dry_run) return 0;
  for (const PickupView::Line& l : need(pickup(c.book(), d.pickup)).lines) {
    if (!l.measured) continue;
    const std::string place = l.place.substr(0, l.place.find('/'));
    const auto by = off_by(l);
    std::string told = booked_and_measured(c, l);
    if (by) told += *by == 0 ? std::string(", the same") : ", a difference of " + show(*by, l.measured->dimension, c.units(), true);
    if (by && *by != 0 && is_empty(c, place)) told += "; " + visible(place) + " is empty, so the difference stays as noted";
    else if (by && *by != 0) told += "; settle it: baybook gauge " + place + " LEVEL --reason \"carrier measured " + show(l.measured->best, l.measured->dimension, c.units()) + "\"";
    c.out().text(wrapped("  ", told));
  }
  return 0;
}

int run_pickup_list(Context& c) {
  const std::vector<PickupView> list = need(pickups(c.book(), c.typed().has("open")));
  if (c.json()) {
    Json j = c.document();
    j.objects("pickups", list, [&](const PickupView& p) {
      render::entry_ref(j, "entry", p.entry);
      j.member("day", to_string(p.day));
      j.member("document", p.document);
      j.member("carrier", p.carrier);
      j.member("receiver", p.receiver);
      j.day("confirmed", p.confirmed);
      j.objects("lines", p.lines, [&](const PickupView::Line& l) {
        j.member("place", l.place);
        j.member("container", l.place);
        j.member("stream", l.stream);
        j.key("booked").exact(l.best, l.dimension);
        j.key("amount").exact(l.best, l.dimension);
        j.key("measured");
        if (l.measured) j.exact(l.measured->best, l.measured->dimension);
        else j.null();
        for (const char* name : {"booked_weight", "weight"}) {
          j.key(name);
          if (l.booked_ug) j.exact(*l.booked_ug, Dimension::mass);
          else j.null();
        }
        j.key("difference");
        if (l.measured && l.measured->dimension == l.dimension) j.exact(l.difference, l.dimension);
        else j.null();
      });
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line(c.typed().has("open") ? "every paper has come back" : "nothing was picked up yet");
    return 0;
  }
  Table t;
  t.column("paper");
  t.column("day");
  t.column("carrier");
  t.column("receiver");
  t.column("signed copy");
  t.column("entry", Align::right);
  for (const PickupView& p : list) t.row({visible(p.document), to_string(p.day), visible(p.carrier), visible(p.receiver), p.confirmed ? to_string(*p.confirmed) : "not yet", ref_text(p.entry, c.book().settings().tag)});
  c.out().text(t.text());
  for (const PickupView& p : list) {
    for (const PickupView::Line& l : p.lines) {
      if (!l.measured || off_by(l) == 0) continue;
      const auto by = off_by(l);
      const std::string off = !by ? "" : ", " + show(*by < 0 ? -*by : *by, l.measured->dimension, c.units(), true) + (*by < 0 ? " less" : " more");
      c.out().text(wrapped("differs: ", visible(p.document) + " " + booked_and_measured(c, l) + off));
    }
  }
  return 0;
}

int run_paper_add(Context& c) {
  Paper d;
  d.about = need(c.book().find_entry(c.operand(0)));
  const std::string bytes = read_file(c, c.operand(1), kMostPaper);
  d.sha256 = sha256_hex(bytes);
  d.bytes = static_cast<std::int64_t>(bytes.size());
  d.title = c.typed().text("title");
  // The name is made from the digest: what a scanner or a person called the file may hold a name or a plate.
  std::string extension;
  const std::string name = file_name(c.operand(1));
  if (const std::size_t dot = name.rfind('.'); dot != std::string::npos && dot > 0 && name.size() - dot <= 6) {
    for (const char x : name.substr(dot + 1)) {
      if ((x >= 'a' && x <= 'z') || (x >= '0' && x <= '9')) extension += x;
      else if (x >= 'A' && x <= 'Z') extension += static_cast<char>(x - 'A' + 'a');
    }
  }
  d.file = d.sha256.substr(0, 32) + (extension.empty() ? "" : "." + extension);
  const std::string folder = papers_folder(c.book().path());
  const std::string path = folder + "/" + d.file;
  struct stat st{};
  const bool there = ::stat(path.c_str(), &st) == 0;
  // One that was damaged since is put right by the one that is given now.
  const bool whole =
      there && st.st_size == d.bytes && sha256_hex(read_file(c, path, kMostPaper)) == d.sha256;
  const bool dry = c.typed().has("dry-run");
  if (!whole && !dry) {
    // As the book itself: for its owner alone, or for the group.
    struct stat book{};
    const bool group = ::stat(c.book().path().c_str(), &book) == 0 && (book.st_mode & S_IWGRP) != 0;
    const bool made = ::mkdir(folder.c_str(), 0700) == 0;
    if (made && group) (void)::chmod(folder.c_str(), 0770);
    if (made) {
      // The folder's own name must be safe before an entry leans on what is in it.
      if (!sync_folder_of(folder)) refuse(Code::unwritable, visible(folder) + " could not be made safe on disk", "nothing was written", "look at the disk, then the same again");
    }
    if (!made && errno != EEXIST) refuse(Code::unwritable, visible(folder) + " cannot be made", "papers are kept beside the book", "a folder that can be written to");
    Placing how = c.placing("the same again");
    how.paper = true;
    sheet::write_file(path, bytes, std::move(how));
    if (group) (void)::chmod(path.c_str(), 0660);
  }
  try {
    return c.write(d, d.title);
  } catch (const Refused& refused) {
    // When nobody can tell whether the entry is stored, its paper stays: an entry without it would be a finding for ever.
    if (!there && !dry && refused.refusal.code != Code::unknown_outcome) ::unlink(path.c_str());
    throw;
  }
}

int run_paper_list(Context& c) {
  const std::vector<PaperView> list = need(papers(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.objects("papers", list, [&](const PaperView& p) {
      render::entry_ref(j, "entry", p.entry);
      render::entry_ref(j, "about", p.about);
      j.member("file", p.file);
      j.member("sha256", p.sha256);
      j.key("bytes").number(p.bytes);
      j.member("title", p.title);
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Table t;
  t.column("about", Align::right);
  t.column("file");
  t.column("bytes", Align::right);
  t.column("title");
  for (const PaperView& p : list) t.row({ref_text(p.about, c.book().settings().tag), visible(p.file), std::to_string(p.bytes), visible(p.title)});
  c.out().text(list.empty() ? "no paper is on file\n" : t.text());
  return 0;
}

}  // namespace baybook::tool
