// A lens that shortens as it focuses close, from two numbers of its data sheet.
//
// A thin lens of 100 mm needs 400 mm from subject to sensor for life size; real ones of 'internal focusing'
// do it in 300 mm, because their focal length there is 75 mm. The sheet tells the two ends; between them
// nothing is published. Assumed here, and to be named with results:
//   - the focal length falls in proportion to the magnification;
//   - the marked f-number stays with the shorter focal length, so that N_w = N (1 + m/P) and the entrance
//     pupil shrinks with it; P and the separation of the principal planes stay.
// The separation is seldom published: 20 mm of it move the focal length at the closest by 7 %.
#pragma once

#include <optional>

#include "engine/core/quantities.h"
#include "engine/optics/lens.h"

namespace undercap {

struct CloseFocus {
  Length nearest_scale_distance{};  // 'minimum focus distance', subject to sensor
  double largest_magnification = 1;
};

// From T = f (2 + m + 1/m) + separation at the closest. Above 0 only if T exceeds the separation.
Length closest_focal_length(const GaussianLens& as_marked, const CloseFocus& close);

// For a magnification from 0 to the largest.
Length focal_length_at(const GaussianLens& as_marked, const CloseFocus& close, double magnification);

// The lens as it is when focused there: what the functions of lens.h and depth.h want.
GaussianLens focused_at(const GaussianLens& as_marked, const CloseFocus& close, double magnification);

// The magnification of a plane at this distance from the entrance pupil or from the sensor. None nearer than
// the lens goes. For lenses that come nearer all the way to their largest magnification, as a sheet's
// 'nearest' means: not for a thin lens beyond 1:1.
std::optional<double> magnification_from_pupil_distance(const GaussianLens& as_marked,
                                                        const CloseFocus& close, Length pupil_distance);
std::optional<double> magnification_from_scale_distance(const GaussianLens& as_marked,
                                                        const CloseFocus& close, Length scale_distance);

// With a converter behind it, which enlarges the image 'factor' times: f and N times the factor, the same
// entrance pupil at the same place, so that P is times the factor too and N_w = factor N_w of the bare lens.
// The entrance pupil's distance to the sensor at infinity stays, the converter's own thickness is left out.
GaussianLens with_converter(const GaussianLens& lens, double factor);

// And its close end: the subject's nearest distance stays, the magnification there is times the factor.
struct ConvertedLens {
  GaussianLens lens{};
  CloseFocus close{};
};
// The separation is the one that keeps the entrance pupil's distance to the nearest subject.
ConvertedLens with_converter(const GaussianLens& as_marked, const CloseFocus& close, double factor);

}  // namespace undercap
