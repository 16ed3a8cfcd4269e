#include "tests/reference/light.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

namespace undercap::reference {
namespace {

constexpr double pi = std::numbers::pi;

// A frame with a given unit z.
glm::dvec3 about(const glm::dvec3& z, double x_part, double y_part, double z_part) {
  const glm::dvec3 x =
      glm::normalize(glm::cross(std::abs(z.z) < 0.9 ? glm::dvec3(0, 0, 1) : glm::dvec3(1, 0, 0), z));
  return x_part * x + y_part * glm::cross(z, x) + z_part * z;
}

std::size_t drawn(const std::vector<double>& cumulative, double u) {
  const auto found = std::upper_bound(cumulative.begin(), cumulative.end(), u * cumulative.back());
  return std::min(static_cast<std::size_t>(found - cumulative.begin()), cumulative.size() - 1);
}

double chance_of(const std::vector<double>& cumulative, std::size_t i) {
  return (cumulative[i] - (i > 0 ? cumulative[i - 1] : 0)) / cumulative.back();
}

// 1 - cos of the sun's angular radius, without cancellation.
double sun_cap() {
  const double half = std::sin(sun_angular_radius.value() / 2);
  return 2 * half * half;
}

double node(const SkyMap& sky, int row, int column) {
  return static_cast<double>(sky.node[static_cast<std::size_t>(row * sky.columns + column % sky.columns)]);
}

}  // namespace

Lights::Lights(const World& world) : world_(world), first_lamp_(world.groups.size() - world.lamps.size()) {
  double sum = 0;
  for (int row = 0; row < world.sky.rows; ++row)
    for (int column = 0; column < world.sky.columns; ++column) {
      sum += node(world.sky, row, column) + node(world.sky, row, column + 1) +
             node(world.sky, row + 1, column) + node(world.sky, row + 1, column + 1);
      cell_chance_.push_back(sum);
    }
  sum = 0;
  for (const WorldTriangle& t : world.triangle) {
    const double emission = static_cast<double>(world.materials[world.parts[t.part].material].emission_cd_m2);
    if (emission <= 0) continue;
    glowing_.push_back({world.position[t.a], world.position[t.b], world.position[t.c], emission});
    const Glowing& g = glowing_.back();
    glow_chance_.push_back(sum += emission * glm::length(glm::cross(g.b - g.a, g.c - g.a)) / 2);
  }
}

LightSample Lights::sample(std::size_t group, const glm::dvec3& from, Random& random) const {
  switch (world_.groups[group].kind) {
    case LightGroup::Kind::sky:
      return sample_sky(random);
    case LightGroup::Kind::sun:
      return sample_sun(random);
    case LightGroup::Kind::glow:
      return sample_glow(from, random);
    case LightGroup::Kind::lamp:
      break;
  }
  return sample_lamp(world_.lamps[group - first_lamp_], from, random);
}

double Lights::sky(const glm::dvec3& d) const {
  const SkyMap& map = world_.sky;
  if (d.z <= 0 || map.rows == 0) return 0;
  double azimuth = std::atan2(d.x, d.y);
  if (azimuth < 0) azimuth += 2 * pi;
  const double x = azimuth / (2 * pi) * map.columns, y = std::min(d.z, 1.0) * map.rows;
  const int column = std::min(static_cast<int>(x), map.columns - 1),
            row = std::min(static_cast<int>(y), map.rows - 1);
  const double fx = x - column, fy = y - row;
  return (1 - fy) * ((1 - fx) * node(map, row, column) + fx * node(map, row, column + 1)) +
         fy * ((1 - fx) * node(map, row + 1, column) + fx * node(map, row + 1, column + 1));
}

double Lights::sun(const glm::dvec3& d) const {
  const glm::dvec3 away = d - world_.sun_direction;  // |away|^2 = 2 (1 - cos)
  return glm::dot(away, away) <= 2 * sun_cap() ? 1 / (2 * pi * sun_cap()) : 0;
}

double Lights::lamp(std::size_t index, const glm::dvec3& origin, const glm::dvec3& d, double from,
                    double to) const {
  const Lamp& lamp = world_.lamps[index];
  const double cosine = -glm::dot(d, lamp.direction);
  if (cosine <= 0) return 0;
  const double t = glm::dot(origin - lamp.position_m, lamp.direction) / cosine;
  if (!(t > from && t < to)) return 0;
  const glm::dvec3 off = origin + t * d - lamp.position_m;
  if (glm::dot(off, off) > lamp.radius_m * lamp.radius_m) return 0;
  // I cos^n over the area as seen, pi r^2 cos.
  return std::pow(cosine, lamp.exponent) / (pi * lamp.radius_m * lamp.radius_m * cosine);
}

LightSample Lights::sample_sky(Random& random) const {
  if (cell_chance_.empty() || cell_chance_.back() <= 0) return {};
  const std::size_t cell = drawn(cell_chance_, random());
  const auto columns = static_cast<std::size_t>(world_.sky.columns);
  const double z = (static_cast<double>(cell / columns) + random()) / world_.sky.rows;
  const double azimuth = 2 * pi * (static_cast<double>(cell % columns) + random()) / world_.sky.columns;
  const double level = std::sqrt(std::max(0.0, 1 - z * z));
  const glm::dvec3 d(level * std::sin(azimuth), level * std::cos(azimuth), z);
  // A cell takes up 2 pi / (rows x columns): equal steps of the sine are equal areas.
  const double density = chance_of(cell_chance_, cell) * world_.sky.rows * world_.sky.columns / (2 * pi);
  return {d, 1e30, sky(d) / density};
}

LightSample Lights::sample_sun(Random& random) const {
  const double depth = sun_cap() * random(), angle = 2 * pi * random();
  const double level = std::sqrt(depth * (2 - depth));
  const glm::dvec3 d =
      about(world_.sun_direction, level * std::cos(angle), level * std::sin(angle), 1 - depth);
  return {glm::normalize(d), 1e30, 1};  // 1 / solid angle, drawn evenly over it
}

LightSample Lights::sample_lamp(const Lamp& lamp, const glm::dvec3& from, Random& random) const {
  // Even over the disc, by drawing from the square around it.
  double x = 0, y = 0;
  do {
    x = 2 * random() - 1;
    y = 2 * random() - 1;
  } while (x * x + y * y > 1);
  const glm::dvec3 to =
      lamp.position_m + about(lamp.direction, lamp.radius_m * x, lamp.radius_m * y, 0) - from;
  const double distance = glm::length(to);
  const glm::dvec3 d = to / distance;
  const double cosine = -glm::dot(d, lamp.direction);
  if (cosine <= 0) return {};
  // What one point of the disc sends is I cos^n; from here it gives I cos^n / distance^2.
  return {d, distance, std::pow(cosine, lamp.exponent) / (distance * distance)};
}

LightSample Lights::sample_glow(const glm::dvec3& from, Random& random) const {
  if (glowing_.empty()) return {};
  const std::size_t i = drawn(glow_chance_, random());
  const Glowing& g = glowing_[i];
  double u = random(), v = random();
  if (u + v > 1) {
    u = 1 - u;
    v = 1 - v;
  }
  const glm::dvec3 across = glm::cross(g.b - g.a, g.c - g.a);
  const glm::dvec3 to = g.a + u * (g.b - g.a) + v * (g.c - g.a) - from;
  const double distance = glm::length(to), area = glm::length(across) / 2;
  const glm::dvec3 d = to / distance;
  const double cosine = -glm::dot(d, across) / (2 * area);
  if (cosine <= 0) return {};
  const double area_density = chance_of(glow_chance_, i) / area;
  return {d, distance, g.emission * cosine / (distance * distance * area_density)};
}

}  // namespace undercap::reference
