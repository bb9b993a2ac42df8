#include "label.hpp"

#include "characters.hpp"
#include "columns.hpp"
#include "page.hpp"
#include "paper.hpp"
#include "pdf_document.hpp"
#include "qr.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <cmath>
#include <optional>

namespace baybook::tool::report {

namespace {

constexpr double kEdge = 18;      // what some printers leave white
constexpr double kPad = 10;       // inside a label
constexpr double kReadable = 6;   // points: below this a label is no label

struct Line {
  std::string text;
  Face face;
  double size;   ///< in base sizes
  const char* name;  ///< its class in HTML
};

/// Big lines over the whole width, then text to the left of the QR.
struct Plan {
  std::vector<Line> top, side;
  Squares qr;
  std::string payload;
};

Plan plan_of(const Label& label) {
  Plan p;
  for (const std::string& w : label.words) p.top.push_back({w, Face::bold, 2.6, "words"});
  if (!label.stream.empty()) p.side.push_back({label.stream, Face::bold, 1.5, "stream"});
  for (const std::string& h : label.hazards) p.side.push_back({h, Face::bold, 1.3, "hazard"});
  p.side.push_back({label.since_name + ":", Face::regular, 1, "name"});
  p.side.push_back({label.since.empty() ? "______________" : label.since, Face::bold, 1.5, "since"});
  std::string where = label.place;
  if (!label.filling.empty()) where += (where.empty() ? "filling " : ", filling ") + label.filling;
  if (!where.empty()) p.side.push_back({where, Face::bold, 1.2, "place"});
  if (!label.site.empty()) p.side.push_back({label.site, Face::regular, 1, "site"});
  for (const std::string& c : label.cautions) p.side.push_back({c, Face::regular, 0.9, "caution"});
  if (!label.payload.empty()) {
    p.payload = checked_payload(label.payload);
    p.qr = squares(p.payload);
  }
  return p;
}

double qr_side(const Plan& p, double w, double h) { return p.qr.side == 0 ? 0 : std::min({w * 0.32, h * 0.45, 180.0}); }
double qr_room(const Plan& p, double w, double h) { return p.qr.side == 0 ? 0 : qr_side(p, w, h) + kPad / 2; }

double height_of(const std::vector<Line>& lines, double base, double room) {
  double h = 0;
  for (const Line& l : lines) h += static_cast<double>(lines_of(l.text, room, measure(l.face, base * l.size)).size()) * base * l.size * kLead;
  return h;
}

double payload_height(const Plan& p, double base) { return p.payload.empty() ? 0 : std::max(base * 0.6, 5.0) * kLead; }

/// The largest size in which all of it fits `w` x `h`; whole words if that is possible at all.
std::optional<double> base_for(const Plan& p, double w, double h) {
  const double side = w - qr_room(p, w, h);
  for (const bool whole : {true, false}) {
    for (double base = 30; base >= kReadable / 0.9; base -= 0.25) {
      if (whole) {
        bool broken = false;
        for (const Line& l : p.top) broken = broken || longest_word(l.text, measure(l.face, base * l.size)) > w;
        for (const Line& l : p.side) broken = broken || longest_word(l.text, measure(l.face, base * l.size)) > side;
        if (broken) continue;
      }
      const double below = std::max(height_of(p.side, base, side), qr_side(p, w, h));
      if (height_of(p.top, base, w) + below + payload_height(p, base) <= h) return base;
    }
  }
  return std::nullopt;
}

struct Spot {
  double x, y, w, h;
};
struct Placed {
  const Label* label;
  Plan plan;
  double base;
  std::size_t page;
  Spot spot;
  bool alone;
};

std::vector<Placed> placed(const std::vector<Label>& labels, Paper paper, Labels how) {
  const Size size = upright(paper);
  const Spot whole{kEdge, kEdge, size.width - 2 * kEdge, size.height - 2 * kEdge};
  std::vector<Placed> out;
  std::size_t page = 0;
  std::size_t on_page = 0;
  for (const Label& label : labels) {
    Plan plan = plan_of(label);
    const double w = whole.w / 2;
    const double h = whole.h / 4;
    const auto base = how == Labels::eight_on_a_sheet ? base_for(plan, w - 2 * kPad, h - 2 * kPad) : std::nullopt;
    if (base) {
      if (on_page == 8) {
        ++page;
        on_page = 0;
      }
      const double column = on_page % 2 == 0 ? 0 : 1;
      const double row = static_cast<double>(on_page / 2);
      out.push_back({&label, std::move(plan), *base, page, {whole.x + column * w, whole.y + row * h, w, h}, false});
      ++on_page;
      continue;
    }
    if (on_page != 0) ++page;
    // Four thousand bytes in each field fit a page in letters of this size or of a third of it; nothing is left out.
    double forced = kReadable;
    if (const auto good = base_for(plan, whole.w - 2 * kPad, whole.h - 2 * kPad)) forced = *good;
    else {
      const double side = whole.w - 2 * kPad - qr_room(plan, whole.w - 2 * kPad, whole.h - 2 * kPad);
      while (forced > 0.5 && height_of(plan.top, forced, whole.w - 2 * kPad) + height_of(plan.side, forced, side) + payload_height(plan, forced) > whole.h - 2 * kPad) forced -= 0.25;
    }
    out.push_back({&label, std::move(plan), forced, page, whole, true});
    ++page;
    on_page = 0;
  }
  return out;
}

// A browser breaks after a hyphen; a code is not cut. A word wider than the label still breaks inside.
std::string held_words(std::string_view text) {
  std::string out;
  while (true) {
    const std::size_t blank = text.find(' ');
    out += "<span class=\"k\">" + markup(text.substr(0, blank)) + "</span>";
    if (blank == std::string_view::npos) return out;
    out += ' ';
    text.remove_prefix(blank + 1);
  }
}

std::string points(double v) {
  const long hundredths = std::lround(v * 100);
  std::string digits = std::to_string(hundredths % 100);
  if (digits.size() == 1) digits.insert(0, "0");
  return std::to_string(hundredths / 100) + "." + digits + "pt";
}

}  // namespace

std::string labels_pdf(const std::vector<Label>& labels, Paper paper, Labels how, const std::string& program) {
  const Size size = upright(paper);
  PdfDocument pdf;
  if (labels.empty()) pdf.add_page(size.width, size.height);
  for (const Placed& p : placed(labels, paper, how)) {
    while (pdf.pages() <= p.page) pdf.add_page(size.width, size.height);
    const double w = p.spot.w - 2 * kPad;
    const double h = p.spot.h - 2 * kPad;
    const double left = p.spot.x + kPad;
    double y = p.spot.y + kPad;
    pdf.frame(p.spot.x, p.spot.y, p.spot.w, p.spot.h, p.alone ? 2 : 0.5);
    const auto put = [&](const std::vector<Line>& lines, double room) {
      for (const Line& l : lines) {
        const double points_high = p.base * l.size;
        for (const std::string& text : lines_of(l.text, room, measure(l.face, points_high))) {
          y += points_high * kLead;
          pdf.text(left, y - points_high * 0.3, text, l.face, points_high);
        }
      }
    };
    put(p.plan.top, w);
    put(p.plan.side, w - qr_room(p.plan, w, h));
    if (p.plan.qr.side > 0) {
      const double side = qr_side(p.plan, w, h);
      const double square = side / (p.plan.qr.side + 2 * kQuiet);
      const double below = payload_height(p.plan, p.base);
      const double x = left + w - side;
      const double top = p.spot.y + kPad + h - below - side;
      for (int r = 0; r < p.plan.qr.side; ++r) {
        for (int c = 0; c < p.plan.qr.side;) {
          int run = 0;
          while (c + run < p.plan.qr.side && p.plan.qr.at(c + run, r)) ++run;
          if (run > 0) pdf.rectangle(x + square * (c + kQuiet), top + square * (r + kQuiet), square * run, square, 0);
          c += run > 0 ? run : 1;
        }
      }
      const double small = below / kLead;
      const double wide = PdfDocument::width(p.plan.payload, Face::regular, small);
      const double fitted = wide > w ? small * w / wide : small;
      pdf.text(left + w - std::min(wide, w), p.spot.y + kPad + h - small * 0.2, p.plan.payload, Face::regular, fitted);
    }
  }
  return pdf.bytes("Container labels", program);
}

std::string labels_html(const std::vector<Label>& labels, Paper paper, Labels how) {
  const Size size = upright(paper);
  std::string style = "@page{size:" + std::string(css_name(paper)) + ";margin:" + points(kEdge) +
                      "}\n*{box-sizing:border-box}body{margin:0;font-family:" + kFamily + ";color:#000;background:#fff}"
                      ".sheet{width:" + points(size.width - 2 * kEdge) + ";height:" + points(size.height - 2 * kEdge - 1) + ";display:flex;flex-wrap:wrap;align-content:flex-start;margin:0 auto;break-after:page}.sheet:last-child{break-after:auto}"
                      ".label{padding:" + points(kPad) + ";border:.5pt solid #000;line-height:1.25;display:flex;flex-direction:column;break-inside:avoid;overflow-wrap:anywhere;word-break:normal}.k{display:inline-block}.alone{border-width:2pt}"
                      ".label p,.label h2{margin:0;font-weight:bold}.words{font-size:2.6em}.stream{font-size:1.5em}.hazard{font-size:1.3em}.label .name,.label .site,.label .caution{font-weight:normal}"
                      ".since{font-size:1.5em}.place{font-size:1.2em}.caution{font-size:.9em}.rest{display:flex;flex:1;justify-content:space-between}.rest div{flex:1;min-width:0}"
                      "svg.qr{flex:none;align-self:flex-end;margin-left:" + points(kPad / 2) + "}.label .payload{font-weight:normal;text-align:right;white-space:nowrap}\n";
  std::string body = "<main>\n";
  std::optional<std::size_t> page_open;
  for (const Placed& p : placed(labels, paper, how)) {
    if (page_open != p.page) {
      if (page_open) body += "</div>\n";
      body += "<div class=\"sheet\">\n";
      page_open = p.page;
    }
    const double w = p.spot.w - 2 * kPad;
    const double h = p.spot.h - 2 * kPad;
    // A hair smaller than on our own paper: a browser rounds, and its font may be another.
    body += std::string("<article class=\"label") + (p.alone ? " alone" : "") + "\" style=\"width:" + points(p.spot.w - 0.1) + ";height:" + points(p.spot.h - (p.alone ? 1.0 : 0.3)) + ";font-size:" + points(p.base * 0.97) + "\">";
    for (const Line& l : p.plan.top) body += std::string("<h2 class=\"") + l.name + "\">" + held_words(l.text) + "</h2>";
    body += "<div class=\"rest\"><div>";
    for (const Line& l : p.plan.side) body += std::string("<p class=\"") + l.name + "\">" + held_words(l.text) + "</p>";
    body += "</div>";
    if (p.plan.qr.side > 0) {
      std::string svg = svg_of(p.plan.qr, "QR code " + p.plan.payload, "qr");
      svg.insert(4, " style=\"width:" + points(qr_side(p.plan, w, h)) + ";height:" + points(qr_side(p.plan, w, h)) + "\"");
      body += svg;
    }
    body += "</div>";
    if (!p.plan.payload.empty()) {
      const double small = payload_height(p.plan, p.base) / kLead;
      const double wide = PdfDocument::width(p.plan.payload, Face::regular, small);
      body += "<p class=\"payload\" style=\"font-size:" + points(wide > w ? small * w / wide : small) + "\">" + markup(p.plan.payload) + "</p>";
    }
    body += "</article>\n";
  }
  if (page_open) body += "</div>\n";
  return report::page("Container labels", style, body + "</main>\n");
}

}  // namespace baybook::tool::report
