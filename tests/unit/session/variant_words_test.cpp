#include "engine/session/variant_words.h"

#include <fmt/format.h>

#include "engine/scene/load.h"
#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

using Lines = std::vector<std::string>;

// Of one variant with these changes, applied to the small scene.
Lines words_of(const std::string& changes) {
  SceneFile here = SceneFile::from_text(small_scene, "small.toml");
  here.add_block(fmt::format("[[variant]]\nname = \"other\"\nchange = {{ {} }}\n", changes), "test");
  SceneFile there = here;
  there.use_variant("other");
  return differing_words(parse_document(here.text(), "here"), parse_document(there.text(), "there"),
                         here.scene().variants.back());
}

// Expected: the words that the header promises, from the values that small_scene writes.
TEST(VariantWords, SayTheNewValueAndTheOldOne) {
  EXPECT_EQ(words_of("\"camera.f_number\" = 16"), Lines{"f-number 16, not 8"});
  EXPECT_EQ(words_of("\"sky.horizontal_lx\" = 4500, \"source.torch.flux_lm\" = 60"),
            (Lines{"sky horizontal 4500 lx, not 9000 lx", "torch flux 60 lm, not 120 lm"}));
  EXPECT_EQ(words_of("\"camera.position_m\" = [0, -0.3, 0.1]"), Lines{"position moved by 30 cm"});
}

// Three digits and no zeros behind them; a point that was a part's address before has no distance.
TEST(VariantWords, NumbersAreShort) {
  EXPECT_EQ(words_of("\"camera.f_number\" = 5.6, \"camera.look_at\" = [0, 0, 0.04321]"),
            (Lines{"f-number 5.6, not 8", "look at (0, 0, 0.0432) m, not ball"}));
}

// What is not written has its default: a source is on at its full strength, and an ISO of 200 is the usual
// one.
TEST(VariantWords, TheOldValueMayBeADefault) {
  EXPECT_EQ(words_of("\"source.torch.power_pct\" = 50"), Lines{"torch power 50 %, not 100 %"});
  EXPECT_EQ(words_of("\"source.torch.on\" = false"), Lines{"torch on: no"});
}

// What the scene says already is no difference, however it is written; nor is a default.
TEST(VariantWords, WhatIsTheSameIsNotTold) {
  EXPECT_EQ(words_of("\"camera.f_number\" = 8.0, \"source.torch.power_pct\" = 100, \"exposure.iso\" = 800"),
            Lines{"ISO 800, not 200"});
  EXPECT_EQ(words_of("\"camera.look_at\" = \"ball\""), Lines{});
}

TEST(VariantWords, AMaterialIsTheProps) {
  EXPECT_EQ(words_of("\"prop.card.material.surface.reflectance\" = 0.8"),
            Lines{"card surface reflectance 0.8, not 0.4"});
  // Without a value of its own before, as the table of materials has it.
  EXPECT_EQ(words_of("\"prop.ball.material.surface.reflectance\" = 0.8"),
            Lines{"ball surface reflectance 0.8"});
}

}  // namespace
}  // namespace undercap
