#include "engine/render/strays.h"

#include <algorithm>
#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr int reach = stray_rows / 3;  // a neighbourhood is 7 x 7 pixels
constexpr double usual_gaps = 3;       // 2.0 standard deviations of normal noise
constexpr double from_around = .1;     // a dark pixel takes a little of what its neighbourhood takes

using Plane = std::vector<double>;  // a number a pixel

// Sums over neighbourhoods, cut off at the edges: along the rows, then along the columns.
Plane sums_around(const Plane& values, int width, int rows) {
  Plane along(values.size()), sums(values.size());
  const auto at = [width](int x, int y) { return static_cast<std::size_t>(y * width + x); };
  for (int y = 0; y < rows; ++y)
    for (int x = 0; x < width; ++x)
      for (int i = std::max(x - reach, 0); i <= std::min(x + reach, width - 1); ++i)
        along[at(x, y)] += values[at(i, y)];
  for (int y = 0; y < rows; ++y)
    for (int j = std::max(y - reach, 0); j <= std::min(y + reach, rows - 1); ++j)
      for (int x = 0; x < width; ++x) sums[at(x, y)] += along[at(x, j)];
  return sums;
}

// What a half may have where the other has 'low' and a gap is at most 'limit': (x - low)^2 = limit^2 (x +
// low).
double highest(double low, double limit) {
  const double square = limit * limit;
  return low + 0.5 * (square + std::sqrt(square * square + 8 * square * low));
}

double luminance_at(const std::vector<float>& halves, std::size_t pixel) {
  return luminance_y({halves[3 * pixel], halves[3 * pixel + 1], halves[3 * pixel + 2]});
}

}  // namespace

std::vector<float> mixed_halves(const Mix& mix, const std::vector<float>& sums, std::size_t pixels,
                                unsigned samples) {
  std::vector<float> halves(2 * 3 * pixels);
  for (std::size_t half = 0; half < 2; ++half)
    for (std::size_t g = 0; g < mix.size(); ++g) {
      const glm::vec3 weight(mix[g] * (2.0 / samples));
      const float* from = &sums[(half * mix.size() + g) * pixels * 3];
      float* to = &halves[half * pixels * 3];
      for (std::size_t i = 0; i < 3 * pixels; ++i) to[i] += weight[static_cast<int>(i % 3)] * from[i];
    }
  return halves;
}

std::vector<float> spread_strays(std::vector<float> halves, int width) {
  const std::size_t pixels = halves.size() / 6;
  const int rows = static_cast<int>(pixels) / width;
  UNDERCAP_CHECK(static_cast<std::size_t>(width * rows) == pixels, "halves are of whole rows");
  // The usual gap is the square of the mean root: a few large ones, which are what is looked for, raise it
  // less than they do the mean.
  Plane first(pixels), second(pixels), gap(pixels), root(pixels), lower(pixels);
  for (std::size_t p = 0; p < pixels; ++p) {
    first[p] = luminance_at(halves, p);
    second[p] = luminance_at(halves, pixels + p);
    lower[p] = std::min(first[p], second[p]);
    const double sum = first[p] + second[p];
    gap[p] = sum > 0 ? std::abs(first[p] - second[p]) / std::sqrt(sum) : 0;
    root[p] = std::sqrt(gap[p]);
  }
  const Plane counts = sums_around(Plane(pixels, 1), width, rows), roots = sums_around(root, width, rows);
  const Plane lowers = sums_around(lower, width, rows);
  Plane share(pixels);
  for (std::size_t p = 0; p < pixels; ++p) share[p] = lower[p] + from_around * lowers[p] / counts[p] + 1e-30;
  const Plane shares = sums_around(share, width, rows);
  // What is over, for a share of 1, in each channel of each half.
  std::vector<Plane> over(6, Plane(pixels));
  for (std::size_t p = 0; p < pixels; ++p) {
    const double usual = (roots[p] - root[p]) / std::max(counts[p] - 1, 1.0);
    const double limit = usual_gaps * usual * usual;
    if (gap[p] <= limit) continue;
    const std::size_t half = first[p] > second[p] ? 0 : 1;
    const double kept = highest(lower[p], limit) / std::max(first[p], second[p]);
    for (std::size_t c = 0; c < 3; ++c) {
      float& value = halves[(half * pixels + p) * 3 + c];
      over[half * 3 + c][p] = (1 - kept) * static_cast<double>(value) / shares[p];
      value *= static_cast<float>(kept);
    }
  }
  for (std::size_t channel = 0; channel < 6; ++channel) {
    const Plane spread = sums_around(over[channel], width, rows);
    for (std::size_t p = 0; p < pixels; ++p)
      halves[(channel / 3 * pixels + p) * 3 + channel % 3] += static_cast<float>(spread[p] * share[p]);
  }
  return halves;
}

}  // namespace undercap
