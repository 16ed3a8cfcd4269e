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

glm::dvec3 node(const SkyMap& sky, int row, int column) {
  return glm::dvec3(sky.node[static_cast<std::size_t>(row * (sky.side + 1) + column)]);
}

// From the square to the hemisphere: rings of the square become rings of equal area, each walked once around.
glm::dvec3 direction_at(double u, double v) {
  const double x = 2 * u - 1, y = 2 * v - 1;
  const double radius = std::max(std::abs(x), std::abs(y));
  if (radius == 0) return {0, 0, 1};
  // Turned so that the side of the ring is the eastern one, whose azimuth runs through a quarter turn.
  double angle = 0;
  if (x == radius)
    angle = pi / 4 * y / radius;
  else if (y == radius)
    angle = pi / 2 - pi / 4 * x / radius;
  else if (x == -radius)
    angle = pi - pi / 4 * y / radius;
  else
    angle = 3 * pi / 2 + pi / 4 * x / radius;
  const double z = 1 - radius * radius, level = std::sqrt(std::max(0.0, 1 - z * z));
  return {level * std::cos(angle), level * std::sin(angle), z};
}

}  // namespace

Lights::Lights(const World& world) : world_(world), first_lamp_(world.groups.size() - world.lamps.size()) {
  for (const SkyMap* map : {&world.sky, &world.leaves}) {
    double total = 0;
    std::vector<double>& chance = map == &world.sky ? cell_chance_ : leaf_chance_;
    for (int row = 0; row < map->side; ++row)
      for (int column = 0; column < map->side; ++column) {
        const glm::dvec3 corners = node(*map, row, column) + node(*map, row, column + 1) +
                                   node(*map, row + 1, column) + node(*map, row + 1, column + 1);
        total += corners.x + corners.y + corners.z;
        chance.push_back(total);
      }
  }
  double sum = 0;
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
      return sample_sky(world_.sky, cell_chance_, random);
    case LightGroup::Kind::canopy:
      return sample_sky(world_.leaves, leaf_chance_, random);
    case LightGroup::Kind::sun:
      return sample_sun(from, random);
    case LightGroup::Kind::glow:
      return sample_glow(from, random);
    case LightGroup::Kind::lamp:
      break;
  }
  return sample_lamp(world_.lamps[group - first_lamp_], from, random);
}

glm::dvec3 Lights::sky(const SkyMap& map, const glm::dvec3& d) const {
  if (d.z <= 0 || map.side == 0) return glm::dvec3(0);
  const double radius = std::sqrt(1 - std::min(d.z, 1.0));
  double turn = std::atan2(d.y, d.x) / (pi / 2);  // quarter turns from east
  if (turn < -0.5) turn += 4;
  const double side = std::floor(turn + 0.5),
               share = 2 * (turn - side);  // 0 east, 1 north ...; -1..1 along it
  glm::dvec2 place(0);
  if (side == 0)
    place = {1, share};
  else if (side == 1)
    place = {-share, 1};
  else if (side == 2)
    place = {-1, -share};
  else
    place = {share, -1};
  const double x = (radius * place.x + 1) / 2 * map.side, y = (radius * place.y + 1) / 2 * map.side;
  const int column = std::min(static_cast<int>(x), map.side - 1),
            row = std::min(static_cast<int>(y), map.side - 1);
  const double fx = x - column, fy = y - row;
  return (1 - fy) * ((1 - fx) * node(map, row, column) + fx * node(map, row, column + 1)) +
         fy * ((1 - fx) * node(map, row + 1, column) + fx * node(map, row + 1, column + 1));
}

// Where the ray crosses the level of the leaves, in cells of the layer that is laid side by side.
bool Lights::open_to_sun(const glm::dvec3& from, const glm::dvec3& d) const {
  const GapLayer& gaps = world_.gaps;
  if (gaps.side == 0 || from.z >= gaps.height_m) return true;
  const glm::dvec3 at = from + d * ((gaps.height_m - from.z) / d.z);
  const auto cell = [&](double along) {
    const auto i = static_cast<long>(std::floor(along / gaps.cell_m)) % gaps.side;
    return static_cast<std::size_t>(i < 0 ? i + gaps.side : i);
  };
  return gaps.open[cell(at.y - gaps.corner_m.y) * static_cast<std::size_t>(gaps.side) +
                   cell(at.x - gaps.corner_m.x)] != 0;
}

