// Standing trunks, saplings, hanging leaves and the wood far off.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

TEST(Trunk, IsClosedAndLooksOutward) {
  for (const double seed : {1.0, 2.0}) {
    const Mesh mesh = build_with("trunk", {{"seed", seed}});
    EXPECT_EQ(testing::open_edges(mesh), 0u);
    EXPECT_GT(testing::signed_volume(mesh), 0);
  }
}

TEST(Trunk, HasTheStatedHeightAndDiameter) {
  const Mesh mesh = build_with(
      "trunk", {{"height_m", 2.0}, {"diameter_mm", 200.0}, {"lean_deg", 0.0}, {"bark_relief_mm", 2.0}});
  const auto box = testing::extent(mesh);
  EXPECT_NEAR(box.high.z, 2.0, 1e-6);
  // Its foot reaches 60 mm into the ground.
  EXPECT_NEAR(box.low.z, -0.06, 1e-6);
  // At half height the flare of the roots is gone (e^-13); the trunk's own undulation and the mean height of
  // the bark leave a tenth.
  double sum = 0;
  int count = 0;
  for (const glm::vec3& p : mesh.position) {
    if (p.z < 0.9f || p.z > 1.1f) continue;
    sum += static_cast<double>(std::hypot(p.x, p.y));
    ++count;
  }
  ASSERT_GT(count, 100);
  EXPECT_NEAR(2 * sum / count, 0.2, 0.2 * 0.10);
}

TEST(Trunk, AStandHasOneStemInEachStripOfItsWidth) {
  constexpr int count = 5;
  const Mesh mesh = build_with("trunk", {{"count", double(count)},
                                         {"stand_width_m", 10.0},
                                         {"diameter_mm", 100.0},
                                         {"lean_deg", 0.0},
                                         {"height_m", 1.0}});
  std::vector<int> found(count, 0);
  for (const glm::vec3& p : mesh.position) {
    // A stem stands at least a tenth of a strip (0.2 m) inside it and is thinner than that above its roots.
    if (p.z > 0.5f) ++found.at(static_cast<std::size_t>((static_cast<double>(p.x) + 5.0) / 2.0));
  }
  for (const int positions : found) EXPECT_GT(positions, 0);
}

TEST(Stump, IsClosedAndStandsOnItsRoots) {
  for (const char* top : {"sawn", "broken"}) {
    const Mesh mesh = build_with(
        "stump", {{"top", std::string(top)}, {"height_mm", 300.0}, {"diameter_mm", 200.0}, {"seed", 3.0}});
    EXPECT_EQ(testing::open_edges(mesh), 0u) << top;
    EXPECT_GT(testing::signed_volume(mesh), 0) << top;
    glm::dvec2 bark(1, -1);  // lowest and highest; shards of a break stand higher
    for (const MeshTriangle& one : mesh.triangle) {
      if (mesh.parts[one.part].name != "bark") continue;
      const auto z = static_cast<double>(mesh.position[one.a].z);
      bark = {std::min(bark.x, z), std::max(bark.y, z)};
    }
    // Roots go .35 of the radius and 20 mm deep; the stump's own axis bends by some mm.
    EXPECT_NEAR(bark.y, 0.3, 0.02 * 0.3) << top;
    EXPECT_NEAR(bark.x, -(0.35 * 0.1 + 0.02), 0.004) << top;
    double foot = 0, above = 0;
    for (const glm::vec3& p : mesh.position) {
      const double out = std::hypot(static_cast<double>(p.x), static_cast<double>(p.y));
      if (std::abs(p.z) < 0.01f) foot = std::max(foot, out);
      if (std::abs(p.z - 0.2f) < 0.02f) above = std::max(above, out);
    }
    // A flare of .6 radii, .3 to 1 of it at the ground; e^(-0.2 / 0.06) of it two radii up.
    EXPECT_GT(foot, 1.25 * 0.1) << top;
    EXPECT_LT(above, 1.25 * 0.1) << top;
  }
}

