// How many frames, and where, to have a depth sharp that no single frame holds.
//
// Each frame is sharp between its near and far limit by the accepted circle; neighbours share 'overlap' of a
// frame's depth. Two ways to go through the depth, which differ near a subject:
//   focus ring   the camera stays and the focus goes out; magnification falls from frame to frame
//   rail         the focus stays and the camera goes forward; magnification stays, perspective changes
// Distances are from the entrance pupil at the place where the camera stands. An overlap of .2 to .3 is
// common practice, no source. That a real lens's pupil moves with its focus ring is not modelled, nor what a
// merge does where blur lies over sharp edges.
#pragma once

#include <optional>
#include <vector>

#include "engine/core/quantities.h"
#include "engine/optics/close_focus.h"
#include "engine/optics/lens.h"

namespace undercap {

struct StackTask {
  GaussianLens lens{};
  std::optional<CloseFocus> close{};  // a lens that shortens; else as marked at every distance
  Length circle_of_confusion{};
  Length near{};
  std::optional<Length> far{};  // none: to infinity
  double overlap = 0.3;         // 0 to below 1
};

struct StackFrame {
  Length rail{};   // camera forward from where it stands
  Length focus{};  // the plane in focus
  double magnification = 0;
  Length near{};
  std::optional<Length> far{};  // none: to infinity
};

struct StackPlan {
  std::vector<StackFrame> frames{};  // from near to far
  // What the rule for a constant magnification says, at the first frame's; none to infinity.
  std::optional<int> frames_at_constant_magnification{};
  Length step{};                // (1 - overlap) x the first frame's depth of field
  Length image_side_step{};     // m^2 of it: how far the image of the next plane lies behind the first's
  Length quarter_wave_depth{};  // of the first frame
  bool finer_than_diffraction() const { return step < quarter_wave_depth; }  // finer than shows anything
};

inline constexpr int most_stack_frames = 2000;

// 1 + (X - depth of field) / step, rounded up; 1 when one frame is enough, a million at most.
int frames_at_constant_magnification(Length whole_depth, Length depth_of_field, double overlap);

// Each plan refuses more than 'most_stack_frames' frames, an overlap out of range, a far end that is not
// beyond the near one, and a near end that the lens does not reach.
//
// The last frame's far limit is the far end. A task that one frame can do gets the focus with equal discs at
// both ends.
StackPlan focus_ring_plan(const StackTask& task);

// The camera is moved so that the first frame is sharp from the near end and the last to the far end, in
// equal steps, which may be a little shorter than asked. Refuses a depth to infinity.
StackPlan rail_plan(const StackTask& task, double magnification);

}  // namespace undercap
