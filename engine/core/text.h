// What may be shown of bytes that came from a file or an argument, and how it is broken into lines.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace undercap {

// How many bytes at the beginning are valid UTF-8 without control characters.
std::size_t printable_bytes(std::string_view text);

// Whether a text is valid UTF-8 (RFC 3629) without control characters.
bool is_printable(std::string_view text);

// The text with every byte that is not printable as \xNN. Messages are made of nothing else.
std::string printable(std::string_view text);

// A text in lines that 'fits' lets pass, broken at blanks; a word that does not fit has a line to itself. One
// line at least.
std::vector<std::string> broken_lines(std::string_view text,
                                      const std::function<bool(const std::string&)>& fits);

}  // namespace undercap
