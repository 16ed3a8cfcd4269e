#include "engine/surface/materials.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/surface/kubelka_munk.h"

namespace undercap {
namespace {

const MaterialRow& row(std::string_view name) {
  const MaterialRow* found = find_material(name);
  EXPECT_NE(found, nullptr) << name;
  return *found;
}

double y(const glm::vec3& colour) { return luminance_y(glm::dvec3(colour)); }

TEST(Materials, EveryRowIsPhysicalAndSaysWhereItComesFrom) {
  EXPECT_GE(material_table().size(), 40u);
  for (const MaterialRow& r : material_table()) {
    EXPECT_FALSE(r.source.empty()) << r.name;
    for (int channel = 0; channel < 3; ++channel)
      EXPECT_LE(r.material.reflectance[channel] + r.material.transmittance[channel], 1) << r.name;
    EXPECT_EQ(r.material.transmittance != glm::vec3(0), r.thickness_mm > 0) << r.name;
    EXPECT_TRUE(r.material.mirror == glm::vec3(0) || r.material.reflectance == glm::vec3(0)) << r.name;
    EXPECT_EQ(r.material.wet, 0) << r.name;
  }
  EXPECT_EQ(find_material("granite"), nullptr);
}

// The Y of the leaves' spectra, reflected and transmitted: .107 .098 green, .316 .270 yellow, .217 .129
// brown, .198 .066 dry brown. A channel clamped at 0 (green, T: -.02 in blue) and three digits of
// RGB leave .0015.
TEST(Materials, LeavesAddUpToTheirLuminance) {
  struct Leaf {
    const char* name;
    double reflected, transmitted;
  };
  for (const Leaf& leaf : {Leaf{"leaf_green", .107, .098},
                           {"leaf_yellow_green", .246, .226},
                           {"leaf_yellow", .316, .270},
                           {"leaf_orange_red", .156, .121},
                           {"leaf_deep_red", .083, .050},
                           {"leaf_brown", .217, .129},
                           {"leaf_dry_brown", .198, .066},
                           {"leaf_pale_dry", .331, .188}}) {
    EXPECT_NEAR(y(row(leaf.name).material.reflectance), leaf.reflected, .0015) << leaf.name;
    EXPECT_NEAR(y(row(leaf.name).material.transmittance), leaf.transmitted, .0015) << leaf.name;
    EXPECT_EQ(row(leaf.name).origin, MaterialRow::Origin::computed);
  }
}

// CIE 15: Y = ((L* + 16) / 116)^3, so L* 88.5 is .731; Hunter: Y = L^2 / 1e4, so 93, 80, 69 are .865 .640
// .476. Three digits of RGB leave .001.
TEST(Materials, WhitesHaveTheLightnessThatWasMeasured) {
  EXPECT_NEAR(y(row("mushroom_sliced").material.reflectance), std::pow((88.5 + 16) / 116, 3), .001);
  EXPECT_NEAR(y(row("mushroom_excellent").material.reflectance), .93 * .93, .001);
  EXPECT_NEAR(y(row("mushroom_poor").material.reflectance), .80 * .80, .001);
  EXPECT_NEAR(y(row("mushroom_rejected").material.reflectance), .69 * .69, .001);
  EXPECT_NEAR(y(row("soil_dry").material.reflectance), .262, .001);
  EXPECT_NEAR(y(row("soil_wet").material.reflectance), .029, .001);
}

// A sheet at its own thickness is itself; two of half the thickness without a coat are stacked to it.
TEST(Materials, ThicknessOfALeaf) {
  const MaterialRow& leaf = row("leaf_brown");
  const Material same = sheet_of(leaf, 0.2_mm), half = sheet_of(leaf, 0.1_mm);
  for (int i = 0; i < 3; ++i) {
    EXPECT_NEAR(same.reflectance[i], leaf.material.reflectance[i], 1e-6);
    EXPECT_NEAR(same.transmittance[i], leaf.material.transmittance[i], 1e-6);
    const SheetAlbedo one{double(half.reflectance[i]), double(half.transmittance[i])};
    EXPECT_NEAR(stacked(one, one).reflectance, leaf.material.reflectance[i], 1e-6);
    EXPECT_NEAR(stacked(one, one).transmittance, leaf.material.transmittance[i], 1e-6);
  }
}

// Thicker leaves send more back, up to that of a solid.
TEST(Materials, ThickerLeavesSendMoreBack) {
  const MaterialRow& leaf = row("leaf_yellow");
  const Material thick = sheet_of(leaf, 0.5_mm), solid = solid_of(leaf), metre = sheet_of(leaf, 1_m);
  for (int i = 0; i < 3; ++i) {
    EXPECT_GE(thick.reflectance[i], leaf.material.reflectance[i]);
    EXPECT_GE(solid.reflectance[i], thick.reflectance[i]);
    EXPECT_NEAR(metre.reflectance[i], solid.reflectance[i], 1e-6);
    EXPECT_EQ(solid.transmittance[i], 0);
  }
}

// Under a coat thicker flesh lets less through too, and what comes through is warmer. It need not send more
// back: the far boundary of a thin sheet returns light that a thick one would have swallowed.
TEST(Materials, ThickerFleshIsDarkerBehindAndWarmer) {
  const MaterialRow& gills = row("gills");
  const Material same = sheet_of(gills, 0.4_mm), thick = sheet_of(gills, 1_mm);
  for (int i = 0; i < 3; ++i) {
    EXPECT_NEAR(same.reflectance[i], gills.material.reflectance[i], 1e-6);
    EXPECT_NEAR(same.transmittance[i], gills.material.transmittance[i], 1e-6);
    EXPECT_LT(thick.transmittance[i], gills.material.transmittance[i]);
    EXPECT_NEAR(sheet_of(gills, 1_m).reflectance[i], solid_of(gills).reflectance[i], 1e-6);
  }
  EXPECT_GT(thick.transmittance.r / thick.transmittance.b,
            1.2f * gills.material.transmittance.r / gills.material.transmittance.b);
}

TEST(Materials, EveryRowCanBeMadeASolidAndEverySheetThinner) {
  for (const MaterialRow& r : material_table()) {
    EXPECT_EQ(solid_of(r).transmittance, glm::vec3(0)) << r.name;
    if (r.thickness_mm > 0) {
      const Material thin = sheet_of(r, Length(0.5e-3 * r.thickness_mm));
      for (int i = 0; i < 3; ++i) EXPECT_GT(thin.transmittance[i], r.material.transmittance[i]) << r.name;
    } else {
      EXPECT_THROW(sheet_of(r, 1_mm), Refusal) << r.name;
    }
  }
}

void expect_refused(std::string_view text, std::string_view words) {
  try {
    read_materials(text, "t.csv");
    ADD_FAILURE() << text;
  } catch (const Refusal& refusal) {
    EXPECT_EQ(refusal.faults()[0].text(), words);
  }
}

TEST(Materials, FaultsOfATableNameTheirLine) {
  const std::string good = "# a\n\nchalk, .8,.8,.8, 0,0,0, 1, 0,0,0, 0, guess, by eye, twice\n";
  ASSERT_EQ(read_materials(good, "t.csv").size(), 1u);
  EXPECT_EQ(read_materials(good, "t.csv")[0].source, "by eye, twice");
  expect_refused(good + good.substr(5), "t.csv:4: chalk stands there twice");
  expect_refused("a, .8,.8,1.8, 0,0,0, 1, 0,0,0, 0, guess, x",
                 "t.csv:1: reflectance is 1.8; allowed: 0 to 1");
  expect_refused("a, .8,.8,.8, .3,0,0, 1, 0,0,0, 1, guess, x",
                 "t.csv:1: reflectance and transmittance come to more than 1");
  expect_refused("a, .8,.8,.8, .1,0,0, 1, 0,0,0, 0, guess, x",
                 "t.csv:1: a sheet transmits and has a thickness, a solid neither");
  expect_refused("a, .8,.8,.8, 0,0,0, 1, 0,0,0, 0, seen, x",
                 "t.csv:1: the origin is seen; allowed: measured, computed, guess");
  expect_refused("a, .8,.8", "t.csv:1: reflectance is missing");
  expect_refused("a, .8,.8,.8, 0,0,0, 1, 0,0,0, 0, guess,", "t.csv:1: the source is missing");
}

}  // namespace
}  // namespace undercap
