// Light that arrives: skies on tilted planes, a small sphere, a lamp close by, a card.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::string incident(const std::string& name, double x, double y, double z, double nx, double ny, double nz) {
  return fmt::format(
      "[[meter]]\nname = \"{}\"\nkind = \"incident\"\nposition_m = [{}, {}, {}]\nnormal = [{}, {}, {}]\n",
      name, x, y, z, nx, ny, nz);
}

// Tilted plane under an unobstructed sky, black ground. Uniform: (1 + cos b) / 2. Overcast 1955 (Moon &
// Spencer 1942): E / E_h = 3/7 [(1 + cos b)/2 + (4 / (3 pi)) (pi cos b + sin b - b cos b)]. The table gives
// five digits.
TEST(Sky, TiltedPlanes) {
  const double tilt[] = {0, 15, 30, 45, 60, 75, 90, 120, 150};
  const double uniform[] = {1, .98296, .93301, .85355, .75000, .62941, .50000, .25000, .06699};
  const double overcast[] = {1, .97431, .90320, .79747, .66943, .53171, .39618, .16943, .03718};
  for (const bool is_uniform : {true, false}) {
    std::string text =
        bare + plain_camera +
        fmt::format("[sky]\nmodel = \"{}\"\nhorizontal_lx = 1000\n", is_uniform ? "uniform" : "overcast");
    for (const double b : tilt)
      text += incident(fmt::format("t{}", b), 0, 0, 1, std::sin(b * pi / 180), 0, std::cos(b * pi / 180));
    const World world = world_of(text);
    Tracer tracer(test_shaders(), world);
    for (std::size_t i = 0; i < std::size(tilt); ++i) {
      const auto reading = mean_luminance(
          take_meter(tracer, world, world.scene.meters[i], tilt[i] < 100 ? 2 : 16), mix_of(world));
      // 1e-5 / e: the digits of the table.
      const double e = is_uniform ? uniform[i] : overcast[i];
      EXPECT_TRUE(agrees(*reading, 1000 * e, 1e-5 / e))
          << "tilt " << tilt[i] << (is_uniform ? " uniform" : " overcast");
    }
  }
}

// The sun's illuminance is that of a surface that faces it: 2000 lx, and at 30 degrees half of it on level
// ground.
TEST(Sun, FacingAndLevel) {
  const World world =
      world_of(bare + no_sky + plain_camera +
               "[sun]\non = true\nazimuth_deg = 120\nelevation_deg = 30\nnormal_lx = 2000\n" +
               incident("facing", 0, 0, 1, .75, -std::sqrt(3) / 4, .5) + incident("level", 0, 0, 1, 0, 0, 1));
  EXPECT_TRUE(agrees(meter_reading(world, "facing", 1), 2000));
  EXPECT_TRUE(agrees(meter_reading(world, "level", 1), 1000));
}

// A small emissive sphere of 10,000 lm, 3 m above a floor, is an isotropic point source: E = Phi / (4 pi) h /
// (h^2 + r^2)^1.5, here 88.4194, 75.4938, 50.9327, 31.2610, 19.0986, 12.0418 lx at r = 0..5 m. The mesh has
// the true sphere's area; its facets turn the intensity by under 1e-3.
TEST(PointSource, OverAFloor) {
  const double area = pi * 0.05 * 0.05;
  std::string text = bare + no_sky + plain_camera +
                     fmt::format(
                         "[[prop]]\nname = \"bulb\"\nkind = \"sphere\"\nat_m = [0.0, 0.0, 3.0]\ndiameter_mm "
                         "= 50\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = {:.17g} }}\n",
                         1e4 / (pi * area));
  for (int r = 0; r <= 5; ++r) text += incident(fmt::format("r{}", r), r, 0, 0, 0, 0, 1);
  const World world = world_of(text);
  Tracer tracer(test_shaders(), world);
  const double exact[] = {88.4194, 75.4938, 50.9327, 31.2610, 19.0986, 12.0418};
  for (std::size_t r = 0; r <= 5; ++r)
    EXPECT_TRUE(agrees(*mean_luminance(take_meter(tracer, world, world.scene.meters[r], 12), mix_of(world)),
                       exact[r], 1e-3))
        << r;
}

// A Lambertian disc on its axis: E = pi L R^2 / (R^2 + d^2) = I0 / (R^2 + d^2); I0 / d^2 is wrong by +100,
// 25, 6.25 and 1 % at d / diameter 0.5, 1, 2, 5. A torch with a 120 degree beam is Lambertian (n = 1).
TEST(Lamp, NearFieldOfADisc) {
  for (const double ratio : {0.5, 1.0, 2.0, 5.0}) {
    const double diameter = 0.05, d = ratio * diameter, radius = diameter / 2;
    const World world = world_of(
        bare + no_sky + plain_camera +
        fmt::format("[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0.0, 0.0, {}]\naim = "
                    "[0.0, 0.0, 0.0]\nintensity_cd = 100\nbeam_deg = 120\ndiameter_mm = 50\n",
                    d) +
        incident("m", 0, 0, 0, 0, 0, 1));
    EXPECT_TRUE(agrees(meter_reading(world, "m"), 100 / (radius * radius + d * d))) << ratio;
  }
}