double Lights::sun(const glm::dvec3& from, const glm::dvec3& d) const {
  const glm::dvec3 away = d - world_.sun_direction;  // |away|^2 = 2 (1 - cos)
  return glm::dot(away, away) <= 2 * sun_cap() && open_to_sun(from, d) ? 1 / (2 * pi * sun_cap()) : 0;
}

// What each point of a lamp sends this way, over the peak.
double Lights::beam(const Lamp& lamp, const glm::dvec3& d) const {
  const double along = glm::dot(d, lamp.direction);
  if (along <= 0) return 0;
  const double theta = std::acos(std::min(along, 1.0));
  const double x = std::sqrt(theta / (pi / 2)) * (beam_table_nodes - 1);
  const auto i = std::min(static_cast<std::size_t>(x), static_cast<std::size_t>(beam_table_nodes - 2));
  const auto of_plane = [&](std::size_t plane) {
    const float* row = &lamp.beam[plane * beam_table_nodes];
    return static_cast<double>(row[i]) +
           (x - static_cast<double>(i)) * (static_cast<double>(row[i + 1]) - static_cast<double>(row[i]));
  };
  const auto planes = static_cast<std::size_t>(lamp.planes);
  const glm::dvec3 up = glm::cross(lamp.right, lamp.direction);
  double turn = std::atan2(glm::dot(d, up), glm::dot(d, lamp.right)) / (2 * pi);
  turn = (turn - std::floor(turn)) * lamp.planes;
  const std::size_t plane = static_cast<std::size_t>(turn) % planes;
  const double share = turn - std::floor(turn);
  return (1 - share) * of_plane(plane) + share * of_plane((plane + 1) % planes);
}

double Lights::lamp(std::size_t index, const glm::dvec3& origin, const glm::dvec3& d, double from,
                    double to) const {
  const Lamp& lamp = world_.lamps[index];
  const double cosine = -glm::dot(d, lamp.direction);
  if (cosine <= 0) return 0;
  const double t = glm::dot(origin - lamp.position_m, lamp.direction) / cosine;
  if (!(t > from && t < to)) return 0;
  const glm::dvec3 off = origin + t * d - lamp.position_m;
  const double across = glm::dot(off, lamp.right),
               along = glm::dot(off, glm::cross(lamp.right, lamp.direction));
  if (lamp.rectangle ? std::abs(across) > lamp.half_width_m || std::abs(along) > lamp.half_height_m
                     : std::hypot(across, along) > lamp.half_width_m)
    return 0;
  return beam(lamp, d * -1.0) / (lamp.area() * cosine);
}

LightSample Lights::sample_sky(const SkyMap& map, const std::vector<double>& chance, Random& random) const {
  if (chance.empty() || chance.back() <= 0) return {};
  const std::size_t cell = drawn(chance, random());
  const auto side = static_cast<std::size_t>(map.side);
  const double v = (static_cast<double>(cell / side) + random()) / map.side;
  const double u = (static_cast<double>(cell % side) + random()) / map.side;
  const glm::dvec3 d = direction_at(u, v);
  const double density = chance_of(chance, cell) * map.side * map.side / (2 * pi);
  return {d, 1e30, sky(map, d) / density};
}

LightSample Lights::sample_sun(const glm::dvec3& from, Random& random) const {
  const double depth = sun_cap() * random(), angle = 2 * pi * random();
  const double level = std::sqrt(depth * (2 - depth));
  const glm::dvec3 d = glm::normalize(
      about(world_.sun_direction, level * std::cos(angle), level * std::sin(angle), 1 - depth));
  return {d, 1e30, glm::dvec3(open_to_sun(from, d) ? 1 : 0)};  // 1 / solid angle, drawn evenly over it
}

LightSample Lights::sample_lamp(const Lamp& lamp, const glm::dvec3& from, Random& random) const {
  // Even over the disc, by drawing from the square around it.
  double x = 0, y = 0;
  do {
    x = 2 * random() - 1;
    y = 2 * random() - 1;
  } while (!lamp.rectangle && x * x + y * y > 1);
  const glm::dvec3 to = lamp.position_m + x * lamp.half_width_m * lamp.right +
                        y * lamp.half_height_m * glm::cross(lamp.right, lamp.direction) - from;
  const double distance = glm::length(to);
  const glm::dvec3 d = to / distance;
  const double cosine = -glm::dot(d, lamp.direction);
  if (cosine <= 0) return {};
  // What one point of the lamp sends is I; from here it gives I / distance^2.
  return {d, distance, glm::dvec3(beam(lamp, d * -1.0) / (distance * distance))};
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
  return {d, distance, glm::dvec3(g.emission * cosine / (distance * distance * area_density))};
}

}  // namespace undercap::reference
