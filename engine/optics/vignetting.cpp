#include "engine/optics/vignetting.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap {

namespace {

// Area between a chord and its arc, of the circle of radius 'own' whose chord is where the other cuts it.
double cap_area(double own, double other, double apart) {
  const double to_chord = (apart * apart + own * own - other * other) / (2 * apart);
  const double angle = std::acos(std::clamp(to_chord / own, -1., 1.));
  return own * own * (angle - std::sin(angle) * std::cos(angle));
}

}  // namespace

// The lens-shaped overlap is two caps upon one chord (plane geometry).
double disc_overlap(Length radius, Length other_radius, Length centres_apart) {
  const double own = radius.value(), other = other_radius.value(), apart = std::abs(centres_apart.value());
  if (apart >= own + other) return 0;
  if (apart <= other - own) return 1;
  if (apart <= own - other) return other * other / (own * own);
  return (cap_area(own, other, apart) + cap_area(other, own, apart)) / (std::numbers::pi * own * own);
}

// The bundle goes from the whole pupil to one point at a, a tan(theta) off the axis: z ahead of the pupil its
// section is the pupil times 1 - z/a, z tan(theta) off the axis.
double rim_share(const GaussianLens& lens, double magnification, Length image_height, Length rim_ahead,
                 Length rim_diameter) {
  const double tangent = image_height / equivalent_image_distance(lens, magnification);
  const double narrowed = 1 - rim_ahead / pupil_distance(lens, magnification);
  const Length radius = entrance_pupil_diameter(lens) / 2 * narrowed;
  return disc_overlap(radius, rim_diameter / 2, rim_ahead * tangent);
}

// The exit pupil stands f (m + P) before the sensor.
double obliquity_weight(const GaussianLens& lens, double magnification, Length image_height,
                        ObliquitySide side) {
  if (side == ObliquitySide::object) return chief_ray_weight(lens, magnification, image_height);
  const Length exit_pupil = lens.focal_length * (magnification + lens.pupil_magnification);
  const double tangent = image_height / exit_pupil;
  const double cosine_squared = 1 / (1 + tangent * tangent);
  return cosine_squared * cosine_squared;
}

// Rays through rho arrive at y = rho + sigma rho^3 (W. T. Welford, Aberrations of Optical Systems, 1986, from
// memory), so that the light rho drho of a ring of the pupil falls on a ring y dy: I = rho / (y dy/drho).
double blur_profile(double pupil_radius, double sigma) {
  const double bend = sigma * pupil_radius * pupil_radius;
  return 1 / ((1 + bend) * (1 + 3 * bend));
}

double blur_profile_place(double pupil_radius, double sigma) {
  return pupil_radius * (1 + sigma * pupil_radius * pupil_radius);
}

}  // namespace undercap
