#include "engine/world/level_light.h"

#include <algorithm>
#include <glm/trigonometric.hpp>

#include "engine/colour/spaces.h"
#include "engine/light/canopy.h"
#include "engine/light/sun.h"
#include "engine/world/assemble.h"
#include "engine/world/canopy.h"

namespace undercap {
namespace {

// The share of the sun's rays that the leaves let through: a mean over all woods of the kind, or what one
// hole does over the set.
double open_share(const World& world, const std::optional<LeafLayer>& leaves) {
  const Canopy& canopy = world.scene.canopy;
  if (!leaves) return 1;
  return leaves->one_hole() ? (leaves->open(world.sun_direction) ? 1 : 0)
                            : gap_fraction(canopy.leaf_area_index, canopy.clumping, world.sun_direction.z);
}

}  // namespace

LevelLight level_light(const World& world) {
  LevelLight light;
  const auto leaves = LeafLayer::of(world.scene.canopy);
  const double sine = std::max(0.0, world.sun_direction.z);
  for (const LightGroup& group : world.groups) {
    if (group.kind == LightGroup::Kind::sky) {
      light.open += luminance_y(group.weight());
      light.below += world.sky_below_lx;
    } else if (group.kind == LightGroup::Kind::sun) {
      const double on_ground = luminance_y(group.weight()) * sine;
      light.open += on_ground;
      light.below += on_ground * open_share(world, leaves);
    } else if (group.kind == LightGroup::Kind::canopy && leaves) {
      light.below += luminance_y(group.weight() * leaves->scattered(sine));
    }
  }
  return light;
}

std::optional<glm::dvec2> fleck_drift_m_per_min(const World& world) {
  const Scene& scene = world.scene;
  if (scene.sun.elevation_deg) return std::nullopt;
  return fleck_drift_m_per_min(
      julian_date_of(scene.place.time), glm::radians(scene.place.latitude_deg) * 1_rad,
      glm::radians(scene.place.longitude_deg) * 1_rad, Length(scene.canopy.height_m));
}

}  // namespace undercap
