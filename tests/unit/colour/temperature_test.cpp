#include "engine/colour/temperature.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "engine/colour/observer.h"
#include "engine/core/errors.h"

namespace undercap {
namespace {

struct Row {
  double kelvin, x, y;
};

// Published sums of the 5 nm table, 380 to 780 nm (CIE 15): a wrong digit anywhere in the table moves one of
// them.
TEST(Observer, ColumnsHaveThePublishedSums) {
  glm::dvec3 sum(0);
  for (const ObserverRow& row : observer_1931())
    if (row.wavelength > Length(379e-9) && row.wavelength < Length(781e-9)) sum += row.response;
  EXPECT_NEAR(sum.x, 21.371524, 1e-6);
  EXPECT_NEAR(sum.y, 21.371327, 1e-6);
  EXPECT_NEAR(sum.z, 21.371540, 1e-6);
}

TEST(Observer, RowsAreFiveNanometresApart) {
  const auto rows = observer_1931();
  ASSERT_EQ(rows.size(), 89u);
  for (std::size_t i = 0; i < rows.size(); ++i)
    EXPECT_NEAR(rows[i].wavelength.value(), 360e-9 + 5e-9 * static_cast<double>(i), 1e-15);
}

// Planck chromaticities summed at 1 nm with c2 = 1.4388e-2 m K, given to five digits. The 5 nm sum is within
// 1e-5.
TEST(Temperature, PlanckianMatchesTheOneNanometreSum) {
  const Row rows[] = {{2500, .47700, .41368}, {2856, .44754, .40743}, {3000, .43693, .40408},
                      {4000, .38044, .37675}, {5000, .34510, .35161}, {5500, .33244, .34104},
                      {6500, .31353, .32363}, {8000, .29519, .30477}, {10000, .28063, .28829},
                      {20000, .25646, .25763}};
  for (const Row& row : rows) {
    const Chromaticity xy = planckian_xy(ColourTemperature(row.kelvin));
    EXPECT_NEAR(xy.x, row.x, 1e-5) << row.kelvin;
    EXPECT_NEAR(xy.y, row.y, 1e-5) << row.kelvin;
  }
}

// CIE 15 evaluated to six digits, and the colours at Y = 1 to five.
TEST(Temperature, DaylightLocus) {
  struct {
    double kelvin, x, y;
    glm::dvec3 rgb;
  } const rows[] = {{4000, .382344, .383766, {1.38769, 0.93564, 0.49563}},
                    {5002.78, .345659, .358601, {1.17542, 0.97597, 0.72133}},
                    {5503.06, .332429, .347544, {1.10350, 0.98714, 0.82252}},
                    {6503.51, .312722, .329127, {0.99946, 1.00025, 0.99906}},
                    {7504.00, .299045, .314976, {0.92866, 1.00667, 1.14408}},
                    {10000, .278800, .291967, {0.82439, 1.01153, 1.40304}},
                    {15000, .261397, .270224, {0.73347, 1.01041, 1.68189}},
                    {25000, .249854, .254799, {0.67135, 1.00632, 1.90540}}};
  for (const auto& row : rows) {
    const Chromaticity xy = daylight_xy(ColourTemperature(row.kelvin));
    EXPECT_NEAR(xy.x, row.x, 6e-7) << row.kelvin;
    EXPECT_NEAR(xy.y, row.y, 6e-7) << row.kelvin;
    const glm::dvec3 rgb = rgb_with_unit_luminance(xy);
    for (int i = 0; i < 3; ++i) EXPECT_NEAR(rgb[i], row.rgb[i], 6e-6) << row.kelvin;
  }
}

// The D locus lies .0027 (4000 K) to .0033 above the Planck locus.
TEST(Temperature, DaylightIsAboveThePlanckLocus) {
  const auto at = [](double kelvin) {
    return *correlated_temperature(daylight_xy(ColourTemperature(kelvin)));
  };
  EXPECT_NEAR(at(4000).duv, 0.0027, 5e-5);
  for (double kelvin = 4000; kelvin <= 25000; kelvin += 1000) {
    EXPECT_GT(at(kelvin).duv, 0.0026) << kelvin;
    EXPECT_LT(at(kelvin).duv, 0.0034) << kelvin;
  }
}

// CIE 15: the D65 spectrum has x .31272, y .32903 and the nominal 6504 K, which is 6500 x 1.4388 / 1.4380 and
// not a nearest point: the two differ by about a kelvin. Its duv of .0032 is from memory.
TEST(Temperature, D65HasItsPublishedTemperature) {
  const auto d65 = correlated_temperature({.31272, .32903});
  EXPECT_NEAR(d65->temperature.value(), 6504, 1.5);
  EXPECT_NEAR(d65->duv, 0.0032, 5e-5);
}

// There and back: bisection ends at 20 mired / 2^50, so only rounding is left.
TEST(Temperature, CorrelatedTemperatureInvertsTheLocus) {
  for (double kelvin : {1200., 1667., 2700., 4321., 6500., 12345., 25000., 60000.})
    for (double duv : {-.02, -.005, 0., .003, .02}) {
      const auto found = correlated_temperature(planckian_xy(ColourTemperature(kelvin), duv));
      ASSERT_TRUE(found) << kelvin << " " << duv;
      EXPECT_NEAR(found->temperature.value() / kelvin, 1.0, 1e-9) << kelvin << " " << duv;
      EXPECT_NEAR(found->duv, duv, 1e-10) << kelvin << " " << duv;
    }
}

// A duv is a distance in (u, v) = (4x, 6y) / (-2x + 12y + 3), CIE 1960.
TEST(Temperature, DuvIsADistanceInUv1960TowardsGreen) {
  const auto uv = [](Chromaticity c) {
    const double divisor = -2 * c.x + 12 * c.y + 3;
    return std::pair{4 * c.x / divisor, 6 * c.y / divisor};
  };
  const auto [u0, v0] = uv(planckian_xy(3000_K));
  const auto [u1, v1] = uv(planckian_xy(3000_K, 0.01));
  EXPECT_NEAR(std::hypot(u1 - u0, v1 - v0), 0.01, 1e-14);
  EXPECT_GT(v1, v0);
  EXPECT_LT(rgb_with_unit_luminance(planckian_xy(3000_K, -0.01)).y,
            rgb_with_unit_luminance(planckian_xy(3000_K, 0.01)).y);
}

// Sun through a clear sky, chromaticity and nearest temperature summed from spectra (Preetham, Shirley &
// Smits 1999); x and y are rounded at 5e-5, which is .1 to .3 mired, here .2 % of the temperature.
TEST(Temperature, CorrelatedTemperatureOfSunlight) {
  const Row rows[] = {{5502, .3324, .3425}, {5062, .3436, .3535}, {4672, .3557, .3644},
                      {3841, .3906, .3908}, {2943, .4468, .4169}, {6290, .3170, .3261}};
  for (const Row& row : rows)
    EXPECT_NEAR(correlated_temperature({row.x, row.y})->temperature.value() / row.kelvin, 1, 2e-3)
        << row.kelvin;
  EXPECT_NEAR(correlated_temperature({.3170, .3261})->duv, -0.0004, 1e-4);
}

TEST(Temperature, FarFromTheLocusThereIsNoTemperature) {
  EXPECT_FALSE(correlated_temperature({0.30, 0.60}));      // the green primary
  EXPECT_FALSE(correlated_temperature({0.15, 0.06}));      // the blue primary
  EXPECT_FALSE(correlated_temperature({0.2390, 0.2330}));  // bluer than 100000 K
  EXPECT_TRUE(correlated_temperature(srgb_white));
}

TEST(Temperature, RefusesWhatIsOutOfRange) {
  const auto message = [](auto call) {
    try {
      call();
    } catch (const Refusal& refusal) {
      return std::string(refusal.what());
    }
    return std::string("not refused");
  };
  EXPECT_NE(message([] { planckian_xy(500_K); }).find("500 K: allowed is 1000 to 100000 K"),
            std::string::npos);
  EXPECT_NE(message([] { daylight_xy(3999_K); }).find("3999 K: allowed is 4000 to 25000 K"),
            std::string::npos);
  EXPECT_NE(message([] { daylight_xy(ColourTemperature(std::nan(""))); }).find("nan"), std::string::npos);
}

}  // namespace
}  // namespace undercap
