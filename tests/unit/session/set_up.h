// What these tests begin with: a small scene with one of everything, and a folder of their own.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <string>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/session/edited_scene.h"

namespace undercap {

inline const std::string small_scene = R"(# About this file.
undercap = 1
title = "Small"

[sky]
horizontal_lx = 9000 # a dull day

[camera]
f_number = 8 # as marked
position_m = [0, -0.6, 0.1]
look_at = "ball"

[exposure]
shutter_s = 0.5

[ground]
kind = "soil"
size_m = 2

# The subject.
[[prop]]
name = "ball"
kind = "sphere"
diameter_mm = 40

# A card behind it.
[[prop]]
name = "card"
kind = "card"
at_m = [0.1, 0.2]
[prop.material.surface]
reflectance = 0.4

[[source]]
name = "torch"
kind = "torch"
position_m = [0.2, -0.1, 0.1]
aim = "ball"
flux_lm = 120

[[source]]
name = "flash"
kind = "flash"
position_m = [-0.2, -0.1, 0.1]
aim = [0, 0, 0.02]
guide_number_m = 10
size_mm = [60, 40]

[[meter]]
name = "foot"
kind = "incident"
position_m = [0, 0, 0.03]

[[meter]]
name = "middle"
kind = "spot"

[[variant]]
name = "open"
change = { "camera.f_number" = 2.8, "source.torch.power_pct" = 50 }
)";

inline EditedScene small() { return EditedScene::from_text(small_scene, "small.toml"); }

// What an action is refused with; empty when it is not.
template <class Action>
std::string refusal_of(const Action& action) {
  try {
    action();
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return {};
}

inline bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

class InFolder : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string name = (std::filesystem::temp_directory_path() / "undercap session Prüf-XXXXXX").string();
    ASSERT_NE(::mkdtemp(name.data()), nullptr);
    folder = name;
  }
  void TearDown() override { std::filesystem::remove_all(folder); }
  std::filesystem::path file(const std::string& name, const std::string& text) const {
    write_file(folder / name, text, true);
    return folder / name;
  }
  std::filesystem::path folder;
};

}  // namespace undercap
