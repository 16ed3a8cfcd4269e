// How much light the sun and the sky give in the open, by the sun's elevation and the kind of sky.
//
// These are long-run means: an instant may have half or twice as much. All are 0 with the sun down; twilight
// is not modelled. 'Elevation' here is the apparent one.
#pragma once

#include "engine/core/quantities.h"

namespace undercap {

enum class SkyCondition { clear, partly_cloudy, cloudy };

// (mean distance / distance)^2 of the sun on a day of the year (1 January = 1): 1 + .034 cos(2 pi (J - 2) /
// 365).
double sun_distance_factor(int day_of_year);

// The sun above the air, on a surface facing it: 127.5 klx x distance factor.
Illuminance extraterrestrial_illuminance(int day_of_year);

// IES 1984: the sun on a surface facing it, and the sky without the sun on level ground. Cloudy: no direct
// sun.
Illuminance ies_direct_normal(SkyCondition condition, Angle elevation, int day_of_year);
Illuminance ies_diffuse_horizontal(SkyCondition condition, Angle elevation);

// What a scene's overcast sky gives on level ground when the file does not say: the cloudy row above.
Illuminance overcast_horizontal(Angle elevation);

// How many times the vertical path the light goes through: 1 overhead, 38 at the horizon. Elevation 0 to 90
// degrees.
double air_mass(Angle elevation);

// The sun on a surface facing it through air of this illuminance turbidity: 1 is pure air, 2 very clear, 3 to
// 4 autumn haze, 10 thick.
Illuminance turbidity_direct_normal(double turbidity, Angle elevation, int day_of_year);

// On level ground: E sin h, 0 with the sun down.
Illuminance horizontal_from_normal(Illuminance normal, Angle elevation);

}  // namespace undercap
