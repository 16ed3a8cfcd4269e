// The Gaussian lens: two principal planes and two pupils, exact in the paraxial sense for any real lens.
//
// At magnification m it is exactly a thin-lens camera at the entrance pupil: aperture diameter d = f / N,
// focused at a = f (1/m + 1/P), sensor at f (1 + m/P). Framing, blur and perspective follow from those three
// lengths.
//
//   m        magnification of the focused plane, above 0
//   P        pupil magnification, exit pupil over entrance pupil; 1 for a symmetrical lens
//   a, D     distances from the entrance pupil: of the focused plane, of any other point in front of the lens
//   T        scale distance, subject to sensor: what the focus ring shows
// Sources: S. F. Ray, Applied Photographic Optics, 3rd ed. 2002 (from memory); P. van Walree, Derivation of
// the DOF equations; the forms with the entrance pupil are derived beside each function.
#pragma once

#include <optional>

#include "engine/core/quantities.h"

namespace undercap {

struct GaussianLens {
  Length focal_length;
  double f_number = 8;  // as marked: at infinity
  double pupil_magnification = 1;
  Length principal_separation;  // front to rear principal plane, negative when they are crossed
};

// d = f / N.
Length entrance_pupil_diameter(const GaussianLens& lens);

// s = f (1 + 1/m), object to front principal plane; v = f (1 + m), rear principal plane to sensor.
Length object_distance(const GaussianLens& lens, double magnification);
Length image_distance(const GaussianLens& lens, double magnification);

// a = f (1/m + 1/P), entrance pupil to focused plane.
Length pupil_distance(const GaussianLens& lens, double magnification);
// None when the plane is nearer than the entrance pupil can focus: a must be above f / P.
std::optional<double> magnification_from_pupil_distance(const GaussianLens& lens, Length pupil_distance);

// m a = f (1 + m/P), where the thin-lens camera at the entrance pupil has its sensor.
Length equivalent_image_distance(const GaussianLens& lens, double magnification);

// T = f (2 + m + 1/m) + principal separation.
Length scale_distance(const GaussianLens& lens, double magnification);
// The branch with m <= 1. None below T = 4 f + separation, the shortest distance at which a lens images.
std::optional<double> magnification_from_scale_distance(const GaussianLens& lens, Length scale_distance);

// Front of the barrel to subject, the front sitting 'front_ahead' before the entrance pupil; negative: it
// touches.
Length front_to_subject(const GaussianLens& lens, double magnification, Length front_ahead);

// N_w = N (1 + m/P), and the light it costs: 2 log2(1 + m/P).
double working_f_number(const GaussianLens& lens, double magnification);
Stops close_up_loss(const GaussianLens& lens, double magnification);

// Diameter on the sensor of the blur disc of a point at D (above 0), and of one at infinity (independent of
// P).
Length blur_disc(const GaussianLens& lens, double magnification, Length distance);
Length blur_disc_at_infinity(const GaussianLens& lens, double magnification);

// Image size over object size at D, in or out of focus, and the width that the sensor's width covers there.
double backdrop_magnification(const GaussianLens& lens, double magnification, Length distance);
Length backdrop_width(const GaussianLens& lens, double magnification, Length distance, Length sensor_width);

// Full angle, apex at the entrance pupil, across 'sensor_size' (width, height or diagonal).
Angle angle_of_view(const GaussianLens& lens, double magnification, Length sensor_size);

// H = f^2 / (N c) + f from the front principal plane: focused there, everything beyond H/2 is sharp enough.
Length hyperfocal_distance(const GaussianLens& lens, Length circle_of_confusion);

// On the axis: E = pi T L / (4 N_w^2), L the luminance of the object, T the lens's transmission.
Illuminance image_illuminance(Luminance object, double working_f_number, double transmission);

// cos^4 of the chief ray to a point of the sensor at 'image_height' from the axis. The angle is that in
// object space, tan = h / (f (1 + m/P)). It is the one weight of a pixel: the pupil is sampled evenly by area
// with no cosine of its own, so that the axis obeys image_illuminance exactly.
double chief_ray_weight(const GaussianLens& lens, double magnification, Length image_height);

}  // namespace undercap
