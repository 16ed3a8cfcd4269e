#include "engine/measure/rim.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/colour/difference.h"
#include "engine/measure/readings.h"

namespace undercap {
namespace {

constexpr double side_width = 0.02;  // of the frame's height

// Calls visit(pixel) for the pixels whose middle lies within 'reach' of a pixel's middle.
template <class Visit>
void around(const SeparationPicture& picture, int x, int y, double reach, const Visit& visit) {
  const int whole = static_cast<int>(reach);
  for (int v = std::max(0, y - whole); v <= std::min(picture.height - 1, y + whole); ++v)
    for (int u = std::max(0, x - whole); u <= std::min(picture.width - 1, x + whole); ++u)
      if ((u - x) * (u - x) + (v - y) * (v - y) <= reach * reach)
        visit(static_cast<std::uint32_t>(v * picture.width + u));
}

glm::dvec3 mean_of(const std::vector<glm::dvec3>& colours, const std::vector<std::uint32_t>& pixels) {
  glm::dvec3 sum(0);
  for (const std::uint32_t pixel : pixels) sum += colours[pixel];
  return sum / static_cast<double>(pixels.size());
}

double mean_of(const std::vector<double>& values, const std::vector<std::uint32_t>& pixels) {
  double sum = 0;
  for (const std::uint32_t pixel : pixels) sum += values[pixel];
  return sum / static_cast<double>(pixels.size());
}

std::optional<double> finite(double value) {
  return std::isfinite(value) ? std::optional(value) : std::nullopt;
}

}  // namespace

Rim::Rim(const SeparationPicture& picture) : picture_(picture) {
  constexpr double next_to = 1.5;  // pixels: the eight neighbours
  const double reach = std::max(next_to, side_width * picture.height);
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x) {
      if (!picture.subject[static_cast<std::size_t>(y * picture.width + x)]) continue;
      bool at_rim = false;
      around(picture, x, y, next_to,
             [&](std::uint32_t pixel) { at_rim = at_rim || picture.backdrop[pixel]; });
      if (!at_rim) continue;
      points_.push_back({side(picture.subject, x, y, reach), side(picture.backdrop, x, y, reach)});
    }
}

std::vector<std::uint32_t> Rim::side(const std::vector<std::uint8_t>& shares, int x, int y,
                                     double reach) const {
  std::vector<std::uint32_t> pure, all;
  around(picture_, x, y, reach, [&](std::uint32_t pixel) {
    if (shares[pixel] == nearly_all) pure.push_back(pixel);
    if (shares[pixel] != no_share) all.push_back(pixel);
  });
  return pure.empty() ? all : pure;
}

std::vector<double> Rim::steps_stops(const Use& use) const {
  const std::vector<double> luminance = mean_luminance(picture_, use);
  std::vector<double> steps;
  steps.reserve(points_.size());
  for (const Point& point : points_) {
    const double subject = mean_of(luminance, point.subject), backdrop = mean_of(luminance, point.backdrop);
    steps.push_back(subject <= 0 && backdrop <= 0 ? 0
                    : backdrop <= 0               ? std::numeric_limits<double>::infinity()
                    : subject <= 0                ? -std::numeric_limits<double>::infinity()
                                                  : std::log2(subject / backdrop));
  }
  return steps;
}

Rim::ColourSteps Rim::colour_steps(const Display& display, const Use& use) const {
  const std::vector<glm::dvec3> shown = displayed(picture_, display, use);
  ColourSteps steps;
  for (const Point& point : points_) {
    const glm::dvec3 subject = lab_from_rgb(mean_of(shown, point.subject)),
                     backdrop = lab_from_rgb(mean_of(shown, point.backdrop));
    steps.delta_e.push_back(colour_difference(subject, backdrop));
    steps.lightness.push_back(std::abs(subject.x - backdrop.x));
    steps.chroma.push_back(std::hypot(subject.y - backdrop.y, subject.z - backdrop.z));
  }
  return steps;
}

std::optional<Figure> rim_step(const Rim& rim) {
  if (rim.points() == 0) return std::nullopt;
  return figure_of([&](const Use& use) { return finite(percentile(rim.steps_stops(use), 50)); });
}

std::optional<Figure> rim_step_low(const Rim& rim) {
  if (rim.points() == 0) return std::nullopt;
  return figure_of([&](const Use& use) {
    std::vector<double> steps = rim.steps_stops(use);
    for (double& step : steps) step = std::abs(step);
    return finite(percentile_in(steps, 10));
  });
}

std::optional<RimColour> rim_colour(const Rim& rim, const Display& display) {
  if (rim.points() == 0) return std::nullopt;
  RimColour colour;
  Use all;
  all.fill(true);
  colour.delta_e = *figure_of([&](const Use& use) -> std::optional<double> {
    Rim::ColourSteps steps = rim.colour_steps(display, use);
    if (use == all) {
      colour.lightness = percentile_in(steps.lightness, 50);
      colour.chroma = percentile_in(steps.chroma, 50);
    }
    return percentile_in(steps.delta_e, 50);
  });
  return colour;
}

}  // namespace undercap
