// How to get the level that a rise takes, with the torch that one has: less power, further off, through a
// diffuser, for part of the exposure, off a card.
#pragma once

#include <optional>

#include "engine/measure/placement.h"
#include "engine/measure/sides.h"

namespace undercap {

struct LevelWays {
  double power_pct = 0;  // there, bare, for the whole exposure
  std::optional<double>
      least_distance_m;  // from the target's middle at the lamp's least power, on the same line
  std::optional<double> full_distance_m;   // at full power
  std::optional<double> diffused_pct;      // there, through a sheet that makes it Lambertian
  std::optional<double> on_s, least_on_s;  // of the exposure, at full and at least power; steady lamps alone
  std::optional<double> bounced_pct;       // with all its light on a white card that stands there
};

// A5, as one carries; common practice, no source.
inline constexpr double bounce_card_m[2] = {0.210, 0.148}, bounce_reflectance = 0.85;

struct LevelAsk {
  const Source& source;  // at full power
  double full_peak = 0;  // cd at the peak times the lamp's share of the exposure
  double least_power_pct = 10;
  Duration shutter;
  double film_over_map = 1;  // power by the rendered film over that of the map: what the map leaves out
};

// By the map, brought to what the film says at that place. Distances up to 3 m; none where something comes in
// between first.
LevelWays level_ways(const Placement& placement, Tracer& tracer, const World& world, const PlaceFields& place,
                     const LevelAsk& ask);

// A place of the map after it was rendered, lit from there.
struct OfferedPlace {
  PlaceFields fields{};                    // by the map
  double power_pct = 0, power_se_pct = 0;  // for the rise, from the unit film of the lamp there
  Estimate rise{};                         // rendered afresh at that power, stops
  double map_error_stops = 0;              // the rise that the map's power gives, less what was wished
  double backdrop_stops = 0, foreground_stops = 0;  // spill, rendered, at that power
  std::optional<Sides> sides{};                     // of the subject, at that power
  LevelWays ways{};
};

}  // namespace undercap
