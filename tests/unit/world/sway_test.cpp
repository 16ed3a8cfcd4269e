// Props that sway: where their corners and patterns are at a moment of the exposure.
#include "engine/world/sway.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <glm/geometric.hpp>
#include <glm/vec4.hpp>
#include <numbers>
#include <set>

#include "engine/scene/load.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// A reed of 20 x 20 x 200 mm that stands on nothing, and a stone beside it; more lines go to the reed.
World world_of(const std::string& reed) {
  return build_world(SceneFile::from_text(
                         "undercap = 1\n[ground]\nkind = \"none\"\n"
                         "[[prop]]\nname = \"stone\"\nkind = \"box\"\nat_m = [0.3, 0, 0]\nsize_mm = [50, 50, "
                         "50]\n[[prop]]\nname = \"reed\"\nkind = \"box\"\nat_m = [0.1, 0.2, 0.15]\n"
                         "size_mm = [20, 20, 200]\n" +
                             reed,
                         "test.toml")
                         .scene());
}

// The corners of a prop, each once.
std::set<std::uint32_t> corners_of(const World& world, const std::string& prop) {
  std::set<std::uint32_t> corners;
  for (const WorldTriangle& t : world.triangle)
    if (world.parts[t.part].prop == prop) corners.insert({t.a, t.b, t.c});
  return corners;
}

double distance_mm(const glm::dvec3& a, const glm::dvec3& b) { return 1e3 * glm::distance(a, b); }

// Closed form: the top is off by A sin(2 pi f t), toward the azimuth (clockwise from north, which is y), all
// below in proportion to its height above the foot at 50 mm, and nothing goes up or down. Positions of a few
// decimetres are single: 3e-8 m.
TEST(Sway, ThePropLeansAboutItsFoot) {
  const double amplitude_mm = 12, hertz = 1.5, azimuth = 30;
  const World rest =
      world_of(fmt::format("sway_mm = {}\nsway_hz = {}\nsway_deg = {}\n", amplitude_mm, hertz, azimuth));
  const glm::dvec3 toward(std::sin(azimuth * pi / 180), std::cos(azimuth * pi / 180), 0);
  for (const double seconds : {0., .1, 1. / 6, .4, 7.77}) {
    const World moved = swayed(rest, Duration(seconds));
    const double top_mm = amplitude_mm * std::sin(2 * pi * hertz * seconds);
    int tops = 0, feet = 0;
    for (const std::uint32_t i : corners_of(rest, "reed")) {
      const glm::dvec3 before = rest.position[i];
      const double share = (before.z - .05) / .2;
      EXPECT_LT(distance_mm(moved.position[i], before + toward * (top_mm * 1e-3 * share)), 1e-4) << seconds;
      EXPECT_EQ(moved.position[i].z, rest.position[i].z);
      tops += share > .999;
      feet += share < .001;
    }
    EXPECT_GE(tops, 4);
    EXPECT_GE(feet, 4);
    for (const std::uint32_t i : corners_of(rest, "stone")) EXPECT_EQ(moved.position[i], rest.position[i]);
  }
  // A quarter of a swing, 1/6 s, is the farthest: 12 mm. It is reached.
  double farthest = 0;
  const World quarter = swayed(rest, Duration(1. / 6));
  for (const std::uint32_t i : corners_of(rest, "reed"))
    farthest = std::max(farthest, distance_mm(quarter.position[i], rest.position[i]));
  EXPECT_NEAR(farthest, 12, 1e-4);
}

// A pattern stays on the prop that carries it: every corner of the leaning reed is read at the same place of
// its own space, mm, as at rest, turned about its own axis or not. Corners are single to 3e-8 m.
TEST(Sway, PatternsLeanAlong) {
  for (const char* turn : {"", "turn_deg = 35\n"}) {
    const World rest = world_of(fmt::format("sway_mm = 40\nsway_hz = 1\nsway_deg = 60\n{}", turn));
    const World moved = swayed(rest, Duration(.2));
    const auto own = [](const World& world, std::uint32_t part, std::uint32_t corner) {
      return world.parts[part].to_own * glm::vec4(world.position[corner], 1);
    };
    int reeds = 0;
    for (const WorldTriangle& t : rest.triangle)
      for (const std::uint32_t corner : {t.a, t.b, t.c}) {
        EXPECT_LT(glm::distance(own(moved, t.part, corner), own(rest, t.part, corner)), 2e-4f);
        reeds += rest.parts[t.part].prop == "reed" && moved.position[corner] != rest.position[corner];
      }
    EXPECT_GT(reeds, 0);
    for (std::size_t i = 0; i < rest.parts.size(); ++i) {
      if (rest.parts[i].prop != "reed") {
        EXPECT_EQ(moved.parts[i].to_own, rest.parts[i].to_own);
      }
    }
  }
}

TEST(Sway, WhatIsStillOrHiddenStays) {
  for (const char* reed : {"", "sway_mm = 0\n", "sway_mm = 9\nvisible = false\n"}) {
    const World rest = world_of(reed);
    EXPECT_FALSE(anything_sways(rest.scene)) << reed;
    EXPECT_EQ(swayed(rest, Duration(.2)).position, rest.position) << reed;
  }
  EXPECT_TRUE(anything_sways(world_of("sway_mm = 9\n").scene));
}

}  // namespace
}  // namespace undercap
