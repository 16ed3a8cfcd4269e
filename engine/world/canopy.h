// Leaves overhead, as one wood of a seed: which way is a gap and which a leaf.
//
// A level layer at canopy.height_m, laid out by a pattern of patches that have a chance each, even in 0..1; a
// direction is open where its patch's chance is below the gap fraction of that direction. So every direction
// is open with exactly that fraction over all seeds, and sky and sun meet the same gaps. Below 20 degrees one
// looks into the wood and not through a layer: there the sky meets an upright ring of stems, and of glints
// between them, under the same law; the sun's gaps stay those of the layer. With canopy.gap_deg the layer is
// one round hole over the origin and nothing else.
#pragma once

#include <optional>

#include "engine/light/canopy.h"
#include "engine/world/world.h"

namespace undercap {

class LeafLayer {
 public:
  // None when the scene has no leaves.
  static std::optional<LeafLayer> of(const Canopy& canopy);

  // Seen from the origin. Direction upward.
  bool open(const glm::dvec3& direction) const;
  // What leaves and stems pass on of the sky behind them where it is not open, so that gaps and leaves
  // together give the canopy's transmission: of its elevation on average over all seeds.
  glm::dvec3 passed_on(const glm::dvec3& direction) const;
  // Of level ground's illuminance by the open sun, what the leaves scatter down.
  glm::dvec3 scattered(double sine_elevation) const;
  // The cells that the sun's rays towards the set meet, for a sun in this direction.
  GapLayer gaps(const glm::dvec3& sun) const;
  bool one_hole() const { return canopy_.gap_deg > 0; }

 private:
  explicit LeafLayer(const Canopy& canopy) : canopy_(canopy) {}
  bool open_at(const glm::dvec2& place_m, double sine_elevation) const;
  double gap_share(double sine_elevation) const;
  Canopy canopy_;
};

}  // namespace undercap
