// What may be shown of bytes that came from a file or an argument.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace undercap {

// How many bytes at the beginning are valid UTF-8 without control characters.
std::size_t printable_bytes(std::string_view text);

// Whether a text is valid UTF-8 (RFC 3629) without control characters.
bool is_printable(std::string_view text);

// The text with every byte that is not printable as \xNN. Messages are made of nothing else.
std::string printable(std::string_view text);

}  // namespace undercap
