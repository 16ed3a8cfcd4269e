// The notes that say which guesses a reading rests on, from a made-up survey.
#include "engine/measure/guesses.h"

#include <gtest/gtest.h>

#include "engine/scene/load.h"
#include "engine/world/guesses.h"

namespace undercap {
namespace {

// A mushroom with a measured stem, a cap of the scene's own, guessed gills and flesh, before five guessed
// cards and one of wet soil.
World wood() {
  std::string text =
      "undercap = 1\n[subject]\nparts = [\"tuft\"]\nbackdrop = [\"a\", \"b\", \"c\", \"d\", \"e\", "
      "\"f\"]\n[[prop]]\nname = \"tuft\"\nkind = \"mushroom\"\n[prop.material.stem]\nof = "
      "\"mushroom_sliced\"\n[prop.material.cap]\nreflectance = 0.4\n";
  const auto card = [&](const std::string& name, const std::string& of) {
    text += "[[prop]]\nname = \"" + name +
            "\"\nkind = \"card\"\nat_m = [0, 2]\n[prop.material.surface]\nof = \"" + of + "\"\n";
  };
  card("a", "white_card");
  card("b", "black_card");
  card("c", "white_card");
  card("d", "bark_dark");
  card("e", "lichen");
  card("f", "soil_wet");
  return without_barrel(build_world(SceneFile::from_text(text, "test.toml").scene()));
}

// 'samples' in the parts of one prop or of one name.
void see(const World& world, Survey& survey, std::string_view name, unsigned samples) {
  for (std::size_t i = 0; i < world.parts.size(); ++i)
    if (world.parts[i].prop == name || world.parts[i].part == name) survey.part[i].count(0, samples);
}

std::string note(const World& world, const Survey& survey, const std::string& name,
                 const std::string& before = {}, bool has_value = true) {
  Reading reading;
  reading.name = name;
  reading.note = before;
  if (has_value) reading.value = 1.0;
  std::vector<Reading> readings{reading};
  const ExposureChoice exposure;
  const std::vector<MeterSums> meters;
  note_guesses({world, survey, exposure, meters}, readings);
  return readings[0].note;
}

TEST(Guesses, OfASceneAndOfParts) {
  const World world = wood();
  EXPECT_EQ(guessed_rows(world), (std::vector<std::string>{"gills", "pale_flesh", "white_card", "black_card",
                                                           "bark_dark", "lichen", "litter_damp"}));
  EXPECT_EQ(guessed_rows(world, world.subject), (std::vector<std::string>{"gills", "pale_flesh"}));
}

TEST(Guesses, ArePartOfTheNotesOfWhatWasRead) {
  const World world = wood();
  Survey survey = start_survey(world, false, 8);
  see(world, survey, "gills", 10);
  see(world, survey, "cap", 10);
  see(world, survey, "stem", 10);
  EXPECT_EQ(note(world, survey, "part.tuft/gills.stops"), "rests on guessed reflectances: gills");
  EXPECT_EQ(note(world, survey, "part.tuft/gills.luminance_cd_m2", "(?) noisy"),
            "(?) noisy; rests on guessed reflectances: gills");
  EXPECT_EQ(note(world, survey, "part.tuft/stem.stops"), "");
  EXPECT_EQ(note(world, survey, "part.tuft/cap.stops", "as it is"), "as it is");
  EXPECT_EQ(note(world, survey, "contrast.cap_gills_stops"), "rests on guessed reflectances: gills");
  EXPECT_EQ(note(world, survey, "contrast.cap_stem_stops"), "");
  EXPECT_EQ(note(world, survey, "lens.magnification"), "");
  EXPECT_EQ(note(world, survey, "part.tuft/gills.stops", "not seen in the picture", false),
            "not seen in the picture");
}

// What no sample met says nothing; the most seen comes first, and a note stays short.
TEST(Guesses, NameTheMostSeenFirstAndNoMoreThanThree) {
  const World world = wood();
  Survey survey = start_survey(world, false, 8);
  see(world, survey, "gills", 3);
  see(world, survey, "c", 2);
  see(world, survey, "d", 9);
  EXPECT_EQ(note(world, survey, "contrast.subject_backdrop_stops"),
            "rests on guessed reflectances: bark_dark, gills, white_card");
  see(world, survey, "b", 1);
  see(world, survey, "e", 1);
  EXPECT_EQ(note(world, survey, "contrast.subject_backdrop_stops"),
            "rests on guessed reflectances: bark_dark, gills, white_card and 2 more");
}

}  // namespace
}  // namespace undercap
