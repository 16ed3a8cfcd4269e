// Pieces of a broken skin: warts on a cap or a ball, cones, flat scales.
#pragma once

#include <glm/vec3.hpp>

#include "engine/shape/mesh.h"
#include "engine/shape/noise.h"

namespace undercap {

struct Wart {
  glm::dvec3 base{}, up{0, 0, 1};  // on the skin, and its outward normal, unit
  double size = 1;                 // radius at the base, in the mesh's unit
  double height = 1;
  double point = 0.5;  // radius near the top as a share of the base's: 0.1 a cone, 0.8 a flat scale
  int corners = 7;
};

// Appends a closed one, faceted in its outline, sunk a little into the skin. Adds tints of 1 and uv (0, share
// of the height). 3 corners or more; 6 triangles a corner.
void add_wart(Mesh& mesh, std::uint32_t part, const Wart& wart, Random& random);

}  // namespace undercap
