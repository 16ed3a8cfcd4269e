// Chances of a test's figure under the hypothesis that nothing is wrong, and many such tests judged as one.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace undercap {

// Two-sided chance of Student's |t| or more; upper chance of chi square.
double student_chance(double t, double freedom);
double chi_square_chance(double chi_square, double freedom);

// Welch's test of two means from independent batches (Welch 1947, "The generalization of Student's problem
// when several different population variances are involved"). 1 when both are constant and equal, 0 when
// constant and different.
double welch_chance(const std::vector<double>& a, const std::vector<double>& b);

// Pearson's chi square of counts against expected counts of the same sum. Bins that expect fewer than
// 'fewest' are pooled, which the approximation asks for (Cochran 1952: five).
double pearson_chance(const std::vector<double>& counts, const std::vector<double>& expected,
                      double fewest = 5);

// Several tests that all have to pass. Each chance is held against Sidak's bound, 1 - (1 - family)^(1/n), so
// that 'family' is the chance of a false alarm of all together (Sidak 1967, JASA 62).
class Verdicts {
 public:
  void add(double chance, const std::string& what);
  int tests() const { return tests_; }
  testing::AssertionResult hold(double family = 1e-3) const;

 private:
  int tests_ = 0;
  double least_ = 1;
  std::string least_of_;
};

}  // namespace undercap
