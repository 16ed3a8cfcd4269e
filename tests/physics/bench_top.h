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

// A shader of the tests' own, a file beside them, which includes the kernel's: as they are, or from the
// folder of altered ones where the tests are given one.
ShaderSource shader_of_tests(const std::string& name, const std::string& defines = {});

// 'text' without its first line 'undercap = 1'. Relative paths start at the tests' own temporary folder.
World world_of(const std::string& text);
std::string test_folder();

// The reading of an incident meter that the scene names.
Estimate meter_reading(const World& world, const std::string& meter, unsigned passes = 4);

// An incident meter that no scene names: place, unit normal, and its share in a mean.
struct Receiver {
  glm::dvec3 at{0}, normal{0, 0, 1};
  double share = 1;
};
// What arrives, by batch and group, as the mean over several receivers by their shares. Meters of one world
// use the same scrambles, so their batches are added, not their errors.
RegionSums receive(Tracer& tracer, const World& world, const std::vector<Receiver>& receivers,
                   unsigned passes = 1);
// The same as illuminance (lx) under the world's mix.
Estimate illuminance(Tracer& tracer, const World& world, const std::vector<Receiver>& receivers,
                     unsigned passes = 1);

// Nodes and weights of Gauss and Legendre on 0..1: exact for polynomials of degree 2 n - 1.
struct GaussNode {
  double at, weight;
};
std::vector<GaussNode> gauss_nodes(int count);

testing::AssertionResult agrees(const Estimate& measured, double exact, double further_relative = 0);

// An all-black set-up: no ground, no sky, no barrel; every test adds its own.
inline const std::string bare = "[ground]\nkind = \"none\"\n";
inline const std::string no_sky = "[sky]\nmodel = \"off\"\n";
// For sets with a ball, which they light from either side. The last key is open to more.
inline const std::string two_torches =
    R"([[source]]
name = "left"
kind = "torch"
position_m = [-0.2, -0.2, 0.2]
aim = "ball"
flux_lm = 30
[[source]]
name = "right"
kind = "torch"
position_m = [0.2, -0.1, 0.1]
aim = "ball"
flux_lm = 40
)";
inline const std::string plain_camera =
    "[camera]\nbarrel_mm = 0\nlook_at = [0.0, 0.0, 0.0]\nposition_m = [0.0, -0.5, 0.0]\n";

}  // namespace undercap
