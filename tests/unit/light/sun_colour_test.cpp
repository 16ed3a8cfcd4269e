#include "engine/light/sun_colour.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/colour/temperature.h"

namespace undercap {
namespace {

Angle from_degrees(double value) { return Angle(value * std::numbers::pi / 180); }

// Preetham, Shirley & Smits 1999, appendix, with the air mass of Kasten & Young 1989, summed independently:
// turbidity, elevation, x, y, temperature, and linear RGB at Y = 1. Held to .001 in x and y, since
// the sums take other steps; the colour
// follows with what that moves it.
TEST(SunColour, Table) {
  struct {
    double turbidity, elevation, x, y, kelvin;
    glm::dvec3 rgb;
  } const rows[] = {
      {2, 60, .3324, .3425, 5502, {1.135, .975, .853}}, {2, 30, .3436, .3535, 5062, {1.186, .969, .756}},
      {2, 20, .3557, .3644, 4672, {1.243, .962, .662}}, {2, 10, .3906, .3908, 3841, {1.423, .930, .443}},
      {2, 5, .4468, .4169, 2943, {1.772, .851, .201}},  {3, 30, .3508, .3590, 4818, {1.227, .962, .705}},
      {3, 20, .3661, .3716, 4379, {1.304, .950, .597}}, {3, 10, .4097, .3998, 3479, {1.546, .903, .357}},
      {3, 5, .4767, .4206, 2554, {2.015, .787, .117}},  {4, 20, .3764, .3782, 4121, {1.365, .938, .537}},
      {4, 10, .4281, .4069, 3176, {1.671, .873, .283}}, {2, 2, .5317, .4169, 1981, {2.526, .643, 0}}};
  for (const auto& row : rows) {
    const Chromaticity xy = sun_xy(row.turbidity, from_degrees(row.elevation));
    EXPECT_NEAR(xy.x, row.x, .001) << row.turbidity << " " << row.elevation;
    EXPECT_NEAR(xy.y, row.y, .001) << row.turbidity << " " << row.elevation;
    EXPECT_NEAR(correlated_temperature(xy)->temperature.value() / row.kelvin, 1, .01);
    const glm::dvec3 rgb = sun_rgb(row.turbidity, from_degrees(row.elevation));
    for (int i = 0; i < 3; ++i) EXPECT_NEAR(rgb[i], row.rgb[i], .02) << row.turbidity << " " << row.elevation;
  }
}

// The same sum without air: x .3170, y .3261, 6290 K.
TEST(SunColour, AboveTheAir) {
  EXPECT_NEAR(extraterrestrial_sun_xy().x, .3170, .002);
  EXPECT_NEAR(extraterrestrial_sun_xy().y, .3261, .002);
}

// Lower and hazier is redder; luminance stays 1 and no channel falls below 0, down to the horizon and below.
TEST(SunColour, RedderTowardsTheHorizonAndInHaze) {
  double red = 0;
  for (double elevation : {90., 40., 20., 10., 5., 2., 0.}) {
    for (double turbidity : {1., 2., 4., 10.}) {
      const glm::dvec3 rgb = sun_rgb(turbidity, from_degrees(elevation));
      EXPECT_NEAR(luminance_y(rgb), 1, 1e-12);
      EXPECT_GE(rgb.z, 0);
      EXPECT_GE(rgb.y, 0);
    }
    EXPECT_LT(sun_xy(2, from_degrees(elevation)).x, sun_xy(4, from_degrees(elevation)).x);
    EXPECT_GT(sun_rgb(3, from_degrees(elevation)).x, red);
    red = sun_rgb(3, from_degrees(elevation)).x;
  }
  EXPECT_EQ(sun_rgb(3, -1_deg), sun_rgb(3, 0_deg));
}

}  // namespace
}  // namespace undercap
