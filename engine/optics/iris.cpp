#include "engine/optics/iris.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/core/errors.h"

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;
constexpr int edges_of_a_blade = 32;
constexpr int edges_of_a_circle = 256;
constexpr int bisections = 60;  // an angle below pi to the last bit

// One blade, corner at angle 0 and at 'span' = 2 pi / n, in units of the circumradius:
//   r = (1 - kappa) cos(pi/n) / cos(theta - pi/n) + kappa,
// a straight chord and a circle mixed. A simple model; how kappa depends on the stop of a real iris is not
// modelled.
struct Blade {
  double span, curvature;
  double radius(double angle) const {
    return (1 - curvature) * std::cos(span / 2) / std::cos(angle - span / 2) + curvature;
  }
  double triangle(double from, double to) const {
    return 0.5 * radius(from) * radius(to) * std::sin(to - from);
  }
};

// The angle whose triangle with 'from' has this area, at most 'limit'; the area grows with the angle.
double next_angle(const Blade& blade, double from, double area, double limit) {
  double low = from, high = limit;
  if (blade.triangle(from, limit) < area) return limit;
  for (int i = 0; i < bisections; ++i) {
    const double middle = 0.5 * (low + high);
    (blade.triangle(from, middle) < area ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

// Angles 0 = t_0 < t_1 < ... < t_32 = span with equal triangles. Stepping off one area after another reaches
// the end of the blade too early or too late; the area is bisected until it arrives there.
std::vector<double> equal_area_angles(const Blade& blade) {
  const double beyond = std::min(1.2 * blade.span, blade.span / 2 + 0.45 * pi);
  const auto stepped = [&](double area) {
    std::vector<double> angles{0};
    for (int i = 0; i < edges_of_a_blade; ++i)
      angles.push_back(next_angle(blade, angles.back(), area, beyond));
    return angles;
  };
  double low = 0, high = blade.span / edges_of_a_blade;  // twice a circle's
  for (int i = 0; i < bisections; ++i) {
    const double middle = 0.5 * (low + high);
    (stepped(middle).back() < blade.span ? low : high) = middle;
  }
  return stepped(0.5 * (low + high));
}

std::vector<glm::dvec2> unit_outline(const Iris& iris) {
  std::vector<glm::dvec2> outline;
  const auto add = [&](double angle, double radius) {
    const double turned = angle + iris.turn.value();
    outline.push_back(radius * glm::dvec2(std::cos(turned), std::sin(turned)));
  };
  if (iris.blades == 0) {
    for (int k = 0; k < edges_of_a_circle; ++k) add(2 * pi * k / edges_of_a_circle, 1);
    return outline;
  }
  const Blade blade{2 * pi / iris.blades, iris.curvature};
  const std::vector<double> angles = equal_area_angles(blade);
  for (int b = 0; b < iris.blades; ++b)
    for (std::size_t k = 0; k < edges_of_a_blade; ++k)
      add(b * blade.span + angles[k], blade.radius(angles[k]));
  return outline;
}

}  // namespace

std::vector<glm::dvec2> iris_outline(const Iris& iris, Length equivalent_diameter) {
  if (iris.blades != 0 && (iris.blades < 3 || iris.blades > 20))
    throw Refusal(fmt::format("an iris of {} blades: allowed is 3 to 20, or 0 for a circle", iris.blades));
  if (!(iris.curvature >= 0 && iris.curvature <= 1))
    throw Refusal(
        fmt::format("a blade curvature of {:g}: allowed is 0 (straight) to 1 (circle)", iris.curvature));

  std::vector<glm::dvec2> outline = unit_outline(iris);
  double twice_area = 0;
  for (std::size_t k = 0; k < outline.size(); ++k) {
    const glm::dvec2 from = outline[k], to = outline[(k + 1) % outline.size()];
    twice_area += from.x * to.y - from.y * to.x;
  }
  const double radius = equivalent_diameter.value() / 2;
  const double scale = radius * std::sqrt(2 * pi / twice_area);
  for (glm::dvec2& vertex : outline) vertex *= scale;
  return outline;
}

}  // namespace undercap
