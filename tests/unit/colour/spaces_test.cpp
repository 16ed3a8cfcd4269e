#include "engine/colour/spaces.h"

#include <gtest/gtest.h>

#include <cmath>
#include <utility>

namespace undercap {
namespace {

void expect_near(const glm::dvec3& actual, const glm::dvec3& expected, double tolerance) {
  for (int i = 0; i < 3; ++i) EXPECT_NEAR(actual[i], expected[i], tolerance) << "channel " << i;
}

// Seven-digit matrices of the sRGB primaries and white (.64 .33 / .30 .60 / .15 .06 / .3127 .3290), as in
// public colour tables; tolerance = their last digit.
TEST(Spaces, MatricesAreThePublishedOnes) {
  const double to_xyz[3][3] = {{0.4123908, 0.3575843, 0.1804808},
                               {0.2126390, 0.7151687, 0.0721923},
                               {0.0193308, 0.1191948, 0.9505322}};
  const double to_rgb[3][3] = {{3.2409699, -1.5373832, -0.4986108},
                               {-0.9692436, 1.8759675, 0.0415551},
                               {0.0556301, -0.2039770, 1.0569715}};
  for (int row = 0; row < 3; ++row)
    for (int column = 0; column < 3; ++column) {
      EXPECT_NEAR(xyz_from_rgb_matrix()[column][row], to_xyz[row][column], 1e-7);
      EXPECT_NEAR(rgb_from_xyz_matrix()[column][row], to_rgb[row][column], 1e-7);
    }
}

// IEC 61966-2-1:1999: white XYZ = .9505 1 1.0891 to four digits, from x .3127 y .3290.
TEST(Spaces, WhiteIsWhite) {
  expect_near(xyz_from_rgb({1, 1, 1}), {0.9504559, 1.0, 1.0890578}, 1e-7);
  EXPECT_NEAR(luminance_y({1, 1, 1}), 1.0, 1e-14);
  const Chromaticity white = chromaticity_from_xyz(xyz_from_rgb({2, 2, 2}));
  EXPECT_NEAR(white.x, 0.3127, 1e-14);
  EXPECT_NEAR(white.y, 0.3290, 1e-14);
}

TEST(Spaces, RoundTripsToXyz) {
  const glm::dvec3 colour{0.3, 0.7, 0.05};
  expect_near(rgb_from_xyz(xyz_from_rgb(colour)), colour, 1e-14);
}

// Chromaticities of the primaries: IEC 61966-2-1.
TEST(Spaces, PrimariesHaveTheirChromaticities) {
  const std::pair<glm::dvec3, Chromaticity> cases[] = {
      {{1, 0, 0}, {0.64, 0.33}}, {{0, 1, 0}, {0.30, 0.60}}, {{0, 0, 1}, {0.15, 0.06}}};
  for (const auto& [rgb, expected] : cases) {
    const Chromaticity actual = chromaticity_from_xyz(xyz_from_rgb(rgb));
    EXPECT_NEAR(actual.x, expected.x, 1e-14);
    EXPECT_NEAR(actual.y, expected.y, 1e-14);
  }
}

// Low sun through a clear sky at 30 and at 10 degrees, chromaticities and colours summed from a solar
// spectrum (Preetham, Shirley & Smits 1999); x and y are given to four digits, which moves the colour by up
// to .001.
TEST(Spaces, ColourOfAChromaticityHasUnitLuminance) {
  expect_near(rgb_with_unit_luminance({0.3436, 0.3535}), {1.186, 0.969, 0.756}, 1.5e-3);
  expect_near(rgb_with_unit_luminance({0.3906, 0.3908}), {1.423, 0.930, 0.443}, 1.5e-3);
  EXPECT_NEAR(luminance_y(rgb_with_unit_luminance({0.3906, 0.3908})), 1.0, 1e-14);
}

// The sodium line (589 nm: x .5693, y .4300) lies outside the triangle: blue would be negative.
TEST(Spaces, ColourOutsideTheTriangleIsClampedAtItsLuminance) {
  ASSERT_LT(rgb_from_xyz(xyz_with_unit_luminance({0.5693, 0.4300})).z, -0.01);
  const glm::dvec3 sodium = rgb_with_unit_luminance({0.5693, 0.4300});
  EXPECT_EQ(sodium.z, 0.0);
  EXPECT_GT(sodium.x, sodium.y);
  EXPECT_NEAR(luminance_y(sodium), 1.0, 1e-14);
}

// IEC 61966-2-1 evaluated: 255 V to three decimals, hence half a last digit.
TEST(Spaces, EncodesTheStandardCurve) {
  const std::pair<double, double> cases[] = {{0.0031308, 10.315}, {0.01, 25.462},   {0.05, 63.189},
                                             {0.10, 89.044},      {0.1273, 99.949}, {0.18, 117.646},
                                             {0.20, 123.555},     {0.36, 161.734},  {0.5, 187.516},
                                             {0.72, 220.586},     {0.9, 243.445},   {0.2140411, 127.5}};
  for (const auto& [linear, times_255] : cases)
    EXPECT_NEAR(255 * srgb_encode(linear), times_255, 5.1e-4) << linear;
  EXPECT_NEAR(srgb_encode(0.18), 0.461356, 5e-7);
  EXPECT_EQ(srgb_code(0.18), 118);
}

// IEC 61966-2-1 evaluated to six decimals.
TEST(Spaces, DecodesTheStandardCurve) {
  const std::pair<int, double> cases[] = {{10, .003035},  {11, .003347},  {64, .051269},  {118, .181164},
                                          {128, .215861}, {188, .502886}, {200, .577580}, {235, .830770}};
  for (const auto& [code, linear] : cases) EXPECT_NEAR(linear_from_srgb_code(code), linear, 5.1e-7) << code;
}

// The curve is invertible code by code: integers, so exact.
TEST(Spaces, EveryCodeSurvivesTheRoundTrip) {
  for (int code = 0; code <= 255; ++code) EXPECT_EQ(srgb_code(linear_from_srgb_code(code)), code);
}

// Grey .18 moved by whole stops, clipped at 1: codes of the standard curve.
TEST(Spaces, CodesOfGreyByStopsAndClipping) {
  const int expected[] = {2, 5, 9, 17, 27, 41, 60, 85, 118, 162, 221, 255};
  for (int stop = -8; stop <= 3; ++stop)
    EXPECT_EQ(srgb_code(0.18 * std::exp2(stop)), expected[stop + 8]) << stop;
  EXPECT_EQ(srgb_code(-0.5), 0);
  EXPECT_EQ(srgb_code(1e9), 255);
}

}  // namespace
}  // namespace undercap
