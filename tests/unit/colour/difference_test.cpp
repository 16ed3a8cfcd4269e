#include "engine/colour/difference.h"

#include <gtest/gtest.h>
#include <lcms2.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <random>

#include "engine/colour/temperature.h"

namespace undercap {
namespace {

struct Pair {
  glm::dvec3 first, second;
  double difference;
};

// Sharma, Wu & Dalal 2005, table 1, to four decimals. Of its pairs 7 to 16 around grey, one whose result
// turns on the last bit of an arc tangent is left out.
const Pair pairs[] = {{{50, 2.6772, -79.7751}, {50, 0, -82.7485}, 2.0425},
                      {{50, -1.3802, -84.2814}, {50, 0, -82.7485}, 1.0000},
                      {{50, 0, 0}, {50, -1, 2}, 2.3669},
                      {{50, 2.4900, -.0010}, {50, -2.4900, .0009}, 7.1792},
                      {{50, 2.4900, -.0010}, {50, -2.4900, .0011}, 7.2195},
                      {{50, -.0010, 2.4900}, {50, .0011, -2.4900}, 4.7461},
                      {{50, 2.5, 0}, {50, 0, -2.5}, 4.3065},
                      {{50, 2.5, 0}, {73, 25, -18}, 27.1492},
                      {{50, 2.5, 0}, {58, 24, 15}, 19.4535},
                      {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
                      {{22.7233, 20.0904, -46.6940}, {23.0331, 14.9730, -42.5619}, 2.0373},
                      {{36.4612, 47.8580, 18.3852}, {36.2715, 50.5065, 21.2231}, 1.4146},
                      {{90.8027, -2.0831, 1.4410}, {91.1528, -1.6435, .0447}, 1.4441},
                      {{6.7747, -.2908, -2.4247}, {5.8714, -.0985, -2.2286}, .6377},
                      {{2.0776, .0795, -1.1350}, {.9033, -.0636, -.5514}, .9082}};

double by_little_cms(const glm::dvec3& lab_1, const glm::dvec3& lab_2) {
  const cmsCIELab first{lab_1.x, lab_1.y, lab_1.z}, second{lab_2.x, lab_2.y, lab_2.z};
  return cmsCIE2000DeltaE(&first, &second, 1, 1, 1);
}

TEST(Difference, PublishedPairs) {
  for (const Pair& pair : pairs) {
    EXPECT_NEAR(colour_difference(pair.first, pair.second), pair.difference, 5.1e-5) << pair.difference;
    EXPECT_NEAR(colour_difference(pair.second, pair.first), pair.difference, 5.1e-5) << pair.difference;
    EXPECT_EQ(colour_difference(pair.first, pair.first), 0);
  }
}

// Little CMS, another implementation, over colours of all hues and chromas: to single precision of its hues.
TEST(Difference, LittleCmsAgrees) {
  std::minstd_rand random(20261125);
  const auto uniform = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random()) / 2147483647;
  };
  for (int i = 0; i < 2000; ++i) {
    const glm::dvec3 first(uniform(0, 100), uniform(-90, 90), uniform(-90, 90));
    const glm::dvec3 second = first + glm::dvec3(uniform(-9, 9), uniform(-40, 40), uniform(-40, 40));
    const double expected = by_little_cms(first, second);
    EXPECT_NEAR(colour_difference(first, second), expected, 1e-6 * (1 + expected)) << i;
  }
}

// ISO/CIE 11664-4 evaluated against the white of sRGB, four decimals: greys, primaries, and a value on the
// straight part (.005 < 216/24389: L* = 903.2963 x .005).
TEST(Difference, Lab) {
  const std::pair<glm::dvec3, glm::dvec3> rows[] = {{{1, 1, 1}, {100, 0, 0}},
                                                    {glm::dvec3(.18), {49.4961, 0, 0}},
                                                    {glm::dvec3(.90), {95.9968, 0, 0}},
                                                    {glm::dvec3(.03), {20.0439, 0, 0}},
                                                    {glm::dvec3(.005), {4.5165, 0, 0}},
                                                    {{1, 0, 0}, {53.2371, 80.0901, 67.2033}},
                                                    {{0, 1, 0}, {87.7355, -86.1816, 83.1866}},
                                                    {{0, 0, 1}, {32.3009, 79.1953, -107.8555}}};
  for (const auto& [rgb, lab] : rows)
    for (int i = 0; i < 3; ++i) EXPECT_NEAR(lab_from_rgb(rgb)[i], lab[i], 5.1e-5) << lab.x << " " << i;
}

// Bradford, Lam 1985: D65 (of sRGB) to D50 .3457 .3585, and A .44757 .40745 to D65, evaluated to seven
// decimals.
TEST(Difference, Bradford) {
  const struct {
    Chromaticity from, to;
    double rows[3][3];
  } cases[] = {
      {srgb_white,
       {.3457, .3585},
       {{1.0479298, .0229469, -.0501923}, {.0296278, .9904344, -.0170738}, {-.0092430, .0150552, .7518743}}},
      {{.44757, .40745},
       srgb_white,
       {{.8446800, -.1179369, .3949732},
        {-.1366339, 1.1041075, .1292222},
        {.0798857, -.1349644, 3.1933605}}}};
  for (const auto& [from, to, rows] : cases) {
    const glm::dmat3 matrix = bradford_matrix(from, to);
    for (int row = 0; row < 3; ++row)
      for (int column = 0; column < 3; ++column) EXPECT_NEAR(matrix[column][row], rows[row][column], 1.1e-7);
    EXPECT_LT(glm::distance(matrix * xyz_with_unit_luminance(from), xyz_with_unit_luminance(to)), 1e-14);
  }
}

// Little CMS again: adaptation of a colour between two whites, and the D locus.
TEST(Difference, LittleCmsAdaptsAlike) {
  const Chromaticity warm{.44757, .40745};
  const glm::dvec3 from = xyz_with_unit_luminance(warm), to = xyz_with_unit_luminance({.3457, .3585});
  const cmsCIEXYZ first{from.x, from.y, from.z}, second{to.x, to.y, to.z}, colour{.3, .4, .1};
  cmsCIEXYZ adapted;
  ASSERT_TRUE(cmsAdaptToIlluminant(&adapted, &first, &second, &colour));
  const glm::dvec3 ours = bradford_matrix(warm, {.3457, .3585}) * glm::dvec3(.3, .4, .1);
  EXPECT_NEAR(ours.x, adapted.X, 1e-6);
  EXPECT_NEAR(ours.y, adapted.Y, 1e-6);
  EXPECT_NEAR(ours.z, adapted.Z, 1e-6);
  for (double kelvin : {4000., 5003., 6504., 7500., 10000., 25000.}) {
    cmsCIExyY white;
    ASSERT_TRUE(cmsWhitePointFromTemp(&white, kelvin));
    EXPECT_NEAR(daylight_xy(ColourTemperature(kelvin)).x, white.x, 2e-6) << kelvin;
    EXPECT_NEAR(daylight_xy(ColourTemperature(kelvin)).y, white.y, 2e-6) << kelvin;
  }
}

}  // namespace
}  // namespace undercap
