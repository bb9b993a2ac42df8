#include "qr.hpp"

#include "characters.hpp"

#include <qrcodegen/qrcodegen.hpp>

#include <stdexcept>

namespace baybook::tool::report {

namespace {

std::string upper(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c >= 'a' && c <= 'z') out += static_cast<char>(c - 'a' + 'A');
    else if ((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9')) out += c;
    else out += '-';
  }
  return out;
}

}  // namespace

const std::string& checked_payload(const std::string& payload) {
  constexpr std::string_view begin = "BAYBOOK:";
  bool good = payload.starts_with(begin) && payload.size() > begin.size() && payload.size() <= 40;
  for (std::size_t i = begin.size(); good && i < payload.size(); ++i) {
    const char c = payload[i];
    good = (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
  }
  if (!good) throw std::invalid_argument("a label's QR is BAYBOOK: and A to Z, 0 to 9 and -, 40 characters at most");
  return payload;
}

std::string seal_payload(const Report& report) {
  if (report.seal_digest.empty()) return {};
  std::string out = "BAYBOOK:SEAL-";
  const std::size_t last = report.seal.rfind(':');
  if (last != std::string::npos) out += upper(report.seal.substr(0, last)) + "-";
  return out + upper(report.seal_digest);
}

Squares squares(std::string_view payload) {
  const qrcodegen::QrCode code = qrcodegen::QrCode::encodeText(std::string(payload).c_str(), qrcodegen::QrCode::Ecc::MEDIUM);
  Squares out;
  out.side = code.getSize();
  out.dark.reserve(static_cast<std::size_t>(out.side * out.side));
  for (int y = 0; y < out.side; ++y) {
    for (int x = 0; x < out.side; ++x) out.dark.push_back(code.getModule(x, y));
  }
  return out;
}

std::string svg_of(const Squares& s, std::string_view title, std::string_view css_class) {
  const std::string side = std::to_string(s.side + 2 * kQuiet);
  std::string out = "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" class=\"" + markup(css_class) + "\" viewBox=\"0 0 " + side + " " + side +
                    "\" shape-rendering=\"crispEdges\"><title>" + markup(title) + "</title><rect width=\"" + side + "\" height=\"" + side +
                    "\" fill=\"#fff\"/><path fill=\"#000\" d=\"";
  for (int y = 0; y < s.side; ++y) {
    for (int x = 0; x < s.side;) {
      int run = 0;
      while (x + run < s.side && s.at(x + run, y)) ++run;
      if (run > 0) out += "M" + std::to_string(x + kQuiet) + " " + std::to_string(y + kQuiet) + "h" + std::to_string(run) + "v1h-" + std::to_string(run) + "z";
      x += run > 0 ? run : 1;
    }
  }
  return out + "\"/></svg>";
}

}  // namespace baybook::tool::report
