// The woodland floor: a square with relief, centred on the origin, and its height anywhere.
#pragma once

#include <cstdint>

#include "engine/shape/mesh.h"

namespace undercap {

struct GroundShape {
  double size_m = 24;    // side of the square
  double relief_mm = 8;  // standard scale of the relief: height stays within about +-2 times this
  std::uint32_t seed = 1;
};

// Height of the ground at a place, m. 0 where relief_mm is 0. Smooth, deterministic, same on every machine.
double ground_height_m(const GroundShape& ground, double x_m, double y_m);

// The ground as a mesh with the one part 'surface', fine near the origin and coarse far away. Two triangles
// when flat.
Mesh build_ground(const GroundShape& ground);

}  // namespace undercap
