// Tables: evaluated by an independent program to the printed digits.
#include "engine/optics/vignetting.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

GaussianLens lens_of(double focal_length_mm, double f_number, double pupils = 1) {
  return {Length(focal_length_mm * 1e-3), f_number, pupils, 0_mm};
}

double tangent_of(double degrees) { return std::tan(degrees * std::numbers::pi / 180); }

// Centres e apart, in radii of the first: the share for a second disc as large and 1.2 times as large, and
// both in stops.
TEST(Vignetting, CatsEyeTable) {
  const double table[][5] = {{.2, .87289, -.1961, 1.00000, 0},
                             {.4, .74706, -.4207, .90509, -.1439},
                             {.6, .62384, -.6808, .78068, -.3572},
                             {.8, .50463, -.9867, .65363, -.6135},
                             {1., .39100, -1.3548, .52913, -.9183}};
  for (const auto& [e, same, same_stops, larger, larger_stops] : table) {
    const double share = disc_overlap(7_mm, 7_mm, 7_mm * e), wide = disc_overlap(7_mm, 8.4_mm, 7_mm * e);
    EXPECT_NEAR(share, same, 5.1e-6) << e;
    EXPECT_NEAR(wide, larger, 5.1e-6) << e;
    EXPECT_NEAR(std::log2(share), same_stops, 5.1e-5) << e;
    EXPECT_NEAR(std::log2(wide), larger_stops, 5.1e-5) << e;
  }
}

// Closed forms: apart, within, around; and the areas cut are the same seen from either disc.
TEST(Vignetting, OverlapAtItsEnds) {
  EXPECT_EQ(disc_overlap(2_mm, 1_mm, 3_mm), 0);
  EXPECT_EQ(disc_overlap(2_mm, 1_mm, 1_mm), .25);
  EXPECT_EQ(disc_overlap(1_mm, 2_mm, .9_mm), 1);
  EXPECT_EQ(disc_overlap(1_mm, 1_mm, 0_mm), 1);
  EXPECT_NEAR(disc_overlap(2_mm, 1.5_mm, 1_mm) * 4, disc_overlap(1.5_mm, 2_mm, -1_mm) * 2.25, 1e-12);
}

// A rim 20 mm ahead of the pupil of 60 mm f/2.8, radius 10.714 mm, subject far away: e / R at 5, 10, 15, 20
// degrees.
TEST(Vignetting, RimFarFromTheSubject) {
  const std::pair<double, double> table[] = {{5, .1633}, {10, .3291}, {15, .5002}, {20, .6794}};
  const GaussianLens lens = lens_of(60, 2.8);
  const Length diameter = entrance_pupil_diameter(lens);
  for (const auto& [degrees, apart] : table) {
    const double share = rim_share(lens, 1e-9, Length(.06 * tangent_of(degrees)), 20_mm, diameter);
    // Half a last digit of e / R, times the slope 2/pi.
    EXPECT_NEAR(share, disc_overlap(1_m, 1_m, Length(apart)), 4e-5) << degrees;
  }
}

// By counting: the rays of one subject point to 400 x 400 places of the pupil, straight on to the rim. A
// ragged edge costs some hundredths of a per cent.
TEST(Vignetting, RimNearTheSubject) {
  const GaussianLens lens = lens_of(60, 2.8, .8);
  const double m = .5, a = pupil_distance(lens, m).value(), radius = .03 / 2.8, rim = .009, z = .04;
  for (double height : {0., .004, .01}) {
    const double off_axis = a * height / equivalent_image_distance(lens, m).value();
    int inside = 0, passed = 0;
    for (int j = 0; j < 400; ++j)
      for (int i = 0; i < 400; ++i) {
        const double x = radius * ((i + .5) / 200 - 1), y = radius * ((j + .5) / 200 - 1);
        if (std::hypot(x, y) > radius) continue;
        ++inside;
        passed += std::hypot(x + (off_axis - x) * z / a, y * (1 - z / a)) <= rim;
      }
    const double counted = static_cast<double>(passed) / inside;
    EXPECT_NEAR(rim_share(lens, m, Length(height), Length(z), Length(2 * rim)), counted, 1e-3) << height;
  }
}

