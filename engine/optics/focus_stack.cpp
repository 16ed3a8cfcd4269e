#include "engine/optics/focus_stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/core/errors.h"
#include "engine/optics/depth.h"
#include "engine/optics/diffraction.h"

namespace undercap {

namespace {

constexpr int bisections = 60;

GaussianLens lens_at(const StackTask& task, double magnification) {
  return task.close ? focused_at(task.lens, *task.close, magnification) : task.lens;
}

std::optional<double> magnification_at(const StackTask& task, Length distance) {
  return task.close ? magnification_from_pupil_distance(task.lens, *task.close, distance)
                    : magnification_from_pupil_distance(task.lens, distance);
}

// A frame's limits as vergences, 1 / distance:  (1 + c / (m d)) / a  and  (1 - c / (m d)) / a, from
// a c / (m d +- c) of depth.cpp. Both rise with m, and the far one is 0 or less where the frame is sharp to
// infinity.
struct Limits {
  double near_per_m, far_per_m;
};
Limits limits_of(const StackTask& task, double magnification) {
  const GaussianLens lens = lens_at(task, magnification);
  const double focus = 1 / pupil_distance(lens, magnification).value();
  const double ratio = task.circle_of_confusion / blur_disc_at_infinity(lens, magnification);
  return {focus * (1 + ratio), focus * (1 - ratio)};
}

// The magnification, up to 'most', at which a limit comes to a vergence; next to 0 where it is below already
// at infinity.
double where_limit_is(const StackTask& task, double Limits::*limit, double vergence, double most) {
  double low = 0, high = most;
  for (int i = 0; i < bisections; ++i) {
    const double middle = 0.5 * (low + high);
    (limits_of(task, middle).*limit < vergence ? low : high) = middle;
  }
  return high;
}

StackFrame frame_at(const StackTask& task, double magnification) {
  const GaussianLens lens = lens_at(task, magnification);
  const DepthOfField depth = depth_of_field(lens, magnification, task.circle_of_confusion);
  const Length focus = pupil_distance(lens, magnification);
  StackFrame frame{0_m, focus, magnification, focus - depth.near, std::nullopt};
  if (depth.far) frame.far = focus + *depth.far;
  return frame;
}

// What a plan says beside its frames, at the magnification of the front.
StackPlan plan_without_frames(const StackTask& task, double magnification) {
  const GaussianLens lens = lens_at(task, magnification);
  const auto depth = depth_of_field(lens, magnification, task.circle_of_confusion).total();
  StackPlan plan;
  plan.quarter_wave_depth = quarter_wave_depth(working_f_number(lens, magnification), magnification);
  plan.step = depth ? *depth * (1 - task.overlap) : Length(INFINITY);
  plan.image_side_step = plan.step * (magnification * magnification);
  if (task.far && depth)
    plan.frames_at_constant_magnification =
        frames_at_constant_magnification(*task.far - task.near, *depth, task.overlap);
  return plan;
}

void refuse_unless_possible(const StackTask& task) {
  if (!(task.overlap >= 0 && task.overlap < 1))
    throw Refusal(fmt::format("an overlap of {:g}: allowed is 0 to below 1", task.overlap));
  if (!(task.circle_of_confusion > Length(0)))
    throw Refusal(
        fmt::format("a circle of confusion of {:g} mm: it must be above 0", task.circle_of_confusion / 1_mm));
  if (task.far && !(*task.far > task.near))
    throw Refusal(fmt::format("a stack from {:g} mm to {:g} mm: the far end must lie beyond the near one",
                              task.near / 1_mm, *task.far / 1_mm));
}

void refuse_more_frames_than_allowed(double frames) {
  if (frames > most_stack_frames)
    throw Refusal(
        fmt::format("this stack takes more than {} frames; stop down, frame wider, or ask for less depth",
                    most_stack_frames));
}

double front_magnification(const StackTask& task) {
  const auto front = magnification_at(task, task.near);
  if (!front)
    throw Refusal(fmt::format(
        "a stack from {:g} mm before the entrance pupil: the lens does not focus that near; step back",
        task.near / 1_mm));
  return *front;
}

}  // namespace

int frames_at_constant_magnification(Length whole_depth, Length depth_of_field, double overlap) {
  if (whole_depth <= depth_of_field) return 1;
  const double steps = (whole_depth - depth_of_field) / (depth_of_field * (1 - overlap));
  return static_cast<int>(std::min(1 + std::ceil(steps), 1e6));
}

// In vergence a frame's depth is even about its focus, so there the overlap is laid off: the next near limit
// is the last far limit and 'overlap' of the way back to the near one.
StackPlan focus_ring_plan(const StackTask& task) {
  refuse_unless_possible(task);
  const double front = front_magnification(task);
  const double near_end = 1 / task.near.value(), far_end = task.far ? 1 / task.far->value() : 0;
  StackPlan plan = plan_without_frames(task, front);
  const double last = where_limit_is(task, &Limits::far_per_m, far_end, front);
  double magnification = where_limit_is(task, &Limits::near_per_m, near_end, front);
  if (limits_of(task, magnification).far_per_m <= far_end) {
    const double middle = *magnification_at(task, Length(2 / (near_end + far_end)));
    plan.frames = {frame_at(task, middle)};
    return plan;
  }
  while (magnification > last) {
    plan.frames.push_back(frame_at(task, magnification));
    refuse_more_frames_than_allowed(static_cast<double>(plan.frames.size()) + 1);
    const Limits limits = limits_of(task, magnification);
    const double next = std::lerp(limits.far_per_m, limits.near_per_m, task.overlap);
    magnification = where_limit_is(task, &Limits::near_per_m, next, magnification);
  }
  plan.frames.push_back(frame_at(task, last));
  plan.frames.back().far = task.far;  // to the last digit
  return plan;
}

StackPlan rail_plan(const StackTask& task, double magnification) {
  refuse_unless_possible(task);
  if (!task.far) throw Refusal("a stack on a rail to infinity: give it a far end, or turn the focus ring");
  StackPlan plan = plan_without_frames(task, magnification);
  const StackFrame still = frame_at(task, magnification);
  if (!still.far) {
    plan.frames = {still};
    return plan;
  }
  const int count = *plan.frames_at_constant_magnification;
  refuse_more_frames_than_allowed(count);
  const Length spare = (*task.far - task.near) - (*still.far - still.near);  // negative: one frame is enough
  const Length first = task.near - still.near + (count == 1 ? spare / 2 : Length(0));
  for (int k = 0; k < count; ++k) {
    const Length rail = first + spare * (count == 1 ? 0. : static_cast<double>(k) / (count - 1));
    plan.frames.push_back({rail, still.focus + rail, magnification, still.near + rail, *still.far + rail});
  }
  return plan;
}

}  // namespace undercap
