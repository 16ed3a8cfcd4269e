#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/ground.h"
#include "engine/shape/leaf.h"
#include "engine/shape/leaf_bed.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"
#include "engine/shape/twig.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

double leaf_area_within(const Mesh& mesh, double low_x, double high_x, double low_y, double high_y) {
  double area = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    const glm::vec3& p = mesh.position[one.a];
    const auto x = static_cast<double>(p.x), y = static_cast<double>(p.y);
    if (mesh.parts[one.part].name == "leaf" && x > low_x && x < high_x && y > low_y && y < high_y) {
      area += triangle_area(mesh, one);
    }
  }
  return area;
}

TEST(Litter, LiesOnTheGroundItIsGiven) {
  const GroundShape ground{.size_m = 4, .relief_mm = 12, .seed = 4};
  const Setting setting{[&](double x, double y) { return ground_height_m(ground, x, y); }};
  const Mesh mesh = build_with("litter", {{"radius_m", 0.4}}, setting);
  double lowest = 1, highest = -1;
  std::size_t on_ground = 0;
  for (const glm::vec3& p : mesh.position) {
    const double above = static_cast<double>(p.z) -
                         setting.ground_height_m(static_cast<double>(p.x), static_cast<double>(p.y));
    lowest = std::min(lowest, above);
    highest = std::max(highest, above);
    on_ground += above < 0.02;
  }
  EXPECT_GT(lowest, -0.010);  // crumbs may be half buried
  EXPECT_LT(highest, 0.15);   // the longest leaf with its stalk, on edge
  EXPECT_GT(on_ground, mesh.position.size() / 2);
}

TEST(Litter, AmountFollowsTheDensityAndTheLength) {
  const auto area = [](double density, double length) {
    return leaf_area_within(build_with("litter", {{"leaves_per_m2", density},
                                                  {"leaf_length_mm", length},
                                                  {"clear_front_mm", 0.0},
                                                  {"radius_m", 0.5}}),
                            -1, 1, -1, 1);
  };
  const double usual = area(700, 58);
  // Scattered at random by patches: a tenth.
  EXPECT_NEAR(area(350, 58) / usual, 0.5, 0.06);
  EXPECT_NEAR(area(700, 29) / usual, 0.25, 0.03);
  // At least as much leaf as ground, as in an autumn wood.
  EXPECT_GT(usual, std::numbers::pi * 0.25);
}

TEST(Litter, TheWayToTheCameraIsThinnedNotBare) {
  const Mesh mesh = build_with("litter", {{"clear_front_mm", 200.0}});
  const double way = leaf_area_within(mesh, -0.08, 0.08, -0.45, -0.08);
  const double behind = leaf_area_within(mesh, -0.08, 0.08, 0.08, 0.45);
  EXPECT_LT(way, 0.85 * behind);
  EXPECT_GT(way, 0.3 * behind);
}

// On level ground at 0 a place at height z sinks to z - .55 (z - 3)^2 / z, one below 3 mm stays; then the
// leaf widens until its area is what it was. Floats: 1e-5 of a leaf's length.
TEST(Litter, LeafSagsTowardsWhatLiesBelowAndKeepsItsArea) {
  const LeafBed bed([](double, double) { return 0.0; }, 200);
  Mesh leaf;
  leaf.part_index("leaf");
  leaf.position = {{0, 0, 2}, {40, 0, 2}, {0, 30, 23}, {40, 30, 23}};
  leaf.triangle = {{0, 1, 2, 0}, {1, 3, 2, 0}};
  bed.let_sag(leaf, 50);
  constexpr double low = 2, high = 23 - .55 * 20 * 20 / 23.0;
  EXPECT_NEAR(leaf.position[0].z, low, 5e-4);
  EXPECT_NEAR(leaf.position[3].z, high, 5e-4);
  const double area = triangle_area(leaf, leaf.triangle[0]) + triangle_area(leaf, leaf.triangle[1]);
  // The widening acts in plan, where the sunken leaf is 40 by 30 mm; its slope gives back a little of it.
  const double before = 40 * std::hypot(30.0, 21.0), sunk = 40 * std::hypot(30.0, high - low);
  const double plan = std::sqrt(before / sunk);
  EXPECT_NEAR(leaf.position[3].x - leaf.position[2].x, 40 * plan, 5e-4);
  EXPECT_NEAR(area, 40 * plan * std::hypot(30 * plan, high - low), 0.05);
  EXPECT_NEAR(area, before, 0.02 * before);
}

