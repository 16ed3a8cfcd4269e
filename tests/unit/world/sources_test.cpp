// What the sources of a scene become: power at the peak, beam, place, colour, snoot.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/light/beam.h"
#include "engine/scene/load.h"
#include "engine/world/world.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// One source half a metre south of the origin that looks north.
World lit_by(const std::string& keys, const std::filesystem::path& file = "test.toml") {
  return build_world(SceneFile::from_text("undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = "
                                          "\"off\"\n[[source]]\nname = \"s\"\nposition_m = [0, -0.5, "
                                          "0]\naim = [0, 0, 0]\n" +
                                              keys,
                                          file)
                         .scene());
}

// A Lambertian panel: I0 = flux / pi, 95.49 cd for 300 lm. A tenth of the power is a tenth of it.
TEST(Sources, PanelByFlux) {
  const World world = lit_by("kind = \"panel\"\nsize_mm = [60, 40]\nflux_lm = 300\nbeam_deg = 120\n");
  EXPECT_NEAR(world.groups[0].power, 300 / pi, 1e-4 * 300 / pi);  // the beam's table
  const Lamp& lamp = world.lamps[0];
  EXPECT_TRUE(lamp.rectangle);
  EXPECT_DOUBLE_EQ(lamp.half_width_m, .03);
  EXPECT_DOUBLE_EQ(lamp.half_height_m, .02);
  EXPECT_NEAR(lamp.area(), 60e-3 * 40e-3, 1e-12);
  EXPECT_EQ(lamp.beam.size(), static_cast<std::size_t>(beam_table_nodes));
  const World dim =
      lit_by("kind = \"panel\"\nsize_mm = [60, 40]\nflux_lm = 300\nbeam_deg = 120\npower_pct = 10\n");
  EXPECT_NEAR(dim.groups[0].power, world.groups[0].power / 10, 1e-9);
}

// 2.5 GN^2 cd s: 250 for a guide number of 10. On for no time of its own.
TEST(Sources, FlashByGuideNumber) {
  const World world = lit_by("kind = \"flash\"\nsize_mm = [60, 40]\nguide_number_m = 10\npower_pct = 25\n");
  EXPECT_NEAR(world.groups[0].power, 62.5, 1e-9);
  EXPECT_TRUE(world.groups[0].flash);
  EXPECT_FALSE(world.groups[0].on_s);
}

// .25 lx at 200 m is 10000 cd; on_s arrives.
TEST(Sources, TorchByBeamDistance) {
  const World world = lit_by("kind = \"torch\"\nbeam_distance_m = 200\non_s = 1.5\n");
  EXPECT_NEAR(world.groups[0].power, 10000, 1e-9);
  EXPECT_EQ(world.groups[0].on_s, 1.5);
  EXPECT_FALSE(world.lamps[0].rectangle);
}

// Flux in is flux out times the transmission, whichever way the strength is given.
TEST(Sources, ADiffuserKeepsWhatItLetsThrough) {
  const auto flux_of = [](const std::string& keys) {
    const World world = lit_by("kind = \"torch\"\nbeam_deg = 20\n" + keys);
    return world.groups[0].power * beam_of(world.lamps[0].planes, world.lamps[0].beam).flux_per_candela_lm;
  };
  EXPECT_NEAR(flux_of("flux_lm = 100\n"), 100, 1e-6);
  EXPECT_NEAR(flux_of("flux_lm = 100\ndiffuser = 1\n"), 60, 1e-6);
  EXPECT_NEAR(flux_of("flux_lm = 100\ndiffuser = 0.3\ndiffuser_transmission = 0.8\n"), 80, 1e-6);
  EXPECT_NEAR(flux_of("intensity_cd = 500\ndiffuser = 1\n") / flux_of("intensity_cd = 500\n"), .6, 1e-9);
  // Lambertian: 60 lm / pi.
  const World whole = lit_by("kind = \"torch\"\nbeam_deg = 20\nflux_lm = 100\ndiffuser = 1\n");
  EXPECT_NEAR(whole.groups[0].power, 60 / pi, 1e-3);
}