// Stopped down the same rim leaves everything.
TEST(Vignetting, StoppingDownEndsIt) {
  const auto share = [](double f_number) { return rim_share(lens_of(60, f_number), .1, 8_mm, 20_mm, 20_mm); };
  EXPECT_LT(share(2.8), .95);
  EXPECT_EQ(share(8), 1);
}

// Corner of 17.3 x 13 mm, focal length and m, by the object's side: share and stops.
TEST(Vignetting, ObliquityOnTheObjectSide) {
  const double table[][6] = {{12, 0, 17.3, 13, .30423, -1.7168}, {60, 0, 17.3, 13, .93800, -.0923},
                             {60, .5, 17.3, 13, .97171, -.0414}, {24, 0, 36, 24, .30440, -1.7160},
                             {100, 0, 36, 24, .91258, -.1320},   {210, 0, 17.3, 13, .99471, -.0077}};
  for (const auto& [f, m, width, height, share, stops] : table) {
    const Length corner(.5e-3 * std::hypot(width, height));
    const double weight = obliquity_weight(lens_of(f, 4), m, corner, ObliquitySide::object);
    EXPECT_NEAR(weight, share, 5.1e-6) << f;
    EXPECT_NEAR(std::log2(weight), stops, 1e-4) << f;
  }
}

// 12 mm, corner of 17.3 x 13 mm at infinity: -1.717 stops before the lens whatever P is; behind it -.890 at P
// = 1.5 and -.534 at P = 2.
TEST(Vignetting, ObliquityOnTheImageSide) {
  const Length corner(.5e-3 * std::hypot(17.3, 13));
  const auto stops = [&](double pupils, ObliquitySide side) {
    return std::log2(obliquity_weight(lens_of(12, 4, pupils), 0, corner, side));
  };
  for (double pupils : {.7, 1., 1.5, 2.}) EXPECT_NEAR(stops(pupils, ObliquitySide::object), -1.717, 5e-4);
  EXPECT_NEAR(stops(1, ObliquitySide::image), -1.717, 5e-4);
  EXPECT_NEAR(stops(1.5, ObliquitySide::image), -.890, 5e-4);
  EXPECT_NEAR(stops(2, ObliquitySide::image), -.534, 5e-4);
  // Closed form at P = 1 near the subject: both pupils are f (1 + m) away.
  EXPECT_NEAR(obliquity_weight(lens_of(12, 4), .5, corner, ObliquitySide::image),
              obliquity_weight(lens_of(12, 4), .5, corner, ObliquitySide::object), 1e-14);
}

// 1 / [(1 + sigma)(1 + 3 sigma)] at the edge.
TEST(Vignetting, BlurProfileAtTheEdge) {
  const std::pair<double, double> table[] = {{-.2, 3.1250}, {-.1, 1.5873}, {-.05, 1.2384}, {0, 1},
                                             {.05, .82816}, {.1, .69930},  {.2, .52083}};
  for (const auto& [sigma, light] : table) {
    expect_digits(blur_profile(1, sigma), light, 5);
    EXPECT_EQ(blur_profile(0, sigma), 1);
  }
  EXPECT_NEAR(blur_profile_place(1, -.2), .8, 1e-15);
}

// The integral of I y dy over the disc is that of rho drho over the pupil, 1/2. Trapezoids of 1000 steps:
// 1e-6.
TEST(Vignetting, BlurProfileKeepsTheLight) {
  for (double sigma : {-.3, -.1, 0., .2, 1.}) {
    double sum = 0;
    for (int k = 0; k < 1000; ++k) {
      const double inner = k / 1000., outer = (k + 1) / 1000., middle = (k + .5) / 1000;
      sum += blur_profile(middle, sigma) * blur_profile_place(middle, sigma) *
             (blur_profile_place(outer, sigma) - blur_profile_place(inner, sigma));
    }
    EXPECT_NEAR(sum, .5, 1e-5) << sigma;  // steepest at sigma = -.3
  }
}

}  // namespace
}  // namespace undercap
