#include "tests/reference/statistics.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap::reference {
namespace {

// Regularised incomplete beta function by its continued fraction, evaluated from the front (DLMF 8.17.22;
// modified Lentz, from memory).
double beta_fraction(double x, double a, double b) {
  constexpr double tiny = 1e-300;
  double c = 1, d = 1 - (a + b) * x / (a + 1);
  d = 1 / (std::abs(d) < tiny ? tiny : d);
  double result = d;
  for (int m = 1; m < 400; ++m) {
    const double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    const double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    for (const double step : {even, odd}) {
      d = 1 + step * d;
      d = 1 / (std::abs(d) < tiny ? tiny : d);
      c = 1 + step / c;
      if (std::abs(c) < tiny) c = tiny;
      result *= d * c;
    }
    if (std::abs(d * c - 1) < 1e-14) break;
  }
  return result;
}

double incomplete_beta(double x, double a, double b) {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incomplete_beta(1 - x, b, a);
  const double front =
      std::exp(a * std::log(x) + b * std::log1p(-x) + std::lgamma(a + b) - std::lgamma(a) - std::lgamma(b));
  return front * beta_fraction(x, a, b) / a;
}

}  // namespace

// P(|t| >= T) = I_x(n/2, 1/2) with x = n / (n + T^2) (DLMF 8.17, from memory).
double student_two_sided(double t, double freedom) {
  return incomplete_beta(freedom / (freedom + t * t), freedom / 2, 0.5);
}

// 1 - P(n/2, x/2): the series for the lower part (DLMF 8.7.1), or Lentz's fraction for the upper one (8.9.2).
double chi_square_above(double x, double freedom) {
  const double a = freedom / 2, y = x / 2;
  if (y <= 0) return 1;
  const double front = std::exp(a * std::log(y) - y - std::lgamma(a));
  if (y < a + 1) {
    double term = 1 / a, sum = term;
    for (int n = 1; n < 10000 && term > sum * 1e-16; ++n) sum += term *= y / (a + n);
    return 1 - front * sum;
  }
  double b = y + 1 - a, c = 1e300, d = 1 / b, result = d;
  for (int n = 1; n < 10000; ++n) {
    const double step = -n * (n - a);
    b += 2;
    d = 1 / (step * d + b);
    c = b + step / c;
    result *= d * c;
    if (std::abs(d * c - 1) < 1e-15) break;
  }
  return front * result;
}

double normal_two_sided(double z) { return std::erfc(std::abs(z) / std::numbers::sqrt2); }

double normal_from_two_sided(double chance) {
  double low = 0, high = 38;
  for (int i = 0; i < 200; ++i) {
    const double middle = (low + high) / 2;
    (normal_two_sided(middle) > chance ? low : high) = middle;
  }
  return low;
}

double sidak(double level, double count) { return -std::expm1(std::log1p(-level) / count); }

}  // namespace undercap::reference
