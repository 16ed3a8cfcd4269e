#include "engine/light/general_sky.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <string>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/core/errors.h"
#include "engine/light/sky.h"
#include "engine/light/sun.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

Angle from_degrees(double value) { return Angle(value * pi / 180); }

// CIE S 011/E:2003 evaluated by hand: exp(-.7) x 4 + 1 = 2.98634 and exp(-1.4) x 4 + 1 = 1.98639 give .66516
// at 60 degrees of the overcast sky; type 12 and 7 with the sun 30 degrees up.
TEST(GeneralSky, SpotValues) {
  EXPECT_NEAR(general_sky_ratio(1, 60_deg, 0_deg, 60_deg), .66516, 5.1e-6);
  EXPECT_NEAR(general_sky_ratio(12, 60_deg, 0_deg, 60_deg), 13.47900, 6e-6);
  EXPECT_NEAR(general_sky_ratio(12, 60_deg, 90_deg, 60_deg), 1.34077, 5.1e-6);
  EXPECT_NEAR(general_sky_ratio(12, 60_deg, 180_deg, 60_deg), 1.23557, 5.1e-6);
  EXPECT_NEAR(general_sky_ratio(12, 30_deg, 180_deg, 60_deg), .77541, 5.1e-6);
  EXPECT_NEAR(general_sky_ratio(7, 60_deg, 0_deg, 60_deg), 4.62373, 5.1e-6);
  EXPECT_NEAR(general_sky_ratio(7, 60_deg, 180_deg, 60_deg), .74789, 5.1e-6);
}

// By definition 1 at the zenith, phi = 1 at the horizon, black below; and vectors say what angles say.
TEST(GeneralSky, ZenithHorizonAndVectors) {
  const glm::dvec3 sun = direction_towards(200_deg, 25_deg);
  for (int type = 1; type <= 15; ++type) {
    EXPECT_NEAR(general_sky_ratio(type, 0_deg, 77_deg, 65_deg), 1, 1e-14);
    EXPECT_EQ(general_sky_ratio(type, 91_deg, 0_deg, 65_deg), 0);
    const GeneralSky sky = general_sky(type);
    const double f = [&](double chi) {
      return 1 + sky.c * (std::exp(sky.d * chi) - std::exp(sky.d * pi / 2)) +
             sky.e * std::pow(std::cos(chi), 2);
    }(65 * pi / 180);
    // At the horizon, square to the sun's azimuth: chi = 90 degrees, where f = 1.
    EXPECT_NEAR(general_sky_ratio(type, 90_deg, 90_deg, 65_deg), 1 / (f * (1 + sky.a * std::exp(sky.b))),
                1e-9);
    EXPECT_NEAR(general_sky_ratio(type, direction_towards(240_deg, 30_deg), sun),
                general_sky_ratio(type, 60_deg, 40_deg, 65_deg), 1e-12);
  }
}

