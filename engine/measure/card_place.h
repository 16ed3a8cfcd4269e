// A place for a card, and what the card does there.
#pragma once

#include <optional>

#include "engine/measure/placement.h"

namespace undercap {

// What a card is for, by its material: it spreads light, mirrors it, or takes it away.
enum class CardUse { white, silver, black };

struct CardPlace {
  glm::dvec3 position_m{0}, normal{0, -1, 0};
  double edge_m = 0;     // its nearest edge to the target's middle
  double angle_deg = 0;  // of its middle, from the lens axis
  PlaceLimits limits = 0;
  std::optional<Estimate> target{}, backdrop{},
      foreground{};  // changes against no card, stops; none: black or not seen
  std::optional<double>
      turned_stops{};         // of a mirror: the target's change with the card turned by 20 degrees
  bool aim_critical = false;  // it then loses more than half of the light that it added
};

CardUse card_use(const Material& material);

}  // namespace undercap
