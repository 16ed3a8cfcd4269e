// The one plot of a sweep that says more than its pictures: which, and from what.
#pragma once

#include <optional>

#include "engine/report/axis_plot.h"
#include "engine/session/sweep_plan.h"

namespace undercap {

// For one thing varied: f-number or scale: blur along the lens axis, defocus and diffraction together; focal
// length: the disc of what lies behind, as it is drawn in the picture and as it is on the backdrop; a lamp's
// distance: how its light falls off behind the subject. None for others, and for two things varied.
std::optional<AxisPlot> sweep_plot(const SweepPlan& plan, const std::vector<SweepEntry>& entries,
                                   const SweepResult& result);

// What each view takes in, from above: the cameras, the edges of their pictures as far as what stands behind,
// the plane in focus. For views along one axis; none where the pictures have one view.
std::optional<Drawing> views_plan(const std::vector<SweepEntry>& entries, const SweepResult& result,
                                  double width_mm, double height_mm);

}  // namespace undercap
