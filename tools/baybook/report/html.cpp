// A report as one page of HTML that is XML as well: nothing is fetched, nothing runs, and it prints as it stands.
#include "characters.hpp"
#include "paper.hpp"
#include "qr.hpp"
#include "svg.hpp"
#include "page.hpp"

#include <cmath>

namespace baybook::tool::report {

namespace {

std::string points(double v) {
  const long tenths = std::lround(v * 10);
  return std::to_string(tenths / 10) + (tenths % 10 == 0 ? "" : "." + std::to_string(tenths % 10)) + "pt";
}

// A browser breaks after a hyphen, which cuts a code in two: words that fit are held together.
std::string held_words(std::string_view text) {
  std::string out;
  while (true) {
    const std::size_t blank = text.find(' ');
    const std::string_view word = text.substr(0, blank);
    out += word.find_first_of("-/?") == std::string_view::npos ? markup(word) : "<span class=\"k\">" + markup(word) + "</span>";
    if (blank == std::string_view::npos) return out;
    out += ' ';
    text.remove_prefix(blank + 1);
  }
}

class Body {
 public:
  Body(Paper paper, bool turned) : room_(room_of(paper, turned)) {}
  void put(const Text& text) {
    open(text.heading);
    for (const std::string& l : text.lines) out_ += "<p>" + markup(l) + "</p>\n";
    out_ += "</section>\n";
  }
  void put(const Facts& facts) {
    open(facts.heading);
    out_ += "<table class=\"facts\"><tbody>\n";
    for (const auto& [name, value] : facts.rows) out_ += "<tr><th scope=\"row\">" + markup(name) + "</th><td>" + markup(value) + "</td></tr>\n";
    out_ += "</tbody></table>\n</section>\n";
  }
  void put(const Bars& bars) {
    out_ += "<figure><figcaption>" + markup(bars.unit.empty() ? bars.caption : bars.caption + " (" + bars.unit + ")") + "</figcaption>" + as_svg(bars, ++plots_) + "</figure>\n";
  }
  void put(const Table& table);
  [[nodiscard]] const std::string& text() const { return out_; }

