#include "engine/light/canopy.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/light/sun.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr LeafColour every_leaf[] = {LeafColour::green,  LeafColour::yellow_green, LeafColour::yellow,
                                     LeafColour::orange, LeafColour::brown,        LeafColour::none};

// No leaf gives more light than it gets, and luminances are those of the PROSPECT-D runs (Feret et al. 2017):
// reflectance, transmittance, to three decimals; three rounded channels move Y
// by up to 5e-4, and a channel that was below 0 and is 0 here by .0014.
TEST(Canopy, Leaves) {
  const double table[][2] = {{.107, .098}, {.246, .226}, {.316, .270}, {.156, .121}, {.217, .129}, {0, 0}};
  for (int i = 0; i < 6; ++i) {
    const LeafColour leaf = every_leaf[i];
    EXPECT_NEAR(luminance_y(leaf_reflectance(leaf)), table[i][0], 1e-3) << i;
    EXPECT_NEAR(luminance_y(leaf_transmittance(leaf)), table[i][1], 1.5e-3) << i;
    for (int channel = 0; channel < 3; ++channel) {
      EXPECT_GE(std::min(leaf_reflectance(leaf)[channel], leaf_transmittance(leaf)[channel]), 0);
      EXPECT_LT(leaf_scattering(leaf)[channel], 1);
      EXPECT_LT(crown_scattering(leaf)[channel], leaf_scattering(leaf)[channel] + .1);
    }
  }
}

// exp(-.5 LAI / mu), and over the half space 2 E3(.5 LAI) for an even sky and (6/7) Int exp(-.5 LAI / mu)
// (1 + 2 mu) mu dmu for the overcast one, evaluated to five decimals: LAI, overhead, even, overcast, beams of
// 30 and of 20 degrees, and lx from 10 klx overcast with clumping .7.
TEST(Canopy, GapTable) {
  const double table[][7] = {
      {.5, .77880, .64937, .67695, .60653, .48145, 7573}, {1, .60653, .44321, .47322, .36788, .23179, 5852},
      {2, .36788, .21938, .24156, .13534, .05373, 3597},  {3, .22313, .11348, .12750, .04979, .01245, 2263},
      {4, .13534, .06027, .06872, .01832, .00289, 1446},  {5, .08208, .03259, .03759, .00674, .00067, 934},
      {5.5, .06393, .02409, .02793, .00409, .00032, 753}, {6.7, .03508, .01180, .01381, .00123, .00006, 453},
      {8, .01832, .00552, .00652, .00034, .00001, 263}};
  for (const auto& [lai, overhead, even, overcast, beam_30, beam_20, clumped_lx] : table) {
    EXPECT_NEAR(gap_fraction(lai, 1, 1), overhead, 5.1e-6) << lai;
    EXPECT_NEAR(gap_fraction(lai, 1, .5), beam_30, 5.1e-6) << lai;
    EXPECT_NEAR(gap_fraction(lai, 1, std::sin(20 * pi / 180)), beam_20, 5.1e-6) << lai;
    EXPECT_NEAR(diffuse_gap_fraction(SkyShape::uniform, lai, 1), even, 5.1e-6) << lai;
    EXPECT_NEAR(diffuse_gap_fraction(SkyShape::overcast, lai, 1), overcast, 5.1e-6) << lai;
    EXPECT_NEAR(1e4 * diffuse_gap_fraction(SkyShape::overcast, lai, .7), clumped_lx, .6) << lai;
  }
}

TEST(Canopy, WithoutLeavesAllIsOpen) {
  for (double mu : {0., .5, 1.}) EXPECT_EQ(gap_fraction(0, .7, mu), 1);
  EXPECT_NEAR(diffuse_gap_fraction(SkyShape::overcast, 0, .7), 1, 1e-14);
  EXPECT_EQ(gap_fraction(3, .7, 0), 0);
  EXPECT_EQ(canopy_transmission(LeafColour::yellow, 3, .7, 0), glm::dvec3(0));
}

// Black leaves pass what their gaps pass; a leaf that scatters sigma counts as sqrt(1 - sigma) of one.
TEST(Canopy, ScatteringLeavesCountLess) {
  for (double mu : {.2, .6, 1.}) {
    EXPECT_EQ(canopy_transmission(LeafColour::none, 3, .7, mu), glm::dvec3(gap_fraction(3, .7, mu)));
    for (LeafColour leaf : every_leaf) {
      const glm::dvec3 passed = canopy_transmission(leaf, 3, .7, mu);
      for (int channel = 0; channel < 3; ++channel) {
        const double fewer = 3 * std::sqrt(1 - crown_scattering(leaf)[channel]);
        EXPECT_NEAR(passed[channel], gap_fraction(fewer, .7, mu), 1e-15);
      }
    }
  }
}

