// The aperture's outline as a fan of triangles of equal area.
//
// A fan is what a renderer samples: pick a triangle by one even number u0, then go sqrt(u1) of the way to a
// point of its outer edge chosen by u2. Equal areas make every point of the aperture equally likely. The
// pupil plane has x to the right and y up, in metres, seen along the line of sight; angles turn from x to y.
#pragma once

#include <glm/vec2.hpp>
#include <vector>

#include "engine/core/quantities.h"

namespace undercap {

struct Iris {
  int blades = 0;        // 0 = circle, else 3 to 20
  double curvature = 0;  // 0 = straight blades, 1 = a circle
  Angle turn;            // where the first corner lies
};

// The outline, counter-clockwise, without repeating the first vertex. The triangles (0, V_k, V_k+1) all have
// the same area and together exactly that of a disc of this diameter, so that a marked f-number means the
// same light whatever the shape. Every corner is a vertex; a blade has 32 edges, a circle 256. Refuses blades
// and curvatures out of range.
std::vector<glm::dvec2> iris_outline(const Iris& iris, Length equivalent_diameter);

}  // namespace undercap
