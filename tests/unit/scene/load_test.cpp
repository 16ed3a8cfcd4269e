// What a good file becomes.
#include <gtest/gtest.h>

#include <clocale>
#include <filesystem>

#include "engine/core/files.h"
#include "tests/unit/scene/scene_text.h"

namespace undercap {
namespace {

TEST(Load, NextToNothingIsAScene) {
  const Scene scene = scene_of("undercap = 1\n");
  EXPECT_EQ(scene.file, "wood.toml");
  EXPECT_EQ(scene_text(scene), scene_text(Scene{}));
}

TEST(Load, EveryTableArrives) {
  const Scene scene = scene_of(R"(undercap = 1
title = "Under the cap"
[place]
time = 2026-10-20T13:30:00+01:00
[sky]
model = "uniform"
horizontal_lx = 800
[camera]
format_mm = [36, 24]
focal_length_mm = 105.5
position_m = [0, -1, 0.1]
look_at = "card/surface"
magnification = 0.2
[exposure]
shutter_s = 0.5
white_balance_k = "scene"
meter_on = "meter:middle"
[subject]
parts = ["ball", "card/surface"]
[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.1, 0.2, 0.3]
[[prop]]
name = "card"
kind = "card"
size_mm = [100, 150]
[prop.material.surface]
reflectance = 0.9
[[meter]]
name = "middle"
kind = "spot"
[[meter]]
name = "foot"
kind = "incident"
position_m = [0, 0, 0.03]
normal = [0, -2, 0]
)");
  EXPECT_EQ(scene.title, "Under the cap");
  EXPECT_EQ(scene.place.time.hour, 12);
  EXPECT_EQ(scene.sky.model, Sky::Model::uniform);
  EXPECT_EQ(scene.camera.focal_length_mm, 105.5);
  EXPECT_EQ(scene.camera.format_mm, (std::array<double, 2>{36, 24}));
  EXPECT_EQ(std::get<Address>(*scene.camera.look_at).text(), "card/surface");
  EXPECT_EQ(scene.camera.magnification, 0.2);
  EXPECT_FALSE(scene.camera.focus_distance_m);
  EXPECT_EQ(scene.exposure.shutter_s, 0.5);
  EXPECT_FALSE(scene.exposure.white_balance_k);
  EXPECT_EQ(scene.exposure.meter_on->text(), "meter:middle");
  ASSERT_EQ(scene.props.size(), 2u);
  EXPECT_EQ(scene.props[0].at_z_m, 0.3);
  EXPECT_EQ(scene.props[0].place.line, 20);
  EXPECT_FALSE(scene.props[1].at_z_m);
  EXPECT_EQ(scene.props[1].kind->name, "card");
  EXPECT_EQ((std::get<std::array<double, 2>>(scene.props[1].values.at("size_mm"))),
            (std::array<double, 2>{100, 150}));
  EXPECT_EQ(scene.props[1].materials.at("surface").reflectance, glm::vec3(0.9f));
  EXPECT_FALSE(scene.props[1].materials.at("surface").roughness);
  EXPECT_EQ(scene.meters[1].normal, glm::dvec3(0, -1, 0));
}

TEST(Load, KindValuesAreCompleteAndFilesAbsolute) {
  const Scene scene =
      SceneFile::from_text(
          "undercap = 1\n[[prop]]\nname = \"rock\"\nkind = \"mesh\"\nfile = \"stones/../a.obj\"\n"
          "[prop.material.any_part]\nreflectance = 0.3\n",
          "/some/folder/wood.toml")
          .scene();
  EXPECT_EQ(std::get<std::string>(scene.props[0].values.at("file")), "/some/folder/a.obj");
  for (const KindKey& key : scene.props[0].kind->keys)
    EXPECT_TRUE(scene.props[0].values.contains(key.name)) << key.name;
}

TEST(Load, WindowsLineEndsAndByteOrderMark) {
  std::string text = "\xef\xbb\xbf";
  for (const char c : small_scene) text += c == '\n' ? "\r\n" : std::string(1, c);
  EXPECT_EQ(scene_text(scene_of(text)), scene_text(scene_of(small_scene)));
}

// A comma as decimal sign in the locale must not reach numbers. Where the machine has no such locale the text
// "C.UTF-8" is tried, which proves less.
TEST(Load, KnowsNoLocale) {
  const std::string before = scene_text(scene_of(small_scene));
  const std::string saved = std::setlocale(LC_ALL, nullptr);
  for (const char* name : {"de_DE.UTF-8", "fr_FR.UTF-8", "C.UTF-8"})
    if (std::setlocale(LC_ALL, name)) break;
  EXPECT_EQ(scene_text(scene_of(small_scene)), before);
  EXPECT_EQ(refusal_of("undercap = 1\ncamera.f_number = 0.25\n"),
            "wood.toml:2:19: camera.f_number is 0.25; allowed: a number from 0.7 to 64");
  std::setlocale(LC_ALL, saved.c_str());
}

TEST(Load, OpensFilesWithBlanksAndUmlautsInTheirPath) {
  const auto folder =
      std::filesystem::temp_directory_path() /
      ("undercap scene \xc3\xbc " + std::to_string(::testing::UnitTest::GetInstance()->random_seed()));
  std::filesystem::create_directories(folder);
  const auto path = folder / "my wood.toml";
  write_file(path, small_scene, true);
  EXPECT_EQ(scene_text(SceneFile::open(path).scene()), scene_text(scene_of(small_scene)));
  EXPECT_THROW(SceneFile::open(folder), Refusal);
  EXPECT_THROW(SceneFile::open(folder / "none.toml"), Refusal);
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace undercap
