#include "engine/image/compare.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/core/errors.h"

namespace undercap {
namespace {

double distance(double one, double other) {
  if (one == other) return 0;
  const double apart = std::abs(one - other);
  return std::isfinite(apart) ? apart : std::numeric_limits<double>::infinity();
}

template <class AnyPicture>
Difference compare_channels(const AnyPicture& one, const AnyPicture& other, double tolerance) {
  UNDERCAP_CHECK(is_whole(one) && is_whole(other), "only whole pictures are compared");
  UNDERCAP_CHECK(one.width == other.width && one.height == other.height,
                 fmt::format("compared pictures have one size, not {} x {} and {} x {}", one.width,
                             one.height, other.width, other.height));
  Difference difference;
  double square_sum = 0;
  std::size_t failing = 0;
  for (std::size_t pixel = 0; pixel < one.rgb.size(); pixel += 3) {
    double worst = 0;
    for (std::size_t channel = pixel; channel < pixel + 3; ++channel) {
      const double apart = distance(one.rgb[channel], other.rgb[channel]);
      square_sum += apart * apart;
      worst = std::max(worst, apart);
    }
    difference.largest = std::max(difference.largest, worst);
    if (worst > tolerance) ++failing;
  }
  difference.rmse = std::sqrt(square_sum / static_cast<double>(one.rgb.size()));
  difference.failing_share = static_cast<double>(failing) / (static_cast<double>(one.rgb.size()) / 3);
  return difference;
}

}  // namespace

Difference compare(const Picture& one, const Picture& other, double tolerance) {
  return compare_channels(one, other, tolerance);
}

Difference compare(const Picture8& one, const Picture8& other, double tolerance) {
  return compare_channels(one, other, tolerance);
}

}  // namespace undercap
