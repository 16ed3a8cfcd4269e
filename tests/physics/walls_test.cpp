// Light between large walls and through thin sheets: a corner under an open sky, parallel plates, one sheet
// and two, an integrating sphere.
#include <fmt/format.h>

#include <cmath>
#include <fstream>
#include <glm/trigonometric.hpp>
#include <numbers>

#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// A quarter plane s > 0 turned about y, as a grid that grows by doubling: triangles stay as small as their
// distance from the origin, so that a place on them is as exact as its own coordinates.
void write_wall(std::ofstream& out, double degrees, int first) {
  std::vector<double> line{0};
  for (double at = 0.01; at < 1.2e4; at *= 2) line.push_back(at);
  const int count = static_cast<int>(line.size()), across = 2 * count - 1;
  for (const double s : line)
    for (int i = 1 - count; i < count; ++i)
      out << fmt::format("v {:.9g} {:.9g} {:.9g}\n", s * std::cos(glm::radians(degrees)),
                         (i < 0 ? -1 : 1) * line[static_cast<std::size_t>(std::abs(i))],
                         s * std::sin(glm::radians(degrees)));
  for (int j = 0; j + 1 < count; ++j)
    for (int i = 0; i + 1 < across; ++i) {
      const int a = first + j * across + i;
      out << fmt::format("f {0} {1} {3}\nf {0} {3} {2}\n", a, a + 1, a + across, a + across + 1);
    }
}

// Two infinite half-planes that meet at an angle alpha, under a sky even in the wedge between them: no length
// is given, so E is the same everywhere: E = pi L0 (1 - F) / (1 - rho F), F = (1 + cos alpha) / 2. Walls end
// at 10^5 times the receiver's distance, which lacks 1e-5.
TEST(Corner, EvenSky) {
  const double rows[][4] = {
      {90, .55556, .66667, .83333}, {60, .29412, .4, .625}, {120, .78947, .85714, .9375}};
  const double rho[] = {.2, .5, .8};
  for (const auto& row : rows) {
    std::ofstream out(test_folder() + "/corner.obj");
    write_wall(out, 0, 1);
    write_wall(out, row[0], 1 + 22 * 43);
    out.close();
    for (std::size_t i = 0; i < 3; ++i) {
      const double f = (1 + std::cos(glm::radians(row[0]))) / 2, exact = (1 - f) / (1 - rho[i] * f);
      EXPECT_NEAR(exact, row[i + 1], 5.1e-6);
      const World world =
          world_of(bare + plain_camera + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
                   fmt::format("[[prop]]\nname = \"corner\"\nkind = \"mesh\"\nfile = \"corner.obj\"\nunit = "
                               "\"m\"\nup = \"z\"\nat_m = [0, 0, 0]\nmaterial.surface = {{ reflectance = {}, "
                               "roughness = 1 }}\n",
                               rho[i]));
      Tracer tracer(test_shaders(), world);
      EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0.1, 0, 1e-6}}}, 2), 1000 * exact, 1e-5))
          << row[0] << " degrees, reflectance " << rho[i];
      EXPECT_FALSE(tracer.counters().warning().has_value());
    }
  }
}

// A tilted Lambertian plane under an even sky has E = E_h (1 + cos b) / 2 all over, and L = rho E / pi. Near
// the middle of a plane of 24 m or 1 km its triangles reach ten thousand times as far as the coordinates of
// what is seen there, and still it may not shade itself. The camera looks beside the diagonal.
TEST(Planes, TiltedOfAnySize) {
  for (const double size_m : {.3, 24., 1000.})
    for (const double degrees : {30., 60.}) {
      const double b = glm::radians(degrees);
      const World world = world_of(
          bare + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
          fmt::format(
              "[camera]\nbarrel_mm = 0\nposition_m = [0.03, {0}, {1}]\nlook_at = [0.01, 0.02, "
              "{2}]\n[[prop]]\nname = \"plane\"\nkind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [{3}, "
              "{3}]\nnormal = [0.1, {0}, {1}]\nmaterial.surface = {{ reflectance = 0.5 }}\n[[meter]]\n"
              "name = \"s\"\nkind = \"spot\"\n",
              -std::sin(b), std::cos(b), 0.02 * std::tan(b), size_m));
      const double cosine = std::cos(b) / std::hypot(0.1, 1);
      EXPECT_TRUE(agrees(meter_reading(world, "s", 1), 0.5 * 1000 / pi * (1 + cosine) / 2))
          << size_m << " m, " << degrees << " degrees";
    }
}

std::string level_plane(const std::string& name, double z_m, double side_m, int facing,
                        const std::string& surface) {
  return fmt::format(
      "[[prop]]\nname = \"{}\"\nkind = \"plane\"\nat_m = [0, 0, {}]\nsize_m = [{}, {}]\nnormal = [0, 0, "
      "{}]\nmaterial.surface = {}\n",
      name, z_m, side_m, side_m, facing, surface);
}

