#include "engine/world/sky_map.h"

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <numbers>

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

glm::dvec3 node(const SkyMap& map, int row, int column) {
  return glm::dvec3(map.node[static_cast<std::size_t>(row * (map.side + 1) + column)]);
}

glm::dvec3 bilinear(const SkyMap& map, int row, int column, double x, double y) {
  return (1 - y) * ((1 - x) * node(map, row, column) + x * node(map, row, column + 1)) +
         y * ((1 - x) * node(map, row + 1, column) + x * node(map, row + 1, column + 1));
}

}  // namespace

glm::dvec3 sky_direction(const glm::dvec2& place) {
  const double a = 2 * place.x - 1, b = 2 * place.y - 1;
  double radius = 0, angle = 0;
  if (std::abs(a) > std::abs(b)) {
    radius = a;
    angle = pi / 4 * b / a;
  } else if (b != 0) {
    radius = b;
    angle = pi / 2 - pi / 4 * a / b;
  }
  const double level = radius * std::sqrt(std::max(2 - radius * radius, 0.0));
  return {level * std::cos(angle), level * std::sin(angle), 1 - radius * radius};
}

glm::dvec2 sky_place(const glm::dvec3& d) {
  const double radius = std::sqrt(std::clamp(1 - d.z, 0.0, 1.0));
  if (d.x == 0 && d.y == 0) return {0.5, 0.5};
  // The larger coordinate keeps the radius, the other one takes the angle's share of a quarter turn.
  const bool wide = std::abs(d.x) > std::abs(d.y);
  const double share = 4 / pi * std::atan(wide ? d.y / std::abs(d.x) : d.x / std::abs(d.y));
  const double along = std::copysign(radius, wide ? d.x : d.y);
  const glm::dvec2 square = wide ? glm::dvec2(along, radius * share) : glm::dvec2(radius * share, along);
  return 0.5 * (square + 1.0);
}

SkyMap sky_map(int side, int steps, const std::function<glm::dvec3(const glm::dvec3&)>& luminance) {
  SkyMap map{.side = side, .node = {}};
  map.node.reserve(static_cast<std::size_t>((side + 1) * (side + 1)));
  for (int row = 0; row <= side; ++row)
    for (int column = 0; column <= side; ++column) {
      glm::dvec3 sum(0);
      for (int j = 0; j < steps; ++j)
        for (int i = 0; i < steps; ++i) {
          const glm::dvec2 at(column + (i + 0.5) / steps - 0.5, row + (j + 0.5) / steps - 0.5);
          sum += luminance(sky_direction(glm::clamp(at / static_cast<double>(side), 0.0, 1.0)));
        }
      map.node.emplace_back(sum / static_cast<double>(steps * steps));
    }
  return map;
}

glm::dvec3 sky_radiance(const SkyMap& map, const glm::dvec3& direction) {
  if (map.side == 0 || direction.z <= 0) return glm::dvec3(0);
  const glm::dvec2 at = sky_place(direction) * static_cast<double>(map.side);
  const int column = std::clamp(static_cast<int>(at.x), 0, map.side - 1),
            row = std::clamp(static_cast<int>(at.y), 0, map.side - 1);
  return bilinear(map, row, column, at.x - column, at.y - row);
}

glm::dvec3 sky_illuminance(const SkyMap& map, const glm::dvec3& normal) {
  // Gauss's two points a side are exact for cubics.
  const double low = 0.5 - 0.5 / std::sqrt(3.0);
  glm::dvec3 sum(0);
  for (int row = 0; row < map.side; ++row)
    for (int column = 0; column < map.side; ++column)
      for (const double y : {low, 1 - low})
        for (const double x : {low, 1 - low}) {
          const glm::dvec3 d = sky_direction(glm::dvec2(column + x, row + y) / static_cast<double>(map.side));
          sum += std::max(glm::dot(d, normal), 0.0) * bilinear(map, row, column, x, y);
        }
  return map.side == 0 ? glm::dvec3(0) : sum * (2 * pi / (4.0 * map.side * map.side));
}

}  // namespace undercap