// 1e6 / 3200 - 134.0 mired is 5603 K on the Planck locus; the luminance stays.
TEST(Sources, AGelShiftsTheReciprocal) {
  const World world = lit_by("kind = \"torch\"\nflux_lm = 100\ncct_k = 3200\ngel_mired = -134\n");
  const auto found = correlated_temperature(chromaticity_from_xyz(xyz_from_rgb(world.groups[0].colour)));
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->temperature.value(), 1e6 / (1e6 / 3200 - 134), 1);
  EXPECT_NEAR(luminance_y(world.groups[0].colour), 1, 1e-9);
}

// A turn of 90 degrees clockwise, seen from behind: what was to the right (east) is below.
TEST(Sources, RollTurnsClockwiseFromBehind) {
  const World level = lit_by("kind = \"panel\"\nsize_mm = [60, 40]\nflux_lm = 300\n"),
              rolled = lit_by("kind = \"panel\"\nsize_mm = [60, 40]\nflux_lm = 300\nroll_deg = 90\n");
  EXPECT_LT(glm::distance(level.lamps[0].right, {1, 0, 0}), 1e-12);
  EXPECT_LT(glm::distance(rolled.lamps[0].right, {0, 0, -1}), 1e-12);
}

// An open tube before the shining surface, as far as its length, outside of the disc's edge; no prop.
TEST(Sources, ASnootIsATubeOfItsLength) {
  const World bare = lit_by("kind = \"torch\"\nflux_lm = 100\n"),
              tube = lit_by("kind = \"torch\"\nflux_lm = 100\nsnoot_mm = 80\n");
  ASSERT_EQ(tube.parts.size(), bare.parts.size() + 1);
  EXPECT_EQ(tube.parts.back().prop, "");
  EXPECT_EQ(tube.materials.back().reflectance, glm::vec3(0));
  double front = -1;
  for (std::size_t i = bare.position.size(); i < tube.position.size(); ++i) {
    const glm::vec3& p = tube.position[i];
    front = std::max(front, static_cast<double>(p.y));
  }
  EXPECT_NEAR(front, -.5 + .08, 1e-6);
  // No wall is nearer to the axis than the disc's edge: distance of each wall's middle.
  for (std::size_t t = bare.triangle.size(); t < tube.triangle.size(); ++t) {
    const WorldTriangle& w = tube.triangle[t];
    const glm::vec3 middle = (tube.position[w.a] + tube.position[w.b]) / 2.f;
    if (middle.y <= -.5f) continue;
    EXPECT_GE(std::hypot(middle.x, middle.z), .0125);
  }
}

// A measured beam of 100 cd to 30 degrees and nothing from 60 on, in a file beside the scene; the strength is
// the scene's.
TEST(Sources, BeamFile) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "undercap_sources";
  std::filesystem::create_directories(folder);
  std::ofstream(folder / "beam.ies") << "IESNA:LM-63-2002\n[TEST] none\nTILT=NONE\n1 -1 1 4 1 1 2 0 0 0\n1 1 "
                                        "10\n0 30 60 90\n0\n100 100 0 0\n";
  const World world =
      lit_by("kind = \"torch\"\nintensity_cd = 40\nbeam_file = \"beam.ies\"\n", folder / "wood.toml");
  EXPECT_DOUBLE_EQ(world.groups[0].power, 40);
  const Lamp& lamp = world.lamps[0];
  const auto at = [&](double degrees) {
    return lamp.beam[static_cast<std::size_t>(std::lround(std::sqrt(degrees / 90) * (beam_table_nodes - 1)))];
  };
  EXPECT_NEAR(at(10), 1, 1e-6);
  EXPECT_NEAR(at(45), .5, .01);  // linear between 30 and 60, at the nearest node
  EXPECT_NEAR(at(80), 0, 1e-6);
  EXPECT_THROW(
      lit_by("kind = \"torch\"\nintensity_cd = 40\nbeam_file = \"none.ies\"\n", folder / "wood.toml"),
      Refusal);
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace undercap
