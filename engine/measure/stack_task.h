// The focus stack that a scene asks for, how sharp and how long it is, and the single frame in its place.
#pragma once

#include <optional>

#include "engine/measure/survey.h"
#include "engine/optics/focus_stack.h"
#include "engine/world/world.h"

namespace undercap {

inline constexpr double lowest_f_number = 0.7, highest_f_number = 64;  // of the scene file

// From the near to the far end of the visible subject with the scene's own lens, circle and overlap.
StackTask stack_task(const World& world, const DepthRange& range);

// From the first exposure to the last.
Duration stack_time(const World& world, const StackPlan& plan, Duration shutter);

// The disc on the sensor, by defocus and diffraction together, of a place along the axis (from the entrance
// pupil): of one frame, and of the sharpest frame of a stack with the world's lens.
Length blur_at(const GaussianLens& lens, double magnification, Length place);
Length stack_blur_at(const World& world, const StackPlan& plan, Length place);

// The frame that holds a depth best, at the third stop nearest to its best f-number. None where the lens
// cannot focus between the ends.
struct SingleFrame {
  GaussianLens lens;
  double magnification = 0;
  Length focus;  // from the entrance pupil
};
std::optional<SingleFrame> best_single_frame(const GaussianLens& lens, const DepthRange& range,
                                             Length circle);

}  // namespace undercap