// Beams are cos^n with half the peak at half the beam angle; flux and peak go by I0 = Phi (n + 1) / (2 pi). A
// 30 degree beam gives 3.34126 cd/lm (n 19.9937); at 2 m and 15 degrees off the axis, E = I0 / 2 / 4 x the
// receiver's cosine. The far field: (R/d)^2 = 2e-5 is inside the 1e-4.
TEST(Lamp, BeamOffAxis) {
  const double a = 15 * pi / 180;
  const World world =
      world_of(bare + no_sky + plain_camera +
               "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0.0, 0.0, 2.0]\naim = [0.0, "
               "0.0, 0.0]\nflux_lm = 100\nbeam_deg = 30\ndiameter_mm = 10\npower_pct = 50\n" +
               incident("axis", 0, 0, 0, 0, 0, 1) +
               incident("off", 2 * std::tan(a), 0, 0, std::sin(-a), 0, std::cos(a)));
  const double peak = 3.34126 * 100 * 0.5;
  EXPECT_TRUE(agrees(meter_reading(world, "axis"), peak / 4));
  EXPECT_TRUE(agrees(meter_reading(world, "off"), peak / 2 / (4 / std::pow(std::cos(a), 2))));
}

// A white card of 300 x 200 mm, rho 0.90, evenly lit with 10 klx by a sun behind the receiver, sends to a
// receiver opposite its middle: 5715.6, 2822.1, 1544.9, 633.1, 168.3 lx at 0.1, 0.2, 0.3, 0.5, 1 m (rho E x
// configuration factor).
TEST(Card, WhiteCardBounce) {
  const double distance[] = {0.1, 0.2, 0.3, 0.5, 1.0}, exact[] = {5715.6, 2822.1, 1544.9, 633.1, 168.3};
  std::string text = bare + no_sky + plain_camera +
                     "[sun]\non = true\nazimuth_deg = 180\nelevation_deg = 0\nnormal_lx = 10000\n"
                     "[[prop]]\nname = \"white\"\nkind = \"card\"\nat_m = [0.0, 0.0, 1.0]\nsize_mm = [300, "
                     "200]\nmaterial.surface.reflectance = 0.9\n";
  for (const double d : distance)
    text += incident(fmt::format("d{}", static_cast<int>(d * 1000)), 0, -d, 1, 0, 1, 0);
  const World world = world_of(text);
  Tracer tracer(test_shaders(), world);
  for (std::size_t i = 0; i < std::size(distance); ++i)
    // A receiver that is small in the card's view finds it seldom: more samples far away. 1e-4: digits of the
    // row.
    EXPECT_TRUE(agrees(
        *mean_luminance(take_meter(tracer, world, world.scene.meters[i], i < 3 ? 8 : 96), mix_of(world)),
        exact[i], 1e-4))
        << distance[i];
}

// A tint is a factor on what a part reflects and lets through, channel by channel: a level sheet in the open,
// E = 1000 lx, shows L = R t E / pi from above and T t E / pi from below. Tints are kept in steps of 1/512.
TEST(Sheet, TintIsAFactor) {
  const glm::dvec3 reflects(.4, .3, .2), transmits(.1, .2, .3), tint(.5, .25, 1.5);
  for (const double z : {.3, -.3}) {
    World world = world_of(
        bare + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
        fmt::format("[camera]\nbarrel_mm = 0\nposition_m = [0, -0.3, {}]\nlook_at = [0, 0, 0]\n", z) +
        "[[prop]]\nname = \"sheet\"\nkind = \"plane\"\nsize_m = [2, 2]\nat_m = [0, 0, 0]\nmaterial.surface = "
        "{ "
        "reflectance = [0.4, 0.3, 0.2], transmittance = [0.1, 0.2, 0.3] }\n");
    for (glm::vec3& one : world.tint) one = glm::vec3(tint);
    world.groups[0].colour = glm::dvec3(1);
    Tracer tracer(test_shaders(), world);
    const Survey survey = take_survey(
        tracer, world, 1, false, [](double) { return true; }, 32);
    const glm::dvec3 seen = mean_colour(survey.whole, mix_of(world));
    const Estimate whole = *mean_luminance(survey.whole, mix_of(world));
    EXPECT_LT(whole.se, .005 * whole.value);
    for (int channel = 0; channel < 3; ++channel) {
      const double exact = (z > 0 ? reflects : transmits)[channel] * tint[channel] * 1000 / pi;
      EXPECT_NEAR(seen[channel] / exact, 1, 4 * whole.se / whole.value + 1e-4) << z << " " << channel;
    }
  }
}

// What lights nothing that is seen changes nothing: a card that glows above a floor, and a receiver beside it
// that sees the floor alone; then with a second card of twice the power far below that floor and a torch
// aimed away. Indirect light asks one group, and in it one triangle.
TEST(Card, LightsThatNothingSeesChangeNothing) {
  const auto glowing = [](const std::string& name, double z, double tilt, double emission) {
    return fmt::format(
        "[[prop]]\nname = \"{}\"\nkind = \"disc\"\nat_m = [0, 0, {}]\nnormal = [0, 0, {}]\ndiameter_mm = "
        "300\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = {} }}\n",
        name, z, tilt, emission);
  };
  const std::string alone = bare + no_sky + plain_camera +
                            "[[prop]]\nname = \"floor\"\nkind = \"plane\"\nsize_m = [2, 2]\nat_m = [0, 0, "
                            "0]\nmaterial.surface.reflectance = 0.8\n" +
                            glowing("lit", .3, -1, 500) + incident("m", .3, 0, .3, 0, 0, -1);
  const std::string others = glowing("below", -2, -1, 1000) +
                             "[[source]]\nname = \"away\"\nkind = \"torch\"\nposition_m = [0, 0, 3]\naim = "
                             "[0, 0, 4]\nflux_lm = 100\nbeam_deg = 20\n";
  const Estimate one = meter_reading(world_of(alone), "m", 1),
                 among = meter_reading(world_of("render.seed = 2\n" + alone + others), "m", 3);
  const double se = std::hypot(one.se, among.se);
  EXPECT_LT(se, .015 * one.value);
  EXPECT_NEAR(among.value, one.value, 4 * se);
}

}  // namespace
}  // namespace undercap
