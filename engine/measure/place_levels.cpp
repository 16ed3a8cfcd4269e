#include "engine/measure/place_levels.h"

#include <cmath>
#include <glm/geometric.hpp>

#include "engine/world/mix.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

constexpr unsigned samples = 4;

// Where, further off on the line from the target, so many per cent give the rise: powers grow with distance.
std::optional<double> distance_for(const Placement& placement, Tracer& tracer, const ProbeLamp& lamp,
                                   const PlaceFields& place, const LevelAsk& ask, double wanted_pct) {
  constexpr double farthest_m = 3;
  constexpr int steps = 40;
  double before_m = place.distance_m, before_pct = place.power_pct * ask.film_over_map;
  if (before_pct >= wanted_pct) return std::nullopt;
  const glm::dvec3 outward = glm::normalize(place.position_m - placement.target_middle());
  const double ratio = std::pow(farthest_m / place.distance_m, 1.0 / steps);
  for (int i = 1; i <= steps && ratio > 1; ++i) {
    const double distance = place.distance_m * std::pow(ratio, i);
    const PlaceFields there =
        placement.at(tracer, lamp, ask.full_peak,
                     {placement.target_middle() + distance * outward, place.direction}, samples);
    if (there.lit_share < 0.5 * place.lit_share) return std::nullopt;  // something stands between
    const double pct = there.power_pct * ask.film_over_map;
    if (pct >= wanted_pct)
      return before_m *
             std::pow(distance / before_m, std::log(wanted_pct / before_pct) / std::log(pct / before_pct));
    before_m = distance;
    before_pct = pct;
  }
  return std::nullopt;
}

}  // namespace

LevelWays level_ways(const Placement& placement, Tracer& tracer, const World& world, const PlaceFields& place,
                     const LevelAsk& ask) {
  const CarriedLamp bare = carried_lamp(world.scene, ask.source);
  const ProbeLamp lamp = probe_lamp(bare, ask.source);
  LevelWays ways;
  ways.power_pct = place.power_pct * ask.film_over_map;
  if (ways.power_pct < ask.least_power_pct)
    ways.least_distance_m = distance_for(placement, tracer, lamp, place, ask, ask.least_power_pct);
  ways.full_distance_m = distance_for(placement, tracer, lamp, place, ask, 100);
  const auto percent_with = [&](const ProbeLamp& other, double full_peak) {
    return placement.at(tracer, other, full_peak, {place.position_m, place.direction}, samples).power_pct *
           ask.film_over_map;
  };
  const double share = ask.full_peak / bare.group.power;
  if (ask.source.diffuser < 1) {
    Source diffused = ask.source;
    diffused.diffuser = 1;
    const CarriedLamp through = carried_lamp(world.scene, diffused);
    ways.diffused_pct = percent_with(probe_lamp(through, diffused), through.group.power * share);
  }
  if (ask.source.kind != Source::Kind::flash && !ask.source.on_s) {
    const double seconds = ask.shutter.value() * ways.power_pct / 100;
    if (ways.power_pct <= 100) ways.on_s = seconds;
    if (ways.power_pct <= ask.least_power_pct) ways.least_on_s = seconds * 100 / ask.least_power_pct;
  }
  // All the flux on a white card, which sends it on as a Lambertian panel of its size: peak = rho Phi / pi.
  const Beam beam = beam_of(lamp.lamp.planes, lamp.lamp.beam), even = cosine_beam(Angle(2 * std::acos(0.5)));
  ProbeLamp card{.lamp = {.rectangle = true,
                          .half_width_m = bounce_card_m[0] / 2,
                          .half_height_m = bounce_card_m[1] / 2},
                 .colour = lamp.colour};
  card.lamp.planes = even.planes;
  card.lamp.beam = even.node;
  ways.bounced_pct = percent_with(
      card, bounce_reflectance * beam.flux_per_candela_lm / even.flux_per_candela_lm * ask.full_peak);
  return ways;
}

}  // namespace undercap
