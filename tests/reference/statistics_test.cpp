// The tails against printed tables (two-sided t, upper chi-square, normal; any statistics text, from memory).
#include "tests/reference/statistics.h"

#include <gtest/gtest.h>

#include <cmath>

namespace undercap::reference {
namespace {

// Tables print three or four digits of the quantile; half a unit of the last is the tolerance, times the
// slope.
TEST(Statistics, PrintedTables) {
  EXPECT_NEAR(student_two_sided(12.706, 1), 0.05, 2e-5);
  EXPECT_NEAR(student_two_sided(2.228, 10), 0.05, 2e-5);
  EXPECT_NEAR(student_two_sided(2.750, 30), 0.01, 2e-5);
  EXPECT_NEAR(student_two_sided(3.4602, 60), 0.001, 2e-6);
  EXPECT_NEAR(chi_square_above(3.841, 1), 0.05, 3e-5);
  EXPECT_NEAR(chi_square_above(18.307, 10), 0.05, 1e-5);
  EXPECT_NEAR(chi_square_above(76.154, 50), 0.01, 1e-5);
  EXPECT_NEAR(chi_square_above(29.707, 50), 0.99, 1e-5);
  EXPECT_NEAR(normal_two_sided(1.959964), 0.05, 1e-7);
  EXPECT_NEAR(normal_from_two_sided(0.001), 3.290527, 1e-6);
}

// One t of infinitely many degrees is a z; all of n at the level of Sidak keep the whole at 1 %.
TEST(Statistics, Limits) {
  EXPECT_NEAR(student_two_sided(4, 1e8), normal_two_sided(4), 1e-10);
  EXPECT_NEAR(1 - std::pow(1 - sidak(0.01, 200), 200), 0.01, 1e-14);
}

}  // namespace
}  // namespace undercap::reference
