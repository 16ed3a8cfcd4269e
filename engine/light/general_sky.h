// The fifteen skies of CIE S 011/E:2003 = ISO 15469:2004, overcast to cloudless, and a rule for their colour.
//
// Luminances are ratios to the zenith's; absolute ones follow from the illuminance of level ground through
// general_sky_horizontal. Zenith distance: angle from straight up. Black below the horizon.
//
//   1 to 5   overcast, 1 the standard one, 5 even      6 to 8    partly cloudy, no gradation
//   9, 10    partly cloudy   11  white-blue            12 to 15  cloudless, 12 the standard clear one
#pragma once

#include <glm/vec3.hpp>

#include "engine/core/quantities.h"

namespace undercap {

// phi(Z) = 1 + a exp(b / cos Z) from zenith to horizon, f(chi) = 1 + c (exp(d chi) - exp(d pi / 2)) + e cos^2
// chi around the sun.
struct GeneralSky {
  double a, b, c, d, e;
};

// Refuses a type that is not 1 to 15.
GeneralSky general_sky(int type);

// L / L_z; the azimuth is that of the place less that of the sun.
double general_sky_ratio(int type, Angle zenith_distance, Angle azimuth_from_sun, Angle sun_zenith_distance);

// The same for unit vectors towards the place and towards the sun, z up.
double general_sky_ratio(int type, const glm::dvec3& place, const glm::dvec3& sun);

// E / L_z of a surface leaning by 'tilt' from facing the zenith towards an azimuth, in the open, without
// light from the ground; level ground by itself.
double general_sky_tilted(int type, Angle sun_zenith_distance, Angle tilt, Angle azimuth_from_sun);
double general_sky_horizontal(int type, Angle sun_zenith_distance);

// The colour temperature of level ground's light from such a sky where nobody says: 6500 K under cloud, 12000
// K under the standard clear sky.
ColourTemperature general_sky_temperature(int type);

// The colour of a place of the sky at Y = 1, by its luminance over the sky's mean, E / pi: what is brighter
// than the mean is whiter, what is darker is bluer, the more so the clearer the sky, along the D locus
// between 4000 and 25000 K. Whole skies of it are a little warmer than 'mean', since the bright parts weigh
// more: who sums one up divides by what came out and multiplies by the colour of 'mean'.
glm::dvec3 general_sky_colour(int type, double luminance_over_mean, ColourTemperature mean);

}  // namespace undercap
