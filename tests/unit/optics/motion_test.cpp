#include "engine/optics/motion.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
const GaussianLens macro{60_mm, 4, 1, 0_mm};

// c / (m v), c = .015 mm: v in mm/s and s at m = .5 and .1.
TEST(Motion, LongestShutter) {
  const double table[][3] = {{1, .0300, .150}, {10, .00300, .0150}, {100, .000300, .00150}};
  for (const auto& [v, half, tenth] : table) {
    EXPECT_NEAR(longest_shutter(.5, v * 1e-3, 15_um).value() / half, 1, 1e-12);
    EXPECT_NEAR(longest_shutter(.1, v * 1e-3, 15_um).value() / tenth, 1, 1e-12);
    EXPECT_NEAR(motion_blur(.5, v * 1e-3, Duration(half)) / 15_um, 1, 1e-12);
  }
}

// 2 pi A f: 1 mm at 2 Hz is 12.566 mm/s.
TEST(Motion, PeakSpeed) { EXPECT_NEAR(peak_speed_m_s({1_mm, 2}) * 1e3, 12.566, 5e-4); }

// By trying: the widest of the paths that begin at 2000 places of the swing, each of 500 places. The phase
// misses the widest by at most pi / 2000, the path its end by 1 / 500 of a swing's turn squared.
TEST(Motion, SwayBlurIsTheWidestPath) {
  const Sway sway{2_mm, 1.5};
  for (double shutter : {.01, .1, .2, .3333, .5}) {
    double widest = 0;
    for (int start = 0; start < 2000; ++start) {
      double low = 1, high = -1;
      for (int k = 0; k <= 500; ++k) {
        const double place = std::sin(2 * pi * (start / 2000. + 1.5 * shutter * k / 500));
        low = std::min(low, place);
        high = std::max(high, place);
      }
      widest = std::max(widest, .4 * 2e-3 * (high - low));
    }
    EXPECT_NEAR(sway_blur(.4, sway, Duration(shutter)).value() / widest, 1, 2e-5) << shutter;
  }
}

// Short against a swing it is the peak speed's: sin x = x to x^2 / 6, 7e-6 here.
TEST(Motion, ShortShuttersSeeThePeakSpeed) {
  const Sway sway{2_mm, 1.5};
  EXPECT_NEAR(sway_blur(.4, sway, Duration(.001)) / motion_blur(.4, peak_speed_m_s(sway), Duration(.001)), 1,
              1e-5);
}

TEST(Motion, SwayInverts) {
  const Sway sway{2_mm, 1.5};
  for (double circle_um : {5., 100., 1599.}) {
    const Length circle(circle_um * 1e-6);
    const auto shutter = longest_shutter(.4, sway, circle);
    ASSERT_TRUE(shutter);
    EXPECT_NEAR(sway_blur(.4, sway, *shutter) / circle, 1, 1e-12);
  }
  EXPECT_FALSE(longest_shutter(.4, sway, 1.6_mm));  // 2 m A
  EXPECT_FALSE(longest_shutter(.4, sway, 2_mm));
}

// All of the time is spent somewhere, half of it beyond A / sqrt 2: with x = A sin p the integral is that of
// an even density of p, summed here at 1000 middles of p.
TEST(Motion, SwayDensity) {
  const Sway sway{3_mm, 1};
  double all = 0, outer = 0;
  for (int k = 0; k < 1000; ++k) {
    const double p = pi * ((k + .5) / 1000 - .5);
    const double time = sway_density_per_m(sway, 3_mm * std::sin(p)) * 3e-3 * std::cos(p) * pi / 1000;
    all += time;
    if (std::abs(std::sin(p)) > std::sqrt(.5)) outer += time;
  }
  EXPECT_NEAR(all, 1, 1e-9);
  EXPECT_NEAR(outer, .5, 1e-3);
  EXPECT_NEAR(sway_density_per_m(sway, 0_mm), 1 / (pi * 3e-3), 1e-9);
  EXPECT_EQ(sway_density_per_m(sway, 3.1_mm), 0);
}

// 63 um on 36 x 24 mm, the diagonal over 687; at 60 mm and m = .5 a turn of .700 mrad or a shift of .126 mm,
// on 17.3 x 13 mm 31.5 um, .350 mrad, .063 mm.
TEST(Motion, StabiliserRating) {
  const Length full = stabiliser_rating_blur({36_mm, 24_mm}),
               small = stabiliser_rating_blur({17.3_mm, 13_mm});
  EXPECT_NEAR(full / 1_um, 63, 1e-9);
  EXPECT_NEAR(std::hypot(36, 24) / (full / 1_mm), 687, .5);
  EXPECT_NEAR(small / 1_um, 31.5, .05);
  EXPECT_NEAR(turn_for_blur(macro, .5, full).value() * 1e3, .700, 5e-4);
  EXPECT_NEAR(turn_for_blur(macro, .5, small).value() * 1e3, .350, 5e-4);
  EXPECT_NEAR(shift_for_blur(.5, full) / 1_mm, .126, 5e-4);
  EXPECT_NEAR(shift_for_blur(.5, small) / 1_mm, .063, 5e-4);
}

// D / log10(2) in stops, four decimals.
TEST(Motion, NeutralFilters) {
  const std::pair<double, double> table[] = {{.3, .9966}, {.9, 2.9897}, {1.8, 5.9795}, {3, 9.9658}};
  for (const auto& [density, stops] : table) {
    EXPECT_NEAR(stops_of_density(density).value(), stops, 5.1e-5);
    EXPECT_NEAR(density_of_stops(stops_of_density(density)), density, 1e-12);
    EXPECT_NEAR(std::log2(transmission_of_density(density)), -stops, 5.1e-5);
  }
  EXPECT_NEAR(transmission_of_density(3) * 1000, 1, 1e-12);
}

}  // namespace
}  // namespace undercap
