// Edits to a TOML text that touch one value or one line; every other byte stays.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "engine/scene/document.h"
#include "engine/scene/line_numbers.h"

namespace undercap {

// Gives a key a value: replaces the value that is there, else adds one line (or one member of an inline
// table) where the key's table is written; a table that is not written yet gets a [header] of its own.
Splice setting(std::string_view text, const TextPath& path, std::string_view value);

// Takes a key out with its whole line, or out of its inline table. Nothing when it is not written as one
// value.
std::optional<Splice> removal(std::string_view text, const TextPath& path);

// Puts a text that is one [[block]] of a list behind the last block of that list, else at the end, with a
// blank line before it and the line ends of the text around it.
Splice block_addition(std::string_view text, std::string_view list, std::string_view block);

// Takes a block of a list out, with the tables below it and the comment right above it: splices in the order
// in which they are to be made.
std::vector<Splice> block_removal(std::string_view text, std::string_view list, std::size_t index);

}  // namespace undercap
