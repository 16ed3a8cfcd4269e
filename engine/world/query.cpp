// What an address means in a world: parts, centroids, first hits.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <glm/vector_relational.hpp>
#include <limits>
#include <map>

#include "engine/world/assemble.h"

namespace undercap {
namespace {

const Source* find_source(const World& world, const std::string& name) {
  for (const Source& source : world.scene.sources)
    if (source.name == name) return &source;
  return nullptr;
}

const Meter* find_meter(const World& world, const std::string& name) {
  for (const Meter& meter : world.scene.meters)
    if (meter.name == name) return &meter;
  return nullptr;
}

// Why an address has no surface: hidden, or nothing of it was built.
std::string why_absent(const World& world, const Address& address) {
  for (const Prop& prop : world.scene.props)
    if (prop.name == address.name && !prop.visible)
      return fmt::format("'{}' is hidden (visible = false)", prop.name);
  return "it has no surface in this scene";
}

}  // namespace

int World::group_index(std::string_view name) const {
  for (std::size_t i = 0; i < groups.size(); ++i)
    if (groups[i].name == name) return static_cast<int>(i);
  return -1;
}

std::vector<std::uint32_t> parts_of(const World& world, const Address& address) {
  std::vector<std::uint32_t> found;
  if (address.of != Address::Of::prop) return found;
  for (std::uint32_t i = 0; i < world.parts.size(); ++i) {
    const WorldPart& part = world.parts[i];
    if (part.prop == address.name && (address.individual == 0 || part.individual == address.individual) &&
        (address.part.empty() || part.part == address.part))
      found.push_back(i);
  }
  return found;
}

std::optional<glm::dvec3> centroid(const World& world, const std::vector<std::uint32_t>& parts) {
  glm::dvec3 sum(0);
  double area_sum = 0;
  for (const WorldTriangle& t : world.triangle) {
    if (!std::binary_search(parts.begin(), parts.end(), t.part)) continue;
    const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
    const double area = glm::length(glm::cross(b - a, c - a)) / 2;
    sum += area * (a + b + c) / 3.0;
    area_sum += area;
  }
  if (area_sum <= 0) return std::nullopt;
  return sum / area_sum;
}

std::vector<std::uint32_t> nearest_parts(const World& world, const Address& address) {
  const std::vector<std::uint32_t> all = parts_of(world, address);
  if (address.individual != 0 || all.empty()) return all;
  const glm::dvec3 eye = world.scene.camera.position_m;
  double best = std::numeric_limits<double>::infinity();
  std::vector<std::uint32_t> nearest;
  std::vector<int> seen;
  for (const std::uint32_t first : all) {
    const int individual = world.parts[first].individual;
    if (std::find(seen.begin(), seen.end(), individual) != seen.end()) continue;
    seen.push_back(individual);
    std::vector<std::uint32_t> own;
    std::copy_if(all.begin(), all.end(), std::back_inserter(own),
                 [&](std::uint32_t p) { return world.parts[p].individual == individual; });
    const auto middle = centroid(world, own);
    if (!middle) continue;
    const double distance = glm::distance(*middle, eye);
    if (distance < best) {
      best = distance;
      nearest = own;
    }
  }
  return nearest;
}

glm::dvec3 point_of(const World& world, const Target& target, const std::string& asker) {
  if (const auto* point = std::get_if<glm::dvec3>(&target)) return *point;
  const Address& address = std::get<Address>(target);
  if (address.of == Address::Of::source) {
    if (const Source* source = find_source(world, address.name)) return source->position_m;
  } else if (address.of == Address::Of::meter) {
    if (const Meter* meter = find_meter(world, address.name)) return meter->position_m;
  } else if (const auto middle = centroid(world, nearest_parts(world, address))) {
    return *middle;
  }
  throw Refusal(world.scene.place_of(asker),
                fmt::format("{}: '{}' cannot be used: {}; choose another address or a point", asker,
                            address.text(), why_absent(world, address)));
}

namespace {

// Distance along a ray to a triangle, in units of the direction (Moeller & Trumbore 1997).
std::optional<double> hit_distance(const World& world, const WorldTriangle& t, const glm::dvec3& from,
                                   const glm::dvec3& d) {
  const glm::dvec3 a(world.position[t.a]), ab = glm::dvec3(world.position[t.b]) - a,
                                           ac = glm::dvec3(world.position[t.c]) - a;
  const glm::dvec3 p = glm::cross(d, ac);
  const double determinant = glm::dot(ab, p);
  if (determinant == 0) return std::nullopt;
  const glm::dvec3 s = from - a, q = glm::cross(s, ab);
  const double u = glm::dot(s, p) / determinant, v = glm::dot(d, q) / determinant;
  if (u < 0 || v < 0 || u + v > 1) return std::nullopt;
  return glm::dot(ac, q) / determinant;
}

}  // namespace

std::optional<glm::dvec3> first_hit(const World& world, const std::vector<std::uint32_t>& parts,
                                    const glm::dvec3& from, const glm::dvec3& through) {
  const glm::dvec3 d = glm::normalize(through - from);
  double nearest = std::numeric_limits<double>::infinity();
  for (const WorldTriangle& t : world.triangle) {
    if (!std::binary_search(parts.begin(), parts.end(), t.part)) continue;
    const auto distance = hit_distance(world, t, from, d);
    if (distance && *distance > 1e-6 && *distance < nearest) nearest = *distance;
  }
  if (nearest == std::numeric_limits<double>::infinity()) return std::nullopt;
  return from + nearest * d;
}

std::set<std::string> closed_props_around(const World& world, const glm::dvec3& point) {
  // Up, down and three ways around, none along an axis: a ray along an edge would count it twice or never.
  constexpr std::size_t rays = 5;
  static const glm::dvec3 direction[rays] = {
      {0.017, 0.023, 1}, {0.029, -0.013, -1}, {0.96, 0.27, 0.31}, {-0.68, 0.71, 0.19}, {-0.37, -0.91, 0.23}};
  struct Crossings {
    glm::dvec3 low{std::numeric_limits<double>::infinity()}, high{-std::numeric_limits<double>::infinity()};
    std::array<unsigned, rays> count{};
  };
  // By prop and individual: two that touch are two bodies.
  std::map<std::pair<std::string_view, int>, Crossings> bodies;
  std::vector<Crossings*> body_of;
  for (const WorldPart& part : world.parts) body_of.push_back(&bodies[{part.prop, part.individual}]);
  for (const WorldTriangle& t : world.triangle)
    for (const std::uint32_t corner : {t.a, t.b, t.c}) {
      Crossings& body = *body_of[t.part];
      body.low = glm::min(body.low, glm::dvec3(world.position[corner]));
      body.high = glm::max(body.high, glm::dvec3(world.position[corner]));
    }
  for (const WorldTriangle& t : world.triangle) {
    Crossings& body = *body_of[t.part];
    if (glm::any(glm::lessThan(point, body.low)) || glm::any(glm::greaterThan(point, body.high))) continue;
    for (std::size_t ray = 0; ray < rays; ++ray) {
      const auto distance = hit_distance(world, t, point, direction[ray]);
      if (distance && *distance > 1e-6) ++body.count[ray];
    }
  }
  std::set<std::string> around;
  for (const auto& [name, body] : bodies)
    if (!name.first.empty() &&
        std::all_of(body.count.begin(), body.count.end(), [](unsigned n) { return n % 2 == 1; }))
      around.emplace(name.first);
  return around;
}

}  // namespace undercap
