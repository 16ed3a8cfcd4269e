// What the physics tests share: one context, worlds from scene text, meters and films as numbers.
//
// The rule for a measured x against an exact e: |x - e| <= 4 SE + 1e-4 e, and SE < 0.5 % of e. Seeds are
// fixed; the first one tried is kept.
#pragma once

#include <gtest/gtest.h>

#include <string>

#include "engine/measure/survey.h"
#include "engine/render/develop.h"
#include "engine/render/tracer.h"
#include "engine/world/world.h"

namespace undercap {

// The shaders, with a context current on this thread; made once.
const ShaderLibrary& test_shaders();

// 'text' without its first line 'undercap = 1'. Relative paths start at the tests' own temporary folder.
World world_of(const std::string& text);
std::string test_folder();

// The reading of an incident meter that the scene names.
Estimate meter_reading(const World& world, const std::string& meter, unsigned passes = 4);

testing::AssertionResult agrees(const Estimate& measured, double exact, double further_relative = 0);

// An all-black set-up: no ground, no sky, no barrel; every test adds its own.
inline const std::string bare = "[ground]\nkind = \"none\"\n";
inline const std::string no_sky = "[sky]\nmodel = \"off\"\n";
inline const std::string plain_camera =
    "[camera]\nbarrel_mm = 0\nlook_at = [0.0, 0.0, 0.0]\nposition_m = [0.0, -0.5, 0.0]\n";

}  // namespace undercap
