#include "engine/report/places.h"

#include <algorithm>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <limits>
#include <map>

namespace undercap {
namespace {

// Where a source or a meter of that name stands.
std::optional<glm::dvec3> stand_of(const World& world, const Address& address) {
  for (const Source& source : world.scene.sources)
    if (address.of == Address::Of::source && source.name == address.name) return source.position_m;
  for (const Meter& meter : world.scene.meters)
    if (address.of == Address::Of::meter && meter.name == address.name) return meter.position_m;
  return std::nullopt;
}

struct Middle {
  glm::dvec3 sum{0};
  double area = 0;
};

// Area centroids of the individuals that an address means.
std::vector<glm::dvec3> middles_of(const World& world, const Address& address) {
  std::vector<int> individual_of(world.parts.size(), 0);
  for (const std::uint32_t part : parts_of(world, address))
    individual_of[part] = world.parts[part].individual;
  std::map<int, Middle> middles;
  for (const WorldTriangle& t : world.triangle) {
    if (individual_of[t.part] == 0) continue;
    const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
    const double area = glm::length(glm::cross(b - a, c - a)) / 2;
    Middle& middle = middles[individual_of[t.part]];
    middle.sum += area * (a + b + c) / 3.0;
    middle.area += area;
  }
  std::vector<glm::dvec3> found;
  for (const auto& [individual, middle] : middles)
    if (middle.area > 0) found.push_back(middle.sum / middle.area);
  return found;
}

// Of the places that a target may mean, the one nearest to a line: that is the one that the world took.
std::optional<glm::dvec3> place_of(const World& world, const Target& target, const glm::dvec3& from,
                                   const glm::dvec3& direction) {
  if (const auto* point = std::get_if<glm::dvec3>(&target)) return *point;
  const Address& address = std::get<Address>(target);
  if (address.of != Address::Of::prop) return stand_of(world, address);
  std::optional<glm::dvec3> nearest;
  double most = -2;
  for (const glm::dvec3& middle : middles_of(world, address)) {
    const double along = glm::dot(glm::normalize(middle - from), direction);
    if (along <= most) continue;
    most = along;
    nearest = middle;
  }
  return nearest;
}

}  // namespace

glm::dvec3 look_at_place(const World& world) {
  const CameraRig& rig = world.camera;
  if (world.scene.camera.look_at)
    if (const auto place = place_of(world, *world.scene.camera.look_at, rig.pupil_m, rig.forward))
      return *place;
  for (const Prop& prop : world.scene.props)
    if (prop.visible && !world.scene.camera.look_at)
      if (const auto place =
              place_of(world, Address{Address::Of::prop, prop.name, 0, {}}, rig.pupil_m, rig.forward))
        return *place;
  return rig.focus_point_m;
}

glm::dvec3 subject_middle(const World& world) {
  return centroid(world, world.subject).value_or(world.camera.focus_point_m);
}

glm::dvec3 aim_place(const World& world, std::size_t lamp) {
  const Lamp& shining = world.lamps[lamp];
  const auto place = place_of(world, world.scene.sources[lamp].aim, shining.position_m, shining.direction);
  return place.value_or(shining.position_m + shining.direction);
}

std::vector<double> ground_below(const World& world, std::span<const glm::dvec2> places) {
  std::vector<double> height(places.size(), 0.0);
  if (places.empty()) return height;
  glm::dvec2 low = places[0], high = places[0];
  for (const glm::dvec2& place : places) {
    low = glm::min(low, place);
    high = glm::max(high, place);
  }
  for (const WorldTriangle& t : world.triangle) {
    if (world.parts[t.part].prop != "ground") continue;
    const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
    if (std::min({a.x, b.x, c.x}) > high.x || std::max({a.x, b.x, c.x}) < low.x ||
        std::min({a.y, b.y, c.y}) > high.y || std::max({a.y, b.y, c.y}) < low.y)
      continue;
    // z = a.z + s (b - a) + t (c - a) at s, t of the place.
    const double area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
    if (area == 0) continue;
    for (std::size_t i = 0; i < places.size(); ++i) {
      const double x = places[i].x - a.x, y = places[i].y - a.y;
      const double s = (x * (c.y - a.y) - y * (c.x - a.x)) / area,
                   u = ((b.x - a.x) * y - (b.y - a.y) * x) / area;
      if (s >= 0 && u >= 0 && s + u <= 1) height[i] = a.z + s * (b.z - a.z) + u * (c.z - a.z);
    }
  }
  return height;
}

}  // namespace undercap