TEST(Branch, IsClosedHasItsLengthAndLiesOnTheGround) {
  const Setting slope{.ground_height_m = [](double x, double) { return 0.1 * x; }};
  for (const double seed : {1.0, 2.0, 3.0}) {
    const Mesh mesh = build_with("branch", {{"seed", seed}, {"length_mm", 500.0}, {"forks", 4.0}}, slope);
    EXPECT_EQ(testing::open_edges(mesh), 0u);
    EXPECT_GT(testing::signed_volume(mesh), 0);
    double lowest = 1, right = -1;
    for (const glm::vec3& p : mesh.position) {
      lowest = std::min(lowest, static_cast<double>(p.z) - 0.1 * static_cast<double>(p.x));
      right = std::max(right, static_cast<double>(p.x));
    }
    // The thick end, 13 mm in radius and a quarter more where it begins, is sunk by a fifth of it; its bark
    // and the stem's undulation add up to two tenths.
    EXPECT_LT(lowest, 0);
    EXPECT_GT(lowest, -0.010);
    EXPECT_GT(right, 0.24);
  }
}

TEST(Trunk, AStandWidensWithDepthAndKeepsItsClearing) {
  const Mesh mesh = build_with("trunk", {{"count", 60.0},
                                         {"stand_width_m", 4.0},
                                         {"stand_depth_m", 10.0},
                                         {"stand_fan", 1.5},
                                         {"clear_width_m", 1.5},
                                         {"clear_depth_m", 4.0},
                                         {"diameter_mm", 100.0},
                                         {"root_flare", 0.0},
                                         {"lean_deg", 0.0},
                                         {"height_m", 1.0}});
  double widest = 0;
  for (const glm::vec3& p : mesh.position) {
    const double back = static_cast<double>(p.y) + 5.0, aside = std::abs(static_cast<double>(p.x));
    // A stem is at most 0.095 m in radius and 1.25 of that at its foot by taper; its bark adds 1 cm.
    EXPECT_LT(aside, 0.5 * (4.0 + 1.5 * back) + 0.25);
    if (back < 3.7) {
      EXPECT_GT(aside, 0.75 - 0.2);
    }
    widest = std::max(widest, aside);
  }
  // At the back it is 19 m wide, and 60 strips leave hardly a stem's width at the sides.
  EXPECT_GT(widest, 7.0);
  EXPECT_THROW(build_with("trunk", {{"count", 3.0}, {"clear_width_m", 40.0}, {"clear_depth_m", 40.0}}),
               Refusal);
}

TEST(LeafCards, HaveTheLeavesAndTheHeightsAskedFor) {
  const Mesh mesh = build_with("leaf_cards", {{"count", 500.0}, {"low_m", 1.0}, {"low_share", 1.0}});
  std::size_t leaves = 0;
  double lowest = 1e9;
  for (const MeshTriangle& one : mesh.triangle) {
    if (mesh.parts[one.part].name != "leaf") continue;
    ++leaves;
    lowest = std::min(lowest, static_cast<double>(mesh.position[one.a].z));
  }
  EXPECT_EQ(leaves, 500u * 12u);
  // A branch ends at 'low_m' or above; its droop of up to .45 and half of its length (.42 m), and a leaf of
  // up to 0.08 m, hang below where it starts, a length higher.
  EXPECT_GT(lowest, 1.0 - 0.15);
  EXPECT_LT(lowest, 1.8);
}

TEST(LeafCards, SeenSmallALeafHasFourTriangles) {
  Setting far;
  far.pixel_m = 0.01;
  const Mesh mesh = build_with("leaf_cards", {{"count", 100.0}}, far);
  std::size_t leaves = 0;
  for (const MeshTriangle& one : mesh.triangle) leaves += mesh.parts[one.part].name == "leaf";
  EXPECT_EQ(leaves, 400u);
}

double haze_share(double gap_share, double seed) {
  // Up to a third of the height nothing but the gaps is open.
  const Mesh mesh = build_with(
      "haze",
      {{"gap_share", gap_share}, {"bow_m", 0.0}, {"width_m", 20.0}, {"height_m", 12.0}, {"seed", seed}});
  double area = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    const glm::dvec3 a(mesh.position[one.a]), b(mesh.position[one.b]), c(mesh.position[one.c]);
    if (std::max({a.z, b.z, c.z}) > 3.6 || std::min({a.z, b.z, c.z}) < 0.6) continue;
    // As seen from the front.
    area += 0.5 * std::abs((b.x - a.x) * (c.z - a.z) - (c.x - a.x) * (b.z - a.z));
  }
  return area;
}

