#include "engine/light/sky.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

Angle from_degrees(double value) { return Angle(value * pi / 180); }

// E / L_z of a tilted surface by midpoint summation over the sky: cells of equal solid angle in
// sin(elevation) and azimuth, the surface's normal leaning to azimuth 0.
double summed_illuminance(SkyShape shape, double tilt) {
  constexpr int rings = 400, sectors = 800;
  double sum = 0;
  for (int i = 0; i < rings; ++i) {
    const double up = (i + .5) / rings, level = std::sqrt(1 - up * up);
    const double luminance = sky_luminance_ratio(shape, Angle(std::asin(up)));
    for (int j = 0; j < sectors; ++j) {
      const double cosine =
          std::cos(tilt) * up + std::sin(tilt) * level * std::cos(2 * pi * (j + .5) / sectors);
      if (cosine > 0) sum += luminance * cosine;
    }
  }
  return sum * 2 * pi / rings / sectors;
}

// Uniform: (1 + cos b) / 2. Overcast: [pi (1 + cos b)/2 + (4/3)(pi cos b + sin b - b cos b)] / (7 pi/3). Five
// decimals.
TEST(Sky, TiltTable) {
  const double table[][3] = {{0, 1, 1},
                             {15, .98296, .97431},
                             {30, .93301, .90320},
                             {45, .85355, .79747},
                             {60, .75000, .66943},
                             {75, .62941, .53171},
                             {90, .50000, .39618},
                             {120, .25000, .16943},
                             {150, .06699, .03718},
                             {180, 0, 0}};
  for (const auto& [tilt, uniform, overcast] : table) {
    EXPECT_NEAR(tilted_illuminance_ratio(SkyShape::uniform, from_degrees(tilt)), uniform, 5.1e-6) << tilt;
    EXPECT_NEAR(tilted_illuminance_ratio(SkyShape::overcast, from_degrees(tilt)), overcast, 5.1e-6) << tilt;
  }
}

// The closed forms are the integrals of the luminances: midpoint sums of 320 000 cells are within 1e-4.
TEST(Sky, ClosedFormsAreTheIntegrals) {
  for (SkyShape shape : {SkyShape::uniform, SkyShape::overcast}) {
    const double per_zenith = 1 / zenith_luminance(shape, 1_lx).value();
    for (double tilt : {0., 30., 75., 90., 120., 150.}) {
      const double closed = per_zenith * tilted_illuminance_ratio(shape, from_degrees(tilt));
      EXPECT_NEAR(summed_illuminance(shape, tilt * pi / 180), closed, 1e-4) << tilt;
    }
  }
}

// E_h = pi L, and (7 pi/9) L_z = 2.443461 L_z (Moon & Spencer, Illuminating Engineering 37:707, 1942); a wall
// under the overcast sky has .968043 L_z.
TEST(Sky, ZenithLuminance) {
  EXPECT_NEAR(zenith_luminance(SkyShape::uniform, 10000_lx).value(), 10000 / pi, 1e-9);
  EXPECT_NEAR(zenith_luminance(SkyShape::overcast, 10000_lx).value(), 4092.56, 5.1e-3);
  const double level = 1 / zenith_luminance(SkyShape::overcast, 1_lx).value();
  EXPECT_NEAR(level, 2.443461, 5.1e-7);
  EXPECT_NEAR(level * tilted_illuminance_ratio(SkyShape::overcast, 90_deg), .968043, 5.1e-7);
}

// CIE 1955: (1 + 2 sin g) / 3, the horizon a third of the zenith; at 15 degrees up .50588. Black below the
// horizon.
TEST(Sky, LuminanceDistribution) {
  EXPECT_DOUBLE_EQ(sky_luminance_ratio(SkyShape::overcast, 90_deg), 1);
  EXPECT_NEAR(sky_luminance_ratio(SkyShape::overcast, 0_deg), 1. / 3, 1e-15);
  EXPECT_NEAR(sky_luminance_ratio(SkyShape::overcast, 15_deg), .50588, 5.1e-6);
  for (double elevation : {0., 1., 45., 90.})
    EXPECT_EQ(sky_luminance_ratio(SkyShape::uniform, from_degrees(elevation)), 1);
  for (SkyShape shape : {SkyShape::uniform, SkyShape::overcast})
    EXPECT_EQ(sky_luminance_ratio(shape, -1_deg), 0);
}

// Even: sin^2 t; overcast: (3/7) sin^2 t + (4/7)(1 - cos^3 t), five decimals; half-angle of a gap overhead,
// then elevation of a level ring of trees, which leaves cos^2 h and (3/7) cos^2 h + (4/7)(1 - sin^3 h).
TEST(Sky, GapOverheadAndRingOfTrees) {
  const double gaps[][3] = {{5, .00760, .00975},  {10, .03015, .03857}, {20, .11698, .14741},
                            {30, .25000, .30742}, {45, .50000, .58368}, {90, 1, 1}};
  for (const auto& [angle, even, overcast] : gaps) {
    EXPECT_NEAR(sky_share_within(SkyShape::uniform, from_degrees(angle)), even, 5.1e-6) << angle;
    EXPECT_NEAR(sky_share_within(SkyShape::overcast, from_degrees(angle)), overcast, 5.1e-6) << angle;
  }
  const double rings[][2] = {{10, .98408}, {20, .92700}, {30, .82143}, {45, .58368}, {60, .30742}};
  for (const auto& [elevation, overcast] : rings)
    EXPECT_NEAR(sky_share_within(SkyShape::overcast, from_degrees(90 - elevation)), overcast, 5.1e-6)
        << elevation;
}

}  // namespace
}  // namespace undercap
