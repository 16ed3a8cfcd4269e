// Depth of field, what diffraction leaves of it, the f-number that serves the subject best, and the stack
// instead.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/errors.h"
#include "engine/measure/reading_groups.h"
#include "engine/measure/reading_rows.h"
#include "engine/measure/stack_task.h"
#include "engine/optics/best_aperture.h"
#include "engine/optics/depth.h"
#include "engine/optics/diffraction.h"
#include "engine/optics/third_stops.h"
#include "engine/world/level_light.h"

namespace undercap {
namespace {

// Lens and subject, as all figures of depth take them.
class DepthReadings {
 public:
  DepthReadings(const Evidence& evidence, Readings& into)
      : e_(evidence), into_(into), rig_(evidence.world.camera), circle_(circle_of(evidence.world)) {
    // A hundredth of the samples must be a few.
    const RegionSums& subject = e_.survey.subject;
    few_ = !subject.empty() && subject.samples() < 1000;
    why_not_ = few_ ? fmt::format("the subject is seen by {:.0f} samples, too few to tell: {}",
                                  subject.samples(), take_more)
                    : "the subject is not seen";
  }

  void zone();
  void blurs();
  void best();
  void stack();

 private:
  void figure(const std::string& name, const std::string& unit, std::string note,
              const std::function<double(const DepthRange&)>& value_of) {
    std::optional<Figure> value;
    if (!few_)
      value = figure_of([&](const Use& use) -> std::optional<double> {
        const auto range = subject_range(e_.survey, use);
        return range ? std::optional(value_of(*range)) : std::nullopt;
      });
    into_.push_back(measured(Under::depth, name, value, unit, why_not_, std::move(note)));
  }
  std::optional<DepthRange> range() const {
    Use all;
    all.fill(true);
    return few_ ? std::nullopt : subject_range(e_.survey, all);
  }
  double blur_um(Length place) const { return blur_at(rig_.lens, rig_.magnification, place) / 1_um; }
  std::string in_circles(Length blur) const {
    return fmt::format("{:.2g} circles of confusion", blur / circle_);
  }

