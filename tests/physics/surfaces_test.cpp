// Foils, films and wet bodies in the light of a scene, against closed forms and plain quadrature.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/surface/coat.h"
#include "engine/surface/film.h"
#include "engine/surface/materials.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double sun_lx = 10000;

// What a receiver gets from a card of 300 x 200 mm that it looks at the middle of, from 'south_m' to the
// south. The card stands at 1 m height and faces south, turned about the vertical; a white sun of 10 klx on
// the southern horizon shines on it, past the receiver.
Estimate from_card(const std::string& of, double roughness, double turn_deg, double south_m,
                   unsigned passes) {
  World world = world_of(
      bare + no_sky + plain_camera +
      "[sun]\non = true\nazimuth_deg = 180\nelevation_deg = 0\nnormal_lx = 10000\n" +
      fmt::format("[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0, 0, 1]\nsize_mm = [300, 200]\n"
                  "turn_deg = {}\nmaterial.surface = {{ of = \"{}\", roughness = {} }}\n",
                  turn_deg, of, roughness));
  for (LightGroup& group : world.groups) group.colour = glm::dvec3(1);
  Tracer tracer(test_shaders(), world);
  return illuminance(tracer, world, {{{0, -south_m, 1}, {0, south_m > 0 ? 1. : -1., 0}}}, passes);
}

// What a rough mirror in that place sends to the receiver: the integral over the card of E_sun f cos_l cos_v
// cos_r / r^2 with f = F D G2 / (4 cos_l cos_v); F by Schlick 1994, D and G2 of GGX with height-correlated
// masking (Heitz 2014). Lambda is that of the distribution's own formula. 64 x 64 nodes of Gauss and
// Legendre.
double from_mirror(const glm::dvec3& mirror, double roughness, double turn_deg, double south_m) {
  const double alpha = roughness * roughness, turn = turn_deg * pi / 180;
  const glm::dvec3 right(std::cos(turn), std::sin(turn), 0), normal(std::sin(turn), -std::cos(turn), 0),
      light(0, -1, 0);
  const auto lambda = [&](double cosine) {
    const double tangent2 = 1 / (cosine * cosine) - 1;
    return (std::sqrt(1 + alpha * alpha * tangent2) - 1) / 2;
  };
  double sum = 0;
  const auto nodes = gauss_nodes(64);
  for (const auto& [u, wu] : nodes)
    for (const auto& [v, wv] : nodes) {
      const glm::dvec3 place = .3 * (u - .5) * right + glm::dvec3(0, 0, .2 * (v - .5));
      const glm::dvec3 way = glm::dvec3(0, -south_m, 0) - place;
      const double r = glm::length(way), cos_v = glm::dot(way / r, normal), cos_l = glm::dot(light, normal);
      const glm::dvec3 half = glm::normalize(way / r + light);
      const double cos_h = glm::dot(half, normal), cos_d = glm::dot(half, light);
      const double tangent2 = 1 / (cos_h * cos_h) - 1;
      const double d =
          1 / (pi * alpha * alpha * std::pow(cos_h, 4) * std::pow(1 + tangent2 / (alpha * alpha), 2));
      const double g = 1 / (1 + lambda(cos_v) + lambda(cos_l));
      const double fresnel = luminance_y(mirror + (1.0 - mirror) * std::pow(1 - cos_d, 5));
      sum += wu * wv * .3 * .2 * fresnel * d * g / 4 * (-way.y / r) / (r * r);
    }
  return sun_lx * sum;
}

// Silver and gold, near and far, the light met head-on and turned away; 1e-3: the sun's own width.
TEST(Foil, SendsWhatARoughMirrorSends) {
  struct Case {
    const char* of;
    double roughness, turn_deg, south_m;
  };
  for (const Case& one : {Case{"silver_foil", .3, 0, .1},
                          {"silver_foil", .3, 0, .3},
                          {"gold_foil", .3, 0, .3},
                          {"silver_foil", .5, 12, .2}}) {
    const Estimate measured = from_card(one.of, one.roughness, one.turn_deg, one.south_m, 24);
    const glm::dvec3 mirror(find_material(one.of)->material.mirror);
    EXPECT_TRUE(agrees(measured, from_mirror(mirror, one.roughness, one.turn_deg, one.south_m), 1e-3))
        << one.of << " " << one.roughness << " " << one.turn_deg << " " << one.south_m;
  }
}

