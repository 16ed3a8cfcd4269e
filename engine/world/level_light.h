// Daylight on level ground, and how its flecks move: closed forms of a world, without a ray.
#pragma once

#include <glm/vec2.hpp>
#include <optional>

#include "engine/world/world.h"

namespace undercap {

// In the open, and below the leaves: of the sky by its map's own sum, of the sun as a mean over all woods of
// the kind, lx.
struct LevelLight {
  double open = 0, below = 0;
};
LevelLight level_light(const World& world);

// How a fleck of sun goes over level ground, east and north, m a minute. None while the sun is down, and
// where its place is given by angles.
std::optional<glm::dvec2> fleck_drift_m_per_min(const World& world);

}  // namespace undercap
