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

glm::dvec3 white_of(const World& world, const RegionSums& light, Duration shutter) {
  if (const auto k = world.scene.exposure.white_balance_k)
    return rgb_with_unit_luminance(planckian_xy(ColourTemperature(*k)));
  const glm::dvec3 colour = mean_colour(light, mix_over(world, shutter));
  return luminance_y(colour) > 0 ? colour : glm::dvec3(1);
}

// Why the meter has nothing to go by.
std::string why_unmetered(const World& world, const std::string& metered) {
  // The group of the things that glow is there even when nothing glows.
  const bool glows = std::any_of(world.materials.begin(), world.materials.end(),
                                 [](const Material& m) { return m.emission_cd_m2 > 0; });
  bool steady = false, flash = false;
  for (const LightGroup& group : world.groups) {
    const bool on = group.weight() != glm::dvec3(0) && group.on_s.value_or(1) > 0 &&
                    (group.kind != LightGroup::Kind::glow || glows);
    (group.flash ? flash : steady) |= on;
  }
  if (steady)
    return fmt::format("nothing of '{}' is both seen and lit, so the meter has no say; 1 s is used", metered);
  return flash ? "only a flash shines, which no meter waits for; 1 s is used"
               : "no light is on, so the picture is black and the meter has no say; 1 s is used";
}

// What each group gives to the metered region while it shines, cd/m2.
std::vector<double> luminance_by_group(const World& world, const RegionSums& region) {
  const Mix mix = mix_of(world);
  std::vector<double> luminance;
  for (std::size_t g = 0; g < mix.size(); ++g)
    luminance.push_back(mean_luminance(region, mix_of_one(mix, g), true)->value);
  return luminance;
}

// The exposure that the scene asks for, as luminance times time on the axis: cd s/m2.
double wanted_luminance_time(const World& world) {
  const Exposure& exposure = world.scene.exposure;
  return mid_grey_exposure(exposure.iso) * std::exp2(exposure.compensation_stops) /
         exposure_per_luminance(world, 1_s);
}

// Sets the shutter so that what is metered comes to the wanted exposure.
void meter(const World& world, const RegionSums& region, ExposureChoice& choice) {
  const std::vector<double> luminance = luminance_by_group(world, region);
  const double wanted = wanted_luminance_time(world);
  const auto shutter = shutter_reaching(world, luminance, wanted);
  Duration& set = choice.development.shutter;
  if (shutter) {
    set = *shutter;
  } else {
    // All that shines goes out.
    double last = 0;
    for (const LightGroup& group : world.groups)
      if (!group.flash && group.on) last = std::max(last, group.on_s.value_or(0));
    set = Duration(last);
  }
  choice.metered = mean_luminance(region, mix_metered(world, set), true);
  if (!shutter) {
    choice.notes.push_back(
        fmt::format("exposure.shutter_s: the lights go out {:.1f} stops before '{}' is exposed; the longest "
                    "on_s is used, {}",
                    std::log2(wanted / (choice.metered->value * set.value())), choice.metered_name,
                    shutter_text(set.value())));
    return;
  }
  // What the exposure is uncertain by, over what still shines when it ends.
  choice.shutter_se_s =
      set.value() * choice.metered->se / luminance_at(world, luminance, Duration(set.value() * (1 - 1e-12)));
  if (!choice.metered->above_noise() || choice.metered->freedom < least_freedom)
    choice.notes.push_back(fmt::format(
        "exposure.shutter_s: '{}' is too dark or too seldom seen to meter well: a finer --quality takes more "
        "samples",
        choice.metered_name));
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
  if (exposure.noise) choice.development.sensor = sensor_of(world);
  choice.development.diffraction = exposure.diffraction;
  choice.metered_name = exposure.meter_on ? exposure.meter_on->text() : "picture";
  UNDERCAP_CHECK((spot != nullptr) == (exposing_spot(world.scene) != nullptr),
                 "a spot that is exposed on has been measured");
  const RegionSums region = spot                ? *spot
                            : exposure.meter_on ? region_of(world, survey, *exposure.meter_on)
                                                : survey.whole;
  const auto lit = mean_luminance(region, mix_metered(world, 1_s), true);
  const bool any = lit && lit->value > 0;
  if (exposure.shutter_s) {
    choice.development.shutter = Duration(*exposure.shutter_s);
    if (any) choice.metered = mean_luminance(region, mix_metered(world, choice.development.shutter), true);
  } else if (any) {
    meter(world, region, choice);
  } else {
    choice.development.shutter = 1_s;
    choice.notes.push_back("exposure.shutter_s: " + why_unmetered(world, choice.metered_name));
  }
  if (choice.metered && choice.metered->value <= 0) choice.metered.reset();
  choice.subject_light = white.subject.empty() ? white.whole : white.subject;
  choice.white = white_of(world, choice.subject_light, choice.development.shutter);
  choice.development.gains = white_balance_gains(choice.white);
  return choice;
}

}  // namespace undercap
