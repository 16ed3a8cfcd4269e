#include "tests/reference/statistics.h"

#include <gtest/gtest.h>

#include <cmath>

namespace undercap::reference {
namespace {

// Printed quantiles of the normal distribution (any table, from memory), seven digits.
TEST(Statistics, NormalQuantiles) {
  EXPECT_NEAR(normal_two_sided(1.959964), 0.05, 1e-7);
  EXPECT_NEAR(normal_from_two_sided(0.001), 3.290527, 1e-6);
}

// All of n at the level of Sidak together keep the whole level.
TEST(Statistics, Sidak) { EXPECT_NEAR(1 - std::pow(1 - sidak(0.01, 200), 200), 0.01, 1e-14); }

}  // namespace
}  // namespace undercap::reference
