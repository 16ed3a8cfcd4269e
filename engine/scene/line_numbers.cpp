#include "engine/scene/line_numbers.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

namespace undercap {
namespace {

std::size_t line_breaks(std::string_view text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

}  // namespace

std::string spliced(std::string_view text, const Splice& splice) {
  return fmt::format("{}{}{}", text.substr(0, splice.begin), splice.with, text.substr(splice.end));
}

void LineNumbers::splice(std::string_view text_before, const Splice& splice) {
  if (numbers_.empty()) {
    numbers_.resize(line_breaks(text_before) + 1);
    std::iota(numbers_.begin(), numbers_.end(), 1);
  }
  const std::size_t first = line_breaks(text_before.substr(0, splice.begin));
  const std::size_t last = first + line_breaks(text_before.substr(splice.begin, splice.end - splice.begin));
  std::vector<int> now(line_breaks(splice.with) + 1, 0);
  const bool at_line_begin = splice.begin == 0 || text_before[splice.begin - 1] == '\n';
  // What stands before the splice on its first line, and behind it on its last, keeps its number.
  if (splice.end < text_before.size()) now.back() = numbers_[last];
  if (!at_line_begin) now.front() = numbers_[first];
  const auto begin = numbers_.begin() + static_cast<std::ptrdiff_t>(first);
  numbers_.insert(numbers_.erase(begin, numbers_.begin() + static_cast<std::ptrdiff_t>(last) + 1),
                  now.begin(), now.end());
}

int LineNumbers::in_file(int line) const {
  const auto index = static_cast<std::size_t>(line - 1);
  if (line < 1 || numbers_.empty()) return line;
  return index < numbers_.size() ? numbers_[index] : 0;
}

}  // namespace undercap
