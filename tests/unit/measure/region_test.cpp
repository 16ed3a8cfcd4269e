// Standard errors from made-up batch sums, against the formulas worked out by hand.
#include "engine/measure/region.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace undercap {
namespace {

const Mix white{glm::dvec3(1)};

// Batches in turn meet the region 2 and 6 times, at a mean luminance of 'level' each, and are off by '+off'
// and '-off' in their sum. So the ratio is 'level', every residual has the size 'off', and with 32 batches
// and 128 hits SE^2 = 32 / 31 x 32 off^2 / 128^2 (ratio estimator, with the n - 1 of a sample's variance).
RegionSums uneven(double level, double off) {
  RegionSums sums(1);
  for (unsigned batch = 0; batch < batch_count; ++batch) {
    const double hits = batch % 2 == 0 ? 2 : 6;
    sums.count(batch, hits);
    sums.add(batch, 0, glm::dvec3(hits * level + (batch % 2 == 0 ? off : -off)), 0.5);
  }
  return sums;
}

double relative_error(double level, double off) { return 32 * off / std::sqrt(31) / 128 / level; }

// luminance_y(1, 1, 1) is 1 to 1e-7.
constexpr double tolerance = 1e-6;

TEST(Region, MeanIsARatioWithTheErrorOfItsResiduals) {
  const auto plain = mean_luminance(uneven(3, 1), white);
  ASSERT_TRUE(plain);
  EXPECT_NEAR(plain->value, 3, 3 * tolerance);
  EXPECT_NEAR(plain->se, 0.0449013, 0.0449013 * 1e-5);
  EXPECT_NEAR(plain->se / 3, relative_error(3, 1), tolerance);
  EXPECT_EQ(plain->freedom, 31);
  const auto weighted = mean_luminance(uneven(3, 1), white, true);
  ASSERT_TRUE(weighted);
  EXPECT_NEAR(weighted->value, 1.5, tolerance);
  EXPECT_FALSE(mean_luminance(RegionSums(1), white));
}

// The count alone is no noise: an even luminance has no error, however often each batch meets it.
TEST(Region, ChangingCountsOfAnEvenLuminanceAreNoNoise) {
  const auto even = mean_luminance(uneven(3, 0), white);
  ASSERT_TRUE(even);
  EXPECT_LT(even->se, tolerance);
}

// The delta method on log2(a / b): relative residuals are subtracted batch by batch and divided by ln 2.
// Against an even region the error is a's own; of two that rise and fall together, a and 4 a, none is left;
// of two that run against each other it is twice a's.
TEST(Region, StopsSubtractTheErrorsThatTwoSidesShare) {
  const double own = relative_error(3, 1) / std::numbers::ln2;
  const auto alone = stops_between(uneven(3, 1), white, uneven(12, 0), white);
  ASSERT_TRUE(alone);
  EXPECT_NEAR(alone->value, -2, tolerance);
  EXPECT_NEAR(alone->se, own, own * 1e-5);
  const auto together = stops_between(uneven(3, 1), white, uneven(3, 1), {glm::dvec3(4)});
  ASSERT_TRUE(together);
  EXPECT_NEAR(together->value, -2, tolerance);
  EXPECT_LT(together->se, own * 1e-5);
  const auto against = stops_between(uneven(3, 1), white, uneven(3, -1), white);
  ASSERT_TRUE(against);
  EXPECT_NEAR(against->value, 0, tolerance);
  EXPECT_NEAR(against->se, 2 * own, own * 1e-5);
  const auto single = in_stops(*mean_luminance(uneven(4, 1), white));
  ASSERT_TRUE(single);
  EXPECT_NEAR(single->value, 2, tolerance);
  EXPECT_NEAR(single->se, relative_error(4, 1) / std::numbers::ln2, own * 1e-5);
}

}  // namespace
}  // namespace undercap
