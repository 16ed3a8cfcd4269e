#include "engine/surface/pattern_layers.h"

#include <gtest/gtest.h>

#include <cmath>

namespace undercap {
namespace {

constexpr int first_kind = 1, last_kind = static_cast<int>(PatternKind::twig);
const glm::vec3 grey(.3f, .2f, .1f);

std::vector<PatternLayer> layers_of(int kind, float strength = 1, float wear = .5f) {
  return pattern_layers({.kind = static_cast<PatternKind>(kind), .strength = strength, .wear = wear}, grey);
}

// A device reads the numbers as halves: 65504 at most. A mask without a width would divide by 0; a gate that
// no acting layer takes would lie in wait for another pattern's.
TEST(PatternLayers, NumbersThatCanBeRead) {
  for (int kind = first_kind; kind <= last_kind; ++kind)
    for (const float wear : {0.f, .5f, 1.f}) {
      const std::vector<PatternLayer> layers = layers_of(kind, 1, wear);
      ASSERT_FALSE(layers.empty()) << kind;
      bool gated = false, open_sum = false;
      for (const PatternLayer& l : layers) {
        for (const float x : {l.place.x, l.place.y, l.place.z, l.along.x, l.along.y, l.along.z, l.amount,
                              l.colour.x, l.colour.y, l.colour.z, l.height_mm, 1 / (l.high - l.low)})
          EXPECT_LT(std::abs(x), 1000.f) << kind;
        EXPECT_GT(std::abs(l.high - l.low), 1e-3f) << kind;
        for (int c = 0; c < 3; ++c) EXPECT_GT(l.colour[c], 0.f) << kind;
        if (l.does == PatternLayer::Does::gate) gated = true, open_sum = false;
        if (l.does == PatternLayer::Does::add) open_sum = true;
        if (l.does == PatternLayer::Does::act) gated = open_sum = false;
      }
      EXPECT_FALSE(gated || open_sum) << kind;
    }
}

// Strength 0 leaves no colour, and nothing that covers.
TEST(PatternLayers, StrengthIsAPower) {
  for (int kind = first_kind; kind <= last_kind; ++kind) {
    for (const PatternLayer& l : layers_of(kind, 0)) {
      EXPECT_EQ(l.colour, glm::vec3(1)) << kind;
      EXPECT_FALSE(l.covers) << kind;
    }
    const std::vector<PatternLayer> once = layers_of(kind, 1), twice = layers_of(kind, 2);
    ASSERT_EQ(once.size(), twice.size());
    for (std::size_t i = 0; i < once.size(); ++i)
      if (!once[i].covers) {
        EXPECT_NEAR(twice[i].colour.x, once[i].colour.x * once[i].colour.x, 1e-5f) << kind;
      }
  }
}

// What covers a part has a reflectance of its own, whatever lies below: the factor times the part's is it.
TEST(PatternLayers, CoversAreAbsolute) {
  const Pattern bark{.kind = PatternKind::bark};
  const std::vector<PatternLayer> dark = pattern_layers(bark, grey), pale = pattern_layers(bark, 2.f * grey);
  int covers = 0;
  for (std::size_t i = 0; i < dark.size(); ++i) {
    if (!dark[i].covers) continue;
    ++covers;
    for (int c = 0; c < 3; ++c) EXPECT_NEAR(dark[i].colour[c], 2 * pale[i].colour[c], 1e-5f);
  }
  EXPECT_GE(covers, 3);  // algae, lichen, bare wood
}

}  // namespace
}  // namespace undercap
