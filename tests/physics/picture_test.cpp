// Pictures as a whole: same seed same bytes, bands, linear light, surveys against meters.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "engine/measure/stages.h"
#include "engine/render/picture_job.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

const std::string small_set = R"([ground]
size_m = 2
relief_mm = 0
[sky]
horizontal_lx = 800
[camera]
position_m = [0.0, -0.5, 0.1]
barrel_mm = 0
[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.0, 0.0, 0.05]
material.surface = { reflectance = 0.6, roughness = 0.5 }
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.2, -0.2, 0.2]
aim = "ball"
flux_lm = 30
)";

PictureResult picture_of(const World& world, std::size_t film_limit_bytes) {
  Tracer tracer(test_shaders(), world);
  const Developer developer(test_shaders());
  const PictureRequest request{
      .width = 48, .height = 40, .samples = 8, .keep_groups = true, .film_limit_bytes = film_limit_bytes};
  return render_picture(tracer, developer, world, request, {.shutter = Duration(0.02), .iso = 200},
                        [](double) { return true; });
}

// A picture made in bands equals one made at once, bit for bit: a sample depends on its pixel, index, half
// and seed alone.
TEST(Picture, BandsAndRepeatsAreTheSameBytes) {
  const World world = world_of(small_set);
  const PictureResult whole = picture_of(world, std::size_t{1} << 30),
                      again = picture_of(world, std::size_t{1} << 30);
  const PictureResult banded = picture_of(world, 48 * 16 * 24 * world.groups.size());
  EXPECT_EQ(whole.bands, 1);
  EXPECT_EQ(banded.bands, 3);
  EXPECT_EQ(whole.picture.rgb, again.picture.rgb);
  EXPECT_EQ(whole.mix.rgb, again.mix.rgb);
  EXPECT_EQ(whole.picture.rgb, banded.picture.rgb);
  EXPECT_EQ(whole.mix.rgb, banded.mix.rgb);
}

// Light is linear: films are kept at unit power, so a torch at half power, changed in the world after the
// fact, mixes to the same picture as one rendered at half power.
TEST(Picture, PowerAfterTheFact) {
  World world = world_of(small_set);
  const PictureResult full = picture_of(world, std::size_t{1} << 30);
  const World half = world_of(small_set + "power_pct = 50\n");
  const PictureResult rendered = picture_of(half, std::size_t{1} << 30);
  world.groups.back().power /= 2;
  EXPECT_EQ(mixed(mix_of(world), full.groups), rendered.mix.rgb);
}

// Three numbers in at_m are absolute: litter at 1 m stays there and does not fall to the ground.
TEST(World, ThreeNumbersKeepTheirHeight) {
  const World world =
      world_of("[[prop]]\nname = \"leaves\"\nkind = \"litter\"\nat_m = [0.0, 0.0, 1.0]\nradius_m = 0.1\n");
  float lowest = 10;
  for (const WorldTriangle& t : world.triangle)
    if (world.parts[t.part].prop == "leaves") lowest = std::min(lowest, world.position[t.a].z);
  EXPECT_GT(lowest, 0.9f);
}

// A flat Lambertian floor under an even sky is E rho / pi everywhere: 800 x 0.18 / pi = 45.84 cd/m2, in the
// survey's mean of its part and on a spot meter.
TEST(Survey, FloorUnderASky) {
  const World world = world_of(
      "[ground]\nsize_m = 2\nrelief_mm = 0\nreflectance = 0.18\n[sky]\nmodel = \"uniform\"\nhorizontal_lx = "
      "800\n"
      "[camera]\nposition_m = [0.0, -0.3, 0.3]\nlook_at = [0.0, 0.0, 0.0]\nbarrel_mm = 0\n"
      "[[meter]]\nname = \"s\"\nkind = \"spot\"\n");
  Tracer tracer(test_shaders(), world);
  const Survey survey = take_survey(tracer, world, 1, false, [](double) { return true; });
  const double exact = 800 * 0.18 / std::numbers::pi;
  EXPECT_TRUE(agrees(*mean_luminance(survey.whole, mix_of(world)), exact));
  EXPECT_TRUE(
      agrees(*mean_luminance(take_meter(tracer, world, world.scene.meters[0], 1), mix_of(world)), exact));
  // The survey with white first hits gives the illuminance there: pi x L = 800 lx.
  const Survey white = take_survey(tracer, world, 1, true, [](double) { return true; });
  const Estimate lit = *mean_luminance(white.whole, mix_of(world));
  EXPECT_TRUE(agrees({lit.value * std::numbers::pi, lit.se * std::numbers::pi}, 800));
}

