// The engine's picture against the independent path tracer's.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <chrono>

#include "tests/physics/bench_top.h"
#include "tests/reference/comparison.h"
#include "tests/reference/scenes.h"

namespace undercap::reference {
namespace {

class Agreement : public testing::TestWithParam<std::size_t> {};

// Every block, part, group and the whole agree: the smallest chance stays above the Sidak threshold for 1 %
// over all comparisons of the scene; the blocks' z have the spread (chi-square) and the mean of noise, each
// at 0.1 %. First seeds, never changed.
TEST_P(Agreement, BlocksPartsAndGroups) {
  const NamedScene& scene = scenes().at(GetParam());
  write_stone(test_folder());
  World world = world_of(scene.text);
  if (scene.alter) scene.alter(world);
  leave_patterns_out(world);
  const Plan plan;
  using Clock = std::chrono::steady_clock;
  const auto start = Clock::now();
  const Measurement ours = measure_engine(world, test_shaders(), plan);
  const auto middle = Clock::now();
  const Measurement theirs = measure_reference(world, plan, 1);
  const auto end = Clock::now();
  const std::vector<Comparison> all = compare(ours, theirs);
  const Verdict v = judged(all);
  fmt::print(
      "{}: {} triangles; {} comparisons and {} left out, smallest chance {:.2g} (threshold {:.2g}) of {}: "
      "{:.5g} against "
      "{:.5g}, "
      "z {:.2f}\n  {} blocks: chi-square {:.1f} (chance {:.3g}), mean z {:.3f} (chance {:.3g}); whole to "
      "{:.3f} %; "
      "{:.1f} s and {:.1f} s\n",
      scene.name, world.triangle.size(), v.count, v.left_out, v.worst.chance, v.threshold, v.worst.name,
      v.worst.ours, v.worst.theirs, v.worst.z, v.blocks, v.chi_square, v.chi_chance, v.mean_z, v.mean_chance,
      100 * v.whole_se, std::chrono::duration<double>(middle - start).count(),
      std::chrono::duration<double>(end - middle).count());
  EXPECT_GT(v.worst.chance, v.threshold)
      << v.worst.name << ": " << v.worst.ours << " against " << v.worst.theirs;
  EXPECT_LE(static_cast<double>(v.left_out), scene.most_left_out * static_cast<double>(v.count));
  EXPECT_GT(v.chi_chance, 1e-3);
  EXPECT_GT(v.mean_chance, 1e-3);
  for (const Comparison& c : all)
    if (c.chance < 1e-3)
      fmt::print("    {:32} {:.5g} against {:.5g}: {:+.3f} %, z {:+.2f}\n", c.name, c.ours, c.theirs,
                 100 * (c.ours / c.theirs - 1), c.z);
}

INSTANTIATE_TEST_SUITE_P(Scenes, Agreement, testing::Range(std::size_t{0}, std::size_t{10}));

}  // namespace
}  // namespace undercap::reference
