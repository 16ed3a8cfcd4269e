// The bark of a log as a field over (x, angle): how high its plates stand, where it is lost, and what colour
// it has.
//
// Lengths in mm: x along the log, angle in rad about it, 0 at the top. Everything is seamless round the log.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>

namespace undercap {

struct LogShape {
  double length = 600, radius = 60;
  double relief = 5;        // from the furrows to the plates
  double plate = 14;        // width of a plate
  double taper = 0.1;       // of the diameter, from the left end to the right
  double bend = 15;         // of the axis, at the middle
  double bark_loss = 0.12;  // share of the surface
  bool broken = true;       // ends torn, otherwise sawn
  double detail = 1;        // of the mesh, along and round
  std::uint32_t seed = 1;
};

struct BarkSample {
  double height = 0;  // 0 in the furrows, about 1 on the plates
  double shade = 0;   // darkness of cracks too fine for the mesh, 0..1
};

class BarkField {
 public:
  explicit BarkField(const LogShape& shape);
  BarkSample at(double x, double angle) const;
  // High where the bark is lost first.
  double loss(double x, double angle) const;
  // Linear RGB; 'up' is the upward part of the outward direction there.
  glm::dvec3 bark_colour(double x, double angle, const BarkSample& sample, double up) const;
  glm::dvec3 bare_wood_colour(double x, double angle, double up) const;
  // Low undulation of the trunk itself, as a share of the radius.
  double trunk(double x, double angle) const;
  // A place on the log in noise space, one unit every 'wavelength' mm.
  glm::dvec3 wrapped(double x, double angle, double wavelength) const;

 private:
  LogShape shape_;
  int plates_around_;
};

}  // namespace undercap