// Unless the scene names one, the backdrop is what lies behind the plane in focus and is not subject: a wall
// of 40 cd/m2 behind, not the disc of 10 cd/m2 in front, nor the subject of 20. Emitters have no noise.
TEST(Survey, BackdropLiesBehindThePlaneInFocus) {
  const auto emitter = [](const std::string& name, double x, double y, double mm, double luminance) {
    return fmt::format(
        "[[prop]]\nname = \"{}\"\nkind = \"disc\"\nnormal = [0, -1, 0]\nat_m = [{}, {}, 0]\ndiameter_mm = "
        "{}\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = {} }}\n",
        name, x, y, mm, luminance);
  };
  const World world =
      world_of(bare + no_sky + plain_camera + "f_number = 16\n[subject]\nparts = [\"middle\"]\n" +
               emitter("middle", 0, 0, 40, 20) + emitter("front", -.05, -.1, 40, 10) +
               emitter("wall", 0, .3, 2000, 40));
  Tracer tracer(test_shaders(), world);
  const Survey survey = take_survey(
      tracer, world, 1, false, [](double) { return true; }, 16);
  EXPECT_NEAR(mean_luminance(survey.backdrop, mix_of(world))->value, 40, 1e-4);
  EXPECT_NEAR(mean_luminance(survey.subject, mix_of(world))->value, 20, 1e-4);
  EXPECT_GT(survey.whole.samples(), survey.backdrop.samples() + survey.subject.samples());
}

// Two meters at one place read the same light with errors of their own: over 32 batches, the correlation of
// independent numbers is within 0.65 of 0 (0.18 is one standard error); a shared scramble makes it 1. And a
// meter reads the same whatever else the scene has.
TEST(Meter, AScrambleOfItsOwn) {
  const auto meter = [](const char* name) {
    return Meter{.name = name, .position_m = {0, 0, 1}, .normal = {0.6, 0, 0.8}};
  };
  const World world = world_of(bare + "[camera]\nbarrel_mm = 0\n");
  Tracer tracer(test_shaders(), world);
  const RegionSums one = take_meter(tracer, world, meter("one"), 1),
                   two = take_meter(tracer, world, meter("two"), 1),
                   again = take_meter(tracer, world, meter("one"), 1);
  std::array<double, batch_count> x{}, y{};
  double mean_x = 0, mean_y = 0, xx = 0, yy = 0, xy = 0;
  for (unsigned b = 0; b < batch_count; ++b) {
    EXPECT_EQ(one.luminance_of(b, 0), again.luminance_of(b, 0));
    mean_x += (x[b] = one.luminance_of(b, 0).g) / batch_count;
    mean_y += (y[b] = two.luminance_of(b, 0).g) / batch_count;
  }
  for (unsigned b = 0; b < batch_count; ++b) {
    xx += (x[b] - mean_x) * (x[b] - mean_x);
    yy += (y[b] - mean_y) * (y[b] - mean_y);
    xy += (x[b] - mean_x) * (y[b] - mean_y);
  }
  EXPECT_LT(std::abs(xy / std::sqrt(xx * yy)), 0.65);
}

// A meter stops where the noise before its last stage, foreseen for its end, is within a fifth of what was
// asked: so it was not at the stage before that. Its samples are those of a fixed run.
TEST(Meter, StopsByTheStageBefore) {
  const World world = world_of(bare + "[camera]\nbarrel_mm = 0\n");
  Tracer tracer(test_shaders(), world);
  const Meter meter{.name = "m", .position_m = {0, 0, 1}, .normal = {0.6, 0, 0.8}};
  const double wanted_pct = 0.05;
  const Mix mix = mix_of(world);
  const RegionSums sums = take_meter_to(tracer, world, meter, {1, 64, wanted_pct}, [] { return true; });
  const auto passes = static_cast<unsigned>(sums.samples()) / (batch_count * meter_side * meter_side);
  ASSERT_GE(passes, 4U);
  ASSERT_LT(passes, 64U);
  const auto foreseen_pct = [&](unsigned before) {
    return noise_pct_of(take_meter(tracer, world, meter, before), mix) / std::numbers::sqrt2;
  };
  EXPECT_LE(foreseen_pct(passes / 2), 0.8 * wanted_pct);
  EXPECT_GT(foreseen_pct(passes / 4), 0.8 * wanted_pct);
  // To the rounding of single precision: a stage is summed by itself.
  const double fixed = mean_luminance(take_meter(tracer, world, meter, passes), mix)->value;
  EXPECT_NEAR(mean_luminance(sums, mix)->value, fixed, 1e-6 * fixed);
}

}  // namespace
}  // namespace undercap
