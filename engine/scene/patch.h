// Edits to a TOML text that touch one value or one line; every other byte stays.
#pragma once

#include <optional>
#include <string_view>

#include "engine/scene/document.h"
#include "engine/scene/line_numbers.h"

namespace undercap {

// Gives a key a value: replaces the value that is there, else adds one line (or one member of an inline
// table) where the key's table is written; a table that is not written yet gets a [header] of its own.
Splice setting(std::string_view text, const TextPath& path, std::string_view value);

// Takes a key out with its whole line, or out of its inline table. Nothing when it is not written as one
// value.
std::optional<Splice> removal(std::string_view text, const TextPath& path);

}  // namespace undercap
