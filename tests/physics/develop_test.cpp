// The pass that exposes and develops, held against the pure functions it stands for.
#include <fmt/format.h>

#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/optics/exposure.h"
#include "engine/optics/tone.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

World card_of(double luminance) {
  return world_of(
      bare + no_sky +
      "[camera]\nbarrel_mm = 0\nposition_m = [0.0, -0.5, 0.0]\nlook_at = [0.0, 0.0, 0.0]\nf_number = 8\n"
      "[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0.0, 0.0, 0.0]\nsize_mm = [400, 400]\n" +
      fmt::format("material.surface = {{ reflectance = 0, emission_cd_m2 = {:.17g} }}\n", luminance));
}

// The middle pixel of a 17 x 17 picture of an even card, developed.
int middle_code(const World& world, const Development& how) {
  Tracer tracer(test_shaders(), world);
  const Developer developer(test_shaders());
  const View view{.width = 17, .height = 17};
  Film film = tracer.make_film(view);
  for (std::uint32_t half = 0; half < 2; ++half)
    tracer.sample(view, film, {.index = 0, .half = half, .seed = 3});
  return developer.develop(world, view, film, 2, how).rgb[(8 * 17 + 8) * 3 + 1];
}

// Mid-grey H = 10 / S shows as linear 0.18, code 118 (IEC 61966-2-1); a stop is a factor two until the
// display clips at white; then 255. Both tones against display_linear and srgb_code. One code: rounding at a
// boundary.
TEST(Develop, StopsAroundMidGrey) {
  const World world = card_of(100);
  const double per_second = exposure_per_luminance(world, 1_s).value() * 100;
  for (const double iso : {100.0, 400.0})
    for (const auto tone : {Exposure::Tone::srgb, Exposure::Tone::reinhard})
      for (int stop = -8; stop <= 3; ++stop) {
        const double exposure = 10 / iso * std::exp2(stop);
        const Development how{
            .shutter = Duration(exposure / per_second), .iso = iso, .gains = glm::dvec3(1), .tone = tone};
        const double linear = 0.18 * std::min(exposure * iso, 78.0) / 10;
        const int expected =
            srgb_code(display_linear(tone == Exposure::Tone::srgb ? Tone::srgb : Tone::reinhard, linear));
        EXPECT_NEAR(middle_code(world, how), expected, 1) << stop << " stops, ISO " << iso;
      }
  const Development grey{.shutter = Duration(0.1 / per_second), .iso = 100};
  EXPECT_EQ(middle_code(world, grey), 118);
}

// The raw value clips before the white balance: at ten times the clip, a gain of 0.5 shows 0.18 x 7.8 x 0.5 =
// 0.702.
TEST(Develop, ClipsBeforeTheWhiteBalance) {
  const World world = card_of(100);
  const double per_second = exposure_per_luminance(world, 1_s).value() * 100;
  const Development how{.shutter = Duration(7.8 / per_second), .iso = 100, .gains = glm::dvec3(0.5)};
  EXPECT_EQ(middle_code(world, how), srgb_code(0.702));
}

// Gains turn the light to neutral and keep its luminance.
TEST(Develop, WhiteBalance) {
  const glm::dvec3 light(1.4, 0.93, 0.5), gains = white_balance_gains(light), seen = light * gains;
  EXPECT_NEAR(seen.r, luminance_y(light), 1e-12);
  EXPECT_NEAR(seen.g, luminance_y(light), 1e-12);
  EXPECT_NEAR(seen.b, luminance_y(light), 1e-12);
}

}  // namespace
}  // namespace undercap
