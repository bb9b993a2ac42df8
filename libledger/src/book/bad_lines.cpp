#include "book/bad_lines.hpp"

namespace baybook::book {

namespace {

constexpr std::size_t kMost = 20;
/// Of one line; the rest is counted.
constexpr std::size_t kMostOfLine = 3;

}  // namespace

void BadLines::add(std::int64_t line, const std::string& entry, const std::vector<Unfit>& found) {
  if (found.empty()) return;
  ++count_;
  for (const Unfit& u : found) newer_ = newer_ && u.sort == Unfit::Sort::newer;
  // They come in no order when what they name is looked at last.
  if (first_.size() >= kMost && line > first_.rbegin()->first) return;
  std::string text = entry + ":";
  for (std::size_t i = 0; i < found.size() && i < kMostOfLine; ++i)
    text += (i == 0 ? " " : "; ") + found[i].sentence();
  if (found.size() > kMostOfLine)
    text += "; and " + std::to_string(found.size() - kMostOfLine) + " more";
  first_[line] = std::move(text);
  if (first_.size() > kMost) first_.erase(std::prev(first_.end()));
}

Refusal BadLines::refusal() const {
  Refusal r;
  r.code = newer_ ? Code::unreadable : Code::unclear;
  for (const auto& [line, text] : first_)
    r.lines.push_back(name_ + ":" + std::to_string(line) + ":1: " + text);
  const auto more = count_ - static_cast<std::int64_t>(first_.size());
  if (more > 0) r.lines.push_back("and " + std::to_string(more) + " more");
  r.what = name_ + ": " + std::to_string(count_) + (count_ == 1 ? " line says" : " lines say") +
           " what no entry can";
  r.why =
      "entries of another book are held to the limits of those that are typed; of a file with one "
      "that is not, nothing is taken";
  r.instead = newer_ ? "a newer baybook, if one made the file; or the file again, as it was made: "
                       "baybook exchange out"
                     : "the file again, as it was made: baybook exchange out; if it says the same, "
                       "ask who made it before anything of it is taken";
  r.figures = {{"bad_lines", std::to_string(count_)}};
  return r;
}

}  // namespace baybook::book
