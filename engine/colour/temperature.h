// Colour temperatures: black bodies, phases of daylight, and the way back from a chromaticity.
//
// 'duv' is the distance from the Planck locus in CIE 1960 (u, v), above the locus (towards green) positive.
// Temperatures are on the scale of c2 = 1.4388e-2 m K (ITS-90).
#pragma once

#include <optional>

#include "engine/colour/spaces.h"
#include "engine/core/quantities.h"

namespace undercap {

inline constexpr double coolest_planckian_k = 1000, hottest_planckian_k = 100000;

// The chromaticity of a black body, moved by duv at right angles to the locus. Refuses what is not 1000 to
// 100000 K.
Chromaticity planckian_xy(ColourTemperature temperature, double duv = 0);

// The CIE D locus. Refuses what is not 4000 to 25000 K.
Chromaticity daylight_xy(ColourTemperature temperature);

struct CorrelatedTemperature {
  ColourTemperature temperature;
  double duv = 0;
};

// The nearest point of the Planck locus in (u, v), between 1000 and 100000 K. None when the chromaticity is
// further than .05 from the locus, where a colour temperature has no meaning (CIE 15), or beyond an end of
// the range.
std::optional<CorrelatedTemperature> correlated_temperature(Chromaticity chromaticity);

}  // namespace undercap
