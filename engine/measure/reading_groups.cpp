#include "engine/measure/reading_groups.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/optics/depth.h"
#include "engine/optics/exposure.h"
#include "engine/optics/lens.h"

namespace undercap {
namespace {

using Under = Reading::Under;

constexpr double degrees = 180 / std::numbers::pi;

Reading exact(Under under, std::string name, double value, std::string unit, std::string note = {}) {
  return {under, std::move(name), value, std::move(unit), std::nullopt, std::move(note)};
}

Reading nothing(Under under, std::string name, std::string unit, std::string note) {
  return {under, std::move(name), std::monostate{}, std::move(unit), std::nullopt, std::move(note)};
}

Reading measured(Under under, std::string name, const std::optional<Estimate>& estimate, std::string unit,
                 std::string why_not) {
  if (!estimate) return nothing(under, std::move(name), std::move(unit), std::move(why_not));
  return {under, std::move(name), estimate->value, std::move(unit), estimate->se, {}};
}

const std::string too_dark = "too dark to tell from black (under 5 standard errors)";

// Why a figure of one or two regions is missing.
std::string why_missing(const RegionSums& a, const std::string& a_name, const RegionSums& b,
                        const std::string& b_name) {
  if (a.empty() || b.empty()) return fmt::format("no {} is seen", a.empty() ? a_name : b_name);
  return too_dark;
}
std::string why_missing(const RegionSums& sums) {
  return sums.empty() ? "not seen in the picture" : too_dark;
}

SensorFormat format_of(const World& world) { return {world.camera.width, world.camera.height}; }

// 20 megapixels on the format unless the scene gives the pitch.
Length pitch_of(const World& world) {
  const auto given = world.scene.sensor.pixel_pitch_um;
  return given ? *given * 1_um : pixel_pitch(format_of(world), 20e6);
}

Length circle_of(const World& world) {
  const Camera& camera = world.scene.camera;
  if (camera.circle_of_confusion_mm) return *camera.circle_of_confusion_mm * 1_mm;
  switch (camera.coc_rule) {
    case Camera::CocRule::d1442:
      return circle_of_confusion(CircleOfConfusionRule::d1442, format_of(world), pitch_of(world));
    case Camera::CocRule::two_pixels:
      return circle_of_confusion(CircleOfConfusionRule::two_pixels, format_of(world), pitch_of(world));
    case Camera::CocRule::d1500:
      break;
  }
  return circle_of_confusion(CircleOfConfusionRule::d1500, format_of(world), pitch_of(world));
}

// The addresses whose parts get readings of their own: each part of each prop that the subject or a named
// backdrop is of.
std::vector<Address> reported_addresses(const World& world) {
  std::vector<Address> addresses;
  const auto add = [&](std::uint32_t index) {
    const WorldPart& part = world.parts[index];
    const Address address{Address::Of::prop, part.prop, 0, part.part};
    if (std::find(addresses.begin(), addresses.end(), address) == addresses.end())
      addresses.push_back(address);
  };
  for (const std::uint32_t part : world.subject) add(part);
  if (world.backdrop)
    for (const std::uint32_t part : *world.backdrop) add(part);
  if (world.scene.exposure.meter_on)
    for (const std::uint32_t part : parts_of(world, *world.scene.exposure.meter_on)) add(part);
  return addresses;
}

// The subject's parts of one name, whatever prop they are of.
RegionSums subject_parts_named(const Evidence& e, std::string_view name) {
  RegionSums sums(e.world.groups.size());
  for (const std::uint32_t part : e.world.subject)
    if (e.world.parts[part].part == name) sums.merge(e.survey.part[part]);
  return sums;
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
    const auto with = mean_luminance(e.survey.subject, mix_of(e.world)),
               without = mean_luminance(e.without_barrel->subject, mix_of(e.world));
    std::optional<Estimate> shade;
    // Two surveys of their own: their errors add in squares.
    if (with && without && with->value > 5 * with->se && without->value > 5 * without->se)
      shade = Estimate{std::log2(with->value / without->value),
                       std::hypot(with->se / with->value, without->se / without->value) / std::numbers::ln2};
    into.push_back(measured(Under::fill, "lens.barrel_shade_stops", shade, "stops",
                            "the subject is not seen, or too dark to tell from black"));
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
  if (depths.empty()) {
    into.push_back(nothing(Under::depth, "depth.needed_mm", "mm", "the subject is not seen"));
  } else {
    std::vector<double> values(depths.begin(), depths.end());
    into.push_back(exact(Under::depth, "depth.needed_mm",
                         1e3 * (percentile(values, 99) - percentile(values, 1)), "mm",
                         "1 to 99 % of the visible subject along the axis; sampled, no error is given"));
  }
}

void add_exposure(const Evidence& e, Readings& into) {
  const World& world = e.world;
  const Camera& camera = world.scene.camera;
  const Development& development = e.exposure.development;
  const Duration shutter = development.shutter;
  std::string notes;
  for (const std::string& note : e.exposure.notes) notes += (notes.empty() ? "" : "; ") + note;
  into.push_back(exact(Under::exposure, "exposure.ev100", ev100({camera.f_number, shutter, development.iso}),
                       "EV", "of the settings"));
  const std::string how =
      fmt::format("{}{}", shutter.value() < 0.3 ? shutter_text(shutter.value()) + ", " : std::string(),
                  e.exposure.shutter_se_s ? "metered on " + e.exposure.metered_name : "as set");
  into.push_back({Under::exposure, "exposure.shutter_s", shutter.value(), "s", e.exposure.shutter_se_s,
                  notes.empty() ? how : notes});
  into.push_back(exact(Under::exposure, "exposure.iso", development.iso, ""));

  const Mix mix = mix_of(world);
  const double per_luminance = exposure_per_luminance(world, shutter).value();
  const double raw_clip = raw_clip_exposure(development.iso).value();
  const double display_white = mid_grey_exposure(development.iso).value() / .18;
  std::size_t raw = 0, display = 0;
  const std::size_t cells = e.survey.cell.front().size();
  for (std::size_t cell = 0; cell < cells; ++cell) {
    glm::dvec3 luminance(0);
    for (std::size_t g = 0; g < mix.size(); ++g) luminance += mix[g] * e.survey.cell[g][cell];
    const Length right =
        world.camera.width *
        ((static_cast<double>(cell % static_cast<std::size_t>(e.survey.width)) + .5) / e.survey.width - .5);
    const Length up =
        world.camera.height *
        ((static_cast<double>(cell / static_cast<std::size_t>(e.survey.width)) + .5) / e.survey.height - .5);
    const double weight = chief_ray_weight(world.camera.lens, world.camera.magnification,
                                           Length(std::hypot(right.value(), up.value())));
    const glm::dvec3 exposure = luminance * (per_luminance * weight);
    const glm::dvec3 balanced = glm::min(exposure, glm::dvec3(raw_clip)) * development.gains;
    raw += std::max({exposure.x, exposure.y, exposure.z}) > raw_clip;
    display += std::max({balanced.x, balanced.y, balanced.z}) > display_white;
  }
  const std::string cell_note = "any channel, of cells of 1/64 frame height";
  into.push_back(exact(Under::exposure, "exposure.raw_clip_pct",
                       100.0 * static_cast<double>(raw) / static_cast<double>(cells), "%", cell_note));
  into.push_back(exact(Under::exposure, "exposure.display_clip_pct",
                       100.0 * static_cast<double>(display) / static_cast<double>(cells), "%", cell_note));
  const Duration limit = hand_held_limit(world.scene.exposure.hand_rule, world.camera.lens.focal_length,
                                         world.camera.magnification, Stops(camera.stabiliser_stops));
  into.push_back(exact(Under::exposure, "exposure.hand_limit_s", limit.value(), "s",
                       shutter > limit ? "the shutter is longer: use a support"
                                       : "common practice; camera shift counts more near life size"));
  if (e.exposure.metered)
    into.push_back({Under::exposure, "light.ev100",
                    ev100_from_luminance(Luminance(e.exposure.metered->value)), "EV",
                    e.exposure.metered->se / e.exposure.metered->value / std::numbers::ln2,
                    "of the metered " + e.exposure.metered_name});
  else
    into.push_back(
        nothing(Under::exposure, "light.ev100", "EV", "nothing of the metered part is both seen and lit"));
}

void add_light(const Evidence& e, Readings& into) {
  into.push_back(exact(Under::light_of_the_day, "sun.elevation_deg", e.world.sun_elevation.value() * degrees,
                       "deg", "true, without refraction"));
  into.push_back(exact(Under::light_of_the_day, "sun.apparent_elevation_deg",
                       e.world.sun_apparent_elevation.value() * degrees, "deg"));
  into.push_back(exact(Under::light_of_the_day, "sun.azimuth_deg", e.world.sun_azimuth.value() * degrees,
                       "deg", "from north, clockwise"));
  const int sky = e.world.group_index("sky");
  into.push_back(exact(Under::light_of_the_day, "sky.horizontal_lx",
                       sky < 0 ? 0 : e.world.groups[static_cast<std::size_t>(sky)].power, "lx",
                       "above the leaves"));
}

void add_meters(const Evidence& e, Readings& into) {
  const Mix mix = mix_of(e.world);
  for (const MeterSums& meter : e.meters) {
    const bool incident = meter.meter.kind == Meter::Kind::incident;
    const std::string base = "meter." + meter.meter.name + ".", unit = incident ? "lx" : "cd/m2";
    into.push_back(measured(Under::light_of_the_day, base + (incident ? "illuminance_lx" : "luminance_cd_m2"),
                            mean_luminance(meter.sums, mix), unit, too_dark));
    if (!incident) continue;
    for (std::size_t g = 0; g < e.world.groups.size(); ++g) {
      Mix only(mix.size(), glm::dvec3(0));
      only[g] = mix[g];
      into.push_back(measured(Under::light_of_the_day, base + e.world.groups[g].name + "_lx",
                              mean_luminance(meter.sums, only), unit, too_dark));
    }
  }
}

void add_parts(const Evidence& e, Readings& into) {
  const Mix mix = mix_of(e.world);
  for (const Address& address : reported_addresses(e.world)) {
    const RegionSums sums = region_of(e.world, e.survey, address);
    const std::string base = "part." + address.text() + ".";
    into.push_back(measured(Under::take_away, base + "luminance_cd_m2", mean_luminance(sums, mix), "cd/m2",
                            why_missing(sums)));
    const auto image = mean_luminance(sums, mix, true);
    std::optional<Estimate> stops;
    if (image && image->value > 5 * image->se)
      stops = Estimate{
          stops_above_mid_grey(
              LuminousExposure(image->value *
                               exposure_per_luminance(e.world, e.exposure.development.shutter).value()),
              e.exposure.development.iso)
              .value(),
          image->se / image->value / std::numbers::ln2};
    into.push_back(measured(Under::take_away, base + "stops", stops, "stops", why_missing(sums)));
  }
}

void add_rises(const Evidence& e, Readings& into) {
  for (std::size_t g = 0; g < e.world.groups.size(); ++g) {
    if (e.world.groups[g].kind != LightGroup::Kind::lamp) continue;
    const std::string& source = e.world.groups[g].name;
    const std::string without_it = "without this light too dark to tell from black";
    const Mix with = mix_with(e.world, g, true), without = mix_with(e.world, g, false);
    for (const Address& address : reported_addresses(e.world)) {
      const RegionSums sums = region_of(e.world, e.survey, address);
      into.push_back(measured(Under::fill, fmt::format("rise.{}.{}_stops", source, address.text()),
                              stops_between(sums, with, sums, without), "stops",
                              sums.empty() ? "not seen in the picture" : without_it));
    }
    into.push_back(measured(Under::fill, fmt::format("spill.{}_stops", source),
                            stops_between(e.survey.backdrop, with, e.survey.backdrop, without), "stops",
                            e.survey.backdrop.empty() ? "no backdrop is seen" : without_it));
  }
}

void add_contrasts(const Evidence& e, Readings& into) {
  const Mix mix = mix_of(e.world);
  const RegionSums cap = subject_parts_named(e, "cap"), gills = subject_parts_named(e, "gills"),
                   stem = subject_parts_named(e, "stem");
  const auto contrast = [&](const char* name, const RegionSums& a, const std::string& a_name,
                            const RegionSums& b, const std::string& b_name) {
    into.push_back(measured(Under::headline, name, stops_between(a, mix, b, mix), "stops",
                            why_missing(a, a_name, b, b_name)));
  };
  contrast("contrast.subject_backdrop_stops", e.survey.subject, "subject", e.survey.backdrop, "backdrop");
  contrast("contrast.cap_gills_stops", cap, "part cap of the subject", gills, "part gills of the subject");
  contrast("contrast.cap_stem_stops", cap, "part cap of the subject", stem, "part stem of the subject");
  std::vector<double> cells(e.survey.cell.front().size());
  for (std::size_t i = 0; i < cells.size(); ++i)
    for (std::size_t g = 0; g < mix.size(); ++g) cells[i] += luminance_y(mix[g] * e.survey.cell[g][i]);
  const double low = percentile(cells, 1), high = percentile(cells, 99);
  into.push_back(low > 0 ? exact(Under::exposure, "contrast.range_stops", std::log2(high / low), "stops",
                                 "1 to 99 % of cells of 1/64 frame height; sampled, no error is given")
                         : nothing(Under::exposure, "contrast.range_stops", "stops",
                                   "the darkest hundredth of the picture is black"));
}

}  // namespace undercap
