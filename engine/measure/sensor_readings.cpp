// What the sensor makes of the exposure: noise, what clips and what drowns; and what movement does to it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "engine/colour/spaces.h"
#include "engine/measure/reading_groups.h"
#include "engine/measure/reading_rows.h"
#include "engine/optics/exposure.h"
#include "engine/optics/motion.h"

namespace undercap {
namespace {

// A picture that fills a screen: formats and pixel counts compare only in pictures of one size.
constexpr double output_pixels = 2e6;
// Under this grain hides what is there. Common practice, no source.
constexpr double least_snr = 4;

SensorModel output_pixel(const World& world) {
  const SensorModel own = sensor_of(world);
  const double sensor_pixels = (world.camera.width / own.pitch) * (world.camera.height / own.pitch);
  return of_output_pixel(own, sensor_pixels / output_pixels);
}

double signal_over_noise(const SensorModel& pixel, LuminousExposure exposure, Duration shutter) {
  return signal_to_noise(pixel, photo_electrons(pixel, exposure), shutter);
}

// The exposures on the sensor of the survey's cells, and shares of them.
class Cells {
 public:
  explicit Cells(const Evidence& evidence)
      : e_(evidence), share_of_axis_(axis_shares(e_.world, e_.survey.width, e_.survey.height)) {}

  // Per cent of the picture's cells, or of the subject's, that 'counts' picks by their exposure.
  std::optional<Figure> share_pct(bool of_subject, const std::function<bool(const glm::dvec3&)>& counts) {
    return figure_of([&](const Use& use) -> std::optional<double> {
      const std::vector<glm::dvec3>& exposures = of(use);
      double all = 0, picked = 0;
      for (std::size_t cell = 0; cell < exposures.size(); ++cell) {
        if (of_subject && !e_.survey.is_subject(cell)) continue;
        ++all;
        picked += counts(exposures[cell]);
      }
      return all > 0 ? std::optional(100 * picked / all) : std::nullopt;
    });
  }

 private:
  // Linear RGB, lx s; each choice of samples is worked out once for all figures.
  const std::vector<glm::dvec3>& of(const Use& use) {
    const auto [place, fresh] = exposures_.try_emplace(use);
    std::vector<glm::dvec3>& cells = place->second;
    if (!fresh) return cells;
    const Duration shutter = e_.exposure.development.shutter;
    const double per_luminance = exposure_per_luminance(e_.world, shutter).value();
    cells = cell_luminance(e_.survey, mix_over(e_.world, shutter), use);
    for (std::size_t cell = 0; cell < cells.size(); ++cell)
      cells[cell] *= per_luminance * share_of_axis_[cell];
    return cells;
  }

