#include "tests/reference/statistics.h"

#include <cmath>
#include <numbers>

namespace undercap::reference {
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
