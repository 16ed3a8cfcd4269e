#include "engine/optics/depth.h"

#include <cmath>

#include "engine/optics/diffraction.h"

namespace undercap {

Length SensorFormat::diagonal() const { return Length(std::hypot(width.value(), height.value())); }

Length pixel_pitch(const SensorFormat& format, double pixel_count) {
  return Length(std::sqrt(format.width.value() * format.height.value() / pixel_count));
}

Length circle_of_confusion(CircleOfConfusionRule rule, const SensorFormat& format, Length pixel_pitch) {
  switch (rule) {
    case CircleOfConfusionRule::d1500:
      return format.diagonal() / 1500;
    case CircleOfConfusionRule::d1442:
      return format.diagonal() / 1442;
    case CircleOfConfusionRule::two_pixels:
      break;
  }
  return pixel_pitch * 2;
}

std::optional<Length> DepthOfField::total() const {
  if (!far) return std::nullopt;
  return near + *far;
}

// Set the blur disc m d |D - a| / D equal to c and solve for D on either side:
//   near = a - D = a c / (m d + c),   far = D - a = a c / (m d - c).
// Their sum is 2 N c (1 + m/P) / (m^2 - (N c / f)^2).
DepthOfField depth_of_field(const GaussianLens& lens, double magnification, Length circle_of_confusion) {
  const Length a = pupil_distance(lens, magnification);
  const double ratio = circle_of_confusion / blur_disc_at_infinity(lens, magnification);
  DepthOfField depth{.near = a * (ratio / (1 + ratio)), .far = std::nullopt};
  if (ratio < 1) depth.far = a * (ratio / (1 - ratio));
  return depth;
}

// H. M. Merklinger, The INs and OUTs of FOCUS, 1992: the cone from the pupil to one point of the focused
// plane.
Length object_field_disc(const GaussianLens& lens, double magnification, Length distance) {
  const Length a = pupil_distance(lens, magnification);
  return entrance_pupil_diameter(lens) * std::abs((distance - a) / a);
}

double retained_contrast(Length object_field_disc, Length period) {
  return std::abs(geometric_contrast(object_field_disc / period));
}

}  // namespace undercap
