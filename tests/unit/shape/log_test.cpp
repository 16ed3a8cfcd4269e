#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/log_build.h"
#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

TEST(Log, IsClosedAndLooksOutward) {
  for (const char* ends : {"broken", "sawn"}) {
    const Mesh mesh = build_with("log", {{"ends", std::string(ends)}, {"length_mm", 300.0}});
    EXPECT_EQ(testing::open_edges(mesh), 0u) << ends;
    EXPECT_GT(testing::share_of_normals_in_front(mesh), 0.98) << ends;
    // A cylinder of the stated size, less the torn ends.
    const double cylinder = std::numbers::pi / 4 * 0.12 * 0.12 * 0.3;
    EXPECT_NEAR(testing::signed_volume(mesh) / cylinder, 0.92, 0.12) << ends;
  }
}

TEST(Log, HasTheStatedLengthAndMeanDiameter) {
  for (const double seed : {1.0, 2.0, 3.0}) {
    const Mesh bark = testing::welded_part(
        build_with("log", {{"seed", seed}, {"bend_mm", 0.0}, {"bark_loss", 0.0}, {"length_mm", 500.0}}),
        "bark");
    double low = 1, high = -1, sum = 0, area = 0;
    for (const MeshTriangle& one : bark.triangle) {
      const glm::dvec3 a(bark.position[one.a]);
      low = std::min(low, a.x);
      high = std::max(high, a.x);
      // The axis stands nine tenths of the radius above the ground.
      const double weight = triangle_area(bark, one);
      sum += weight * std::hypot(a.y, a.z - 0.054);
      area += weight;
    }
    EXPECT_NEAR(high - low, 0.5, 0.02 * 0.5) << seed;
    EXPECT_NEAR(2 * sum / area, 0.12, 0.03 * 0.12) << seed;
  }
}

// Area of the bark whose pattern says that the bark is gone, by the triangles' middles.
double bare_share(const Mesh& mesh) {
  double bare = 0, all = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    if (mesh.parts[one.part].name != "bark") continue;
    const double area = triangle_area(mesh, one);
    all += area;
    if (mesh.uv[one.a].y + mesh.uv[one.b].y + mesh.uv[one.c].y > 1.5f) bare += area;
  }
  return bare / all;
}

TEST(Log, BarkIsLostOverTheShareAskedFor) {
  for (const char* bark : {"ridged", "plated", "smooth"}) {
    const auto share = [&](double loss) {
      return bare_share(
          build_with("log", {{"bark_loss", loss}, {"bark", std::string(bark)}, {"length_mm", 400.0}}));
    };
    EXPECT_EQ(share(0.0), 0.0) << bark;
    // By rank over the grid, which is closer at the upper front, and the bark's relief makes its own area
    // larger than that of the wood.
    EXPECT_NEAR(share(0.3), 0.27, 0.07) << bark;
  }
}

// The pattern reads how high the bark stands from the positions' uv: what reads as ridge stands out by the
// relief, what reads as bare lies below the ridges.
TEST(Log, PlacesOfThePatternGoWithTheRelief) {
  const Mesh mesh = build_with("log", {{"bend_mm", 0.0}, {"taper", 0.0}, {"bark_loss", 0.2}});
  double ridge = 0, furrow = 0, bare = 0;
  int ridges = 0, furrows = 0, bares = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    if (mesh.parts[one.part].name != "bark") continue;
    const glm::dvec3 p(mesh.position[one.a]);
    const double out = std::hypot(p.y, p.z - 0.054);
    const glm::vec2 uv = mesh.uv[one.a];
    ASSERT_TRUE(uv.x >= 0 && uv.x <= 1 && uv.y >= 0 && uv.y <= 1);
    if (uv.y > 0.7f) bare += out, ++bares;
    if (uv.y < 0.4f && uv.x > 0.8f) ridge += out, ++ridges;
    if (uv.y < 0.4f && uv.x < 0.15f) furrow += out, ++furrows;
  }
  ASSERT_TRUE(ridges > 100 && furrows > 100 && bares > 100);
  // Relief 5 mm: at least 0.65 of it lies between the two sets; means over the whole log, so that the stem's
  // own undulation (a few per cent of 60 mm, smooth) nearly cancels.
  EXPECT_GT(ridge / ridges - furrow / furrows, 0.0025);
  EXPECT_GT(ridge / ridges - bare / bares, 0.0035);
}

TEST(Log, SeenSmallItHasFewTriangles) {
  Setting far;
  far.pixel_m = 0.004;
  const Mesh near = build_with("log", {}), small = build_with("log", {}, far);
  EXPECT_LT(near.triangle.size(), 130'000u);
  // Cells of three pixels: 12 mm x 15 mm of 600 mm x 377 mm, twice, and the least that ends have.
  EXPECT_LT(small.triangle.size(), 6000u);
  EXPECT_EQ(testing::open_edges(small), 0u);
}

TEST(Log, LiesOnSlopingGround) {
  const Setting slope{.ground_height_m = [](double x, double) { return 0.1 * x + 0.02; }};
  const Mesh mesh = build_with("log", {{"bend_mm", 0.0}, {"taper", 0.0}}, slope);
  double left = 0, right = 0;
  int left_count = 0, right_count = 0;
  for (const glm::vec3& p : mesh.position) {
    if (p.x < -0.2f) left += static_cast<double>(p.z), ++left_count;
    if (p.x > 0.2f) right += static_cast<double>(p.z), ++right_count;
  }
  // The middles of the outer thirds are about 0.5 m apart: 0.1 of that is the rise.
  EXPECT_NEAR(right / right_count - left / left_count, 0.05, 0.012);
  EXPECT_NEAR(testing::extent(mesh).low.z, 0.02 - 0.006 - 0.03, 0.012);
}

TEST(Log, ExtremesOfTheRangesAreWellFormed) {
  for (const KeyValues& changes :
       {KeyValues{{"length_mm", 40.0}, {"diameter_mm", 15.0}, {"bark_relief_mm", 40.0}},
        KeyValues{{"length_mm", 5000.0}, {"diameter_mm", 15.0}, {"bend_mm", 500.0}, {"taper", 0.8}},
        KeyValues{{"length_mm", 300.0}, {"bark", std::string("plated")}, {"age", 1.0}},
        KeyValues{{"length_mm", 300.0}, {"bark", std::string("smooth")}, {"age", 0.0}},
        KeyValues{{"length_mm", 100.0}, {"diameter_mm", 1500.0}, {"plate_mm", 100.0}, {"bark_loss", 0.9}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("log", changes)), "");
  }
}

}  // namespace
}  // namespace undercap