// Infinite parallel plates of reflectance r1 and r2, the first shining with exitance M: E2 = M / (1 - r1 r2)
// and E1 = r2 E2. Plates 10 m wide, 1 mm apart.
TEST(Plates, BackAndForth) {
  const double rows[][4] = {{.5, .5, 1.33333, .66667}, {.8, .5, 1.66667, .83333}, {.9, .9, 5.26316, 4.73684}};
  for (const auto& [r1, r2, onto_second, onto_first] : rows) {
    EXPECT_NEAR(1 / (1 - r1 * r2), onto_second, 5.1e-6);
    EXPECT_NEAR(r2 / (1 - r1 * r2), onto_first, 5.1e-6);
    const World world =
        world_of(bare + no_sky + plain_camera +
                 level_plane("first", 0, 10, 1,
                             fmt::format("{{ reflectance = {}, emission_cd_m2 = {:.17g} }}", r1, 1000 / pi)) +
                 level_plane("second", 1e-3, 10, -1, fmt::format("{{ reflectance = {} }}", r2)));
    Tracer tracer(test_shaders(), world);
    EXPECT_TRUE(
        agrees(illuminance(tracer, world, {{{0, 0, 1e-3 - 1e-7}, {0, 0, -1}}}, 2), 1000 / (1 - r1 * r2)));
    EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0, 0, 1e-7}}}, 2), 1000 * r2 / (1 - r1 * r2)));
  }
}

// What one group alone sends, as luminance: the other groups' weights are 0.
Mix only(const World& world, LightGroup::Kind kind) {
  Mix mix = mix_of(world);
  for (std::size_t g = 0; g < mix.size(); ++g)
    if (world.groups[g].kind != kind) mix[g] = glm::dvec3(0);
  return mix;
}

// Sheets over a shining floor, under an even sky of which nothing passes beside them. 1000 lx from either
// side; the camera looks down on the uppermost.
World sheets(const std::string& surface, int count) {
  std::string text =
      bare + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
      "[camera]\nbarrel_mm = 0\nposition_m = [0.1, -0.2, 0.5]\nlook_at = [0, 0, 0]\nf_number = 16\n" +
      level_plane("floor", -3e-3, 10, 1,
                  fmt::format("{{ reflectance = 0, emission_cd_m2 = {:.17g} }}", 1000 / pi));
  for (int i = 0; i < count; ++i) text += level_plane(fmt::format("sheet{}", i), -1e-3 * i, 10, 1, surface);
  return world_of(text);
}

// One sheet between hemispheres of luminance La and Lb: L = rho La + tau Lb. Two: R = rho + tau^2 rho / (1 -
// rho^2), T = tau^2 / (1 - rho^2). Sky and floor are groups of their own, so one run answers R and T: as
// luminance seen from above, and as illuminance of receivers that look at the stack from both sides.
TEST(Sheets, OneAndTwo) {
  const double rows[][4] = {{.1, .1, .10101, .01010}, {.3, .27, .32403, .08011}};
  for (const auto& [rho, tau, stack_reflects, stack_transmits] : rows)
    for (const int count : {1, 2}) {
      const double inside = 1 - rho * rho;
      const double reflects = count == 1 ? rho : rho + tau * tau * rho / inside,
                   transmits = count == 1 ? tau : tau * tau / inside;
      if (count == 2) {
        EXPECT_NEAR(reflects, stack_reflects, 5.1e-6);
        EXPECT_NEAR(transmits, stack_transmits, 5.1e-6);
      }
      const World world = sheets(fmt::format("{{ reflectance = {}, transmittance = {} }}", rho, tau), count);
      const Mix sky = only(world, LightGroup::Kind::sky), glow = only(world, LightGroup::Kind::glow);
      Tracer tracer(test_shaders(), world);
      const Survey survey = take_survey(tracer, world, 1, false, [](double) { return true; });
      EXPECT_TRUE(agrees(*mean_luminance(survey.whole, sky), 1000 / pi * reflects)) << rho << " x " << count;
      EXPECT_TRUE(agrees(*mean_luminance(survey.whole, glow), 1000 / pi * transmits))
          << rho << " x " << count;
      if (count == 1) continue;
      const RegionSums above = receive(tracer, world, {{{0, 0, 1e-6}, {0, 0, -1}}}, 6),
                       below = receive(tracer, world, {{{0, 0, -1e-3 - 1e-6}}}, 6);
      EXPECT_TRUE(agrees(*mean_luminance(above, sky), 1000 * reflects)) << rho;
      EXPECT_TRUE(agrees(*mean_luminance(above, glow), 1000 * transmits)) << rho;
      EXPECT_TRUE(agrees(*mean_luminance(below, sky), 1000 * transmits)) << rho;
      EXPECT_TRUE(agrees(*mean_luminance(below, glow), 1000 * reflects)) << rho;
    }
}

// The integrating sphere (Ulbricht 1900): a Lambertian source on the wall lights the whole wall evenly, and
// what the wall sends back is even at every point of it, so E = Phi / (S (1 - rho)) everywhere. 1e-3: facets,
// and source and receivers a little off the wall.
TEST(Cavity, IntegratingSphere) {
  for (const double rho : {.5, .9}) {
    const World world = world_of(
        bare + no_sky + plain_camera +
        fmt::format("[[prop]]\nname = \"sphere\"\nkind = \"sphere\"\nat_m = [0, 0, 0]\ndiameter_mm = "
                    "2000\nmaterial.surface = {{ reflectance = {} }}\n",
                    rho) +
        "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0, 0, 0.9995]\naim = [0, 0, 0]\n"
        "flux_lm = 10000\nbeam_deg = 120\ndiameter_mm = 1\n");
    Tracer tracer(test_shaders(), world);
    const double exact = 1e4 / (4 * pi * (1 - rho));
    for (const glm::dvec3& out : {glm::dvec3(.8, 0, -.6), {0, .96, .28}})
      EXPECT_TRUE(agrees(illuminance(tracer, world, {{0.9995 * out, -out}}), exact, 1e-3)) << rho;
    EXPECT_FALSE(tracer.counters().warning().has_value());
  }
}

}  // namespace
}  // namespace undercap
