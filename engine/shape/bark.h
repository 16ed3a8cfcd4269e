// The bark of a log or a stem as a field over (x, angle): how high its plates stand, where it is lost, and
// how its colour changes slowly. What is finer than the mesh is the pattern's (engine/surface/pattern.h).
//
// Lengths in mm: x along the log, angle in rad about it, 0 at the top. Everything is seamless round the log.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <string>
#include <vector>

#include "engine/shape/kinds.h"

namespace undercap {

enum class BarkForm { ridged, plated, smooth };

// The words of the key, in the order of BarkForm.
inline constexpr const char* bark_words = "ridged plated smooth";
BarkForm bark_form(const std::string& word);
KindKey bark_key(std::string fallback);

struct LogShape {
  double length = 600, radius = 60;
  double relief = 5;        // from the furrows to the plates
  double plate = 14;        // width of a plate
  double taper = 0.1;       // of the diameter, from the left end to the right
  double bend = 15;         // of the axis, at the middle
  double bark_loss = 0.12;  // share of the surface
  bool left_broken = true;  // torn, otherwise sawn
  bool right_broken = true;
  double root_flare = 0;  // how far roots spread at the left end, in radii
  double root_depth = 0;  // how much of that end is below the ground
  double detail = 1;      // of the mesh, along and round
  double pixel = 0;       // what a pixel of the picture covers; 0 = full detail
  double age = 0.5;       // 0 fresh .. 1 old: algae, lichen, rot
  BarkForm bark = BarkForm::ridged;
  std::uint32_t seed = 1;
};

class BarkField {
 public:
  explicit BarkField(const LogShape& shape);
  // 0 in the furrows, about 1 on the plates; within -0.1..1.15.
  double height(double x, double angle) const;
  // High where the bark is lost first.
  double loss(double x, double angle) const;
  // Relief of the bare wood in the same unit as height(): fibres along the log.
  double wood_relief(double x, double angle) const;
  // Low undulation of the stem itself and the scars of its branches, as a share of the radius.
  double trunk(double x, double angle) const;
  // The slow change of colour, linear RGB about 1; 'up' is the upward part of the outward direction there.
  glm::dvec3 tint(double x, double angle, double up) const;
  // A place on the log in noise space, one unit every 'wavelength' mm.
  glm::dvec3 wrapped(double x, double angle, double wavelength) const;

 private:
  struct Knot {
    double x = 0, angle = 0, size = 1;
  };
  double ridged_height(double x, double angle) const;
  double smooth_height(double x, double angle) const;
  LogShape shape_;
  int plates_around_;
  std::vector<Knot> knots_;
};

// What the renderer draws on such bark, and on the broken or sawn wood of its ends.
Pattern bark_pattern(const LogShape& shape);
Pattern wood_pattern(const LogShape& shape);

// How far the buttresses of roots spread a stem at a height above the ground, as a share of its radius.
double root_spread(double flare, double height, double angle, double radius, std::uint32_t seed);

}  // namespace undercap
