#include "engine/optics/lens.h"

#include <cmath>
#include <numbers>

namespace undercap {

Length entrance_pupil_diameter(const GaussianLens& lens) { return lens.focal_length / lens.f_number; }

// Newton's form of the lens equation: object and image lie f/m and f m beyond the focal points.
Length object_distance(const GaussianLens& lens, double magnification) {
  return lens.focal_length * (1 + 1 / magnification);
}

Length image_distance(const GaussianLens& lens, double magnification) {
  return lens.focal_length * (1 + magnification);
}

// The pupils are images of one another at magnification P, so the entrance pupil sits f/P and the exit pupil
// f P from their focal points; the focused plane is f/m beyond the front focal point:  a = f/m + f/P.
Length pupil_distance(const GaussianLens& lens, double magnification) {
  return lens.focal_length * (1 / magnification + 1 / lens.pupil_magnification);
}

std::optional<double> magnification_from_pupil_distance(const GaussianLens& lens, Length pupil_distance) {
  const double beyond_focus = pupil_distance / lens.focal_length - 1 / lens.pupil_magnification;
  if (!(beyond_focus > 0)) return std::nullopt;
  return 1 / beyond_focus;
}

Length equivalent_image_distance(const GaussianLens& lens, double magnification) {
  return lens.focal_length * (1 + magnification / lens.pupil_magnification);
}

Length scale_distance(const GaussianLens& lens, double magnification) {
  return object_distance(lens, magnification) + image_distance(lens, magnification) +
         lens.principal_separation;
}

// With t = T - separation: m + 1/m = t/f - 2. The product of the roots is 1 and the far one is
// m = (t - r) / (t + r), r = sqrt(t^2 - 4 f t); multiplied by (t + r)/(t + r) nothing cancels for a distant
// subject.
std::optional<double> magnification_from_scale_distance(const GaussianLens& lens, Length scale_distance) {
  const double t = (scale_distance - lens.principal_separation) / lens.focal_length;  // in focal lengths
  if (!(t >= 4)) return std::nullopt;
  const double sum = t + std::sqrt(t * (t - 4));
  return 4 * t / (sum * sum);
}

Length front_to_subject(const GaussianLens& lens, double magnification, Length front_ahead) {
  return pupil_distance(lens, magnification) - front_ahead;
}

// The cone at the sensor has its apex f (m + P) behind the exit pupil of diameter P d:
// N_w = f (m + P) / (P d) = N (1 + m/P).
double working_f_number(const GaussianLens& lens, double magnification) {
  return lens.f_number * (1 + magnification / lens.pupil_magnification);
}

Stops close_up_loss(const GaussianLens& lens, double magnification) {
  return Stops(2 * std::log2(1 + magnification / lens.pupil_magnification));
}

// The cone from a point at D through the pupil (diameter d) cuts the focused plane in a disc of d |D - a| /
// D, by similar triangles; the lens images that plane at magnification m.
Length blur_disc(const GaussianLens& lens, double magnification, Length distance) {
  const Length a = pupil_distance(lens, magnification);
  return entrance_pupil_diameter(lens) * (magnification * std::abs((distance - a) / distance));
}

Length blur_disc_at_infinity(const GaussianLens& lens, double magnification) {
  return entrance_pupil_diameter(lens) * magnification;
}

double backdrop_magnification(const GaussianLens& lens, double magnification, Length distance) {
  return equivalent_image_distance(lens, magnification) / distance;
}

Length backdrop_width(const GaussianLens& lens, double magnification, Length distance, Length sensor_width) {
  return sensor_width / backdrop_magnification(lens, magnification, distance);
}

Angle angle_of_view(const GaussianLens& lens, double magnification, Length sensor_size) {
  return Angle(2 * std::atan(0.5 * (sensor_size / equivalent_image_distance(lens, magnification))));
}

// From the depth of field: the far limit goes to infinity at m d = c, and s = f (1 + 1/m).
Length hyperfocal_distance(const GaussianLens& lens, Length circle_of_confusion) {
  return object_distance(lens, circle_of_confusion / entrance_pupil_diameter(lens));
}

// The exit pupil seen from the axis is a disc that obeys E = pi L sin^2 of its half angle in an aplanatic
// lens, and sin = 1 / (2 N_w).
Illuminance image_illuminance(Luminance object, double working_f_number, double transmission) {
  return Illuminance(std::numbers::pi / 4 * transmission * object.value() /
                     (working_f_number * working_f_number));
}

// I. C. Gardner, J. Res. Nat. Bur. Standards 39, RP1824, 1947. With tan known, cos^2 = 1 / (1 + tan^2).
double chief_ray_weight(const GaussianLens& lens, double magnification, Length image_height) {
  const double tangent = image_height / equivalent_image_distance(lens, magnification);
  const double cosine_squared = 1 / (1 + tangent * tangent);
  return cosine_squared * cosine_squared;
}

}  // namespace undercap
