// The dielectric coat alone: how much light it sends back, by three ways that share no line.
#include "engine/surface/coat.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/physics/bench_top.h"
#include "tests/reference/path_tracer.h"

namespace undercap::reference {
namespace {

// The engine's quadrature over visible facets, good to 1e-4, against this one over all facets. At alpha -> 0
// the coat is a smooth face of index 1.5 (Fresnel): .0400 at normal incidence, .0891 at 60 degrees, .2531 at
// 75 (any optics text, from memory).
TEST(Coat, DirectionalAlbedo) {
  for (const double alpha : {0.01, 0.09, 0.25, 0.49, 0.81}) {
    const CoatAlbedo albedo(alpha);
    for (const double cosine : {0.05, 0.2, 0.5, 0.8, 1.0})
      EXPECT_NEAR(albedo.at(cosine), coat_albedo(cosine, alpha), 2e-4) << alpha << " " << cosine;
  }
  const CoatAlbedo smooth(1e-3);
  EXPECT_NEAR(smooth.at(1), 0.04, 1e-5);
  EXPECT_NEAR(smooth.at(std::cos(std::numbers::pi / 3)), 0.0891, 2e-4);
  EXPECT_NEAR(smooth.at(std::cos(std::numbers::pi * 75 / 180)), 0.2531, 3e-4);
}

// Inside a sphere of even luminance a black body under a coat is as bright as E(v) of it, rough or not:
// whatever the facets send inward is lost. Both renderers; 3e-3: the engine's table has 32 x 32 nodes, and
// the card's corners are seen a degree from its middle.
TEST(Coat, BlackBodyUnderACoat) {
  std::string room;
  const int places[][3] = {{-2, 0, 0}, {2, 0, 0}, {0, -2, 0}, {0, 2, 0}, {0, 0, -2}, {0, 0, 2}};
  for (const auto& p : places)
    room += fmt::format(
        "[[prop]]\nname = \"side {}\"\nkind = \"plane\"\nat_m = [{:.1f}, {:.1f}, {:.1f}]\nsize_m = [4, 4]\n"
        "normal = [{}, {}, {}]\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = 100 }}\n",
        &p - places, static_cast<double>(p[0]), static_cast<double>(p[1]), static_cast<double>(p[2]),
        -p[0] / 2, -p[1] / 2, -p[2] / 2);
  for (const double roughness : {0.3, 0.6, 0.9})
    for (const double turn_deg : {30.0, 65.0}) {
      const World world = world_of(
          bare + no_sky +
          "[camera]\nbarrel_mm = 0\nposition_m = [0.0, -1.5, 0.0]\nlook_at = [0.0, 0.0, 0.0]\nf_number = 16\n"
          "focal_length_mm = 300\n[subject]\nparts = [\"thing\"]\n" +
          room +
          fmt::format(
              "[[prop]]\nname = \"thing\"\nkind = \"card\"\nat_m = [0.0, 0.0, 0.0]\nsize_mm = [60, 60]\n"
              "turn_deg = {:.1f}\nmaterial.surface = {{ reflectance = 0, roughness = {} }}\n",
              turn_deg, roughness));
      const double exact =
          100 * CoatAlbedo(roughness * roughness).at(std::cos(turn_deg * std::numbers::pi / 180));
      Tracer tracer(test_shaders(), world);
      const Survey survey = take_survey(tracer, world, 2, false, [](double) { return true; });
      const Estimate ours = mean_luminance(survey.subject, mix_of(world)).value_or(Estimate{});
      EXPECT_TRUE(agrees(ours, exact, 3e-3)) << roughness << " at " << turn_deg;
    }
}

}  // namespace
}  // namespace undercap::reference
