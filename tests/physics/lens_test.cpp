// Rays of the lens: where they go, how far they come, what a spot takes in, and that the lens and the lights
// are sampled independently.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "tests/physics/bench_top.h"
#include "tests/physics/sampler_bench.h"

namespace undercap {
namespace {

using Wanted = SamplerBench::Wanted;

// Rays of the camera by their law. From any point of the lens a ray leaves the pupil's plane, starts where it
// passes the plane of the barrel's front, and meets the plane in focus, a = f (1/m + 1/P) ahead along the
// axis, at the same point for all of the lens: a place x on the film lies at a x / (f (1 + m / P)) off the
// axis. A frame over 50 degrees wide; 1e-6 m: single precision at some 0.4 m.
TEST(Lens, RaysOfTheCamera) {
  const World world =
      world_of(bare + no_sky +
               "[camera]\nlook_at = [0.1, 0.0, 0.0]\nposition_m = [0.0, -0.3, "
               "0.2]\nroll_deg = 10\nformat_mm = [36, 24]\nfocal_length_mm = 35\nf_number "
               "= 1.4\npupil_magnification = 0.8\nblades = 0\nbarrel_mm = 60\nfront_ahead_mm = 25\n");
  const CameraRig& rig = world.camera;
  const double m = rig.magnification, a = .035 * (1 / m + 1 / .8), image = .035 * (1 + m / .8);
  EXPECT_NEAR(a, std::sqrt(.1 * .1 + .3 * .3 + .2 * .2), 1e-9);  // focused on what it looks at
  const SamplerBench bench(world);
  std::vector<glm::vec4> given;
  for (const float across : {0.f, .5f, .8f, 1.f})
    for (const float down : {0.f, .5f, 1.f})
      for (int i = 0; i < 16; ++i)
        given.emplace_back(across, down, static_cast<float>(i) / 16, static_cast<float>(i % 4 + 1) / 4);
  const auto rays = bench.run(Wanted::camera, given);
  double widest = 0;
  for (std::size_t i = 0; i < rays.size(); ++i) {
    const glm::dvec3 from = glm::dvec3(rays[i].first) - rig.pupil_m, direction(rays[i].second);
    const double depth = glm::dot(direction, rig.forward), begins = static_cast<double>(rays[i].first.w);
    EXPECT_NEAR(glm::length(direction), 1, 1e-6);
    EXPECT_NEAR(glm::dot(from, rig.forward), 0, 1e-6);
    widest = std::max(widest, glm::length(from));
    EXPECT_NEAR(begins * depth, .025, 3e-6);  // 2 um past the front
    const glm::dvec3 met = from + a / depth * direction;
    EXPECT_NEAR(glm::dot(met, rig.right), a * .036 / image * (static_cast<double>(given[i].x) - .5), 1e-6);
    EXPECT_NEAR(glm::dot(met, rig.up), a * .024 / image * (.5 - static_cast<double>(given[i].y)), 1e-6);
  }
  EXPECT_NEAR(widest, .035 / 1.4 / 2, 1e-3 * .0125);  // f / (2 N), and a polygon for a circle
}

// The distance of a first hit counts along the axis: a card square to the axis, 0.2 m behind the plane in
// focus of 0.5 m, is 0.7 m away in every corner of a frame over 50 degrees wide. Single precision.
TEST(Lens, DepthsCountAlongTheAxis) {
  const World world = world_of(bare + no_sky + plain_camera +
                               "format_mm = [36, 24]\nfocal_length_mm = 30\n[[prop]]\nname = \"wall\"\nkind "
                               "= \"card\"\nat_m = [0, 0.2, "
                               "0]\nsize_mm = [2000, 2000]\n");
  Tracer tracer(test_shaders(), world);
  const View view{.width = 24, .height = 16, .first_hits = true};
  Film film = tracer.make_film(view);
  tracer.sample(view, film, {});
  for (const Film::FirstHit& hit : film.read_first_hits()) EXPECT_NEAR(hit.distance_m, .7f, 1e-6f);
}

// A spot of 20 % of the frame's height, in the plane in focus of a 3:2 frame. A disc of luminance L that is 2
// % wider than it fills it: L, every sample; a card inside it, as a share of the spot's area, L times the
// share.
TEST(Lens, SpotIsADiscOfItsDiameter) {
  const auto lit = [](const std::string& shape) {
    return world_of(bare + no_sky + plain_camera +
                    "format_mm = [36, 24]\nfocal_length_mm = 60\n[[meter]]\nname = \"s\"\nkind = "
                    "\"spot\"\nat = [0.3, 0.6]\ndiameter_pct = 20\n" +
                    shape + "material.surface = { reflectance = 0, emission_cd_m2 = 100 }\n");
  };
  // The plane in focus is 0.5 m off: 1/m = a/f - 1, so 36 x 24 mm of film show 264 x 176 mm.
  constexpr double width = .036 * (.5 / .06 - 1), height = .024 * (.5 / .06 - 1), spot_mm = 200 * height;
  const std::string at = fmt::format("at_m = [{:.9f}, 0.0, {:.9f}]\n", (.3 - .5) * width, (.5 - .6) * height);
  const Estimate filled = meter_reading(lit("[[prop]]\nname = \"p\"\nkind = \"disc\"\nnormal = [0, -1, 0]\n" +
                                            at + fmt::format("diameter_mm = {:.9f}\n", 1.02 * spot_mm)),
                                        "s");
  EXPECT_NEAR(filled.value, 100, 1e-3);
  const double across = .6 * spot_mm, up = .4 * spot_mm,
               share = across * up / (std::numbers::pi / 4 * spot_mm * spot_mm);
  EXPECT_TRUE(agrees(meter_reading(lit("[[prop]]\nname = \"p\"\nkind = \"card\"\n" + at +
                                       fmt::format("size_mm = [{:.9f}, {:.9f}]\n", across, up)),
                                   "s", 8),
                     100 * share));
}

// Out of focus a pixel's light is the mean over the lens of the mean over the lamp. The picture of a point 50
// mm behind the plane in focus is drawn by a disc of 5.952 mm there, of which a receiver takes the inner
// eighth or half; a black card with its edge across the middle of the lamp's disc covers the half above.
// Camera, lamp and receiver lie in one plane and are even about it: the card takes half of the light,
// whatever part of the lens sees the receiver. 5 %: some 4,000 samples of a lamp that is seen or not.
TEST(Lens, IsSampledIndependentlyOfTheLamp) {
  for (const double share : {.125, .5}) {
    double light[2];
    for (const bool covered : {false, true}) {
      const World world = world_of(
          bare + no_sky +
          "[camera]\nformat_mm = [17.3, 13]\nfocal_length_mm = 60\nf_number = 2.8\nposition_m = [0, -0.5, "
          "0]\nlook_at = [0, 0, 0]\nmagnification = 0.5\nbarrel_mm = 0\n" +
          fmt::format("[[prop]]\nname = \"receiver\"\nkind = \"disc\"\nat_m = [0, 0.05, 0]\nnormal = [0, -1, "
                      "0]\ndiameter_mm = {:.9f}\nmaterial.surface.reflectance = 0.5\n",
                      5.952 * std::sqrt(share)) +
          "[[source]]\nname = \"lamp\"\nkind = \"torch\"\nposition_m = [0.3, -0.25, 0]\naim = [0, 0.05, "
          "0]\nintensity_cd = 100\nbeam_deg = 120\ndiameter_mm = 40\n" +
          (covered ? "[[prop]]\nname = \"cover\"\nkind = \"card\"\nturn_deg = 45\nat_m = [0.2965, -0.2465, "
                     "0.05]\nsize_mm = [200, 100]\nmaterial.surface.reflectance = 0\n"
                   : ""));
      Tracer tracer(test_shaders(), world);
      const View view{.width = 16, .height = 16, .window = {.499f, .499f, .002f, .002f}};
      Film film = tracer.make_film(view);
      for (unsigned i = 0; i < 128; i += 8) tracer.sample(view, film, {.index = i, .count = 8, .seed = 4});
      light[covered] = 0;
      for (const float sum : film.read()) light[covered] += static_cast<double>(sum);
    }
    EXPECT_GT(light[0], 0);
    EXPECT_NEAR(light[1] / light[0], .5, .025) << share;
  }
}

}  // namespace
}  // namespace undercap