// The same law summed over spectra (D65 overcast sky above, PROSPECT-D leaves): LAI, luminance passed, colour
// at Y = 1. Three channels stand for the spectrum here: within .015 at LAI 1 and 2 and .05 at LAI 4, where
// the spectrum narrows most, the tint never stronger by more than that.
TEST(Canopy, TintIsThatOfSpectra) {
  struct {
    LeafColour leaf;
    double lai, luminance;
    glm::dvec3 rgb;
  } const rows[] = {{LeafColour::green, 1, .511, {.967, 1.017, .932}},
                    {LeafColour::green, 2, .280, {.938, 1.031, .875}},
                    {LeafColour::green, 4, .091, {.884, 1.057, .775}},
                    {LeafColour::yellow_green, 1, .579, {1.036, 1.007, .821}},
                    {LeafColour::yellow_green, 2, .354, {1.063, 1.013, .685}},
                    {LeafColour::yellow_green, 4, .142, {1.099, 1.024, .474}},
                    {LeafColour::yellow, 1, .625, {1.179, .972, .756}},
                    {LeafColour::yellow, 2, .411, {1.323, .947, .577}},
                    {LeafColour::yellow, 4, .192, {1.555, .903, .324}},
                    {LeafColour::brown, 1, .543, {1.089, .982, .916}},
                    {LeafColour::brown, 2, .313, {1.169, .965, .846}},
                    {LeafColour::brown, 4, .112, {1.322, .932, .726}}};
  for (const auto& row : rows) {
    const glm::dvec3 passed = diffuse_canopy_transmission(SkyShape::overcast, row.leaf, row.lai, 1);
    const glm::dvec3 tint = passed / luminance_y(passed);
    EXPECT_NEAR(luminance_y(passed) / row.luminance, 1, .02) << row.lai;
    for (int channel = 0; channel < 3; ++channel)
      EXPECT_NEAR(tint[channel], row.rgb[channel], .04)
          << static_cast<int>(row.leaf) << " " << row.lai << " " << channel;
  }
}

// 959.63" at 1 au: an image 1 / 107.47 of the distance wide, in mm to a tenth; nearer in January (.9833 au,
// diameter .5422 degree), further in July (1.0167 au, .5244).
TEST(Canopy, ImageOfTheSun) {
  const double table[][2] = {{2, 18.6}, {5, 46.5}, {10, 93.0}, {15, 139.6}, {20, 186.1}, {30, 279.1}};
  for (const auto& [metres, mm] : table)
    EXPECT_NEAR(sun_image_width(Length(metres)) / 1_mm, mm, .051) << metres;
  EXPECT_NEAR(sun_half_width() / 1_deg, .266564, 5.1e-7);
  EXPECT_NEAR(sun_half_width(.9833) * 2 / 1_deg, .54219, 2e-5);
  EXPECT_NEAR(sun_half_width(1.0167) * 2 / 1_deg, .52437, 2e-5);
}

// (acos u - u sqrt(1 - u^2)) / pi to five decimals.
TEST(Canopy, EdgeAcrossTheSun) {
  const double table[][2] = {{-2, 1},        {-1, 1},     {-.75, .92785}, {-.5, .80450},
                             {-.25, .65748}, {0, .50000}, {.25, .34252},  {.5, .19550},
                             {.75, .07215},  {1, 0},      {1.5, .00000}};
  for (const auto& [u, share] : table) EXPECT_NEAR(sun_share_past_edge(u), share, 5.1e-6) << u;
}

// At the equator at an equinox the sun climbs 15 degrees an hour (360.98 a sidereal day, less its own motion)
// straight over: flecks go h / sin^2(e) times that, against the sun. 2026-03-20 14:46 UTC is the equinox
// (from memory); at longitude 0 the sun then stands a quarter past noon.
TEST(Canopy, FleckFollowsTheSun) {
  const double date = julian_date(2026, 3, 20, 14, 46);
  const SunPosition sun = sun_position(date, 0_deg, 0_deg);
  const auto drift = fleck_drift_m_per_min(date, 0_deg, 0_deg, 12_m);
  ASSERT_TRUE(drift);
  const double sine = std::sin(sun.apparent_elevation.value());
  const double expected = 12 * (0.25 * pi / 180) / (sine * sine);
  EXPECT_NEAR(drift->x, expected, 2e-3 * expected);  // refraction, and the equation of time within the minute
  EXPECT_NEAR(drift->y, 0, 2e-3 * expected);
}

// From the rates of elevation e and azimuth a: the place is h cot e away from the sun, so its speed is
// h sqrt((e' / sin^2 e)^2 + (a' cot e)^2). A wood of a mid-latitude October afternoon: some 6 cm a minute for
// a canopy of 12 m.
TEST(Canopy, FleckSpeedFromTheRates) {
  const double date = julian_date(2026, 10, 20, 14, 0);
  const Angle latitude = 52_deg, longitude = -1_deg;
  const SunPosition now = sun_position(date, latitude, longitude);
  const SunPosition later = sun_position(date + 1. / 1440, latitude, longitude);
  const SunPosition before = sun_position(date - 1. / 1440, latitude, longitude);
  const double rate_e = (later.apparent_elevation - before.apparent_elevation).value() / 2;
  const double rate_a = (later.azimuth - before.azimuth).value() / 2;
  const double e = now.apparent_elevation.value();
  const double speed =
      12 * std::hypot(rate_e / (std::sin(e) * std::sin(e)), rate_a * std::cos(e) / std::sin(e));
  const auto drift = fleck_drift_m_per_min(date, latitude, longitude, 12_m);
  ASSERT_TRUE(drift);
  EXPECT_NEAR(glm::length(*drift), speed, 1e-4 * speed);
  EXPECT_GT(drift->x, 0);  // the sun goes west, flecks east
  EXPECT_FALSE(fleck_drift_m_per_min(julian_date(2026, 10, 20, 23, 0), latitude, longitude, 12_m));
}

}  // namespace
}  // namespace undercap
