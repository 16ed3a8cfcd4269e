// Where props come to stand: on the ground, on top of another prop, against its flank, scattered.
#include <gtest/gtest.h>

#include <glm/geometric.hpp>
#include <set>

#include "engine/scene/load.h"
#include "engine/world/host_surface.h"
#include "engine/world/world.h"

namespace undercap {
namespace {

World world_of(const std::string& text, const BuildOptions& options = {}) {
  return build_world(
      SceneFile::from_text("undercap = 1\n[ground]\nkind = \"none\"\n" + text, "test.toml").scene(), options);
}

struct Box {
  glm::dvec3 low{1e9}, high{-1e9};
};

Box box_of(const World& world, const std::string& prop, int individual = 0) {
  Box box;
  for (const WorldTriangle& t : world.triangle) {
    const WorldPart& part = world.parts[t.part];
    if (part.prop != prop || (individual != 0 && part.individual != individual)) continue;
    for (const std::uint32_t corner : {t.a, t.b, t.c}) {
      box.low = glm::min(box.low, glm::dvec3(world.position[corner]));
      box.high = glm::max(box.high, glm::dvec3(world.position[corner]));
    }
  }
  return box;
}

// A crate 200 mm wide and 100 mm high.
const std::string crate =
    "[[prop]]\nname = \"crate\"\nkind = \"box\"\nat_m = [0, 0, 0]\nsize_mm = [200, 200, 100]\n";

// A box's at_m with three numbers is its centre, with two it stands: so the crate's top is at 50 mm.
TEST(HostSurface, AnswersAsTheShapeDoes) {
  const HostSurface roof({{{{-1, -1, 0}, {1, -1, 0}, {1, 1, 0}}}, {{{-1, -1, 0}, {1, 1, 0}, {-1, 1, 0}}}});
  const HostPlace above = roof.nearest({0.3, -0.2, 0.5});
  EXPECT_NEAR(glm::distance(above.point_m, glm::dvec3(0.3, -0.2, 0)), 0, 1e-12);
  EXPECT_NEAR(above.normal.z, 1, 1e-12);
  EXPECT_NEAR(glm::distance(roof.nearest({3, 0.5, 1}).point_m, glm::dvec3(1, 0.5, 0)), 0, 1e-12);  // an edge
  EXPECT_NEAR(glm::distance(roof.nearest({3, 3, 1}).point_m, glm::dvec3(1, 1, 0)), 0, 1e-12);      // a corner
  EXPECT_NEAR(roof.first_along({0.1, 0.2, 4}, {0, 0, -1})->point_m.z, 0, 1e-12);
  EXPECT_FALSE(roof.first_along({0.1, 0.2, 4}, {0, 0, 1}));
  EXPECT_FALSE(roof.first_along({1.1, 0.2, 4}, {0, 0, -1}));
}

// The place of a plain box is its centre, on a host as on the ground.
TEST(On, TwoNumbersDropItOnTheTop) {
  const World world = world_of(crate +
                               "[[prop]]\nname = \"lid\"\nkind = \"box\"\non = \"crate\"\nat_m = [0.05, "
                               "0]\nsize_mm = [20, 20, 10]\n");
  const double top = box_of(world, "crate").high.z;
  EXPECT_NEAR(box_of(world, "lid").low.z, top - 5e-3, 1e-6);  // single precision of a decimetre
  EXPECT_NEAR(box_of(world, "lid").low.x, 0.04, 1e-6);
}

TEST(On, ThreeNumbersTakeItToTheNearestPlace) {
  const World world =
      world_of(crate +
               "[[prop]]\nname = \"cap\"\nkind = \"mushroom\"\non = \"crate\"\nat_m = [0, "
               "-0.3, 0.01]\ncap_diameter_mm = 20\nstem_length_mm = 40\nstem_diameter_mm = 4\n");
  const Box cap = box_of(world, "cap"), host = box_of(world, "crate");
  // It grows out of the front and up: its base is in the face, its cap stands off it and higher.
  EXPECT_GT(cap.high.y, host.low.y - 1e-3);
  EXPECT_LT(cap.high.y, host.low.y + 12e-3);
  EXPECT_LT(cap.low.y, host.low.y - 20e-3);
  EXPECT_GT(cap.high.z, 0.03);
}

// A patch on a flank keeps to it: its cushion is 4 mm high and its shoots 2 mm long, a third more at most.
TEST(On, WhatLiesAlongAFlankKeepsToIt) {
  const World world =
      world_of(crate +
               "[[prop]]\nname = \"moss\"\nkind = \"moss\"\non = \"crate\"\nat_m = [0, -0.3, 0]\n"
               "diameter_mm = 50\nheight_mm = 4\nshoot_mm = 2\n");
  const Box moss = box_of(world, "moss");
  EXPECT_GT(moss.low.y, -0.1 - 12e-3);
  EXPECT_LT(moss.high.y, -0.1 + 12e-3);  // its foot is in the wood
  EXPECT_GT(moss.high.x - moss.low.x, 35e-3);
  EXPECT_GT(moss.high.z - moss.low.z, 35e-3);
}

TEST(On, APlaceBesideItsHostIsRefused) {
  try {
    world_of(crate + "[[prop]]\nname = \"lid\"\nkind = \"box\"\non = \"crate\"\nat_m = [0.4, 0]\n");
    FAIL();
  } catch (const Refusal& refusal) {
    const std::string what = refusal.what();
    EXPECT_NE(what.find("test.toml:9:"), what.npos) << what;
    EXPECT_NE(what.find("nothing of 'crate' lies below it; that reaches from x -0.100 to 0.100"), what.npos)
        << what;
  }
}

const std::string balls = "[[prop]]\nname = \"balls\"\nkind = \"sphere\"\ndiameter_mm = 20\n";

TEST(Scatter, KeepsItsDistanceItsDiscAndItsAreas) {
  const World world = world_of(balls +
                               "scatter = { count = 40, radius_m = 0.5, spacing_mm = 60, size_spread = 0 }\n"
                               "within = [[-1, -1], [0.3, -1], [0.3, 1], [-1, 1]]\n"
                               "without = [[-1, 0.1], [1, 0.1], [1, 0.3], [-1, 0.3]]\n");
  std::vector<glm::dvec3> places;
  for (int i = 1; i <= 40; ++i) {
    const Box box = box_of(world, "balls", i);
    ASSERT_LT(box.low.x, box.high.x) << i;
    places.push_back(0.5 * (box.low + box.high));
  }
  for (std::size_t i = 0; i < places.size(); ++i) {
    const glm::dvec3& p = places[i];
    EXPECT_LE(std::hypot(p.x, p.y), 0.5 + 1e-6);
    EXPECT_LE(p.x, 0.3 + 1e-6);
    EXPECT_TRUE(p.y < 0.1 + 1e-6 || p.y > 0.3 - 1e-6) << p.y;
    for (std::size_t j = 0; j < i; ++j) EXPECT_GE(glm::distance(p, places[j]), 0.06 - 1e-6);
  }
}

// 0.1 m beside the crate's front, which lies at y = -0.1: they grow on the front, about the place nearest to
// it.
TEST(Scatter, KeepsToTheFlankThatItIsNear) {
  const World world =
      world_of(crate +
               "[[prop]]\nname = \"caps\"\nkind = \"sphere\"\ndiameter_mm = 2\non = \"crate\"\n"
               "at_m = [0, -0.2, 0]\nscatter = { count = 12, radius_m = 0.04 }\n");
  for (int i = 1; i <= 12; ++i) {
    const Box box = box_of(world, "caps", i);
    const glm::dvec3 middle = 0.5 * (box.low + box.high);
    EXPECT_NEAR(middle.y, -0.1, 1.5e-3) << i;  // half of the ball, bent out of the face
    EXPECT_LE(std::hypot(middle.x, middle.z), 0.042) << i;
  }
}

TEST(Scatter, SaysHowManyFoundRoom) {
  const World world = world_of(balls + "scatter = { count = 30, radius_m = 0.1, spacing_mm = 100 }\n");
  ASSERT_FALSE(world.notes.empty());
  EXPECT_NE(world.notes.front().find("of 30 found room"), std::string::npos) << world.notes.front();
}

TEST(Scatter, CopiesAreSpecimensOfTheirOwn) {
  const std::string caps =
      "[[prop]]\nname = \"caps\"\nkind = \"mushroom\"\ncount = 2\nspread_mm = 40\n"
      "scatter = { count = 3, radius_m = 0.5, size_spread = 0 }\n";
  const World world = world_of(caps);
  std::set<int> individuals;
  std::set<std::size_t> triangles;
  for (int i = 1; i <= 6; ++i) {
    const Box box = box_of(world, "caps", i);
    ASSERT_LT(box.low.z, box.high.z) << i;
    individuals.insert(static_cast<int>(1e6 * (box.high.z - box.low.z)));
  }
  EXPECT_EQ(individuals.size(), 6u);  // no two are equally high to the micrometre
}

// Threads finish in any order; the world is that of the file all the same.
TEST(Building, GivesTheSameBytesEachTime) {
  const std::string text =
      crate + balls + "scatter = { count = 30, radius_m = 0.4 }\n" +
      "[[prop]]\nname = \"caps\"\nkind = \"bonnet\"\non = \"crate\"\nscatter = { count = 7, "
      "radius_m = 0.08 }\n";
  const World first = world_of(text), second = world_of(text);
  EXPECT_EQ(first.position, second.position);
  EXPECT_EQ(first.normal, second.normal);
  EXPECT_EQ(first.tint, second.tint);
  EXPECT_EQ(first.triangle.size(), second.triangle.size());
}

}  // namespace
}  // namespace undercap
