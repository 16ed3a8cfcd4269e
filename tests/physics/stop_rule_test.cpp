// When a picture has samples enough, tile by tile.
#include "engine/render/stop_rule.h"

#include <bit>
#include <cmath>
#include <numbers>

#include "engine/render/picture_job.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

// A glowing card on the left has no noise; on the right a ball under a sky and a lamp has.
const std::string half_noisy = bare +
                               R"([sky]
horizontal_lx = 100
[camera]
position_m = [0.0, -0.6, 0.0]
look_at = [0.0, 0.0, 0.0]
barrel_mm = 0
[[prop]]
name = "card"
kind = "card"
at_m = [-0.26, 0.05, 0.0]
size_mm = [500, 500]
material.surface = { reflectance = 0, emission_cd_m2 = 30 }
[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.2, 0.0, 0.0]
diameter_mm = 300
material.surface = { reflectance = 0.8, roughness = 0.3 }
)";

// By hand: two pixels in a tile, A = 3 and 5, B = 1 and 5 for 2 samples each half. Mean luminance (3+5+1+5) /
// (2 pixels x 4 samples); SE of the sum of (A+B)/2 is sqrt(((3-1)/2)^2 + 0) = 1, of 7: a seventh.
TEST(StopRule, NoiseOfATileByHand) {
  World world;
  world.groups.emplace_back();
  const TileStopRule rule(mix_of(world), {.width = 2, .height = 1});
  const std::vector<float> sums{3, 3, 3, 5, 5, 5, 1, 1, 1, 5, 5, 5};
  const auto tiles = rule.tiles(sums, 4);
  ASSERT_EQ(tiles.size(), 1U);
  EXPECT_NEAR(tiles[0].luminance(), 14.0 / 8, 1e-6);  // luminance_y(1, 1, 1) is 1 to 1e-7
  EXPECT_NEAR(tiles[0].standard_error(), 1 * 2.0 / 8, 1e-6);
  EXPECT_NEAR(tiles[0].noise(), 1.0 / 7, 1e-6);
  EXPECT_NEAR(noise_pct(tiles), 100.0 / 7, 1e-4);
}

// No tile has fewer than 32 pixels: 17 x 17 is one tile, a single row of 40 pixels one, of 64 two.
TEST(StopRule, TilesOfEdges) {
  EXPECT_EQ(TileGrid(17, 17).size(), 1U);
  EXPECT_EQ(TileGrid(32, 33).size(), 4U);
  EXPECT_EQ(TileGrid(40, 1).size(), 1U);
  EXPECT_EQ(TileGrid(64, 1).size(), 2U);
  EXPECT_EQ(TileGrid(47, 16).index(46, 15), 1U);
}

// Quiet tiles stop at 32, noisy ones later, at powers of two; what a tile holds is bit for bit what a render
// of everything at that tile's own count holds there, brought to the common count by a power of two.
TEST(StopRule, EachTileStopsByItself) {
  const World world = world_of(half_noisy);
  Tracer tracer(test_shaders(), world);
  const View view{.width = 64, .height = 16};
  Film film = tracer.make_film(view);
  const auto go_on = [](double) { return true; };
  const BandResult run = sample_band(tracer, world, mix_of(world), view, film, {.noise_pct = 0.2}, 0, go_on);
  ASSERT_EQ(run.tiles.size(), 4U);
  EXPECT_EQ(run.tiles[0].samples, 32U);
  EXPECT_EQ(run.tiles[0].squares, 0);
  EXPECT_GT(run.samples, 32U);
  EXPECT_EQ(film.read(), run.sums);
  for (const TileSums& tile : run.tiles) {
    EXPECT_TRUE(std::has_single_bit(tile.samples));
    EXPECT_LE(tile.samples, run.samples);
    // Foreseen at half the count to be 0.2 % at most; half as much again for what the second half brings.
    EXPECT_LE(tile.noise(), 0.003);
  }
  const auto fixed_at = [&](unsigned samples) {
    Film again = tracer.make_film(view);
    return sample_band(tracer, world, mix_of(world), view, again, {.samples = samples}, 0, go_on);
  };
  for (std::size_t t = 0; t < run.tiles.size(); ++t) {
    const unsigned samples = run.tiles[t].samples;
    const BandResult fixed = fixed_at(samples);
    const float factor = static_cast<float>(run.samples) / static_cast<float>(samples);
    std::size_t different = 0;
    for (std::size_t i = 0; i < run.sums.size(); ++i)
      if (i / 3 % 64 / 16 == t) different += run.sums[i] != fixed.sums[i] * factor;
    EXPECT_EQ(different, 0U) << "tile " << t;
    // Settled by half the count, and not by a quarter; what it ends with has no say.
    EXPECT_LE(100 * fixed_at(samples / 2).tiles[t].noise() / std::numbers::sqrt2, 0.2) << "tile " << t;
    if (samples > 32) {
      EXPECT_GT(100 * fixed_at(samples / 4).tiles[t].noise() / std::numbers::sqrt2, 0.2) << "tile " << t;
    }
  }
}

// Tiles darker than 1 % of the mean count as done: a faint lit corner in a black frame does not hold the
// picture up.
TEST(StopRule, DarkTilesAreDone) {
  const World world =
      world_of(bare + no_sky +
               "[camera]\nposition_m = [0.0, -0.6, 0.0]\nlook_at = [0.0, 0.0, 0.0]\nbarrel_mm = 0\n"
               "[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [-0.26, 0.05, 0.0]\nsize_mm = [500, 500]\n"
               "material.surface = { reflectance = 0, emission_cd_m2 = 3000 }\n"
               "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\nat_m = [0.2, 0.0, 0.0]\ndiameter_mm = 300\n"
               "material.surface = { reflectance = 0.02 }\n");
  Tracer tracer(test_shaders(), world);
  const View view{.width = 64, .height = 16};
  Film film = tracer.make_film(view);
  const BandResult run = sample_band(tracer, world, mix_of(world), view, film, {.noise_pct = 0.1}, 0,
                                     [](double) { return true; });
  EXPECT_GT(run.tiles[3].luminance(), 0);
  EXPECT_GT(run.tiles[3].noise(), 0.001);
  EXPECT_EQ(run.tiles[3].samples, 32U);
}

}  // namespace
}  // namespace undercap
