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

LampFilm::Peak LampFilm::peak_for_sides(const Survey& white, double stops, double most) const {
  const auto apart = [&](double peak) {
    const auto found = sides(white, peak);
    return found && found->stops ? found->stops->estimate.value : -1e9;
  };
  constexpr int steps = 60, halvings = 30;
  constexpr double least_share = 1e-5;  // of the most
  double low = 0;
  for (int i = 0; i <= steps; ++i) {
    double high = most * std::pow(least_share, 1 - i / double{steps});
    if (apart(high) < stops) {
      low = high;
      continue;
    }
    for (int k = 0; k < halvings; ++k) {
      const double middle = (low + high) / 2;
      (apart(middle) < stops ? low : high) = middle;
    }
    const double slope = (apart(high * 1.05) - apart(high / 1.05)) / (high * 0.1);
    return {high, slope > 0 ? sides(white, high)->stops->estimate.se / slope : 0};
  }
  return {};
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
