// Where a small card that faces a lamp gets how much light from it alone: lines for a drawing.
//
// The lamp counts as a point: E = I(theta) / d^2, so d(theta) = sqrt(I(theta) / E). Nearer than about five
// times its width a real lamp gives less. A flash has cd s and lx s in place of cd and lx. Private to the
// module.
#pragma once

#include <glm/vec3.hpp>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

// The beam of a lamp in the plane through its axis and a direction square to it.
class BeamSection {
 public:
  BeamSection(const Lamp& lamp, const glm::dvec3& across);

  // I / I0 at an angle from the axis, positive toward 'across'.
  double ratio(double angle_rad) const;
  // The angle where the beam first falls below a share of its peak, toward 'across' or away from it; 90
  // degrees where it never does.
  double angle_below(double share, bool toward_across) const;

 private:
  Beam beam_;
  Angle azimuth_;
};

// Four round values in steps of a stop; the third comes nearest to what the peak gives at the distance.
std::vector<double> round_lux_near(double peak, double distance_m);

// Places in that plane with so many lux, from the side away from 'across' to the one toward it, as far out as
// the beam has a fifth of its peak. 'peak' is the intensity I0 at which the lamp is set.
std::vector<glm::dvec3> lux_line(const Lamp& lamp, double peak, double lux, const glm::dvec3& across);

}  // namespace undercap
