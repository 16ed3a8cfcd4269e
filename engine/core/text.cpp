#include "engine/core/text.h"

#include <fmt/format.h>

namespace undercap {
namespace {

// Bytes of the code point that begins a text: 1 to 4, or 0 where none does that may be shown. RFC 3629: no
// overlong forms, no surrogates, at most U+10FFFF. C0 and C1 controls and DEL are not shown.
std::size_t code_point_bytes(std::string_view text) {
  const auto byte = [&](std::size_t i) {
    return i < text.size() ? static_cast<unsigned>(static_cast<unsigned char>(text[i])) : 0U;
  };
  const auto continues = [&](std::size_t i) { return (byte(i) & 0xc0U) == 0x80U; };
  const unsigned first = byte(0);
  if (first < 0x80) return first >= 0x20 && first != 0x7f ? 1 : 0;
  if (first < 0xc2 || !continues(1)) return 0;
  if (first < 0xe0) return first == 0xc2 && byte(1) < 0xa0 ? 0 : 2;
  if (!continues(2)) return 0;
  if (first < 0xf0) return (first == 0xe0 && byte(1) < 0xa0) || (first == 0xed && byte(1) > 0x9f) ? 0 : 3;
  if (!continues(3) || first > 0xf4) return 0;
  return (first == 0xf0 && byte(1) < 0x90) || (first == 0xf4 && byte(1) > 0x8f) ? 0 : 4;
}

}  // namespace

std::size_t printable_bytes(std::string_view text) {
  std::size_t all = 0;
  while (const std::size_t bytes = code_point_bytes(text.substr(all))) all += bytes;
  return all;
}

bool is_printable(std::string_view text) { return printable_bytes(text) == text.size(); }

std::string printable(std::string_view text) {
  std::string shown;
  while (!text.empty()) {
    const std::size_t bytes = code_point_bytes(text);
    if (bytes == 0)
      shown += fmt::format("\\x{:02x}", static_cast<unsigned char>(text.front()));
    else
      shown += text.substr(0, bytes);
    text.remove_prefix(bytes == 0 ? 1 : bytes);
  }
  return shown;
}

std::vector<std::string> broken_lines(std::string_view text,
                                      const std::function<bool(const std::string&)>& fits) {
  std::vector<std::string> lines{""};
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    const std::string word(text.substr(begin, end - begin));
    std::string longer = lines.back();
    if (!longer.empty()) longer += ' ';
    longer += word;
    if (lines.back().empty() || fits(longer))
      lines.back() = std::move(longer);
    else
      lines.push_back(word);
    begin = end + 1;
  }
  return lines;
}

}  // namespace undercap
