// What a film of water does to light that is traced: furnaces, the table of wet reflectances, half wet
// ground.
#include <fmt/format.h>

#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/surface/coat.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

// Of what a smooth face of water (n 1.333) sends back: diffuse light from outside and from inside, light
// along the normal (Fresnel's equations, quadrature to 1e-8; computed here).
constexpr double outer = .06641, inner = .47459, along_normal = .02037;

// A level plane, dry reflectance and share of wet area given, under an even sky or a sun overhead of 1000 lx.
World plane_under(bool sun, double reflectance, double wet, double side_m = 20) {
  return world_of(
      bare + plain_camera +
      (sun ? no_sky + "[sun]\non = true\nazimuth_deg = 0\nelevation_deg = 90\nnormal_lx = 1000\n"
           : "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n") +
      fmt::format(
          "[[prop]]\nname = \"plane\"\nkind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [{0}, {0}]\nwet = "
          "{2}\nmaterial.surface = {{ reflectance = {1}, roughness = 1 }}\n",
          side_m, reflectance, wet));
}

// What the plane sends up, over what falls on it, a batch each: a receiver that faces it, and shades nothing.
std::vector<double> sent_up(const World& world, double height_m) {
  Tracer tracer(test_shaders(), world);
  const RegionSums sums = receive(tracer, world, {{{0, 0, height_m}, {0, 0, -1}}}, 2);
  std::vector<double> batches;
  for (unsigned b = 0; b < batch_count; ++b)
    batches.push_back(luminance_y(sums.luminance_of(b, 0) * world.groups[0].weight()) / sums.count_of(b) /
                      1000);
  return batches;
}

Estimate mean_of(const std::vector<double>& batches) {
  double sum = 0, squares = 0;
  for (const double x : batches) sum += x, squares += x * x;
  const auto n = static_cast<double>(batches.size());
  return {sum / n, std::sqrt(std::max(squares / n - sum / n * sum / n, 0.) / (n - 1))};
}

// Body of a wet plane over what falls on it, by dry reflectance: (1 - outer) (1 - k) r / (1 - k r) under an
// even sky, with the reflection along the normal in place of 'outer' under a sun overhead (Lekner & Dorf
// 1988, 'Why some things are darker when wet', Appl. Opt. 27:1278, first step). The body is what the plane
// sends less what a black wet plane does, batch by batch, since both follow the same paths. The film has
// facets of alpha .04, which send back a little less of diffuse light than a smooth face: with the film's own
// albedo the rows hold to 1e-3, and with the smooth one to 5e-3.
TEST(Water, WetReflectances) {
  const double dry[] = {.05, .10, .18, .30, .50, .70, .90},
               diffuse[] = {.0251, .0515, .0965, .1716, .3216, .5142, .7706};
  double rough = 0;  // 2 Int E(c) c dc
  for (const GaussNode& node : gauss_nodes(24))
    rough += 2 * node.weight * node.at * coat_albedo(node.at, .04, 1.333);
  for (const bool sun : {false, true}) {
    const std::vector<double> black = sent_up(plane_under(sun, 0, 1), 1e-3);
    const Estimate film = mean_of(black);
    const double film_sends = sun ? coat_albedo(1, .04, 1.333) : rough;
    EXPECT_NEAR(film_sends, sun ? along_normal : outer, sun ? 1e-4 : .0045);
    EXPECT_NEAR(film.value, film_sends, 4 * film.se + 2e-4);
    for (std::size_t i = 0; i < std::size(dry); ++i) {
      const double body = (1 - inner) * dry[i] / (1 - inner * dry[i]);
      if (!sun) {
        EXPECT_NEAR((1 - outer) * body, diffuse[i], 6e-5);
      }
      std::vector<double> alone = sent_up(plane_under(sun, dry[i], 1), 1e-3);
      for (std::size_t batch = 0; batch < alone.size(); ++batch) alone[batch] -= black[batch];
      const Estimate got = mean_of(alone);
      EXPECT_TRUE(agrees(got, (1 - film_sends) * body, 1e-3)) << sun << " " << dry[i];
      EXPECT_NEAR(got.value / ((1 - (sun ? along_normal : outer)) * body), 1, 4 * got.se / got.value + 5e-3);
    }
  }
}

// White under water sends everything back: the body under the film, (1 - k) / (1 - k) = 1, has lost nothing,
// nor has a sheet of R + T = 1. In a room of even luminance both are as bright as the room. 1e-3: the coat's
// table.
TEST(Water, WhiteFurnace) {
  std::string room;
  const char* sides[] = {"1, 0, 0", "-1, 0, 0", "0, 1, 0", "0, -1, 0", "0, 0, 1", "0, 0, -1"};
  const double places[][3] = {{-2, 0, 0}, {2, 0, 0}, {0, -2, 0}, {0, 2, 0}, {0, 0, -2}, {0, 0, 2}};
  for (int i = 0; i < 6; ++i)
    room += fmt::format(
        "[[prop]]\nname = \"side{}\"\nkind = \"plane\"\nat_m = [{:.1f}, {:.1f}, {:.1f}]\nsize_m = [4, "
        "4]\nnormal = [{}]\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = 100 }}\n",
        i, places[i][0], places[i][1], places[i][2], sides[i]);
  for (const char* material :
       {"reflectance = 1", "reflectance = 1, roughness = 0.5", "reflectance = 0.6, transmittance = 0.4"})
    for (const double wet : {0., .5, 1.}) {
      const World world = world_of(
          bare + no_sky +
          "[camera]\nbarrel_mm = 0\nposition_m = [0, -0.5, 0]\nlook_at = [0, 0, 0]\nf_number = "
          "16\n[subject]\nparts = [\"thing\"]\n" +
          room +
          fmt::format("[[prop]]\nname = \"thing\"\nkind = \"card\"\nat_m = [0, 0, 0]\nsize_mm = [80, "
                      "60]\nturn_deg = 50\nmaterial.surface = {{ {}, wet = {:.1f} }}\n",
                      material, wet));
      Tracer tracer(test_shaders(), world);
      const Survey survey = take_survey(tracer, world, 1, false, [](double) { return true; });
      EXPECT_FALSE(tracer.counters().warning().has_value());
      EXPECT_TRUE(agrees(*mean_luminance(survey.subject, mix_of(world)), 100, 1e-3))
          << material << " " << wet;
    }
}

// Partly wet: spots by a share of the area. A receiver half a metre above sees some hundred thousand of them,
// and of their light the mean: (1 - s) dry + s wet. 3e-3: the spots' own chance, sqrt(s (1 - s) / 2e5) x the
// step between dry and wet, and the coat's table.
TEST(Water, ShareOfArea) {
  const double wet = mean_of(sent_up(plane_under(false, .3, 1, 100), .5)).value;
  EXPECT_LT(wet, .25);
  for (const double share : {.25, .5, .8}) {
    const Estimate got = mean_of(sent_up(plane_under(false, .3, share, 100), .5));
    EXPECT_TRUE(agrees(got, (1 - share) * .3 + share * wet, 3e-3)) << share;
  }
}

}  // namespace
}  // namespace undercap
