// The colour of the sun through clear and hazy air.
//
// Turbidity as Preetham, Shirley & Smits 1999 have it: 1 is pure air, 2 very clear, 3 to 4 autumn haze, 10
// thick.
#pragma once

#include <glm/vec3.hpp>

#include "engine/colour/spaces.h"
#include "engine/core/quantities.h"

namespace undercap {

// By the apparent elevation, 0 to 90 degrees; below 0 it is that of 0.
Chromaticity sun_xy(double turbidity, Angle apparent_elevation);

// Above the air.
Chromaticity extraterrestrial_sun_xy();

// Linear RGB at Y = 1; within some 2 degrees of the horizon no screen shows so deep a red, see
// rgb_with_unit_luminance.
glm::dvec3 sun_rgb(double turbidity, Angle apparent_elevation);

}  // namespace undercap
