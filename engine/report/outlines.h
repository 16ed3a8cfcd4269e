// Silhouettes of the props, from their meshes: what a plan and an elevation draw.
//
// Rings are closed, in metres, the first corner not repeated. Individuals of a
// prop that stand within 40 cm are one silhouette, else each has its own while there are few; a ring lies
// within one cell of a raster of at most outline_cells a side. Litter, hanging leaves, far wood, thickets and
// the ground have none. Takes about 0.2 s of one core for 1.4 million triangles; the world is only read, so
// that it may run beside other readers.
#pragma once

#include <glm/vec2.hpp>
#include <string>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

inline constexpr int outline_cells = 192;

struct PropOutline {
  std::string prop;
  bool subject = false;
  std::vector<std::vector<glm::dvec2>> rings_m;
  double low_m = 0, high_m = 0;  // z of what lies within the circle
};

// Seen from above, world x and y. Only what lies within a distance of where the camera looks.
std::vector<PropOutline> plan_outlines(const World& world, double within_m);

// Seen level, square to 'forward' (world x and y, unit): along it, and z.
std::vector<PropOutline> elevation_outlines(const World& world, const glm::dvec2& forward, double within_m);

}  // namespace undercap
