// Comparing with a table that prints so many significant digits.
#pragma once

#include <gtest/gtest.h>

#include <cmath>

namespace undercap {

// The printed value is off by at most half of its last digit; a hundredth of that more is for our own
// rounding.
inline void expect_digits(double actual, double printed, int digits, const char* what = "") {
  if (printed == 0) {
    EXPECT_NEAR(actual, 0, 1e-12) << what;
    return;
  }
  const double last = std::pow(10, std::floor(std::log10(std::abs(printed))) - digits + 1);
  EXPECT_NEAR(actual, printed, 0.505 * last) << what;
}

}  // namespace undercap
