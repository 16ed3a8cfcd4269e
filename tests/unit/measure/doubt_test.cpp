// When batch sums of a region are to be doubted, and when they say nothing.
#include <gtest/gtest.h>

#include <cmath>

#include "engine/measure/region.h"

namespace undercap {
namespace {

const Mix unit{glm::dvec3(1)};

// One group; batch b has 'value(b)' a sample, 'count(b)' samples.
template <class Value, class Count>
RegionSums region(const Value& value, const Count& count) {
  RegionSums sums(1);
  for (unsigned b = 0; b < batch_count; ++b) {
    const double n = count(b);
    sums.count(b, n);
    sums.add(b, 0, glm::dvec3(value(b) * n), 0.5);
  }
  return sums;
}
double one(unsigned) { return 1; }

// A small region: only 8 of the 32 batches met it, 9 and 11 by turns, so that it is a mean of 8: SE = sqrt(8
// / 7 / 8). Of 7 batches nothing is told any more.
TEST(Region, FewBatches) {
  const auto met = [](unsigned batches) {
    return region([](unsigned b) { return b % 2 ? 11.0 : 9.0; },
                  [=](unsigned b) { return b < batches ? 1.0 : 0.0; });
  };
  const auto mean = mean_luminance(met(8), unit);
  EXPECT_NEAR(mean->se, std::sqrt(1.0 / 7), 1e-6);
  EXPECT_EQ(mean->freedom, 7);
  EXPECT_FALSE(mean->doubtful);
  EXPECT_LT(mean_luminance(met(7), unit)->freedom, least_freedom);
  EXPECT_TRUE(mean_luminance(met(7), unit)->doubtful);
}

// 31 batches of 1 and one of b: it carries b / (31 + b), a quarter at b = 31 / 3.
TEST(Region, DoubtWhenABatchCarriesAQuarter) {
  const auto with = [](double big) { return region([=](unsigned b) { return b == 5 ? big : 1.0; }, one); };
  EXPECT_FALSE(mean_luminance(with(10.3), unit)->doubtful);
  EXPECT_TRUE(mean_luminance(with(10.4), unit)->doubtful);
}

// A base under five standard errors, or black, has no stops. Batches that are off by +-s have the SE s /
// sqrt(31): five of them are the mean of 10 at s = 11.136.
TEST(Region, StopsNeedABaseAboveTheNoise) {
  const auto spread = [](double mean, double step) {
    return region([=](unsigned b) { return mean + (b % 2 ? step : -step); }, one);
  };
  const RegionSums still = spread(5, 0);
  EXPECT_TRUE(stops_between(still, unit, spread(10, 11.13), unit));
  EXPECT_FALSE(stops_between(still, unit, spread(10, 11.14), unit));
  EXPECT_FALSE(stops_between(spread(10, 11.14), unit, still, unit));
  EXPECT_FALSE(stops_between(still, unit, spread(0, 0), unit));
  EXPECT_TRUE(in_stops({.value = 5, .se = 1}));
  EXPECT_FALSE(in_stops({.value = 5, .se = 1.01}));
  EXPECT_FALSE(in_stops({.value = 0, .se = 0}));
}

}  // namespace
}  // namespace undercap
