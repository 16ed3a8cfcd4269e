#include "engine/measure/exposing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/core/errors.h"
#include "engine/optics/exposure.h"

namespace undercap {
namespace {

glm::dvec3 white_of(const World& world, const Survey& white) {
  if (const auto k = world.scene.exposure.white_balance_k)
    return rgb_with_unit_luminance(planckian_xy(ColourTemperature(*k)));
  const Mix mix = mix_of(world);
  const glm::dvec3 light = mean_colour(white.subject.empty() ? white.whole : white.subject, mix);
  return luminance_y(light) > 0 ? light : glm::dvec3(1);
}

bool no_light_is_on(const World& world) {
  // The group of the things that glow is there even when nothing glows.
  const bool glows = std::any_of(world.materials.begin(), world.materials.end(),
                                 [](const Material& m) { return m.emission_cd_m2 > 0; });
  return std::all_of(world.groups.begin(), world.groups.end(), [&](const LightGroup& group) {
    return group.weight() == glm::dvec3(0) || (group.kind == LightGroup::Kind::glow && !glows);
  });
}

}  // namespace

std::string shutter_text(double seconds) {
  if (seconds > 0 && seconds < 0.3) return fmt::format("1/{:.{}f} s", 1 / seconds, seconds > 0.1 ? 1 : 0);
  return fmt::format("{:.3g} s", seconds);
}

RegionSums region_of(const World& world, const Survey& survey, const Address& address) {
  RegionSums sums(world.groups.size());
  for (const std::uint32_t part : parts_of(world, address)) sums.merge(survey.part[part]);
  return sums;
}

const Meter* exposing_spot(const Scene& scene) {
  const auto& on = scene.exposure.meter_on;
  if (!on || on->of != Address::Of::meter) return nullptr;
  for (const Meter& meter : scene.meters)
    if (meter.name == on->name && meter.kind == Meter::Kind::spot) return &meter;
  return nullptr;
}

ExposureChoice choose_exposure(const World& world, const Survey& survey, const Survey& white,
                               const RegionSums* spot) {
  const Exposure& exposure = world.scene.exposure;
  ExposureChoice choice;
  choice.development.iso = exposure.iso;
  choice.development.tone = exposure.tone;
  choice.development.gains = white_balance_gains(white_of(world, white));
  choice.metered_name = exposure.meter_on ? exposure.meter_on->text() : "picture";
  UNDERCAP_CHECK((spot != nullptr) == (exposing_spot(world.scene) != nullptr),
                 "a spot that is exposed on has been measured");
  const RegionSums region = spot                ? *spot
                            : exposure.meter_on ? region_of(world, survey, *exposure.meter_on)
                                                : survey.whole;
  choice.metered = mean_luminance(region, mix_of(world), true);
  if (choice.metered && choice.metered->value <= 0) choice.metered.reset();
  if (exposure.shutter_s) {
    choice.development.shutter = Duration(*exposure.shutter_s);
    return choice;
  }
  if (!choice.metered) {
    choice.development.shutter = 1_s;
    choice.notes.push_back(no_light_is_on(world)
                               ? "exposure.shutter_s: no light is on, so the picture is black and the meter "
                                 "has no say; 1 s is used"
                               : fmt::format("exposure.shutter_s: nothing of '{}' is both seen and lit, so "
                                             "the meter has no say; 1 s is used",
                                             choice.metered_name));
    return choice;
  }
  const LuminousExposure wanted = mid_grey_exposure(exposure.iso) * std::exp2(exposure.compensation_stops);
  const Illuminance image = image_illuminance(Luminance(choice.metered->value), world.camera.working_f_number,
                                              world.scene.camera.transmission);
  choice.development.shutter = shutter_for_exposure(wanted, image);
  choice.shutter_se_s = choice.development.shutter.value() * choice.metered->se / choice.metered->value;
  if (!choice.metered->above_noise() || choice.metered->freedom < least_freedom)
    choice.notes.push_back(fmt::format(
        "exposure.shutter_s: '{}' is too dark or too seldom seen to meter well: a finer --quality takes more "
        "samples",
        choice.metered_name));
  return choice;
}

}  // namespace undercap
