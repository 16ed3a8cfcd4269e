// What a scene becomes before anything is traced: centroids, the camera's distance, colours of the lights.
#include "engine/world/world.h"

#include <gtest/gtest.h>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/scene/load.h"

namespace undercap {
namespace {

World world_of(const std::string& text) {
  return build_world(
      SceneFile::from_text("undercap = 1\n[ground]\nkind = \"none\"\n" + text, "test.toml").scene());
}

// A unit square's centroid is its middle, however it is cut: half of it is one triangle, the other half
// three.
TEST(Centroid, IsThatOfTheArea) {
  World world;
  world.parts.resize(1);
  world.position = {{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}, {.25f, .75f, 0}};
  world.triangle = {{0, 1, 2, 0}, {0, 2, 4, 0}, {2, 3, 4, 0}, {3, 0, 4, 0}};
  const auto middle = centroid(world, {0});
  ASSERT_TRUE(middle);
  EXPECT_NEAR(middle->x, .5, 1e-6);
  EXPECT_NEAR(middle->y, .5, 1e-6);
}

// A camera that looks along +y and is focused on something 0.4 m to the side of a point 1 m ahead: the plane
// in focus is 1 m ahead, and m by 1/m = a/f - 1/P.
TEST(CameraFocus, IsADepthAlongTheAxis) {
  const World world = world_of(
      "[camera]\nposition_m = [0, -1, 0]\nlook_at = [0, 0, 0]\nfocus = [0.4, 0, 0]\nfocal_length_mm = "
      "50\npupil_magnification = 0.8\n");
  EXPECT_NEAR(world.camera.pupil_distance.value(), 1, 1e-12);
  EXPECT_NEAR(world.camera.magnification, 1 / (1 / .05 - 1 / .8), 1e-12);
}

// D65, the white of the display, is daylight of 6504 K: every channel is 1 (2e-3: x = .3127 and y = .3290 are
// rounded). The sun at 30 degrees through air of turbidity 3 has 4818 K, by the spectrum of its table summed
// apart from this program.
TEST(Lights, HaveTheColourOfDaylight) {
  const World world =
      world_of("[sky]\ncct_k = 6504\n[sun]\non = true\nazimuth_deg = 180\nelevation_deg = 30\n");
  const glm::dvec3 sky = world.groups[0].colour, sun = world.groups[1].colour;
  for (int channel = 0; channel < 3; ++channel) EXPECT_NEAR(sky[channel], 1, 2e-3);
  EXPECT_NEAR(luminance_y(sun), 1, 1e-9);
  const auto found = correlated_temperature(chromaticity_from_xyz(xyz_from_rgb(sun)));
  EXPECT_NEAR(found->temperature.value(), 4818, 25);  // the air of the day of the year is left out
}

}  // namespace
}  // namespace undercap
