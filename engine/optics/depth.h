// How deep the sharp zone is, and what 'sharp' is held to mean.
//
// All of it follows from one accepted disc on the sensor, the circle of confusion c. State c and its rule
// with every result: a print that is cropped or seen from close asks for a smaller one.
#pragma once

#include <optional>

#include "engine/core/quantities.h"
#include "engine/optics/lens.h"

namespace undercap {

struct SensorFormat {
  Length width, height;
  Length diagonal() const;
};

// Square pixels filling the format: sqrt(width height / count).
Length pixel_pitch(const SensorFormat& format, double pixel_count);

// Common practice, no source: the diagonal over 1500; over 1442 (.030 mm on 36 x 24 mm); two pixels for
// judging at full size.
enum class CircleOfConfusionRule { d1500, d1442, two_pixels };
Length circle_of_confusion(CircleOfConfusionRule rule, const SensorFormat& format, Length pixel_pitch);

// Offsets from the focused plane, both positive. No 'far' when the zone reaches to infinity.
struct DepthOfField {
  Length near;
  std::optional<Length> far;
  std::optional<Length> total() const;
};
DepthOfField depth_of_field(const GaussianLens& lens, double magnification, Length circle_of_confusion);

// Diameter, on an object plane at D, of the patch that one image point gathers: detail smaller than it is
// gone. q = d |D - a| / a, which is |D - a| m / N_w: at equal framing it does not depend on the focal length.
Length object_field_disc(const GaussianLens& lens, double magnification, Length distance);

// What such a disc q leaves of the contrast of detail of that period x on its plane: |2 J1(pi q / x)| / (pi q
// / x), 1 for large detail; gone for the first time at x = q / 1.2197.
double retained_contrast(Length object_field_disc, Length period);

}  // namespace undercap
