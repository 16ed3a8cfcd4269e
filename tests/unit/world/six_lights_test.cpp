// The bundled scene of six lights says that the sun lies on its cluster in three of them; which seed of the
// leaves does that rests on the pattern of the leaves.
#include <gtest/gtest.h>

#include <cmath>
#include <glm/trigonometric.hpp>

#include "engine/light/sun.h"
#include "engine/scene/load.h"
#include "engine/world/canopy.h"

namespace undercap {
namespace {

// The share of the sun that reaches a place, from the layer's definition: the cell that the ray meets.
double open_above(const GapLayer& gaps, const glm::dvec3& sun, const glm::dvec3& place_m) {
  const double along = (gaps.height_m - place_m.z) / sun.z;
  const glm::dvec2 at =
      (glm::dvec2(place_m.x + sun.x * along, place_m.y + sun.y * along) - gaps.corner_m) / gaps.cell_m;
  const auto wrapped = [&](double cell) {
    const double side = gaps.side;
    return static_cast<std::size_t>(cell - side * std::floor(cell / side));
  };
  return gaps
      .open[wrapped(std::floor(at.y)) * static_cast<std::size_t>(gaps.side) + wrapped(std::floor(at.x))];
}

TEST(SixLights, TheSunLiesOnTheCluster) {
  for (const char* variant : {"hazy low sun", "sunfleck", "backlit glow"}) {
    SceneFile file = SceneFile::open(UNDERCAP_SOURCE_DIR "/scenes/six_lights.toml");
    file.use_variant(variant);
    const Scene scene = file.scene();
    ASSERT_TRUE(scene.sun.on && scene.sun.azimuth_deg && scene.sun.elevation_deg) << variant;
    const glm::dvec3 sun = direction_towards(glm::radians(*scene.sun.azimuth_deg) * 1_rad,
                                             glm::radians(*scene.sun.elevation_deg) * 1_rad);
    const auto leaves = LeafLayer::of(scene.canopy);
    ASSERT_TRUE(leaves.has_value()) << variant;
    const GapLayer gaps = leaves->gaps(sun);
    // The caps stand within 6 cm of the middle, 13 to 19 cm above the ground.
    for (double x = -0.06; x < 0.061; x += 0.02)
      for (double z = 0.13; z < 0.191; z += 0.02)
        EXPECT_GT(open_above(gaps, sun, {x, -0.03, z}), 0.9) << variant << " at " << x << ", " << z;
  }
}

}  // namespace
}  // namespace undercap
