#include "engine/light/sky.h"

#include <cmath>
#include <numbers>

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;

// E / L_z of a surface tilted by b. A uniform sky lights the part of the half space above both the horizon
// and the surface: pi (1 + cos b) / 2. P. Moon & D. E. Spencer, Illuminating Engineering 37:707, 1942, L =
// L_z (1 + 2 sin g) / 3, adds twice the same integral weighted with the sine of the elevation g, which is
// (2/3)(pi cos b + sin b - b cos b).
double illuminance_per_zenith_luminance(SkyShape shape, double b) {
  const double uniform = pi * (1 + std::cos(b)) / 2;
  if (shape == SkyShape::uniform) return uniform;
  return (uniform + 4. / 3 * (pi * std::cos(b) + std::sin(b) - b * std::cos(b))) / 3;
}

}  // namespace

double sky_luminance_ratio(SkyShape shape, Angle elevation) {
  const double sine = std::sin(elevation.value());
  if (sine < 0) return 0;
  return shape == SkyShape::uniform ? 1 : (1 + 2 * sine) / 3;
}

// Level ground: pi for the uniform sky, 7 pi / 9 for the overcast one.
Luminance zenith_luminance(SkyShape shape, Illuminance horizontal) {
  return Luminance(horizontal.value() / illuminance_per_zenith_luminance(shape, 0));
}

double tilted_illuminance_ratio(SkyShape shape, Angle tilt) {
  return illuminance_per_zenith_luminance(shape, std::abs(tilt.value())) /
         illuminance_per_zenith_luminance(shape, 0);
}

// Integral of L cos Z over the cap: sin^2 t for the even sky. The overcast one adds 2 cos Z times that,
// (4/3)(1 - cos^3 t) against 1, in the proportion of 3 to 4 of the whole.
double sky_share_within(SkyShape shape, Angle of_zenith) {
  const double sine = std::sin(of_zenith.value()), cosine = std::cos(of_zenith.value());
  if (shape == SkyShape::uniform) return sine * sine;
  return (3 * sine * sine + 4 * (1 - cosine * cosine * cosine)) / 7;
}

}  // namespace undercap
