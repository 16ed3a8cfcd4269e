#include "tests/physics/slanted_edge.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <stdexcept>

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr int bins_per_pixel = 4;

double hamming(double distance, double width) {
  return std::abs(distance) < width / 2 ? 0.54 + 0.46 * std::cos(2 * pi * distance / width) : 0;
}

struct EdgeLine {
  double top = 0, slope = 0;  // column in row 0, columns a row
  double at(int row) const { return top + slope * row; }
};

// The centroid of a row's derivative [-1/2, 0, 1/2] in a window about where the edge is thought to be.
double centroid(const EdgePicture& picture, int row, double about) {
  const double* const grey =
      &picture.luminance[static_cast<std::size_t>(row) * static_cast<std::size_t>(picture.width)];
  double sum = 0, moment = 0;
  for (int x = 1; x + 1 < picture.width; ++x) {
    const double step = hamming(x - about, picture.width) * (grey[x + 1] - grey[x - 1]) / 2;
    sum += step;
    moment += step * x;
  }
  return moment / sum;
}

// Least squares through the rows' centroids. The window draws them to its middle, so it is moved to the line
// that was found, and they are taken again.
EdgeLine fitted_line(const EdgePicture& picture) {
  EdgeLine line{(picture.width - 1) / 2.0, 0};
  for (int pass = 0; pass < 3; ++pass) {
    const double middle = (picture.height - 1) / 2.0;
    double mean = 0, rise = 0, run = 0;
    for (int y = 0; y < picture.height; ++y) {
      const double at = centroid(picture, y, line.at(y));
      mean += at / picture.height;
      rise += at * (y - middle);
      run += (y - middle) * (y - middle);
    }
    const double slope = rise / run;
    line = {mean - slope * middle, slope};
  }
  return line;
}

// The edge's profile: the mean over all pixels in each bin of a quarter of a pixel, square to the line. As
// far out as every row reaches on both sides.
std::vector<double> edge_spread(const EdgePicture& picture, const EdgeLine& line) {
  const double square_to = std::cos(std::atan(line.slope));
  double reach = picture.width;
  for (const int y : {0, picture.height - 1})
    reach = std::min({reach, line.at(y), picture.width - 1 - line.at(y)});
  const int half = static_cast<int>(reach * square_to * bins_per_pixel);
  std::vector<double> sum(static_cast<std::size_t>(std::max(0, 2 * half))), count(sum.size());
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x) {
      const double bin = std::floor((x - line.at(y)) * square_to * bins_per_pixel) + half;
      if (bin < 0 || bin >= 2 * half) continue;
      const auto i = static_cast<std::size_t>(bin);
      sum[i] += picture.luminance[static_cast<std::size_t>(y * picture.width + x)];
      ++count[i];
    }
  for (std::size_t i = 0; i < sum.size(); ++i) {
    if (count[i] == 0) throw std::runtime_error("the edge leaves a bin empty");
    sum[i] /= count[i];
  }
  return sum;
}

double sinc(double x) { return x == 0 ? 1 : std::sin(pi * x) / (pi * x); }

}  // namespace

EdgeResponse::EdgeResponse(const EdgePicture& picture) {
  const EdgeLine line = fitted_line(picture);
  slope_ = line.slope;
  const std::vector<double> spread = edge_spread(picture, line);
  if (spread.size() < 8) throw std::runtime_error("the edge lies too near to a border");
  line_spread_.resize(spread.size());
  for (std::size_t i = 1; i + 1 < spread.size(); ++i)
    line_spread_[i] = hamming(static_cast<double>(i) + 0.5 - static_cast<double>(spread.size()) / 2,
                              static_cast<double>(spread.size())) *
                      (spread[i + 1] - spread[i - 1]) / 2;
}

double EdgeResponse::angle_deg() const { return std::atan(slope_) * 180 / pi; }

// The derivative from samples two bins apart gives sin(w) / w of the true one, w = 2 pi nu / 4 (derived). The
// standard's D = min[w' / sin(w'), 10] undoes that, with w' = w.
double EdgeResponse::at(double frequency) const {
  const double step = 2 * pi * frequency / bins_per_pixel;
  std::complex<double> transform = 0;
  double sum = 0;
  for (std::size_t i = 0; i < line_spread_.size(); ++i) {
    transform += std::polar(line_spread_[i], -step * static_cast<double>(i));
    sum += line_spread_[i];
  }
  const double correction = step == 0 ? 1 : std::min(step / std::abs(std::sin(step)), 10.0);
  return std::abs(transform) / std::abs(sum) * correction;
}

// A transform of so many bins turns over no faster than this.
double EdgeResponse::frequency_step() const {
  return bins_per_pixel / (16.0 * static_cast<double>(line_spread_.size()));
}

double EdgeResponse::half_contrast() const {
  const double step = frequency_step();
  double before = 1;
  for (double frequency = step; frequency < 2; frequency += step) {
    const double now = at(frequency);
    if (now <= 0.5) return frequency - step * (0.5 - now) / (before - now);
    before = now;
  }
  throw std::runtime_error("the edge's contrast does not fall to one half");
}

// Behind a zero the contrast is turned round, so the modulus there counts as negative, and the straight line
// between crosses nothing at the zero.
double EdgeResponse::first_zero() const {
  const double step = frequency_step();
  double before = 1, here = at(step);
  for (double frequency = step; frequency < 2; frequency += step) {
    const double after = at(frequency + step);
    if (here < 0.1 && here <= before && here < after)
      return frequency - step + 2 * step * before / (before + after);
    before = here;
    here = after;
  }
  throw std::runtime_error("the edge's contrast has no zero");
}

double disc_response(double diameter_px, double angle_deg, double frequency) {
  const double x = pi * diameter_px * frequency, angle = angle_deg * pi / 180;
  const double disc = x == 0 ? 1 : 2 * std::cyl_bessel_j(1, x) / x;
  return std::abs(disc * sinc(frequency * std::cos(angle)) * sinc(frequency * std::sin(angle)) *
                  sinc(frequency / bins_per_pixel));
}

}  // namespace undercap
