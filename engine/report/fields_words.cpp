#include "engine/report/fields_words.h"

#include <fmt/format.h>

#include <cmath>

namespace undercap {

std::string fields_words(const World& world, const LightQuestion& asked, const PlaceFields& place) {
  const std::string where = holding_words(world, asked, place), against = limits_words(place.limits);
  if ((place.limits & impossible) != 0) return fmt::format("{}. No lamp there: {}.", where, against);
  if (!std::isfinite(place.power_pct))
    return fmt::format("{}. No light from there. Against it: {}.", where, against);
  const std::string edges =
      place.penumbra_mm ? fmt::format("shadow edges {:.1f} mm", *place.penumbra_mm) : "no shadow on it";
  return fmt::format(
      "{}. {} of its power for {:+.1f} stop; spill {:+.2f} behind, {:+.2f} before; uneven by {:.1f} stop; "
      "{}.{}",
      where, power_words(asked, place.power_pct), asked.wish.rise_stops, place.backdrop_stops,
      place.foreground_stops, place.evenness_stops, edges,
      against.empty() ? std::string() : fmt::format(" Against it: {}.", against));
}

}  // namespace undercap