 private:
  void open(const std::string& heading) { out_ += heading.empty() ? "<section>\n" : "<section><h2>" + markup(heading) + "</h2>\n"; }
  double room_;
  std::size_t plots_ = 0;
  std::string out_;
};

void Body::put(const Table& table) {
  if (table.rows.empty() && table.foot.empty()) {
    open(table.caption);
    out_ += "<p>" + markup(table.empty) + "</p>\n</section>\n";
    return;
  }
  const bool whole = size_for(table, room_, false).has_value();
  out_ += "<div class=\"scroll\"><table class=\"grid";
  // Words break only where no size of letters keeps them whole.
  if (!whole) out_ += " breaks";
  out_ += "\" style=\"--size:" + points(size_of(table, room_)) + "\"><caption>" + markup(table.caption) + "</caption>\n<thead><tr>";
  for (const Column& c : table.columns) out_ += std::string("<th scope=\"col\"") + (c.figure ? " class=\"n\"" : "") + ">" + markup(heading_of(c)) + "</th>";
  out_ += "</tr></thead>\n";
  const auto rows = [&](const std::vector<std::vector<Cell>>& list, bool strong) {
    for (const auto& row : list) {
      out_ += "<tr>";
      for (std::size_t c = 0; c < table.columns.size(); ++c) {
        const bool head = c == 0 && !table.columns[c].figure;
        const bool figure = table.columns[c].figure;
        out_ += head ? "<th scope=\"row\"" : "<td";
        if (figure) out_ += c < row.size() && is_number(row[c].text) ? " class=\"n\"" : " class=\"n w\"";
        else if (table.columns[c].whole) out_ += " class=\"k\"";
        out_ += ">";
        if (c < row.size()) {
          const bool bold = strong || row[c].strong;
          const std::string words = whole ? held_words(row[c].text) : markup(row[c].text);
          out_ += bold && !row[c].text.empty() ? "<strong>" + words + "</strong>" : words;
        }
        out_ += head ? "</th>" : "</td>";
      }
      out_ += "</tr>\n";
    }
  };
  out_ += "<tbody>\n";
  rows(table.rows, false);
  out_ += "</tbody>\n";
  if (!table.foot.empty()) {
    // A body and no tfoot: browsers print a tfoot again on every page, and these are the sums of the whole.
    out_ += "<tbody class=\"sums\">\n";
    rows(table.foot, true);
    out_ += "</tbody>\n";
  }
  out_ += "</table></div>\n";
}

std::string style(const Report& report, Paper paper, bool turned) {
  const std::vector<std::string> foot = foot_lines(report, room_of(paper, turned) - 90);
  std::string text;
  for (const std::string& l : foot) text += (text.empty() ? "" : "\n") + l;
  if (!report.program.empty()) text += (text.empty() ? "" : "\n") + report.program;
  const double bottom = kMargin + static_cast<double>(foot.size() + 1) * kSmall * 1.3 + 8;
  return "@page{size:" + std::string(css_name(paper)) + (turned ? " landscape" : "") + ";margin:" + points(kMargin) + " " + points(kMargin) + " " + points(bottom) + ";"
         "@bottom-left{content:" + css_string(text) + ";white-space:pre;text-align:left;vertical-align:top;padding-top:6pt;font:" + points(kSmall) + "/1.3 " + kFamily + "}"
         "@bottom-right{content:\"page \" counter(page) \" of \" counter(pages);white-space:nowrap;vertical-align:top;padding-top:6pt;font:bold " + points(kSmall) + "/1.3 " + kFamily + "}}\n"
         "*{box-sizing:border-box}"
         "body{font:16px/1.4 " + kFamily + ";color:#000;background:#fff;margin:1.5rem;overflow-wrap:break-word}"
         "header{display:flex;gap:1rem;justify-content:space-between;border-bottom:2px solid #000;padding-bottom:.5rem}"
         "h1{font-size:1.5rem;margin:0}h2,caption,figcaption{font-size:1.1rem;font-weight:bold;text-align:left;margin:1.2rem 0 .3rem}"
         "caption,figcaption{padding:1.2rem 0 .3rem;margin:0}p{margin:.2rem 0}"
         "figure{margin:0;break-inside:avoid}svg.plot{width:100%;max-width:45rem;height:auto}svg.seal{width:" + points(kSeal * 1.2) + ";height:" + points(kSeal * 1.2) + ";flex:none}"
         "table{border-collapse:collapse}th{font-weight:normal;text-align:left}thead th,.facts th{font-weight:bold}"
         "td,th{vertical-align:top;padding:.15rem .8rem .15rem 0}thead{display:table-header-group}thead th{vertical-align:bottom;border-bottom:1.5px solid #000}"
         ".grid tbody tr{border-bottom:1px solid #aaa}.sums{border-top:1.5px solid #000}.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}"
         "thead .n,.n.w{white-space:normal}.breaks td,.breaks th{overflow-wrap:anywhere}.scroll{overflow-x:auto}.k{white-space:nowrap}tr{break-inside:avoid}h2,caption,thead{break-after:avoid}"
         "footer{margin-top:1.2rem;border-top:1px solid #000;padding-top:.3rem;font-size:.85rem}footer p{overflow-wrap:anywhere}\n"
         // A screen as wide as the paper shows a table as the paper does: whole, where the letters of a wide screen would run over its edge.
         "@media screen and (min-width:45rem) and (max-width:" + (turned ? "80rem" : "62rem") + "){.grid{font-size:var(--size)}.grid td,.grid th{padding:2pt " + points(kGap) + " 2pt 0}}\n"
         "@media print{body{margin:0;font-size:" + points(kBody) + "}.grid{font-size:var(--size)}.grid td,.grid th{padding:2pt " + points(kGap) + " 2pt 0}.grid td:last-child,.grid th:last-child{padding-right:0}"
         ".scroll{overflow:visible}h1{font-size:15pt}h2,caption,figcaption{font-size:11pt}svg.seal{width:" + points(kSeal) + ";height:" + points(kSeal) + "}}\n";
}

}  // namespace

std::string as_html(const Report& report, Paper paper) {
  const bool turned = better_turned(report, paper);
  Body body(paper, turned);
  for (const Block& block : report.blocks) std::visit([&](const auto& b) { body.put(b); }, block);
  std::string head = "<header><div><h1>" + markup(title_of(report)) + "</h1>\n<p>" + markup(report.site) + "</p>\n";
  if (!report.period.empty()) head += "<p>" + markup(report.period) + "</p>\n";
  head += "</div>";
  if (const std::string payload = seal_payload(report); !payload.empty()) head += svg_of(squares(payload), "QR code of the seal " + report.seal, "seal");
  head += "</header>\n";
  std::string foot = "<footer>\n";
  for (const std::string& n : report.notes) foot += "<p>" + markup(n) + "</p>\n";
  if (const std::string rules = rules_line(report); !rules.empty()) foot += "<p>" + markup(rules) + "</p>\n";
  if (const std::string seal = seal_line(report); !seal.empty()) foot += "<p>" + markup(seal) + (report.seal_digest.empty() ? "" : ", SHA-256 " + markup(report.seal_digest)) + "</p>\n";
  if (report.seals.size() > 1) {
    for (const std::string& s : report.seals) foot += "<p>" + markup(s) + "</p>\n";
  }
  foot += "<p>" + markup(report.program) + "</p>\n</footer>\n";
  return page(title_of(report), style(report, paper, turned), head + "<main>\n" + body.text() + "</main>\n" + foot);
}

}  // namespace baybook::tool::report
