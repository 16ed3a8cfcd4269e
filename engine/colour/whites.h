// The words for the colour of light: mired and tint.
//
// A mired is a millionth of a kelvin's reciprocal: equal steps of it look about equal, and a gel shifts every
// light by as many.
#pragma once

#include <string>

#include "engine/colour/temperature.h"
#include "engine/core/quantities.h"

namespace undercap {

double mired(ColourTemperature temperature);

// Positive is warmer. Refuses what ends beyond 1000 to 100000 K.
ColourTemperature shifted_by_mired(ColourTemperature temperature, double shift);

// How much warmer 'light' is than 'reference', in mired.
double mired_difference(ColourTemperature light, ColourTemperature reference);

// A duv in words: "neutral", "a little green", "green", "a little pink", "pink". Daylight, whose locus has a
// duv of .003, is neutral.
std::string tint_word(double duv);

}  // namespace undercap
