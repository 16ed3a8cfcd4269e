// Small set-ups of the trade, as differences in stops: a card under a cap, pale and dark litter, the shape of
// the sky. Targets were computed here beforehand by another program with its own geometry; they hold to .2
// stop.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

std::string litter(double reflectance) {
  return fmt::format(
      "[[prop]]\nname = \"litter\"\nkind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [20, 20]\nmaterial.surface "
      "= "
      "{{ reflectance = {}, roughness = 1 }}\n",
      reflectance);
}

// A black disc of 6 cm, level, 5 cm up: the cap.
std::string cap() {
  return "[[prop]]\nname = \"cap\"\nkind = \"disc\"\nat_m = [0, 0, 0.05]\nnormal = [0, 0, 1]\ndiameter_mm = "
         "60\nmaterial.surface = { reflectance = 0, roughness = 1 }\n";
}

double stops(const Estimate& a, const Estimate& b) { return std::log2(a.value / b.value); }

// Gills that look straight down see the litter below: a stop for each doubling of its reflectance, and a
// little less than litter in the open would give, since the cap shades it: -4.5, -3.5, -2.5 stops from the
// cap's top under an even sky, -4.7, -3.7, -2.6 under a gap of 30 degrees.
TEST(SetUp, LitterLightsGills) {
  const double reflectance[] = {.05, .10, .20};
  const double even[] = {-4.5, -3.5, -2.5}, gap[] = {-4.7, -3.7, -2.6};
  for (const bool closed : {false, true}) {
    double before = 0;
    for (std::size_t i = 0; i < 3; ++i) {
      const World world =
          world_of(bare + plain_camera + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
                   (closed ? "[canopy]\ngap_deg = 30\n" : "") + litter(reflectance[i]) + cap());
      Tracer tracer(test_shaders(), world);
      const double below = stops(illuminance(tracer, world, {{{0, 0, .0499}, {0, 0, -1}}}, 2),
                                 illuminance(tracer, world, {{{0, 0, .0501}}}));
      EXPECT_NEAR(below, closed ? gap[i] : even[i], .2) << reflectance[i] << " " << closed;
      if (i > 0) {
        EXPECT_NEAR(below - before, 1, .05);
      }
      before = below;
    }
  }
}

// The side of a stem against the top of a cap: even sky -1.0, overcast -1.3, a gap of 30 degrees -3.1 stops,
// and -2.6 with litter of .10 that throws light up.
TEST(SetUp, SideAgainstTop) {
  struct Row {
    std::string sky;
    double bounce, expected;
  };
  const std::string uniform = "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n",
                    gap = uniform + "[canopy]\ngap_deg = 30\n";
  for (const Row& row :
       {Row{uniform, 0, -1.0}, Row{"[sky]\nmodel = \"overcast\"\nhorizontal_lx = 1000\n", 0, -1.3},
        Row{gap, 0, -3.1}, Row{gap, .1, -2.6}}) {
    const World world = world_of(bare + plain_camera + row.sky + litter(row.bounce));
    Tracer tracer(test_shaders(), world);
    EXPECT_NEAR(stops(illuminance(tracer, world, {{{0, 0, .05}, {0, -1, 0}}}, 2),
                      illuminance(tracer, world, {{{0, 0, .05}}})),
                row.expected, .1)
        << row.sky << row.bounce;
  }
}

// A white A5 card (148 x 210 mm, lengthwise, .9) that stands before the cap, leaning back by 15 degrees,
// raises the underside by about 1.0, 0.5 and 0.2 stop at 8, 15 and 30 cm: gills that slant outward by 30
// degrees, half way out, on the side of the card. Litter .10 under an even sky. How the card stands matters:
// upright it gives .7 stop at 8 cm, leaning back by 45 degrees 2.0.
TEST(SetUp, CardRaisesUnderside) {
  const auto underside = [](double card_m) {
    const World world = world_of(
        bare + plain_camera + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" + litter(.1) + cap() +
        (card_m > 0
             ? fmt::format(
                   "[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0, {}, 0.0715]\nsize_mm = "
                   "[210, 148]\nnormal = [0, 0.966, 0.259]\nmaterial.surface = {{ reflectance = 0.9 }}\n",
                   -card_m)
             : ""));
    Tracer tracer(test_shaders(), world);
    return illuminance(tracer, world, {{{0, -.015, .049}, {0, -.5, -std::sqrt(.75)}}}, 4);
  };
  const Estimate without = underside(0);
  const double rows[][2] = {{.08, 1.0}, {.15, .5}, {.30, .2}};
  for (const auto& [distance, gain] : rows)
    EXPECT_NEAR(stops(underside(distance), without), gain, .2) << distance;
}

}  // namespace
}  // namespace undercap
