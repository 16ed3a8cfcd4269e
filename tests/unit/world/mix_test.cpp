// Light that shines for a part of an exposure, and flashes: sums of straight lines, worked out by hand.
#include "engine/world/mix.h"

#include <gtest/gtest.h>

namespace undercap {
namespace {

// A sky of 2, a lamp of 6 that is on for 2 s, another of 3 that is off, a flash of 8 cd s.
World lit_world() {
  World world;
  const auto add = [&](double power) -> LightGroup& {
    LightGroup& group = world.groups.emplace_back();
    group.kind = LightGroup::Kind::lamp;
    group.power = power;
    return group;
  };
  add(2).kind = LightGroup::Kind::sky;
  add(6).on_s = 2;
  add(3).on = false;
  add(8).flash = true;
  return world;
}

std::vector<double> reds(const Mix& mix) {
  std::vector<double> red;
  for (const glm::dvec3& weight : mix) red.push_back(weight.x);
  return red;
}

TEST(Mix, IsTheMeanOverTheExposure) {
  const World world = lit_world();
  using Reds = std::vector<double>;
  EXPECT_EQ(reds(mix_of(world)), (Reds{2, 6, 0, 0}));
  EXPECT_EQ(reds(mix_of_flashes(world)), (Reds{0, 0, 0, 8}));
  EXPECT_EQ(reds(mix_over(world, 1_s)), (Reds{2, 6, 0, 8}));    // shorter than the lamp is on
  EXPECT_EQ(reds(mix_over(world, 8_s)), (Reds{2, 1.5, 0, 1}));  // 6 x 2 / 8 and 8 / 8
  EXPECT_EQ(reds(mix_metered(world, 8_s)), (Reds{2, 1.5, 0, 0}));
  EXPECT_EQ(reds(mix_with(world, 8_s, 2, true)), (Reds{2, 1.5, 3, 1}));
  EXPECT_EQ(reds(mix_with(world, 8_s, 1, false)), (Reds{2, 0, 0, 1}));
}

// 2 t + 6 min(2, t): 10 at 10 / 8 s; 16 when the lamp goes out; 20 after (20 - 16) / 2 s more.
TEST(Mix, TheMeterWaitsForWhatIsStillOn) {
  const World world = lit_world();
  const std::vector<double> luminance{2, 6, 0, 100};  // that of a flash does not count
  EXPECT_DOUBLE_EQ(shutter_reaching(world, luminance, 10)->value(), 1.25);
  EXPECT_DOUBLE_EQ(shutter_reaching(world, luminance, 16)->value(), 2);
  EXPECT_DOUBLE_EQ(shutter_reaching(world, luminance, 20)->value(), 4);
  EXPECT_DOUBLE_EQ(luminance_at(world, luminance, 1_s), 8);
  EXPECT_DOUBLE_EQ(luminance_at(world, luminance, 3_s), 2);
  // Without the sky the lamp gives 12 in all.
  EXPECT_DOUBLE_EQ(shutter_reaching(world, {0, 6, 0, 100}, 12)->value(), 2);
  EXPECT_FALSE(shutter_reaching(world, {0, 6, 0, 100}, 12.5));
}

}  // namespace
}  // namespace undercap
