#include "engine/shape/mushroom.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <set>

#include "engine/shape/mesh_build.h"
#include "engine/shape/tuft.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

constexpr CapForm all_forms[] = {CapForm::convex, CapForm::cushion, CapForm::conic,
                                 CapForm::bell,   CapForm::flat,    CapForm::funnel};

Mesh skin_of(const MushroomShape& shape) {
  Mesh shell;
  add_cap(shell, MushroomBuild(shape, 1));
  return shell;
}

TEST(Mushroom, FleshyCapsAndStemsAreClosedAndLookOutward) {
  for (const CapForm form : all_forms) {
    for (const std::uint32_t seed : {1u, 5u}) {
      MushroomShape shape;
      shape.form = form;
      shape.seed = seed;
      SCOPED_TRACE(testing::well_formed_fault(skin_of(shape)));
      const Mesh shell = skin_of(shape);
      EXPECT_EQ(testing::open_edges(shell), 0u);
      EXPECT_GT(testing::signed_volume(shell), 0);
      EXPECT_GT(testing::share_of_normals_in_front(shell), 0.99);
      Mesh stem;
      add_stem(stem, MushroomBuild(shape, 1));
      EXPECT_EQ(testing::open_edges(stem), 0u);
      EXPECT_GT(testing::signed_volume(stem), 0);
      // Longer than the stated length by the foot below ground and the end within the flesh; a cylinder's
      // volume within the taper, the bulb and the relief.
      const double cylinder = std::numbers::pi * shape.stem_radius * shape.stem_radius * shape.stem_length;
      EXPECT_NEAR(testing::signed_volume(stem) / cylinder, 1.25, 0.4);
    }
  }
}

TEST(Mushroom, ThinCapIsOneSheet) {
  const Mesh mesh = testing::build_default("bonnet");
  const Mesh cap = testing::welded_part(mesh, "cap");
  EXPECT_GT(testing::open_edges(cap), 20u);  // its margin
  const KindPart& part = find_kind("bonnet")->parts[0];
  EXPECT_TRUE(part.open_sheet);
  EXPECT_GT(part.material.transmittance.x, 0.0f);
}

// The stated diameter is twice the mean over all directions of the cap's reach from its axis. The margin's
// waves have mean 0; its few nicks take a fraction of a per cent.
TEST(Mushroom, MeanCapWidthIsTheStatedOne) {
  for (const CapForm form : all_forms) {
    for (const std::uint32_t seed : {1u, 2u, 3u}) {
      MushroomShape shape;
      shape.form = form;
      shape.seed = seed;
      const Mesh shell = skin_of(shape);
      std::vector<double> reach(60, 0.0);
      for (const glm::vec3& p : shell.position) {
        const double turn =
            std::atan2(static_cast<double>(p.y), static_cast<double>(p.x)) / (2 * std::numbers::pi) + 0.5;
        double& here = reach[std::min<std::size_t>(59, static_cast<std::size_t>(60 * turn))];
        here = std::max(here, std::hypot(static_cast<double>(p.x), static_cast<double>(p.y)));
      }
      double mean = 0;
      for (const double one : reach) mean += one / 60;
      EXPECT_NEAR(mean / shape.cap_radius, 1, 0.02) << "form " << static_cast<int>(form) << " seed " << seed;
    }
  }
}

TEST(Mushroom, NoSurfaceOfRevolutionLeavesTheKit) {
  const Mesh mesh =
      build_with("mushroom", {{"wave", 0.2}, {"dent", 0.0}, {"lean_deg", 0.0}, {"cap_tilt_deg", 0.0}});
  const auto box = testing::extent(mesh);
  const double lopsided = std::abs(box.high.x + box.low.x) + std::abs(box.high.y + box.low.y) +
                          std::abs((box.high.x - box.low.x) - (box.high.y - box.low.y));
  EXPECT_GT(lopsided, 0.0005);  // half a millimetre on a cap of 45
}

TEST(Mushroom, StandsInTheGroundAndReachesItsHeight) {
  const Mesh mesh =
      build_with("mushroom", {{"lean_deg", 0.0}, {"cap_tilt_deg", 0.0}, {"stem_length_mm", 80.0}});
  const auto box = testing::extent(mesh);
  EXPECT_LT(box.low.z, -0.003);
  EXPECT_GT(box.low.z, -0.008);
  // Gills at 80 mm, 5 mm of flesh and 1.2 mm of umbo above them; the crown's dents move it by a few
  // millimetres.
  EXPECT_NEAR(box.high.z, 0.0862, 0.004);
}

TEST(Mushroom, TiltingBackLiftsTheFrontOfTheCap) {
  const auto front_height = [](double tilt) {
    const Mesh cap =
        testing::welded_part(build_with("mushroom", {{"cap_tilt_deg", tilt}, {"lean_deg", 0.0}}), "cap");
    glm::vec3 front(0, 1, 0);
    for (const MeshTriangle& one : cap.triangle) {
      if (cap.position[one.a].y < front.y) front = cap.position[one.a];
    }
    return static_cast<double>(front.z);
  };
  EXPECT_GT(front_height(25), front_height(0) + 0.006);
}

