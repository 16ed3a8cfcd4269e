#include "engine/session/partner.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/measure/stack_task.h"
#include "engine/optics/depth.h"

namespace undercap {
namespace {

std::string match_word(Match match) {
  return match == Match::diagonal ? "diagonal" : match == Match::width ? "width" : "height";
}

}  // namespace

std::string words_of(Same same) {
  switch (same) {
    case Same::f_number:
      return "same f-number";
    case Same::pupil:
      return "same pupil";
    case Same::best:
      return "best f-number";
    case Same::rule:
      return "by the crop rule";
  }
  return {};
}

std::string kept_by(Match match) {
  return fmt::format("field of view at the plane in focus, matched by {}", match_word(match));
}

std::string kept_by_all(Match match) {
  return fmt::format("{}; by the crop rule the camera moves, and at its best f-number it is focused anew",
                     kept_by(match));
}

std::string kept_by(Same same, Match match) {
  const std::string field = kept_by(match);
  switch (same) {
    case Same::f_number:
      return fmt::format("{}; viewpoint; marked f-number", field);
    case Same::pupil:
      return fmt::format("{}; viewpoint; diameter of the entrance pupil", field);
    case Same::best:
      return fmt::format("{}; viewpoint", field);
    case Same::rule:
      return fmt::format("{}; not the viewpoint", field);
  }
  return {};
}

Scene partner_scene(const World& base, const PartnerWish& wish, const std::optional<DepthRange>& needed) {
  const CameraRig& rig = base.camera;
  const SensorFormat from{rig.width, rig.height}, to{wish.format_mm[0] * 1_mm, wish.format_mm[1] * 1_mm};
  const double k = crop_factor(from, to, wish.match);
  Partner partner = wish.same == Same::rule ? rule_partner(rig.lens, rig.magnification, k)
                                            : exact_partner(rig.lens, rig.magnification, k);
  if (wish.same == Same::f_number) partner.lens.f_number = rig.lens.f_number;
  std::optional<SingleFrame> best;
  if (wish.same == Same::best && needed) best = best_single_frame(partner.lens, *needed, circle_of(base) * k);
  if (best) partner.lens.f_number = best->lens.f_number;

  Scene scene = base.scene;
  Camera& camera = scene.camera;
  camera.format_mm = wish.format_mm;
  camera.focal_length_mm = partner.lens.focal_length / 1_mm;
  camera.f_number = std::clamp(partner.lens.f_number, lowest_f_number, highest_f_number);
  camera.pupil_magnification = partner.lens.pupil_magnification;
  camera.principal_separation_mm = partner.lens.principal_separation / 1_mm;
  // Another lens: what shortens or lengthens this one is in its focal length already.
  camera.converter = 1;
  camera.minimum_focus_m.reset();
  camera.largest_magnification.reset();
  camera.magnification.reset();
  camera.focus_distance_m.reset();
  camera.focus = rig.focus_point_m;
  camera.position_m = rig.pupil_m;
  // The rule's camera stands further away or nearer, on the same axis.
  if (wish.same == Same::rule)
    camera.position_m +=
        rig.forward * (rig.pupil_distance - pupil_distance(partner.lens, partner.magnification)).value();
  if (best) camera.focus = rig.pupil_m + rig.forward * best->focus.value();
  camera.look_at = camera.position_m + rig.forward;
  if (camera.circle_of_confusion_mm) *camera.circle_of_confusion_mm *= k;
  if (scene.sensor.pixel_pitch_um) *scene.sensor.pixel_pitch_um *= k;
  if (wish.same == Same::pupil || wish.same == Same::rule) scene.exposure.iso *= partner.iso_factor;
  return scene;
}

std::string rule_error(const World& base, const std::array<double, 2>& format_mm, Match match) {
  const CameraRig& rig = base.camera;
  const SensorFormat to{format_mm[0] * 1_mm, format_mm[1] * 1_mm};
  const double k = crop_factor({rig.width, rig.height}, to, match);
  const double ratio = rule_depth_ratio(rig.magnification, rig.lens.pupil_magnification, k);
  return fmt::format(
      "The crop rule (focal length and f-number times {:.3g}) gives {:g} x {:g} mm {:.3g} times the depth of "
      "field of the "
      "scene's own camera at its scale of {:.3g}; it would be exact far away.",
      k, format_mm[0], format_mm[1], ratio, rig.magnification);
}

}  // namespace undercap
