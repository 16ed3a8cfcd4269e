// The focus stack that a scene asks for, and the f-numbers that a lens of a scene may have.
#pragma once

#include "engine/measure/survey.h"
#include "engine/optics/focus_stack.h"
#include "engine/world/world.h"

namespace undercap {

inline constexpr double lowest_f_number = 0.7, highest_f_number = 64;  // of the scene file

// From the near to the far end of the visible subject with the scene's own lens, circle and overlap.
inline StackTask stack_task(const World& world, const DepthRange& range) {
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

}  // namespace undercap
