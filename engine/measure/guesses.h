// Which readings rest on guesses.
#pragma once

#include <vector>

#include "engine/measure/readings.h"

namespace undercap {

// Adds 'rests on guessed reflectances: a, b, c and 2 more' to the notes of part.* and of contrast.* between
// regions: the rows that the reading's own samples met, the most seen first.
void note_guesses(const Evidence& evidence, std::vector<Reading>& readings);

}  // namespace undercap