TEST(Mushroom, ClustersNumberTheirIndividuals) {
  const Mesh mesh = build_with("mushroom", {{"count", 5.0}});
  std::set<int> numbers;
  for (const MeshPart& part : mesh.parts) numbers.insert(part.individual);
  EXPECT_EQ(numbers, (std::set<int>{1, 2, 3, 4, 5}));
  EXPECT_EQ(mesh.parts.size(), 15u);
}

// Winding number of a closed mesh about a point: the sum of the triangles' solid angles / 4 pi (van Oosterom
// and Strackee 1983): 1 inside, 0 outside.
double winding(const Mesh& mesh, const glm::dvec3& at) {
  double sum = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    const glm::dvec3 a = glm::dvec3(mesh.position[one.a]) - at, b = glm::dvec3(mesh.position[one.b]) - at,
                     c = glm::dvec3(mesh.position[one.c]) - at;
    const double la = glm::length(a), lb = glm::length(b), lc = glm::length(c);
    sum += 2 * std::atan2(glm::dot(a, glm::cross(b, c)),
                          la * lb * lc + glm::dot(a, b) * lc + glm::dot(b, c) * la + glm::dot(c, a) * lb);
  }
  return sum / (4 * std::numbers::pi);
}

TEST(Mushroom, CapsOfATuftDoNotEnterOneAnother) {
  for (const std::uint32_t seed : {1u, 2u, 3u}) {
    MushroomShape model;
    model.cap_radius = 16;
    model.cap_height = 12;
    model.stem_radius = 2.5;
    model.seed = seed;
    std::vector<Individual> cluster = arrange_cluster(model, 12, 11);
    std::vector<Mesh> caps;
    for (Individual& one : cluster) {
      one.shape.spacing = 5;
      caps.push_back(skin_of(one.shape));
      for (glm::vec3& place : caps.back().position) place += glm::vec3(one.base, 0);
    }
    std::size_t inside = 0, tried = 0;
    for (std::size_t i = 0; i < caps.size(); ++i) {
      for (std::size_t j = 0; j < caps.size(); ++j) {
        const auto box = testing::extent(caps[j]);
        for (std::size_t v = 0; i != j && v < caps[i].position.size(); v += 7) {
          const glm::dvec3 at(caps[i].position[v]);
          ++tried;
          if (glm::any(glm::lessThan(at, box.low)) || glm::any(glm::greaterThan(at, box.high))) continue;
          inside += winding(caps[j], at) > 0.5;
        }
      }
    }
    EXPECT_LT(static_cast<double>(inside), 0.002 * static_cast<double>(tried)) << "seed " << seed;
  }
}

TEST(Mushroom, BasesOfATuftAreJoinedAndTheYoungAreSmaller) {
  MushroomShape model;
  const std::vector<Individual> cluster = arrange_cluster(model, 12, 11);
  for (const Individual& one : cluster) EXPECT_LE(glm::length(one.base), 11.0);
  EXPECT_LT(cluster.back().shape.cap_radius, 0.6 * cluster.front().shape.cap_radius);
  EXPECT_GT(cluster.back().shape.cap_height / cluster.back().shape.cap_radius,
            1.2 * cluster.front().shape.cap_height / cluster.front().shape.cap_radius);
}

// Corners of the ranges build too, whatever stands in the file.
TEST(Mushroom, ExtremesOfTheRangesAreWellFormed) {
  for (const char* kind : {"mushroom", "bonnet"}) {
    for (const char* form : {"convex", "bell", "funnel", "flat", "conic"}) {
      const std::string profile = form;
      EXPECT_EQ(testing::well_formed_fault(build_with(
                    kind, {{"cap_profile", profile}, {"cap_diameter_mm", 3.0}, {"stem_diameter_mm", 0.3}})),
                "")
          << profile;
      EXPECT_EQ(testing::well_formed_fault(build_with(kind, {{"cap_profile", profile},
                                                             {"cap_diameter_mm", 300.0},
                                                             {"inroll_mm", 40.0},
                                                             {"wave", 3.0},
                                                             {"dent", 3.0}})),
                "")
          << profile;
      EXPECT_EQ(testing::well_formed_fault(build_with(kind, {{"cap_profile", profile},
                                                             {"gill_attachment", std::string("free")},
                                                             {"stem_diameter_mm", 120.0},
                                                             {"gill_tiers", 3.0}})),
                "")
          << profile;
      EXPECT_EQ(testing::well_formed_fault(build_with(kind, {{"cap_profile", profile},
                                                             {"gill_attachment", std::string("decurrent")},
                                                             {"lean_deg", 60.0},
                                                             {"cap_tilt_deg", -60.0},
                                                             {"depression_mm", 30.0}})),
                "")
          << profile;
    }
  }
}

}  // namespace
}  // namespace undercap
