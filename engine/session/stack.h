// A focus stack as a job: where each frame goes, the frames rendered, merged, and the two single frames that
// a person would take instead.
//
// A frame is sampled in full only where it may be the sharpest of the stack, which the depth of each pixel
// tells before; elsewhere it has a few samples, which the merge needs for nothing finer than its coarse
// bands. That makes a stack cheaper than as many pictures of the same error.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/image/focus_merge.h"
#include "engine/measure/stack_task.h"
#include "engine/report/axis_plot.h"
#include "engine/session/session.h"

namespace undercap {

inline constexpr std::size_t most_rendered_frames = 64;

struct StackRequest {
  int width = 480, height = 320;
  Quality quality = Quality::good;
  bool rail = false;          // the camera goes forward in place of the focus
  bool filtered = false;      // each frame, and the single ones, go through the display filter
  bool whole_frames = false;  // every frame in full, to be kept
};

// The plan for the visible subject, after the session's survey. Refuses when nothing of it is seen, and what
// plans refuse.
StackPlan plan_of(const Session& session, bool rail);
// The blur along the axis in one frame as the scene has it, in the best single one, and in the stack: um
// against mm from the plane in focus, the subject's ends and the circle marked.
AxisPlot stack_plot(const Session& session, const StackPlan& plan);

struct StackResult {
  Picture8 merged, as_set, best;  // developed alike; best_single_frame, as set where there is none
  Picture8 origin;                // which frame each place of the merge comes from: dark = near, light = far
  std::vector<Picture8> frames;   // developed, when whole
  double sampled_share = 1;       // samples taken of what as many whole pictures would have taken
  unsigned samples = 0;           // a pixel, where a frame is sampled in full
  double frames_s = 0;            // of the frames and their merge
};

// Leaves the session with the scene's own camera, and surveyed. Nothing when stopped. Refuses more frames
// than most_rendered_frames.
std::optional<StackResult> render_stack(const ShaderLibrary& shaders, Session& session, const StackPlan& plan,
                                        const StackRequest& request, const Progress& progress);

}  // namespace undercap
