#include "engine/measure/stack_task.h"

#include <algorithm>

#include "engine/optics/best_aperture.h"
#include "engine/optics/diffraction.h"

namespace undercap {

StackTask stack_task(const World& world, const DepthRange& range) {
  const Camera& camera = world.scene.camera;
  StackTask task{.lens = world.camera.lens,
                 .circle_of_confusion = circle_of(world),
                 .near = range.near,
                 .far = range.far,
                 .overlap = world.scene.stack.overlap};
  if (const auto close = close_focus(camera)) {
    const ConvertedLens converted = with_converter(marked_lens(camera), *close, camera.converter);
    task.lens = converted.lens;
    task.close = converted.close;
  }
  return task;
}

Duration stack_time(const World& world, const StackPlan& plan, Duration shutter) {
  const auto frames = static_cast<double>(plan.frames.size());
  return shutter * frames + Duration(world.scene.stack.pause_s) * (frames - 1);
}

Length blur_at(const GaussianLens& lens, double magnification, Length place) {
  return blur_with_diffraction(blur_disc(lens, magnification, place), working_f_number(lens, magnification));
}

Length stack_blur_at(const World& world, const StackPlan& plan, Length place) {
  Length least =
      blur_at(world.camera.lens, plan.frames.front().magnification, place - plan.frames.front().rail);
  for (const StackFrame& frame : plan.frames)
    least = std::min(least, blur_at(world.camera.lens, frame.magnification, place - frame.rail));
  return least;
}

std::optional<SingleFrame> best_single_frame(const GaussianLens& lens, const DepthRange& range,
                                             Length circle) {
  const auto best = best_aperture(lens, range.near, range.far, lowest_f_number, highest_f_number, circle);
  if (!best) return std::nullopt;
  SingleFrame frame{lens, best->magnification, best->focus};
  frame.lens.f_number = std::clamp(best->nearest_third_stop, lowest_f_number, highest_f_number);
  return frame;
}

}  // namespace undercap