// Foil beats a card only when it is aimed: at 0.3 m head-on it sends more than two stops over the white
// card's 1544.9 lx (rho E x configuration factor .17166), turned by 20 degrees, which turns the ray by 40,
// less than the card.
TEST(Foil, IsAimCriticalAndACardIsNot) {
  const double white = 1544.9, silver = find_material("silver_foil")->material.roughness;
  const double aimed = from_mirror(glm::dvec3(.9), silver, 0, .3),
               turned = from_mirror(glm::dvec3(.9), silver, 20, .3);
  EXPECT_GT(std::log2(aimed / white), 2);
  EXPECT_LT(std::log2(turned / white), -.5);
  const Estimate foil = from_card("silver_foil", silver, 20, .3, 96),
                 card = from_card("white_card", 1, 20, .3, 16);
  EXPECT_NEAR(std::log2(foil.value / turned), 0, .05);
  EXPECT_GT(std::log2(card.value / white), -.2);
}

// Behind a film that lets .55 .55 .54 through, evenly and every way: T E x configuration factor, .313567 at
// 0.2 m.
TEST(Film, GlowsBehind) {
  const Estimate measured = from_card("tracing_film", 1, 0, -.2, 24);
  const double through = luminance_y(glm::dvec3(find_material("tracing_film")->material.transmittance));
  EXPECT_TRUE(agrees(measured, through * sun_lx * .313567, 1e-4));
}

std::string wide_floor(const std::string& material) {
  return bare + plain_camera + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
         "[[prop]]\nname = \"floor\"\nkind = \"plane\"\nsize_m = [100, 100]\nat_m = [0, 0, "
         "0]\nmaterial.surface = " +
         material + "\n";
}

// A wide floor under a uniform sky, E = 1000 lx, sends R E up, glint and body: E_mean + (1 - E_mean) R',
// where R' = (1 - k) R / (1 - k R) is the body under water and E_mean the rough film's own share. A floor
// that takes nothing returns 1000 lx wet, dry or in spots. 2e-3: the table of the film between its nodes.
TEST(Wet, FloorsInDiffuseLight) {
  const double row = wet_roughness * 31, share = row - std::floor(row);
  const auto first = static_cast<std::size_t>(row) * 32;
  const double glint =
      double(water_table()[first].y) * (1 - share) + double(water_table()[first + 32].y) * share;
  for (const double dry : {.05, .18, .5, 1.}) {
    const World world = world_of(wide_floor(fmt::format("{{ reflectance = {}, wet = 1 }}", dry)));
    Tracer tracer(test_shaders(), world);
    const double body = wet_body({dry, 0}).reflectance;
    EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0, 0, .01}, {0, 0, -1}}}, 4),
                       1000 * (glint + (1 - glint) * body), 2e-3))
        << dry;
  }
}

// Seen along the normal, by reciprocity: what light along the normal gives in all directions together, glint
// .0204 and body .0264 .1013 .3374 (the rows of light along the normal). 5e-3 of the body is what wet rows
// must keep.
TEST(Wet, FloorsSeenFromAbove) {
  const double dry[] = {.05, .18, .5}, body[] = {.0264, .1013, .3374};
  for (std::size_t i = 0; i < std::size(dry); ++i) {
    const World world = world_of(
        "[ground]\nkind = \"none\"\n[camera]\nbarrel_mm = 0\nposition_m = [0, -0.0001, 1]\nlook_at = [0, 0, "
        "0]\n"
        "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n[[meter]]\nname = \"s\"\nkind = \"spot\"\n"
        "[[prop]]\nname = \"floor\"\nkind = \"plane\"\nsize_m = [20, 20]\nat_m = [0, 0, 0]\n" +
        fmt::format("material.surface = {{ reflectance = {}, wet = 1 }}\n", dry[i]));
    const Estimate seen = meter_reading(world, "s", 4);
    EXPECT_TRUE(agrees({seen.value - 1000 / pi * .02037, seen.se}, 1000 / pi * body[i], 5e-3)) << dry[i];
  }
}

// Half wet, by area: halfway between wet and dry. 2e-2: spots of some millimetres, a thousand of them in
// view.
TEST(Wet, HalfIsHalfway) {
  const auto up = [](const char* material, unsigned passes) {
    const World world = world_of(wide_floor(material));
    Tracer tracer(test_shaders(), world);
    return illuminance(tracer, world, {{{0, 0, .3}, {0, 0, -1}}}, passes).value;
  };
  const double dry = up("{ reflectance = 0.3 }", 1), wet = up("{ reflectance = 0.3, wet = 1 }", 2);
  EXPECT_NEAR(up("{ reflectance = 0.3, wet = 0.5 }", 4), (dry + wet) / 2, .02 * dry);
  EXPECT_NEAR(up("{ reflectance = 1, wet = 0.5 }", 4), 1000, 3);
}

}  // namespace
}  // namespace undercap
