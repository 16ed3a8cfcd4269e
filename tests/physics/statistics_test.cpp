// The tests' own statistics against the usual tables.
#include "tests/physics/statistics.h"

#include <cmath>
#include <numbers>

namespace undercap {
namespace {

// Tables of Student's t and of chi square at 5 and 0.1 % (three and two decimals of the quantile give 1e-3
// of the chance); t with one degree of freedom is Cauchy's, 1 - 2/pi atan t; chi square with two is
// exp(-x/2).
TEST(Statistics, Tables) {
  EXPECT_NEAR(student_chance(2.042, 30), .05, 1e-4);
  EXPECT_NEAR(student_chance(3.646, 30), .001, 5e-6);
  EXPECT_NEAR(student_chance(1, 1), .5, 1e-12);
  EXPECT_NEAR(student_chance(-3, 1), 1 - 2 / std::numbers::pi * std::atan(3), 1e-12);
  EXPECT_NEAR(chi_square_chance(3.841, 1), .05, 3e-5);
  EXPECT_NEAR(chi_square_chance(124.34, 100), .05, 1e-4);
  EXPECT_NEAR(chi_square_chance(29.59, 10), .001, 5e-6);
  EXPECT_NEAR(chi_square_chance(50, 2), std::exp(-25), 1e-22);
}

TEST(Statistics, Verdicts) {
  Verdicts two;
  two.add(.5, "one");
  two.add(6e-4, "two");
  EXPECT_TRUE(two.hold(1e-3));
  two.add(3e-4, "three");  // bound 3.3e-4
  EXPECT_FALSE(two.hold(1e-3));
  EXPECT_FALSE(Verdicts().hold());
  EXPECT_NEAR(pearson_chance({60, 40}, {50, 50}), chi_square_chance(4, 1), 1e-12);
  EXPECT_NEAR(pearson_chance({3, 57, 40}, {1, 49, 50}), chi_square_chance(64. / 51 + 64. / 49, 1), 1e-12);
  EXPECT_EQ(welch_chance({1, 1, 1}, {2, 2, 2}), 0);
  EXPECT_NEAR(welch_chance({1, 2, 3}, {2, 3, 4}), student_chance(std::sqrt(1.5), 4), 1e-12);
}

}  // namespace
}  // namespace undercap
