#include "engine/report/stack_sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <glm/geometric.hpp>

#include "engine/optics/depth.h"
#include "engine/optics/third_stops.h"
#include "engine/world/level_light.h"

namespace undercap {
namespace {

// In circles of confusion, of a lens focused at a magnification.
double circles(const World& world, const GaussianLens& lens, double m, Length at) {
  return blur_at(lens, m, at) / circle_of(world);
}

std::vector<SheetRow> single_rows(const World& world, const GaussianLens& lens, double m,
                                  const StackFacts& facts) {
  return {{"lens",
           fmt::format("{}, works as f/{:.1f}", f_number_label(lens.f_number), working_f_number(lens, m))},
          {"blur: near, focus, far",
           fmt::format("{:.2g}, {:.2g}, {:.2g} circles", circles(world, lens, m, facts.range.near),
                       circles(world, lens, m, pupil_distance(lens, m)),
                       circles(world, lens, m, facts.range.far))}};
}

// The largest blur anywhere on the subject: between two planes in focus, or at an end.
double worst_circles(const World& world, const StackPlan& plan, const StackFacts& facts) {
  constexpr int places = 500;
  double worst = 0;
  for (int i = 0; i <= places; ++i) {
    const Length at = facts.range.near + (facts.range.far - facts.range.near) * (i / double{places});
    worst = std::max(worst, stack_blur_at(world, plan, at) / circle_of(world));
  }
  return worst;
}

}  // namespace

std::vector<std::string> stack_words(const World& world, const StackPlan& plan,
                                     const ExposureChoice& exposure, bool rail) {
  const Stack& stack = world.scene.stack;
  const double seconds = stack_time(world, plan, exposure.development.shutter).value();
  std::vector<std::string> words;
  words.push_back(
      fmt::format("{} frames, {}; each frame's sharp zone chained to the next with {:g} % in common. The "
                  "count at constant "
                  "magnification would be {}.",
                  plan.frames.size(), rail ? "the camera moved forward on a rail" : "the focus ring turned",
                  100 * stack.overlap, plan.frames_at_constant_magnification.value_or(0)));
  words.push_back(rail ? fmt::format("First step {:.2f} mm.", plan.step / 1_mm)
                       : fmt::format("First step {:.2f} mm at the subject, {:.3f} mm at the sensor.",
                                     plan.step / 1_mm, plan.image_side_step / 1_mm));
  words.push_back(fmt::format("{:.1f} s from first to last: {} each and {:g} s between.", seconds,
                              shutter_text(exposure.development.shutter.value()), stack.pause_s));
  if (plan.finer_than_diffraction())
    words.push_back(
        fmt::format("The steps are finer than the {:.2f} mm in which diffraction lets nothing change: a "
                    "smaller f-number, a larger circle or fewer frames lose nothing.",
                    plan.quarter_wave_depth / 1_mm));
  const auto drift = fleck_drift_m_per_min(world);
  if (plan.frames.size() > 1 && world.scene.sun.on && drift)
    words.push_back(fmt::format("A fleck of sun moves {:.1f} cm meanwhile{}.",
                                glm::length(*drift) * 100 * seconds / 60,
                                world.scene.canopy.any() ? "" : ", by a gap as high as canopy.height_m"));
  if (rail)
    words.push_back("On a rail the view changes from frame to frame: near things move against far ones.");
  return words;
}

ContactSheet stack_sheet(const World& world, const StackPlan& plan, const ExposureChoice& exposure, bool rail,
                         const StackFacts& facts) {
  const CameraRig& rig = world.camera;
  const std::string f = f_number_label(rig.lens.f_number);
  ContactSheet sheet;
  sheet.title = !facts.title.empty()        ? facts.title
                : world.scene.title.empty() ? "Focus stack"
                                            : world.scene.title + ": focus stack";
  sheet.under_title =
      fmt::format("The subject is {:.1f} mm deep; one frame at {} is sharp over {}.",
                  (facts.range.far - facts.range.near) / 1_mm, f, [&] {
                    const auto total = depth_of_field(rig.lens, rig.magnification, circle_of(world)).total();
                    return total ? fmt::format("{:.1f} mm", *total / 1_mm) : std::string("all beyond");
                  }());
  sheet.columns = 2;
  sheet.upright = true;
  sheet.figure_aspect = facts.figure_aspect;
  const auto cell = [&](const std::string& name, const std::vector<SheetRow>& rows) {
    sheet.cells.push_back({name, rows, facts.width, facts.height});
  };
  cell(fmt::format("One frame, {}, as set", f), single_rows(world, rig.lens, rig.magnification, facts));
  const SingleFrame best = best_single_frame(rig.lens, facts.range, circle_of(world))
                               .value_or(SingleFrame{rig.lens, rig.magnification, rig.pupil_distance});
  cell(fmt::format("One frame at its best: {}, refocused", f_number_label(best.lens.f_number)),
       single_rows(world, best.lens, best.magnification, facts));
  cell(fmt::format("{} frames at {}, merged", plan.frames.size(), f),
       {{"time", fmt::format("{:.0f} s", stack_time(world, plan, exposure.development.shutter).value())},
        {"blur: worst place", fmt::format("{:.2g} circles", worst_circles(world, plan, facts))}});
  cell("Where each place comes from", {{"dark to light", "first frame to last"}, {"", ""}});
  sheet.spoken = facts.lines;
  for (const std::string& words : stack_words(world, plan, exposure, rail)) sheet.small.push_back(words);
  sheet.small.push_back(
      fmt::format("Blur: defocus and diffraction together (Hopkins), in circles of confusion of {:.4f} mm; 1 "
                  "is just sharp. Merged by "
                  "Laplacian pyramid (Burt, Adelson 1983), weighted by contrast. {} samples a pixel.",
                  circle_of(world) / 1_mm, facts.samples));
  sheet.small.push_back(facts.made_by + ".");
  sheet.caution = "A rendered picture is not a photograph.";
  return sheet;
}

}  // namespace undercap
