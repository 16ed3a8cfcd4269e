// Rules that hold for every row of the registry.
#include <gtest/gtest.h>

#include <cctype>
#include <glm/geometric.hpp>
#include <set>

#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

bool has_required_keys(const Kind& kind) { return default_values(kind).size() < kind.keys.size(); }

TEST(Kinds, NamesAreUniqueAndFound) {
  std::set<std::string> names;
  for (const Kind& kind : kinds()) {
    EXPECT_TRUE(names.insert(kind.name).second) << kind.name;
    EXPECT_EQ(find_kind(kind.name), &kind);
    EXPECT_FALSE(kind.meaning.empty()) << kind.name;
    EXPECT_FALSE(kind.parts.empty()) << kind.name;
  }
  EXPECT_EQ(find_kind("unicorn"), nullptr);
}

TEST(Kinds, DefaultsLieInTheirRangesAndChoices) {
  for (const Kind& kind : kinds()) {
    const KeyValues values = default_values(kind);
    for (const KindKey& key : kind.keys) {
      SCOPED_TRACE(kind.name + "." + key.name);
      EXPECT_FALSE(key.meaning.empty());
      if (key.type == KeyType::number || key.type == KeyType::integer) {
        EXPECT_LT(key.low, key.high);
        EXPECT_GE(number(values, key.name), key.low);
        EXPECT_LE(number(values, key.name), key.high);
      }
      if (key.type == KeyType::choice) {
        EXPECT_NE((" " + key.choices + " ").find(" " + text(values, key.name) + " "), std::string::npos);
      }
    }
  }
}

TEST(Kinds, EveryKindIsWellFormedAndCompleteAtSeveralSeeds) {
  for (const Kind& kind : kinds()) {
    if (has_required_keys(kind)) continue;
    for (const double seed : {1.0, 2.0, 77.0}) {
      SCOPED_TRACE(kind.name + " seed " + std::to_string(seed));
      const Mesh& mesh = testing::build_default(kind.name, seed);
      EXPECT_EQ(testing::well_formed_fault(mesh), "");
      std::set<std::string> found, wanted;
      for (const MeshTriangle& one : mesh.triangle) found.insert(mesh.parts[one.part].name);
      for (const KindPart& part : kind.parts) {
        if (!part.sometimes || found.contains(part.name)) wanted.insert(part.name);
      }
      EXPECT_EQ(found, wanted);
      // Smooth shading leans by less than a right angle from the face nearly everywhere.
      if (!mesh.normal.empty()) {
        EXPECT_GT(testing::share_of_normals_in_front(mesh), 0.97);
      }
      if (mesh.tint.empty()) continue;
      for (const std::string& part : wanted) {
        const glm::dvec3 mean = mean_tint(mesh, part);
        for (int channel = 0; channel < 3; ++channel) EXPECT_NEAR(mean[channel], 1, 0.02) << part;
      }
    }
  }
}

TEST(Kinds, TheSameSeedGivesTheSameBytesAndAnotherSeedOthers) {
  for (const Kind& kind : kinds()) {
    if (has_required_keys(kind)) continue;
    const std::string first = testing::bytes_of(testing::build_default(kind.name));
    EXPECT_EQ(first, testing::bytes_of(testing::build_with(kind.name, {}))) << kind.name;
    if (!default_values(kind).contains("seed")) continue;
    EXPECT_NE(first, testing::bytes_of(testing::build_default(kind.name, 2))) << kind.name;
  }
}

TEST(Kinds, ReflectanceAndTransmittanceKeepEnergyUnderEveryTint) {
  for (const Kind& kind : kinds()) {
    if (has_required_keys(kind)) continue;
    const Mesh& mesh = testing::build_default(kind.name);
    for (const KindPart& part : kind.parts) {
      const glm::vec3 sum = part.material.reflectance + part.material.transmittance;
      if (!part.open_sheet) {
        EXPECT_EQ(glm::length(part.material.transmittance), 0.0f) << kind.name << part.name;
      }
      for (const MeshTriangle& one : mesh.triangle) {
        if (mesh.tint.empty() || mesh.parts[one.part].name != part.name) continue;
        const glm::vec3 tinted = sum * mesh.tint[one.a];
        ASSERT_LE(std::max({tinted.x, tinted.y, tinted.z}), 1.0f) << kind.name << "/" << part.name;
      }
    }
  }
}

}  // namespace
}  // namespace undercap