  const Evidence& e_;
  Readings& into_;
  const CameraRig& rig_;
  Length circle_;
  bool few_ = false;
  std::string why_not_;
};

void DepthReadings::zone() {
  const DepthOfField depth = depth_of_field(rig_.lens, rig_.magnification, circle_);
  into_.push_back(exact(Under::depth, "depth.near_mm", -(depth.near / 1_mm), "mm",
                        "from the plane in focus, toward the camera"));
  const std::string endless = "infinite: everything behind the plane in focus is sharp by this circle";
  into_.push_back(
      depth.far ? exact(Under::depth, "depth.far_mm", *depth.far / 1_mm, "mm", "behind the plane in focus")
                : nothing(Under::depth, "depth.far_mm", "mm", endless));
  into_.push_back(depth.total() ? exact(Under::depth, "depth.total_mm", *depth.total() / 1_mm, "mm",
                                        "by the lens's rays alone, without diffraction")
                                : nothing(Under::depth, "depth.total_mm", "mm", endless));
  const Camera& camera = e_.world.scene.camera;
  const std::string rule = camera.circle_of_confusion_mm                    ? "as the scene sets it"
                           : camera.coc_rule == Camera::CocRule::two_pixels ? "two pixels"
                           : camera.coc_rule == Camera::CocRule::d1442      ? "the format's diagonal / 1442"
                                                                            : "the format's diagonal / 1500";
  into_.push_back(exact(Under::depth, "depth.circle_of_confusion_mm", circle_ / 1_mm, "mm",
                        rule + "; seen from one diagonal away (common practice, no source)"));
  into_.push_back(exact(Under::depth, "depth.diffraction_blur_um",
                        diffraction_blur(rig_.working_f_number) / 1_um, "um",
                        fmt::format("in focus, an equivalent disc: 1.75 x 0.55 um x working f-number; {}",
                                    in_circles(diffraction_blur(rig_.working_f_number)))));
}

void DepthReadings::blurs() {
  figure("depth.needed_mm", "mm", "1 to 99 % of the visible subject along the axis",
         [](const DepthRange& range) { return (range.far - range.near) / 1_mm; });
  const std::string note = "defocus and diffraction together (Hopkins), an equivalent disc on the sensor";
  const auto at = [&](bool near) {
    const auto all = range();
    return all ? fmt::format("; {}", in_circles(blur_um(near ? all->near : all->far) * 1_um)) : std::string();
  };
  figure("depth.blur_near_um", "um", "at the subject's near end: " + note + at(true),
         [&](const DepthRange& range) { return blur_um(range.near); });
  figure("depth.blur_far_um", "um", "at the subject's far end: " + note + at(false),
         [&](const DepthRange& range) { return blur_um(range.far); });
}

void DepthReadings::best() {
  const auto all = range();
  const Length deepest =
      deepest_in_one_frame(rig_.magnification, rig_.lens.pupil_magnification, circle_).depth;
  into_.push_back(deepest > 0_mm
                      ? exact(Under::depth, "depth.one_frame_mm", deepest / 1_mm, "mm",
                              "the largest depth that any f-number holds within the circle at this scale, "
                              "diffraction counted; near enough the same for any format")
                      : nothing(Under::depth, "depth.one_frame_mm", "mm",
                                "diffraction alone is wider than the circle at any f-number"));
  if (!all) {
    into_.push_back(nothing(Under::depth, "depth.best_f_number", "", why_not_));
    return;
  }
  const auto best = best_aperture(rig_.lens, all->near, all->far, lowest_f_number, highest_f_number, circle_);
  into_.push_back(
      best ? exact(Under::depth, "depth.best_f_number", best->f_number, "",
                   fmt::format(
                       "{}, focused where both ends are alike: {:.3g} um there, {}{}",
                       f_number_label(best->f_number), best->blur_at_ends / 1_um,
                       in_circles(best->blur_at_ends),
                       best->exceeds_circle ? ": no single frame is sharp throughout, stack instead" : ""))
           : nothing(Under::depth, "depth.best_f_number", "",
                     "the lens cannot focus between the subject's ends"));
}

void DepthReadings::stack() {
  const auto all = range();
  if (!all) {
    into_.push_back(nothing(Under::depth, "depth.frames_for_stack", "", why_not_));
    into_.push_back(nothing(Under::depth, "depth.stack_s", "s", why_not_));
    return;
  }
  const Stack& stack = e_.world.scene.stack;
  StackPlan plan;
  try {
    plan = focus_ring_plan(stack_task(e_.world, *all));
  } catch (const Refusal& refusal) {
    into_.push_back(nothing(Under::depth, "depth.frames_for_stack", "", refusal.what()));
    into_.push_back(nothing(Under::depth, "depth.stack_s", "s", "there is no such stack"));
    return;
  }
  const auto frames = static_cast<double>(plan.frames.size());
  into_.push_back(exact(
      Under::depth, "depth.frames_for_stack", frames, "",
      fmt::format(
          "focus ring turned, each frame's zone chained to the next with {:g} % in common; at "
          "constant scale {}{}",
          100 * stack.overlap, plan.frames_at_constant_magnification.value_or(0),
          plan.finer_than_diffraction() ? "; the steps are finer than diffraction, fewer would do" : "")));
  const double seconds = stack_time(e_.world, plan, e_.exposure.development.shutter).value();
  std::string note = fmt::format("{:.0f} exposures and {:g} s between them", frames, stack.pause_s);
  const auto drift = fleck_drift_m_per_min(e_.world);
  if (frames > 1 && e_.world.scene.sun.on && e_.world.scene.canopy.any() && drift)
    note +=
        fmt::format("; a fleck of sun moves {:.1f} cm meanwhile", glm::length(*drift) * 100 * seconds / 60);
  into_.push_back(exact(Under::depth, "depth.stack_s", seconds, "s", note));
}

}  // namespace

void add_depth(const Evidence& e, Readings& into) {
  DepthReadings readings(e, into);
  readings.zone();
  readings.blurs();
  readings.best();
  readings.stack();
}

}  // namespace undercap
