// What a lamp at one place would do, in words: for whoever looks at the map of places.
#pragma once

#include <string>

#include "engine/report/light_sheet.h"

namespace undercap {

// "4:30, lamp front 21 cm from the subject, 9 cm above the ground (1 hand), 64° from the lens axis. 12 % of
// its power for +1.0 stop; spill +0.05 behind, +0.02 before; uneven by 0.4 stop; shadow edges 3.1 mm. Against
// it: too much spill." Where no lamp can be, what hinders alone.
std::string fields_words(const World& world, const LightQuestion& asked, const PlaceFields& place);

}  // namespace undercap