TEST(Litter, TheCentreStaysFree) {
  const Mesh mesh = build_with("litter", {{"clear_centre_mm", 60.0}});
  for (const MeshTriangle& one : mesh.triangle) {
    if (mesh.parts[one.part].name != "leaf") continue;
    // Tips may reach in from leaves whose middle lies outside.
    EXPECT_GT(std::hypot(mesh.position[one.a].x, mesh.position[one.a].y), 0.02f);
  }
}

TEST(Litter, IsFineAboutTheOriginAndCoarseFarOff) {
  const Mesh mesh = build_with("litter", {{"radius_m", 1.5}});
  double near = 0, far = 0, near_area = 0, far_area = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    if (mesh.parts[one.part].name != "leaf") continue;
    const double r =
        std::hypot(static_cast<double>(mesh.position[one.a].x), static_cast<double>(mesh.position[one.a].y));
    if (r < 0.2) ++near, near_area += triangle_area(mesh, one);
    if (r > 0.8) ++far, far_area += triangle_area(mesh, one);
  }
  EXPECT_GT(near / near_area, 3 * far / far_area);
  EXPECT_LT(mesh.triangle.size(), 400000u);
}

// Half-widths from the outline's own law: largest share of the length a leaf form takes, and points at both
// ends.
TEST(Litter, LeafOutlinesEndInPointsAndKeepTheirProportions) {
  const std::pair<LeafForm, double> widest[] = {{LeafForm::elliptic, 0.33},
                                                {LeafForm::lobed, 0.31 * 1.16},
                                                {LeafForm::toothed, 0.42 * 1.05},
                                                {LeafForm::narrow, 0.11}};
  for (const auto& [form, limit] : widest) {
    LeafShape shape;
    shape.form = form;
    double most = 0;
    for (int i = 0; i <= 100; ++i) most = std::max(most, leaf_half_width(shape, i / 100.0));
    EXPECT_NEAR(most, limit, 0.1 * limit);
    EXPECT_LT(leaf_half_width(shape, 0), 0.02);
    EXPECT_LT(leaf_half_width(shape, 1), 0.02);
  }
}

// A sheet without curl keeps the outline's area: the integral of twice the half-width over the length.
TEST(Litter, FlatLeafHasTheAreaOfItsOutline) {
  LeafShape shape;
  shape.crinkle = 0;
  shape.length = 100;
  double area = 0;
  for (int i = 0; i < 1000; ++i) area += 2 * leaf_half_width(shape, (i + 0.5) / 1000) * 100 * 100 / 1000;
  const LeafSheet sheet = make_leaf(shape, 61, 21);
  Mesh mesh;
  for (const glm::dvec3& p : sheet.position) mesh.position.emplace_back(p);
  add_grid_triangles(mesh, {0, sheet.rows, sheet.columns, false}, mesh.part_index("leaf"));
  EXPECT_NEAR(surface_area(mesh) / area, 1.03,
              0.04);  // the veins' corrugation adds about 3 %, unequal halves 2 %
}

TEST(Litter, TwigsAndCrumbsAreClosed) {
  for (const std::uint32_t seed : {1u, 2u, 3u}) {
    TwigShape shape;
    shape.seed = seed;
    for (const Mesh& mesh : {make_twig(shape), make_crumb(3, 1.5, seed)}) {
      EXPECT_EQ(testing::well_formed_fault(mesh), "");
      EXPECT_EQ(testing::open_edges(mesh), 0u);
      EXPECT_GT(testing::signed_volume(mesh), 0);
    }
  }
}

TEST(Litter, ExtremesOfTheRangesAreWellFormed) {
  for (const KeyValues& changes :
       {KeyValues{{"radius_m", 0.05}, {"leaves_per_m2", 5.0}},
        KeyValues{{"radius_m", 0.2}, {"leaf_length_mm", 8.0}, {"leaves_per_m2", 2500.0}},
        KeyValues{{"leaf_length_mm", 250.0}, {"clear_front_mm", 2000.0}, {"yellow_share", 1.0}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("litter", changes)), "");
  }
}

}  // namespace
}  // namespace undercap