// Integrals of the standard's luminances, converged to 1e-6: E_h / L_z, and walls over level ground facing
// the sun, square to it, away from it, with the sun 30 degrees up; then the same without 'square' at 15
// degrees. Demanded are .2 %; the sum of 51 200 cells is within .03 %, plus half a last digit.
TEST(GeneralSky, Integrals) {
  const double table[][8] = {{1, 2.44954, .3792, .3792, .3792, 2.44954, .3792, .3792},
                             {2, 2.55658, .5191, .3532, .2793, 2.66148, .5348, .3018},
                             {3, 2.76999, .4466, .4466, .4466, 2.76999, .4466, .4466},
                             {4, 2.89015, .6079, .4123, .3272, 3.02976, .6379, .3530},
                             {5, 3.14159, .5000, .5000, .5000, 3.14159, .5000, .5000},
                             {6, 3.27783, .6788, .4591, .3649, 3.45578, .7184, .3928},
                             {7, 3.67305, .7939, .4329, .3251, 3.90210, .8684, .3768},
                             {8, 4.12308, .9080, .4056, .2761, 4.42110, 1.0372, .3422},
                             {9, 4.55275, .8578, .5785, .4619, 4.86523, .9205, .4933},
                             {10, 5.14491, .9891, .5400, .4118, 5.59370, 1.1109, .4692},
                             {11, 5.81763, 1.1177, .5006, .3490, 6.45169, 1.3207, .4213},
                             {12, 6.39411, 1.2346, .5590, .3966, 7.20480, 1.4896, .4720},
                             {13, 6.99522, 1.3552, .5188, .3019, 8.07294, 1.7197, .3639},
                             {14, 7.70810, 1.5579, .6084, .3642, 9.11757, 2.0403, .4297},
                             {15, 8.11602, 1.6937, .5629, .2375, 10.33799, 2.3101, .2777}};
  for (const auto& row : table) {
    const int type = static_cast<int>(row[0]);
    const auto wall = [&](Angle sun, Angle azimuth) {
      return general_sky_tilted(type, sun, 90_deg, azimuth) / general_sky_horizontal(type, sun);
    };
    const auto near = [&](double value, double expected, double half_digit) {
      EXPECT_NEAR(value, expected, 3e-4 * expected + half_digit) << type;
    };
    near(general_sky_horizontal(type, 60_deg), row[1], 5e-6);
    near(wall(60_deg, 0_deg), row[2], 5e-5);
    near(wall(60_deg, 90_deg), row[3], 5e-5);
    near(wall(60_deg, 180_deg), row[4], 5e-5);
    near(general_sky_horizontal(type, 75_deg), row[5], 5e-6);
    near(wall(75_deg, 0_deg), row[6], 5e-5);
    near(wall(75_deg, 180_deg), row[7], 5e-5);
  }
}

// Type 5 is the even sky, whose tilted surfaces have a closed form: (1 + cos b) / 2.
TEST(GeneralSky, EvenSkyHasItsClosedForm) {
  for (double tilt : {0., 30., 75., 90., 120.})
    EXPECT_NEAR(general_sky_tilted(5, 40_deg, from_degrees(tilt), 30_deg) / pi,
                tilted_illuminance_ratio(SkyShape::uniform, from_degrees(tilt)), 2e-4)
        << tilt;
}

// The rule itself: neutral under cloud; in the clear sky 25 mired a stop about the mean, 4000 to 25000 K at
// most.
TEST(GeneralSky, ColourRule) {
  const auto colour = [](double kelvin) {
    return rgb_with_unit_luminance(daylight_xy(ColourTemperature(kelvin)));
  };
  for (int type = 1; type <= 5; ++type) {
    EXPECT_NEAR(general_sky_temperature(type).value(), 6500, 1e-9);
    for (double ratio : {.2, 1., 9.})
      EXPECT_LT(glm::length(general_sky_colour(type, ratio, 7000_K) - colour(7000)), 1e-12);
  }
  EXPECT_NEAR(general_sky_temperature(12).value(), 12000, 1e-9);
  EXPECT_LT(glm::length(general_sky_colour(12, 1, 10000_K) - colour(10000)), 1e-12);
  EXPECT_LT(glm::length(general_sky_colour(12, 2, 10000_K) - colour(8000)), 1e-12);       // 100 + 25 mired
  EXPECT_LT(glm::length(general_sky_colour(12, .5, 10000_K) - colour(1e6 / 75)), 1e-12);  // 100 - 25
  EXPECT_LT(glm::length(general_sky_colour(12, .01, 12000_K) - colour(25000)), 1e-12);
  EXPECT_LT(glm::length(general_sky_colour(12, 1e4, 5000_K) - colour(4000)), 1e-12);
  for (int type = 6; type <= 15; ++type) {
    EXPECT_GT(general_sky_colour(type, .5, 8000_K).z, general_sky_colour(type, 2, 8000_K).z) << type;
    EXPECT_NEAR(luminance_y(general_sky_colour(type, 3, 8000_K)), 1, 1e-12);
    EXPECT_GT(general_sky_temperature(type), 6500_K);
    EXPECT_LE(general_sky_temperature(type).value(), 12000 + 1e-9);
  }
}

TEST(GeneralSky, RefusesATypeThatIsNone) {
  for (int type : {0, 16, -3}) {
    try {
      general_sky(type);
      FAIL() << type;
    } catch (const Refusal& refusal) {
      EXPECT_NE(std::string(refusal.what()).find("1 (overcast) to 15"), std::string::npos);
    }
  }
}

}  // namespace
}  // namespace undercap
