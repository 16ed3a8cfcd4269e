#include "engine/measure/lamp_film.h"

#include <cmath>

namespace undercap {

LampFilm::LampFilm(const World& world, const Survey& survey, const std::vector<std::uint32_t>& target,
                   std::size_t group, Duration shutter)
    : survey_(survey),
      group_(group),
      target_(world.groups.size()),
      without_(mix_with(world, shutter, group, false)),
      unit_(world.groups.size(), glm::dvec3(0)) {
  for (const std::uint32_t part : target) target_.merge(survey.part[part]);
  unit_[group] = world.groups[group].colour;
}

LampFilm::Peak LampFilm::peak_for(double rise_stops) const {
  const auto ratio = stops_between(target_, without_, target_, unit_);
  if (!ratio) return {};
  const double peak = (std::exp2(rise_stops) - 1) * std::exp2(ratio->value);
  return {peak, peak * ratio->se * std::log(2.0)};
}

std::optional<Estimate> LampFilm::rise(double peak) const { return of(target_, peak); }

Mix LampFilm::with(double peak) const {
  Mix mix = without_;
  mix[group_] = unit_[group_] * peak;
  return mix;
}

std::optional<Estimate> LampFilm::of(const RegionSums& region, double peak) const {
  return stops_between(region, with(peak), region, without_);
}

double LampFilm::plain(const RegionSums& region, double peak) const {
  const auto stops = region.empty() ? std::nullopt : of(region, peak);
  return stops ? stops->value : 0;
}

}  // namespace undercap
