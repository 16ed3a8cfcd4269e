#include "engine/light/daylight.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace undercap {
namespace {

constexpr int october_20 = 293;

Angle from_degrees(double value) { return Angle(value * std::numbers::pi / 180); }
double klx(Illuminance illuminance) { return illuminance.value() / 1000; }

// IES 1984 evaluated: 128.768, 131.835 and 123.166 klx on days 293, 2 and 183.
TEST(Daylight, SunAboveTheAir) {
  EXPECT_NEAR(klx(extraterrestrial_illuminance(october_20)), 128.768, 6e-4);
  EXPECT_NEAR(klx(extraterrestrial_illuminance(2)), 131.835, 6e-4);
  EXPECT_NEAR(klx(extraterrestrial_illuminance(183)), 123.166, 6e-4);
}

// IES, J. Illum. Eng. Soc. 13(4):381, 1984, evaluated on day 293 to 1 lx: elevation; clear direct normal,
// direct on level ground, diffuse; partly cloudy direct, diffuse; cloudy diffuse. klx.
TEST(Daylight, IesTable) {
  const double table[][7] = {{5, 11.571, 1.009, 5.376, .013, 4.222, 2.130},
                             {10, 38.424, 6.672, 7.259, 1.285, 8.114, 3.947},
                             {20, 69.687, 23.834, 9.865, 12.416, 15.691, 7.482},
                             {27.5, 81.714, 37.731, 11.333, 22.771, 21.079, 9.997},
                             {30, 84.607, 42.303, 11.760, 25.998, 22.800, 10.800},
                             {45, 95.682, 67.657, 13.834, 41.539, 32.120, 15.149},
                             {60, 101.041, 87.504, 15.224, 51.124, 39.271, 18.487}};
  for (const auto& [h, clear_direct, clear_level, clear_sky, partly_direct, partly_sky, cloudy_sky] : table) {
    const Angle elevation = from_degrees(h);
    const Illuminance direct = ies_direct_normal(SkyCondition::clear, elevation, october_20);
    EXPECT_NEAR(klx(direct), clear_direct, 6e-4) << h;
    EXPECT_NEAR(klx(horizontal_from_normal(direct, elevation)), clear_level, 6e-4) << h;
    EXPECT_NEAR(klx(ies_diffuse_horizontal(SkyCondition::clear, elevation)), clear_sky, 6e-4) << h;
    EXPECT_NEAR(klx(ies_direct_normal(SkyCondition::partly_cloudy, elevation, october_20)), partly_direct,
                6e-4)
        << h;
    EXPECT_NEAR(klx(ies_diffuse_horizontal(SkyCondition::partly_cloudy, elevation)), partly_sky, 6e-4) << h;
    EXPECT_NEAR(klx(ies_diffuse_horizontal(SkyCondition::cloudy, elevation)), cloudy_sky, 6e-4) << h;
    EXPECT_EQ(overcast_horizontal(elevation), ies_diffuse_horizontal(SkyCondition::cloudy, elevation));
    EXPECT_EQ(ies_direct_normal(SkyCondition::cloudy, elevation, october_20), 0_lx) << h;
  }
}

// The cloudy row is the overcast sky with L_z = .123 + 8.6 sin h kcd/m2 and E = (7 pi/9) L_z, rounded: within
// 6 lx of .3 klx and 20 lx of 21 klx.
TEST(Daylight, CloudyRowIsTheOvercastZenithRule) {
  for (double h : {5., 20., 60.}) {
    const double zenith = .123 + 8.6 * std::sin(h * std::numbers::pi / 180);
    EXPECT_NEAR(klx(overcast_horizontal(from_degrees(h))), 7 * std::numbers::pi / 9 * zenith, .02);
  }
}

// Kasten & Young, Applied Optics 28:4735, 1989, eq. 3 evaluated to five decimals.
TEST(Daylight, AirMass) {
  const double table[][2] = {{90, .99971},  {60, 1.15399}, {45, 1.41260}, {30, 1.99429},
                             {20, 2.90315}, {15, 3.81291}, {10, 5.58604}, {5, 10.30579},
                             {3, 15.14774}, {2, 19.43325}, {1, 26.31056}, {0, 37.91961}};
  for (const auto& [h, mass] : table) EXPECT_NEAR(air_mass(from_degrees(h)), mass, 6e-6) << h;
}

// exp(-.1 T m / (1 + .0045 m)) of 133.334 klx with that m, to 10 lx: turbidity, then elevations 10, 20,
// 30, 60. The table is for the mean distance of the sun, so the day's factor multiplies it.
TEST(Daylight, TurbidityTable) {
  const double table[][5] = {
      {2, 44.84, 75.17, 89.80, 105.98}, {3, 26.00, 56.44, 73.69, 94.49}, {4, 15.08, 42.38, 60.48, 84.24}};
  const double elevations[] = {10, 20, 30, 60};
  for (const auto& row : table)
    for (int i = 0; i < 4; ++i)
      for (int day : {october_20, 93, 183})
        EXPECT_NEAR(
            klx(turbidity_direct_normal(row[0], from_degrees(elevations[i]), day)) / sun_distance_factor(day),
            row[i + 1], 5.1e-3)
            << row[0] << " " << elevations[i];
}

// IES 'clear' is a very clean sky: at 30 degrees it lies between turbidity 1.5 and 2.5.
TEST(Daylight, TheTwoLawsAgreeOnACleanSky) {
  const Illuminance clear = ies_direct_normal(SkyCondition::clear, 30_deg, october_20);
  EXPECT_LT(clear, turbidity_direct_normal(1.5, 30_deg, october_20));
  EXPECT_GT(clear, turbidity_direct_normal(2.5, 30_deg, october_20));
}

TEST(Daylight, NothingWithTheSunDown) {
  for (Angle elevation : {0_deg, -1_deg, -30_deg})
    for (SkyCondition condition : {SkyCondition::clear, SkyCondition::partly_cloudy, SkyCondition::cloudy}) {
      EXPECT_EQ(ies_direct_normal(condition, elevation, october_20), 0_lx);
      EXPECT_EQ(ies_diffuse_horizontal(condition, elevation), 0_lx);
      EXPECT_EQ(overcast_horizontal(elevation), 0_lx);
      EXPECT_EQ(turbidity_direct_normal(3, elevation, october_20), 0_lx);
      EXPECT_EQ(horizontal_from_normal(1000_lx, elevation), 0_lx);
    }
}

}  // namespace
}  // namespace undercap
