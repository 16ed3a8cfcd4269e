// One film through the engine's developing pass and through the reference's exposure.
#include "tests/reference/exposure.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/render/develop.h"
#include "tests/physics/bench_top.h"
#include "tests/reference/scenes.h"

namespace undercap::reference {
namespace {

// Every code lies within one half (its rounding) and a tenth (single precision) of the reference's value,
// over shutters from deep shade to clipped, both tones, uneven gains and a pupil magnification that is not 1.
// Every group has light.
TEST(Exposure, DevelopedCodes) {
  const World world = world_of(scenes().at(2).text);
  Tracer tracer(test_shaders(), world);
  const Developer developer(test_shaders());
  const View view{.width = 48, .height = 32};
  undercap::Film film = tracer.make_film(view);
  constexpr unsigned samples = 4;
  for (std::uint32_t half = 0; half < 2; ++half)
    tracer.sample(view, film, {.index = 0, .count = samples / 2, .half = half, .seed = 5});
  std::vector<std::vector<glm::dvec3>> group;
  for (const auto& mean : group_means(film.read(), view.pixels(), tracer.groups(), samples)) {
    group.emplace_back();
    for (std::size_t i = 0; i < view.pixels(); ++i)
      group.back().emplace_back(mean[3 * i], mean[3 * i + 1], mean[3 * i + 2]);
  }
  const std::vector<glm::dvec3> mix = mixed(world, group);
  std::size_t dark = 0, middle = 0, clipped = 0;
  for (const bool reinhard : {false, true})
    for (const double shutter_s : {0.003, 0.03, 0.5}) {
      const glm::dvec3 gains(1.3, 0.95, 0.7);
      const auto tone = reinhard ? undercap::Exposure::Tone::reinhard : undercap::Exposure::Tone::srgb;
      const Picture8 picture =
          developer.develop(world, view, film, samples,
                            {.shutter = Duration(shutter_s), .iso = 400, .gains = gains, .tone = tone});
      const auto expected = displayed(
          world, mix, view.width, {.shutter_s = shutter_s, .iso = 400, .gains = gains, .reinhard = reinhard});
      double worst = 0;
      for (std::size_t i = 0; i < expected.size(); ++i)
        for (int c = 0; c < 3; ++c) {
          const double value = expected[i][c];
          worst = std::max(worst, std::abs(picture.rgb[3 * i + static_cast<std::size_t>(c)] - value));
          ++(value < 20 ? dark : value < 254 ? middle : clipped);
        }
      EXPECT_LE(worst, 0.6) << shutter_s << " s";
    }
  EXPECT_GT(dark, 100u);
  EXPECT_GT(middle, 1000u);
  EXPECT_GT(clipped, 100u);
}

}  // namespace
}  // namespace undercap::reference
