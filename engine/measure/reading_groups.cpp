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

void add_lens(const Evidence& e, Readings& into) {
  const CameraRig& rig = e.world.camera;
  const Camera& camera = e.world.scene.camera;
  const double m = rig.magnification;
  const Length front = front_to_subject(rig.lens, m, camera.front_ahead_mm * 1_mm);
  into.push_back(exact(Under::depth, "lens.magnification", m, "",
                       fmt::format("the sensor's {:g} mm width shows {:.1f} mm", camera.format_mm[0],
                                   camera.format_mm[0] / m)));
  into.push_back(exact(Under::depth, "lens.focus_distance_m", scale_distance(rig.lens, m).value(), "m",
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
  const double height = rig.axis_height.value();
  into.push_back(exact(Under::exposure, "lens.axis_height_m", height, "m",
                       height < camera.lowest_axis_m
                           ? fmt::format("below the support's lowest axis of {:g} m", camera.lowest_axis_m)
                           : "at the entrance pupil, above the ground there"));
  into.push_back({Under::depth, "lens.too_close", front <= 0_m, "", std::nullopt,
                  front <= 0_m ? "the subject would be inside the lens barrel" : ""});
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

void add_depth(const Evidence& e, Readings& into) {
  const CameraRig& rig = e.world.camera;
  const Length circle = circle_of(e.world);
  const DepthOfField depth = depth_of_field(rig.lens, rig.magnification, circle);
  into.push_back(exact(Under::depth, "depth.near_mm", -(depth.near / 1_mm), "mm",
                       "from the plane in focus, toward the camera"));
  const std::string endless = "infinite: everything behind the plane in focus is sharp by this circle";
  into.push_back(
      depth.far ? exact(Under::depth, "depth.far_mm", *depth.far / 1_mm, "mm", "behind the plane in focus")
                : nothing(Under::depth, "depth.far_mm", "mm", endless));
  into.push_back(depth.total() ? exact(Under::depth, "depth.total_mm", *depth.total() / 1_mm, "mm")
                               : nothing(Under::depth, "depth.total_mm", "mm", endless));
  into.push_back(exact(Under::depth, "depth.circle_of_confusion_mm", circle / 1_mm, "mm"));
  into.push_back(exact(Under::depth, "depth.diffraction_blur_um",
                       diffraction_blur(rig.working_f_number) / 1_um, "um",
                       "equivalent disc, 1.75 x 0.55 um x working f-number"));
  const auto& depths = e.survey.subject_depth_m;
  const auto needed_mm = figure_of([&](const Use& use) -> std::optional<double> {
    std::vector<double> values;
    for (std::size_t i = 0; i < eighths; ++i)
      if (use[i]) values.insert(values.end(), depths[i].begin(), depths[i].end());
    if (values.empty()) return std::nullopt;
    const double far = percentile_in(values, 99);
    return 1e3 * (far - percentile_in(values, 1));
  });
  // A hundredth of the samples must be a few.
  const bool few = !e.survey.subject.empty() && e.survey.subject.samples() < 1000;
  into.push_back(measured(Under::depth, "depth.needed_mm", few ? std::nullopt : needed_mm, "mm",
                          few ? fmt::format("the subject is seen by {:.0f} samples, too few to tell: {}",
                                            e.survey.subject.samples(), take_more)
                              : "the subject is not seen",
                          "1 to 99 % of the visible subject along the axis"));
}

void add_exposure(const Evidence& e, Readings& into) {
  const World& world = e.world;
  const Camera& camera = world.scene.camera;
  const Development& development = e.exposure.development;
  const Duration shutter = development.shutter;
  std::string notes =
      e.exposure.metered && !e.world.scene.exposure.shutter_s ? doubt_of(*e.exposure.metered) : std::string();
  for (const std::string& note : e.exposure.notes) notes += (notes.empty() ? "" : "; ") + note;
  into.push_back(exact(Under::exposure, "exposure.ev100", ev100({camera.f_number, shutter, development.iso}),
                       "EV", "of the settings"));
  const std::string how =
      fmt::format("{}{}", shutter.value() < 0.3 ? shutter_text(shutter.value()) + ", " : std::string(),
                  e.exposure.shutter_se_s ? "metered on " + e.exposure.metered_name : "as set");
  into.push_back({Under::exposure, "exposure.shutter_s", shutter.value(), "s", e.exposure.shutter_se_s,
                  notes.empty() ? how : notes});
  into.push_back(exact(Under::exposure, "exposure.iso", development.iso, ""));

  const Mix mix = mix_over(world, shutter);
  const double per_luminance = exposure_per_luminance(world, shutter).value();
  const double raw_clip = raw_clip_exposure(development.iso).value();
  const double display_white = mid_grey_exposure(development.iso).value() / .18;
  std::vector<double> per_cell(e.survey.cell.front().front().size());
  for (std::size_t cell = 0; cell < per_cell.size(); ++cell) {
    const auto width = static_cast<std::size_t>(e.survey.width);
    const Length right =
        world.camera.width * ((static_cast<double>(cell % width) + .5) / e.survey.width - .5);
    const Length up = world.camera.height * ((static_cast<double>(cell / width) + .5) / e.survey.height - .5);
    per_cell[cell] = per_luminance * chief_ray_weight(world.camera.lens, world.camera.magnification,
                                                      Length(std::hypot(right.value(), up.value())));
  }
  // The share of cells whose brightest channel is above a threshold, after clipping and balancing if asked.
  const auto above_pct = [&](bool developed) {
    return figure_of([&, developed](const Use& use) -> std::optional<double> {
      const std::vector<glm::dvec3> luminance = cell_luminance(e.survey, mix, use);
      std::size_t above = 0;
      for (std::size_t cell = 0; cell < luminance.size(); ++cell) {
        glm::dvec3 exposure = luminance[cell] * per_cell[cell];
        if (developed) exposure = glm::min(exposure, glm::dvec3(raw_clip)) * development.gains;
        above += std::max({exposure.x, exposure.y, exposure.z}) > (developed ? display_white : raw_clip);
      }
      return 100.0 * static_cast<double>(above) / static_cast<double>(luminance.size());
    });
  };
  const std::string cell_note = "any channel, of cells of 1/64 frame height, at this shutter";
  into.push_back(measured(Under::exposure, "exposure.raw_clip_pct", above_pct(false), "%", {}, cell_note));
  into.push_back(measured(Under::exposure, "exposure.display_clip_pct", above_pct(true), "%", {}, cell_note));
  const Duration limit = hand_held_limit(world.scene.exposure.hand_rule, world.camera.lens.focal_length,
                                         world.camera.magnification, Stops(camera.stabiliser_stops));
  into.push_back(exact(Under::exposure, "exposure.hand_limit_s", limit.value(), "s",
                       shutter > limit ? "the shutter is longer: use a support"
                                       : "common practice; camera shift counts more near life size"));
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
  // Five standard errors, as for every logarithm: 1 / (5 ln 2) stops.
  const bool drowns = range && range->estimate.se > 1 / (5 * std::numbers::ln2);
  into.push_back(measured(Under::exposure, "contrast.range_stops", drowns ? std::nullopt : range, "stops",
                          drowns
                              ? fmt::format("the darkest hundredth of the picture is too dark to tell from "
                                            "black (under 5 standard errors): {}",
                                            take_more)
                              : "the darkest hundredth of the picture is black",
                          "1 to 99 % of cells of 1/64 frame height"));
}

}  // namespace undercap