  const Evidence& e_;
  std::vector<double> share_of_axis_;
  std::map<Use, std::vector<glm::dvec3>> exposures_;
};

double brightest(const glm::dvec3& exposure) { return std::max({exposure.x, exposure.y, exposure.z}); }

void add_shares(const Evidence& e, const SensorModel& pixel, Readings& into) {
  const Development& how = e.exposure.development;
  Cells cells(e);
  const double raw_clip = raw_clip_exposure(how.iso).value(), grey = mid_grey_exposure(how.iso).value(),
               white = grey / .18;
  const auto share = [&](const char* name, bool of_subject, const std::string& note, const auto& counts) {
    into.push_back(measured(Under::exposure, name, cells.share_pct(of_subject, counts), "%",
                            of_subject ? "no cell is mostly subject" : std::string(),
                            fmt::format("{}; of the {}cells of 1/64 frame height, at this shutter", note,
                                        of_subject ? "subject's " : "")));
  };
  const auto clips = [&](const glm::dvec3& x) { return brightest(x) > raw_clip; };
  const auto display_clips = [&](const glm::dvec3& x) {
    return brightest(glm::min(x, glm::dvec3(raw_clip)) * how.gains) > white;
  };
  const auto drowns = [&](const glm::dvec3& x) {
    const double y = luminance_y(x);
    return y < grey * std::exp2(darkest_stop) ||
           signal_over_noise(pixel, LuminousExposure(y), how.shutter) < least_snr;
  };
  const std::string drown_note = fmt::format(
      "darker than {} stops under mid-grey, or less than {:g} times its noise", -darkest_stop, least_snr);
  share("exposure.raw_clip_pct", false, "a channel above the raw clip", clips);
  share("exposure.display_clip_pct", false, "a channel above the display's white", display_clips);
  share("exposure.drown_pct", false, drown_note, drowns);
  share("exposure.subject_raw_clip_pct", true, "a channel above the raw clip", clips);
  share("exposure.subject_drown_pct", true, drown_note, drowns);
}

}  // namespace

void add_sensor(const Evidence& e, Readings& into) {
  const World& world = e.world;
  const Development& how = e.exposure.development;
  const SensorModel own = sensor_of(world), pixel = output_pixel(world);
  const LuminousExposure grey = mid_grey_exposure(how.iso);
  into.push_back(
      exact(Under::exposure, "exposure.snr_grey", signal_over_noise(pixel, grey, how.shutter), "",
            "signal over noise of mid-grey, a pixel of a 2-megapixel picture, so that formats compare"));
  into.push_back(exact(Under::exposure, "exposure.snr_grey_pixel", signal_over_noise(own, grey, how.shutter),
                       "",
                       fmt::format("the same, a pixel of the sensor: {:.2f} um, {:.0f} electrons",
                                   own.pitch / 1_um, photo_electrons(own, grey))));
  into.push_back(exact(Under::exposure, "exposure.dynamic_range_ev", dynamic_range(own, how.iso).value(),
                       "EV", "raw clip over read noise, a pixel of the sensor"));
  add_shares(e, pixel, into);
  // The darkest part that people look into: the shade under the cap.
  const RegionSums gills = subject_parts_named(e, "gills");
  if (gills.empty()) return;
  const Mix mix = mix_over(world, how.shutter);
  const std::string why = why_missing(gills, mix, "part gills of the subject");
  const auto image = mean_luminance(gills, mix, true);
  if (!why.empty() || !image) {
    into.push_back(nothing(Under::exposure, "exposure.snr_gills", "", why));
    return;
  }
  const LuminousExposure exposure(image->value * exposure_per_luminance(world, how.shutter).value());
  into.push_back(exact(Under::exposure, "exposure.snr_gills", signal_over_noise(pixel, exposure, how.shutter),
                       "", "signal over noise under the cap, a pixel of a 2-megapixel picture"));
}

void add_movement(const Evidence& e, Readings& into) {
  const World& world = e.world;
  const double m = world.camera.magnification;
  const Length on_sensor = m * 1_mm, circle = circle_of(world), pitch = pitch_of(world);
  into.push_back(exact(Under::exposure, "exposure.blur_of_1mm_px", on_sensor / pitch, "px",
                       fmt::format("1 mm of movement across the view, by wind, ground or hand, while the "
                                   "shutter is open: {:.0f} um on the sensor, {:.2g} circles of confusion",
                                   on_sensor / 1_um, on_sensor / circle)));
  into.push_back(
      exact(Under::exposure, "exposure.still_limit_s", longest_shutter(m, 1e-3, circle).value(), "s",
            "the longest shutter for what moves 1 mm a second across the view, to stay within the circle"));
  for (const Prop& prop : world.scene.props)
    if (prop.visible && prop.sway_mm > 0)
      into.push_back(exact(
          Under::exposure, fmt::format("exposure.sway.{}_px", prop.name),
          sway_blur(m, {prop.sway_mm * 1_mm, prop.sway_hz}, e.exposure.development.shutter) / pitch, "px",
          fmt::format("the widest path of its top on the sensor at this shutter, as it sways {:g} mm "
                      "to either side at {:g} Hz across the view, in the plane in focus",
                      prop.sway_mm, prop.sway_hz)));
}

}  // namespace undercap
