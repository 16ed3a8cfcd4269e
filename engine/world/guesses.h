// What of a world's colours is a guess: rows of the table of materials that nobody measured or computed.
#pragma once

#include <string>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

// The guessed rows that some parts are of, each once, in the order of the parts.
std::vector<std::string> guessed_rows(const World& world, const std::vector<std::uint32_t>& parts);
std::vector<std::string> guessed_rows(const World& world);  // of the whole scene

}  // namespace undercap
