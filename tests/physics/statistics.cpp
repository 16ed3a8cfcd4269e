#include "tests/physics/statistics.h"

#include <fmt/format.h>

#include <cmath>
#include <utility>

namespace undercap {
namespace {

// Continued fraction b0 + a1 / (b1 + a2 / (b2 + ...)) by Lentz's method with Thompson's and Barnett's change
// (from memory). 'term(i)' gives {a_i, b_i}.
template <class Term>
double continued_fraction(double b0, const Term& term) {
  constexpr double tiny = 1e-300;
  double value = b0 == 0 ? tiny : b0, c = value, d = 0;
  for (int i = 1; i < 2000; ++i) {
    const auto [a, b] = term(i);
    d = b + a * d;
    c = b + a / c;
    d = 1 / (d == 0 ? tiny : d);
    if (c == 0) c = tiny;
    value *= c * d;
    if (std::abs(c * d - 1) < 1e-15) break;
  }
  return value;
}

// Regularised incomplete beta function (DLMF 8.17.22, which converges fast below the mean).
double incomplete_beta(double a, double b, double x) {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incomplete_beta(b, a, 1 - x);
  const double front =
      std::exp(std::lgamma(a + b) - std::lgamma(a) - std::lgamma(b) + a * std::log(x) + b * std::log1p(-x)) /
      a;
  return front / continued_fraction(1, [=](int i) {
           const double m = i / 2;  // whole part
           const double top = i % 2 ? -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
                                    : m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
           return std::pair{top, 1.0};
         });
}

// Upper regularised incomplete gamma function: the power series (DLMF 8.11.4) or the continued fraction
// (8.9.2).
double upper_gamma(double a, double x) {
  if (x <= 0) return 1;
  const double front = std::exp(a * std::log(x) - x - std::lgamma(a));
  if (x < a + 1) {
    double term = 1 / a, sum = term;
    for (int n = 1; n < 5000 && term > 1e-16 * sum; ++n) sum += term *= x / (a + n);
    return 1 - front * sum;
  }
  return front / continued_fraction(x + 1 - a, [=](int i) {
           return std::pair{-i * (i - a), x + 2 * i + 1 - a};
         });
}

struct MeanAndSpread {
  double mean = 0, of_mean = 0;  // variance of the mean
};

MeanAndSpread mean_and_spread(const std::vector<double>& values) {
  const auto n = static_cast<double>(values.size());
  MeanAndSpread result;
  for (const double v : values) result.mean += v / n;
  for (const double v : values) result.of_mean += (v - result.mean) * (v - result.mean) / (n * (n - 1));
  return result;
}

}  // namespace

double student_chance(double t, double freedom) {
  return incomplete_beta(freedom / 2, 0.5, freedom / (freedom + t * t));
}

double chi_square_chance(double chi_square, double freedom) {
  return upper_gamma(freedom / 2, chi_square / 2);
}

double welch_chance(const std::vector<double>& a, const std::vector<double>& b) {
  const MeanAndSpread one = mean_and_spread(a), two = mean_and_spread(b);
  const double variance = one.of_mean + two.of_mean;
  if (variance <= 0) return one.mean == two.mean ? 1 : 0;
  const double freedom = variance * variance /
                         (one.of_mean * one.of_mean / static_cast<double>(a.size() - 1) +
                          two.of_mean * two.of_mean / static_cast<double>(b.size() - 1));
  return student_chance((one.mean - two.mean) / std::sqrt(variance), freedom);
}

double pearson_chance(const std::vector<double>& counts, const std::vector<double>& expected, double fewest) {
  double chi_square = 0, bins = 0, pooled = 0, pooled_expected = 0;
  const auto close = [&](double count, double wanted) {
    chi_square += (count - wanted) * (count - wanted) / wanted;
    bins += 1;
  };
  std::size_t largest = 0;  // takes in what is pooled when even that is too little for a bin of its own
  for (std::size_t i = 0; i < counts.size(); ++i)
    if (expected[i] > expected[largest]) largest = i;
  for (std::size_t i = 0; i < counts.size(); ++i) {
    if (i == largest) continue;
    if (expected[i] >= fewest) {
      close(counts[i], expected[i]);
    } else {
      pooled += counts[i];
      pooled_expected += expected[i];
    }
  }
  if (pooled_expected >= fewest) close(std::exchange(pooled, 0), std::exchange(pooled_expected, 0));
  close(counts[largest] + pooled, expected[largest] + pooled_expected);
  return bins < 2 ? 0 : chi_square_chance(chi_square, bins - 1);
}

void Verdicts::add(double chance, const std::string& what) {
  ++tests_;
  if (!(chance >= least_)) {
    least_ = chance;
    least_of_ = what;
  }
}

testing::AssertionResult Verdicts::hold(double family) const {
  const double bound = -std::expm1(std::log1p(-family) / tests_);
  const std::string words =
      fmt::format("least chance of {} tests {:.3g}, at {}; bound {:.3g}", tests_, least_, least_of_, bound);
  if (tests_ == 0 || !(least_ >= bound)) return testing::AssertionFailure() << words;
  return testing::AssertionSuccess() << words;
}

}  // namespace undercap
