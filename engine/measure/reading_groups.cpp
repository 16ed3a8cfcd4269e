#include "engine/measure/reading_groups.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/measure/reading_rows.h"
#include "engine/optics/depth.h"
#include "engine/optics/diffraction.h"
#include "engine/optics/exposure.h"
#include "engine/optics/lens.h"

namespace undercap {
namespace {

// How the focal length at work follows from the marked one.
std::string lens_words(const Camera& camera) {
  std::string words = fmt::format("marked {:g} mm", camera.focal_length_mm);
  if (camera.converter != 1) words += fmt::format(", with a {:g}x converter", camera.converter);
  if (camera.minimum_focus_m && camera.largest_magnification)
    words += ", shortened by focusing close: assumed in proportion to the magnification";
  return words;
}

}  // namespace

void add_lens(const Evidence& e, Readings& into) {
  const CameraRig& rig = e.world.camera;
  const Camera& camera = e.world.scene.camera;
  const double m = rig.magnification;
  const Length front = front_to_subject(rig.lens, m, camera.front_ahead_mm * 1_mm);
  into.push_back(exact(Under::depth, "lens.magnification", m, "",
                       fmt::format("the sensor's {:g} mm width shows {:.1f} mm", camera.format_mm[0],
                                   camera.format_mm[0] / m)));
  into.push_back(exact(Under::depth, "lens.focus_distance_m", rig.scale_distance.value(), "m",
                       "scale distance: plane in focus to sensor"));
  into.push_back(exact(Under::depth, "lens.pupil_distance_m", rig.pupil_distance.value(), "m",
                       "plane in focus to entrance pupil"));
  into.push_back(exact(Under::depth, "lens.front_to_subject_m", front.value(), "m",
                       "plane in focus to the front of the lens"));
  into.push_back(exact(Under::depth, "lens.working_f_number", rig.working_f_number, ""));
  into.push_back(exact(Under::depth, "lens.angle_of_view_deg",
                       angle_of_view(rig.lens, m, rig.width).value() * degrees, "deg", "across the width"));
  into.push_back(
      exact(Under::depth, "lens.frame_width_mm", rig.width / 1_mm / m, "mm", "at the plane in focus"));
  into.push_back(
      exact(Under::depth, "lens.focal_length_mm", rig.lens.focal_length / 1_mm, "mm", lens_words(camera)));
  const double height = rig.axis_height.value();
  into.push_back(exact(Under::exposure, "lens.axis_height_m", height, "m",
                       height < camera.lowest_axis_m
                           ? fmt::format("below the support's lowest axis of {:g} m", camera.lowest_axis_m)
                           : "at the entrance pupil, above the ground there"));
  const std::string why_close =
      front <= 0_m ? "the subject would be inside the lens barrel" : rig.beyond_closest_focus;
  into.push_back({Under::depth, "lens.too_close", !why_close.empty(), "", std::nullopt, why_close});
  if (e.without_barrel) {
    // The two surveys have the same scrambles batch by batch, so that most of the noise cancels.
    const RegionSums &with = e.survey.subject, &without = e.without_barrel->subject;
    const Mix mix = mix_over(e.world, e.exposure.development.shutter);
    into.push_back(stops_reading(Under::fill, "lens.barrel_shade_stops", with, mix, without, mix,
                                 first_of(why_missing(without, mix), why_missing(with, mix))));
  } else if (camera.barrel_mm > 0 || camera.body_shade) {
    into.push_back(nothing(Under::fill, "lens.barrel_shade_stops", "stops", "not measured yet"));
  } else {
    into.push_back(exact(Under::fill, "lens.barrel_shade_stops", 0, "stops", "there is no barrel"));
  }
}

void add_exposure(const Evidence& e, Readings& into) {
  const World& world = e.world;
  const Camera& camera = world.scene.camera;
  const Development& development = e.exposure.development;
  const Duration shutter = development.shutter;
  std::string notes =
      e.exposure.metered && !e.world.scene.exposure.shutter_s ? doubt_of(*e.exposure.metered) : std::string();
  for (const std::string& note : e.exposure.notes) notes += (notes.empty() ? "" : "; ") + note;
  into.push_back(exact(Under::exposure, "exposure.ev100",
                       ev100({world.camera.lens.f_number, shutter, development.iso}), "EV",
                       "of the settings"));
  const std::string how =
      fmt::format("{}{}", shutter.value() < 0.3 ? shutter_text(shutter.value()) + ", " : std::string(),
                  e.exposure.shutter_se_s ? "metered on " + e.exposure.metered_name : "as set");
  into.push_back({Under::exposure, "exposure.shutter_s", shutter.value(), "s", e.exposure.shutter_se_s,
                  notes.empty() ? how : notes});
  into.push_back(
      exact(Under::exposure, "exposure.iso", development.iso, "",
            "mid-grey at H = 10 / S, raw clip at 78 / S (ISO 12232): 2.96 stops apart; cameras differ "
            "by half a stop"));

  const Duration limit = hand_held_limit(world.scene.exposure.hand_rule, world.camera.lens.focal_length,
                                         world.camera.magnification, Stops(camera.stabiliser_stops));
  into.push_back(exact(Under::exposure, "exposure.hand_limit_s", limit.value(), "s",
                       fmt::format("{}; common practice, for turning: stabilisers are rated for that "
                                   "(ISO 20954-1), and shift counts more near life size",
                                   shutter > limit ? "the shutter is longer: use a support" : "within it")));
  add_movement(e, into);
  add_sensor(e, into);
  std::optional<Estimate> ev;
  if (e.exposure.metered && e.exposure.metered->freedom >= least_freedom) ev = in_stops(*e.exposure.metered);
  if (ev) ev->value = ev100_from_luminance(Luminance(e.exposure.metered->value));
  into.push_back(measured(Under::exposure, "light.ev100", ev, "EV",
                          e.exposure.metered
                              ? fmt::format("the metered {} is too dark or too seldom seen to tell: {}",
                                            e.exposure.metered_name, take_more)
                              : "nothing of the metered part is both seen and lit",
                          "of the metered " + e.exposure.metered_name));
}

void add_contrasts(const Evidence& e, Readings& into) {
  const Mix mix = mix_over(e.world, e.exposure.development.shutter);
  const RegionSums cap = subject_parts_named(e, "cap"), gills = subject_parts_named(e, "gills"),
                   stem = subject_parts_named(e, "stem");
  const auto contrast = [&](const char* name, const RegionSums& a, const std::string& a_name,
                            const RegionSums& b, const std::string& b_name) {
    into.push_back(stops_reading(Under::headline, name, a, mix, b, mix,
                                 first_of(why_missing(a, mix, a_name), why_missing(b, mix, b_name))));
  };
  contrast("contrast.subject_backdrop_stops", e.survey.subject, "subject", e.survey.backdrop, "backdrop");
  contrast("contrast.cap_gills_stops", cap, "part cap of the subject", gills, "part gills of the subject");
  contrast("contrast.cap_stem_stops", cap, "part cap of the subject", stem, "part stem of the subject");
  const auto range = figure_of([&](const Use& use) -> std::optional<double> {
    std::vector<double> cells;
    for (const glm::dvec3& cell : cell_luminance(e.survey, mix, use)) cells.push_back(luminance_y(cell));
    const double low = percentile(cells, 1), high = percentile(cells, 99);
    if (low <= 0) return std::nullopt;
    return std::log2(high / low);
  });
  const bool drowns = range && drowns_in_noise(*range);
  into.push_back(measured(Under::exposure, "contrast.range_stops", drowns ? std::nullopt : range, "stops",
                          drowns
                              ? fmt::format("the darkest hundredth of the picture is too dark to tell from "
                                            "black (under 5 standard errors): {}",
                                            take_more)
                              : "the darkest hundredth of the picture is black",
                          "1 to 99 % of cells of 1/64 frame height"));
}

}  // namespace undercap
