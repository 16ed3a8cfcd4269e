#include <gtest/gtest.h>

#include "tests/unit/scene/scene_text.h"

namespace undercap {
namespace {

const std::string scene_with_variants = small_scene + R"(
[camera]
focus_distance_m = 0.8

[[variant]]
name = "180 mm"
change = { "camera.focal_length_mm" = 180, "camera.magnification" = 0.2 }

[[variant]]
name = "dim"
[variant.change]
source.torch.power_pct = 10.50
"source.second.on" = false
)";

TEST(Variant, ListsItsChangesInOrderAsWritten) {
  const Scene scene = scene_of(scene_with_variants);
  ASSERT_EQ(scene.variants.size(), 2u);
  using Change = std::vector<std::pair<std::string, std::string>>;
  EXPECT_EQ(scene.variants[0].change,
            (Change{{"camera.focal_length_mm", "180"}, {"camera.magnification", "0.2"}}));
  EXPECT_EQ(scene.variants[1].change,
            (Change{{"source.torch.power_pct", "10.50"}, {"source.second.on", "false"}}));
}

TEST(Variant, ChangesTheScene) {
  SceneFile file = SceneFile::from_text(scene_with_variants, "wood.toml");
  file.use_variant("180 mm");
  EXPECT_EQ(file.scene().camera.focal_length_mm, 180);
  EXPECT_EQ(file.scene().camera.magnification, 0.2);
  ASSERT_EQ(file.notes().size(), 1u);
  EXPECT_EQ(file.notes()[0],
            "variant '180 mm' camera.magnification=0.2 took out camera.focus_distance_m = 0.8: only one of "
            "the two may stand");
  file.use_variant("dim");
  EXPECT_EQ(file.scene().sources[0].power_pct, 10.5);
  EXPECT_FALSE(file.scene().sources[1].on);
}

TEST(Variant, UnknownNameListsTheKnown) {
  SceneFile file = SceneFile::from_text(scene_with_variants, "wood.toml");
  try {
    file.use_variant("bright");
    FAIL();
  } catch (const Refusal& refusal) {
    EXPECT_STREQ(refusal.what(), "wood.toml: there is no variant 'bright'; this scene has: 180 mm, dim");
  }
}

TEST(Variant, BadChangesAreFaultsOfTheFile) {
  const std::string head = "undercap = 1\n[[variant]]\nname = \"v\"\nchange = ";
  EXPECT_EQ(
      refusal_of(head + "{ \"camera.f_numbr\" = 8 }\n"),
      "wood.toml:4:12: variant.v.change: unknown key 'camera.f_numbr'; did you mean 'camera.f_number'?");
  EXPECT_EQ(refusal_of(head + "{ \"camera.f_number\" = 99 }\n"),
            "wood.toml:4:32: variant.v.change: camera.f_number is 99; allowed: a number from 0.7 to 64");
  EXPECT_EQ(
      refusal_of(head + "{ \"source.torch.power_pct\" = 9 }\n"),
      "wood.toml:4:12: variant.v.change: 'source.torch.power_pct' names a source and this scene has none");
  EXPECT_EQ(refusal_of(head + "{ \"camera.focus\" = [0, 0, 0], \"camera.magnification\" = 1 }\n"),
            "wood.toml:4:40: variant.v.change: camera.magnification and camera.focus exclude each other; "
            "keep one of them");
  EXPECT_EQ(
      refusal_of(head + "{ \"variant.v.name\" = \"w\" }\n"),
      "wood.toml:4:12: variant.v.change: 'variant.v.name' can only be changed in the scene file itself");
  EXPECT_EQ(refusal_of(head + "3\n"),
            "wood.toml:4:10: variant.v.change is 3; allowed: a table such as { \"camera.f_number\" = 11 }");
}

// What only shows once the variant is used opens with the variant; a variant that fails leaves the file as it
// was.
TEST(Variant, FaultsOpenWithTheVariant) {
  SceneFile file = SceneFile::from_text(
      "undercap = 1\n[[variant]]\nname = \"near\"\nchange = { \"camera.focus_distance_m\" = 0.1 }\n",
      "wood.toml");
  file.use_variant("near");
  EXPECT_EQ(refusal_of(file).substr(0, 91),
            "variant 'near' camera.focus_distance_m=0.1: camera.focus_distance_m is 0.1; allowed: at lea");

  const std::string text =
      "undercap = 1\n[[variant]]\nname = \"bad\"\nchange = { \"title\" = \"x\", \"camera.nothing\" = 1 }\n";
  SceneFile bad = SceneFile::from_text(text, "wood.toml");
  EXPECT_THROW(bad.use_variant("bad"), Refusal);
  EXPECT_EQ(bad.text(), text);
}

// A table in braces is one value; dotted keys change one number of it.
TEST(Variants, ChangeATableOrOneNumberOfIt) {
  const std::string text =
      "undercap = 1\n[sky]\ngrey_card = { f_number = 8, shutter_s = 1, iso = 200 }\n"
      "[[variant]]\nname = \"by lux\"\nchange = { sky.horizontal_lx = 800 }\n"
      "[[variant]]\nname = \"faster\"\nchange = { sky.grey_card.iso = 400 }\n"
      "[[variant]]\nname = \"other\"\nchange = { \"sky.grey_card\" = { f_number = 4, shutter_s = 2, iso = "
      "100 } }\n";
  const auto sky_of = [&](const char* variant) {
    SceneFile file = SceneFile::from_text(text, "wood.toml");
    file.use_variant(variant);
    return file.scene().sky;
  };
  EXPECT_EQ(sky_of("by lux").horizontal_lx, 800);
  EXPECT_FALSE(sky_of("by lux").grey_card);
  EXPECT_EQ(sky_of("faster").grey_card->iso, 400);
  EXPECT_EQ(sky_of("faster").grey_card->f_number, 8);
  EXPECT_EQ(sky_of("other").grey_card->f_number, 4);
  EXPECT_EQ(sky_of("other").grey_card->shutter_s, 2);
}

}  // namespace
}  // namespace undercap
