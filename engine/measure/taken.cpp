#include "engine/measure/taken.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/measure/reading_rows.h"
#include "engine/measure/reading_text.h"
#include "engine/optics/exposure.h"
#include "engine/optics/lens.h"

namespace undercap {
namespace {

constexpr double metered_glass = .9;  // that meters count on; ISO 2720, from memory

double luminance_of(const RegionSums& sums, const Mix& mix) {
  const auto mean = mean_luminance(sums, mix, true);
  return mean ? mean->value : 0;
}

}  // namespace

std::optional<TakenLight> taken_light(const World& world, const Development& plan) {
  const Taken& taken = world.scene.taken;
  if (!taken.complete()) return std::nullopt;
  const CameraRig& rig = world.camera;
  const ExposureSettings used{*taken.f_number * world.scene.camera.converter, Duration(*taken.shutter_s),
                              *taken.iso};
  TakenLight light;
  light.card = grey_card_illuminance(used);
  const double extension = rig.working_f_number / rig.lens.f_number;
  light.close = light.card * (extension * extension * metered_glass / transmission_of(world.scene.camera));
  light.planned_card = grey_card_illuminance({rig.lens.f_number, plan.shutter, plan.iso});
  light.difference_stops = std::log2(light.card / light.planned_card);
  return light;
}

std::optional<double> day_factor(const TakenLight& taken, double day, double lamps, double lamps_taken) {
  if (day <= 0) return std::nullopt;
  const double factor = (std::exp2(taken.difference_stops) * (day + lamps) - lamps_taken) / day;
  return factor > 0 ? std::optional(factor) : std::nullopt;
}

MeteredLight metered_light(const World& world, const Survey& survey, Duration shutter) {
  const auto& address = world.scene.exposure.meter_on;
  const RegionSums sums =
      address && address->of == Address::Of::prop ? region_of(world, survey, *address) : survey.whole;
  Mix day = mix_over(world, shutter), lamps = day;
  for (std::size_t g = 0; g < world.groups.size(); ++g) {
    const LightGroup::Kind kind = world.groups[g].kind;
    const bool is_lamp = kind == LightGroup::Kind::lamp || kind == LightGroup::Kind::glow;
    (is_lamp ? day : lamps)[g] = glm::dvec3(0);
  }
  return {luminance_of(sums, day), luminance_of(sums, lamps)};
}

void add_taken(const Evidence& e, Readings& into) {
  const auto light = taken_light(e.world, e.exposure.development);
  if (!light) return;
  into.push_back(exact(Under::take_away, "taken.light_lx", light->card.value(), "lx",
                       fmt::format("off a grey card, from what was used; {} lx with closeness and filters "
                                   "counted",
                                   reading_number(light->close.value()))));
  Reading difference = exact(Under::take_away, "taken.difference_stops", light->difference_stops, "stops",
                             "of the light against the plan, day and lamps together, if the picture came out "
                             "as bright as planned; minus: darker");
  if (e.exposure.shutter_se_s)
    difference.se = *e.exposure.shutter_se_s / e.exposure.development.shutter.value() / std::numbers::ln2;
  into.push_back(std::move(difference));
}

}  // namespace undercap
