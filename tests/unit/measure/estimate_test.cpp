// Figures of eighths of the batches, and Student's t.
#include "engine/measure/estimate.h"

#include <gtest/gtest.h>

#include <cmath>

namespace undercap {
namespace {

// Eighths that say 1, 2, ... 8: the mean is 4.5, and its standard error sqrt(42 / 7 / 8) = 0.866025. Noise
// does not shift a mean; it lifts the square of one by the square of its error, 0.75.
TEST(Figure, ErrorOfTheMeanOfEightFigures) {
  const auto mean = [](const Use& use) -> std::optional<double> {
    double sum = 0, count = 0;
    for (std::size_t i = 0; i < eighths; ++i)
      if (use[i]) sum += static_cast<double>(i + 1), ++count;
    return sum / count;
  };
  const auto figure = figure_of(mean);
  ASSERT_TRUE(figure);
  EXPECT_NEAR(figure->estimate.value, 4.5, 1e-12);
  EXPECT_NEAR(figure->estimate.se, std::sqrt(0.75), 1e-12);
  EXPECT_EQ(figure->estimate.freedom, 7);
  EXPECT_NEAR(figure->noise_bias, 0, 1e-12);
  const auto square =
      figure_of([&](const Use& use) { return std::optional<double>(std::pow(*mean(use), 2)); });
  ASSERT_TRUE(square);
  EXPECT_NEAR(square->noise_bias, 0.75, 1e-12);
}

// Two-sided 95 %: 2.3646 at 7 degrees of freedom, 2.1314 at 15, 2.0395 at 31 (tables of Student's t, from
// memory).
TEST(Figure, StudentsT) {
  EXPECT_NEAR(student_t_95(7), 2.3646, 1.5e-4);
  EXPECT_NEAR(student_t_95(15), 2.1314, 1.5e-4);
  EXPECT_NEAR(student_t_95(31), 2.0395, 1.5e-4);
}

}  // namespace
}  // namespace undercap
