#include "engine/world/sway.h"

#include <algorithm>
#include <cmath>
#include <glm/trigonometric.hpp>
#include <numbers>

namespace undercap {
namespace {

bool sways(const Prop& prop) { return prop.visible && prop.sway_mm > 0; }

// The positions of a prop's triangles, each once.
std::vector<std::uint32_t> positions_of(const World& world, const Prop& prop) {
  std::vector<std::uint32_t> positions;
  for (const WorldTriangle& triangle : world.triangle)
    if (world.parts[triangle.part].prop == prop.name)
      for (const std::uint32_t corner : {triangle.a, triangle.b, triangle.c}) positions.push_back(corner);
  std::sort(positions.begin(), positions.end());
  positions.erase(std::unique(positions.begin(), positions.end()), positions.end());
  return positions;
}

// Leans a prop: 'top' is where its highest point goes from its place of rest, m. Patterns lean along.
void lean(World& world, const Prop& prop, const glm::vec3& top) {
  const std::vector<std::uint32_t> positions = positions_of(world, prop);
  if (positions.empty()) return;
  const auto [low, high] = std::minmax_element(
      positions.begin(), positions.end(),
      [&](std::uint32_t a, std::uint32_t b) { return world.position[a].z < world.position[b].z; });
  const float foot = world.position[*low].z, height = world.position[*high].z - foot;
  if (height <= 0) return;
  const glm::vec3 per_m = top / height;
  for (const std::uint32_t i : positions) world.position[i] += per_m * (world.position[i].z - foot);
  // From the leaning place back to that of rest, before the prop's own space.
  for (WorldPart& part : world.parts) {
    if (part.prop != prop.name) continue;
    const glm::vec3 shift = part.to_own[0] * per_m.x + part.to_own[1] * per_m.y;
    part.to_own[2] -= shift;
    part.to_own[3] += shift * foot;
  }
}

}  // namespace

bool anything_sways(const Scene& scene) { return std::any_of(scene.props.begin(), scene.props.end(), sways); }

World swayed(const World& world, Duration after) {
  World moved = world;
  for (const Prop& prop : world.scene.props) {
    if (!sways(prop)) continue;
    const double azimuth = glm::radians(prop.sway_deg);
    const double offset_m =
        prop.sway_mm * 1e-3 * std::sin(2 * std::numbers::pi * prop.sway_hz * after.value());
    lean(moved, prop, glm::vec3(glm::dvec3(std::sin(azimuth), std::cos(azimuth), 0) * offset_m));
  }
  return moved;
}

}  // namespace undercap
