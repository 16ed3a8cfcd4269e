// What each part of a world is made of, and which row of the table of materials says so.
#include "engine/surface/materials.h"

#include <gtest/gtest.h>

#include "engine/scene/load.h"
#include "engine/world/world.h"

namespace undercap {
namespace {

World world_of(const std::string& text) {
  return build_world(SceneFile::from_text("undercap = 1\n" + text, "test.toml").scene());
}

std::string card(const std::string& material) {
  return "[ground]\nkind = \"none\"\n[[prop]]\nname = \"card\"\nkind = \"card\"\n[prop.material.surface]\n" +
         material;
}

struct Part {
  Material material;
  std::string row;
};

// By the name of the part, or of its prop.
Part part_of_world(const World& world, std::string_view name) {
  for (const WorldPart& part : world.parts)
    if (part.part == name || part.prop == name) return {world.materials[part.material], part.row};
  ADD_FAILURE() << "no part " << name;
  return {};
}

Part surface(const std::string& material) { return part_of_world(world_of(card(material)), "surface"); }

// White .90, silver .90 and gold .90 .70 .35 as mirrors without a body, black .04, a film that .55 comes
// through.
TEST(PartMaterials, CardsAreWhatTheyAreOf) {
  EXPECT_EQ(surface("of = \"white_card\"\n").material.reflectance, glm::vec3(.9f));
  const Material silver = surface("of = \"silver_foil\"\n").material,
                 gold = surface("of = \"gold_foil\"\n").material;
  EXPECT_EQ(silver.mirror, glm::vec3(.9f));
  EXPECT_EQ(silver.reflectance, glm::vec3(0));
  EXPECT_LT(silver.roughness, 1);
  EXPECT_EQ(gold.mirror, glm::vec3(.9f, .7f, .35f));
  EXPECT_EQ(surface("of = \"black_card\"\n").material.reflectance, glm::vec3(.04f));
  const Part film = surface("of = \"tracing_film\"\n");
  EXPECT_EQ(film.material.transmittance, glm::vec3(.55f, .55f, .54f));
  EXPECT_EQ(film.material.mirror, glm::vec3(0));
  EXPECT_EQ(film.row, "tracing_film");
}

// The kind's own < the row < the keys beside it. A colour that the scene gives is no longer the row's; its
// gloss and water are no colour.
TEST(PartMaterials, KeysGoOverTheRow) {
  EXPECT_EQ(surface("roughness = 0.4\n").row, "pale_card");
  const Part sharper = surface("of = \"silver_foil\"\nroughness = 0.1\nwet = 0.5\n");
  EXPECT_EQ(sharper.material.mirror, glm::vec3(.9f));
  EXPECT_EQ(sharper.material.roughness, .1f);
  EXPECT_EQ(sharper.material.wet, .5f);
  EXPECT_EQ(sharper.row, "silver_foil");
  const Part own = surface("of = \"silver_foil\"\nreflectance = 0.5\n");
  EXPECT_EQ(own.material.reflectance, glm::vec3(.5f));
  EXPECT_EQ(own.material.mirror, glm::vec3(0));
  EXPECT_EQ(own.row, "");
  const Part mirror = surface("mirror = [0.9, 0.8, 0.7]\n");
  EXPECT_EQ(mirror.material.reflectance, glm::vec3(0));
  EXPECT_EQ(mirror.material.mirror, glm::vec3(.9f, .8f, .7f));
  EXPECT_EQ(mirror.row, "");
}

// A closed shape made of a sheet's stuff is a solid of it: nothing comes through.
TEST(PartMaterials, ClosedShapesAreSolid) {
  const World world = world_of(
      "[[prop]]\nname = \"tuft\"\nkind = \"mushroom\"\n[prop.material.stem]\nof = \"gills\"\n"
      "[prop.material.gills]\nof = \"bonnet_gills\"\n");
  const Material stem = part_of_world(world, "stem").material;
  EXPECT_EQ(stem.transmittance, glm::vec3(0));
  EXPECT_EQ(stem.reflectance, solid_of(*find_material("gills")).reflectance);
  EXPECT_EQ(part_of_world(world, "gills").material.transmittance,
            find_material("bonnet_gills")->material.transmittance);
}

// The preset says what parts are made of and how large they are; the scene's own words come first.
TEST(PartMaterials, PresetsComeBeforeTheKindAndAfterTheScene) {
  const std::string prop = "[[prop]]\nname = \"one\"\nkind = \"mushroom\"\npreset = \"red_warted\"\n";
  EXPECT_EQ(part_of_world(world_of(prop), "cap").row, "red_skin");
  EXPECT_EQ(part_of_world(world_of(prop), "warts").row, "veil_wart");
  const World own = world_of(prop + "warts = 0\n[prop.material.cap]\nreflectance = 0.3\n");
  EXPECT_EQ(part_of_world(own, "cap").material.reflectance, glm::vec3(.3f));
  for (const WorldPart& part : own.parts) EXPECT_NE(part.part, "warts");
}

// Two films of half the thickness, one on the other, are the film: R = r + t^2 r / (1 - r^2), T = t^2 / (1 -
// r^2).
TEST(PartMaterials, SheetsHaveAThickness) {
  const Part half = surface("of = \"tracing_film\"\nthickness_mm = 0.05\n");
  const float r = half.material.reflectance.g, t = half.material.transmittance.g;
  EXPECT_NEAR(r + t * t * r / (1 - r * r), .38, 1e-6);
  EXPECT_NEAR(t * t / (1 - r * r), .55, 1e-6);
  EXPECT_EQ(half.row, "tracing_film");
  const World world =
      world_of("[[prop]]\nname = \"tuft\"\nkind = \"mushroom\"\n[prop.material.gills]\nthickness_mm = 0.8\n");
  EXPECT_LT(part_of_world(world, "gills").material.transmittance.r, .15f);
}

TEST(PartMaterials, WaterIsOfThePropThePartAndTheGround) {
  const World world = world_of(
      "[ground]\nwet = 0.25\n[[prop]]\nname = \"tuft\"\nkind = \"mushroom\"\nwet = 0.5\n"
      "[prop.material.cap]\nwet = 1.0\n");
  EXPECT_EQ(part_of_world(world, "ground").material.wet, .25f);
  EXPECT_EQ(part_of_world(world, "cap").material.wet, 1.f);
  EXPECT_EQ(part_of_world(world, "stem").material.wet, .5f);
}

// Every part of the kit is of a row, the plain test bodies are of none; the ground is of damp litter until
// the scene says otherwise.
TEST(PartMaterials, RowsOfTheKit) {
  for (const Kind& kind : kinds())
    for (const KindPart& part : kind.parts) {
      if (part.row.empty()) {
        EXPECT_EQ(part.material.reflectance, glm::vec3(.18f)) << kind.name;
        continue;
      }
      const MaterialRow* row = find_material(part.row);
      ASSERT_NE(row, nullptr) << part.row;
      EXPECT_EQ(part.material.reflectance, row->material.reflectance) << kind.name;
      EXPECT_TRUE(part.open_sheet || part.material.transmittance == glm::vec3(0)) << kind.name;
    }
  EXPECT_EQ(part_of_world(world_of(""), "ground").row, "litter_damp");
  EXPECT_EQ(part_of_world(world_of("[ground]\nreflectance = 0.2\n"), "ground").row, "");
}

}  // namespace
}  // namespace undercap