TEST(Haze, IsOpenOverTheShareAskedFor) {
  double open = 0;
  for (const double seed : {1.0, 2.0, 3.0}) open += (1 - haze_share(0.1, seed) / haze_share(0.0, seed)) / 3;
  // At the mean height of that band, 2.1 of 12 m, it is (.4 + 1.2 x .175) of the whole sheet's .1. About 160
  // cells, half of them with a gap: 5 % over the seeds, and gaps cut off by their neighbours.
  EXPECT_NEAR(open, 0.061, 0.2 * 0.061);
}

TEST(Haze, ReachesBelowTheGroundAndThinsOutUpwards) {
  const auto box = testing::extent(build_with("haze", {}));
  EXPECT_NEAR(box.low.z, -2, 1e-5);
  // Noise decides where the last spray is.
  EXPECT_NEAR(box.high.z, 10, 0.2 * 10);
  EXPECT_NEAR(box.high.x - box.low.x, 40, 1e-3);
}

TEST(Thicket, HasTheLeavesAskedFor) {
  const Mesh mesh = build_with("thicket", {{"stems", 4.0}, {"leaves_per_stem", 25.0}});
  std::size_t leaves = 0;
  for (const MeshTriangle& one : mesh.triangle) leaves += mesh.parts[one.part].name == "leaf";
  EXPECT_EQ(leaves, 4u * 25u * 12u);
}

TEST(Thicket, TwigsAreClosed) {
  const Mesh twigs = testing::welded_part(build_with("thicket", {{"stems", 3.0}}), "twig");
  EXPECT_EQ(testing::open_edges(twigs), 0u);
  EXPECT_GT(testing::signed_volume(twigs), 0);
}

TEST(Wood, ExtremesOfTheRangesAreWellFormed) {
  EXPECT_EQ(
      testing::well_formed_fault(build_with(
          "trunk", {{"height_m", 0.2}, {"diameter_mm", 2000.0}, {"root_flare", 2.0}, {"lean_deg", 45.0}})),
      "");
  EXPECT_EQ(testing::well_formed_fault(
                build_with("trunk", {{"height_m", 40.0}, {"diameter_mm", 15.0}, {"bark_relief_mm", 60.0}})),
            "");
  for (const KeyValues& changes :
       {KeyValues{{"height_mm", 20.0}, {"diameter_mm", 2000.0}, {"root_flare", 2.0}},
        KeyValues{{"height_mm", 3000.0}, {"diameter_mm", 30.0}, {"top", std::string("broken")}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("stump", changes)), "");
  }
  for (const KeyValues& changes :
       {KeyValues{{"length_mm", 40.0}, {"diameter_mm", 200.0}, {"forks", 12.0}, {"taper", 0.0}},
        KeyValues{{"length_mm", 4000.0}, {"diameter_mm", 4.0}, {"taper", 0.9}, {"crooked", 0.4}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("branch", changes)), "");
  }
  EXPECT_EQ(testing::well_formed_fault(build_with(
                "leaf_cards", {{"count", 1.0}, {"depth_m", 0.0}, {"low_m", 20.0}, {"high_m", 0.0}})),
            "");
  for (const KeyValues& changes :
       {KeyValues{{"width_m", 1.0}, {"height_m", 0.5}, {"gap_mm", 2000.0}},
        KeyValues{{"width_m", 200.0}, {"height_m", 60.0}, {"gap_mm", 20.0}, {"gap_share", 0.3}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("haze", changes)), "");
  }
  EXPECT_EQ(testing::well_formed_fault(
                build_with("thicket", {{"height_m", 0.05}, {"stems", 1.0}, {"leaves_per_stem", 1.0}})),
            "");
}

}  // namespace
}  // namespace undercap
