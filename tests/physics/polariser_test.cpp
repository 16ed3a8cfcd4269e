// A polariser before a film of water: the glare that it takes at each angle, and that it takes no other
// light.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double water = 1.333;

double radians(double degrees) { return degrees * std::numbers::pi / 180; }

// Fresnel's reflectances at an angle of incidence, across and along the plane of incidence (Born & Wolf,
// Principles of Optics, 1.5.2, from memory).
struct Reflectances {
  double across = 0, along = 0;
};
Reflectances fresnel(double degrees) {
  const double i = radians(degrees), t = std::asin(std::sin(i) / water);
  return {std::pow(std::sin(i - t) / std::sin(i + t), 2), std::pow(std::tan(i - t) / std::tan(i + t), 2)};
}

// What a polariser leaves of the glare against what it leaves of light without polarisation, an even half:
// Malus, turned by 'turn' from the plane of incidence.
double glare_left(double degrees, double turn_deg) {
  const Reflectances r = fresnel(degrees);
  const double c2 = std::pow(std::cos(radians(turn_deg)), 2);
  return 2 * (r.along * c2 + r.across * (1 - c2)) / (r.across + r.along);
}

struct Glance {
  double from_normal_deg = 53, reflectance = 0, wet = 1, roll_deg = 0;
};

// Mean luminance of a level plane under an even sky, looked at from half a metre. 'polariser': its line in
// the scene, or none.
double luminance(const Glance& glance, const std::string& polariser) {
  const double angle = radians(glance.from_normal_deg);
  const World world = world_of(
      bare + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
      fmt::format("[camera]\nfocal_length_mm = 200\nf_number = 16\nbarrel_mm = 0\nlook_at = [0, 0, "
                  "0]\nposition_m = [0, "
                  "{:.9f}, {:.9f}]\nroll_deg = {}\n{}",
                  -.5 * std::sin(angle), .5 * std::cos(angle), glance.roll_deg, polariser) +
      fmt::format(
          "[[prop]]\nname = \"plane\"\nkind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [20, 20]\nwet = {}\n"
          "material.surface = {{ reflectance = {}, roughness = 1 }}\n",
          glance.wet, glance.reflectance));
  Tracer tracer(test_shaders(), world);
  const View view{.width = 16, .height = 16, .window = {.48f, .48f, .04f, .04f}};
  Film film = tracer.make_film(view);
  for (unsigned i = 0; i < 64; i += 8) tracer.sample(view, film, {.index = i, .count = 8, .seed = 5});
  double sum = 0;
  for (const float value : film.read()) sum += static_cast<double>(value);
  return sum;
}

const std::string none, darkest = "polariser_deg = 0\n", lightest = "polariser_deg = 90\n";

// A black plane under water sends glare alone: of it 2 R_p / (R_s + R_p) is left, next to none at Brewster's
// angle of 53.1 degrees, then the more the lower one looks; turned by 90 degrees the rest of 2. A smooth face
// has the values 'smooth'. The film's facets (GGX, alpha .04) lie askew, with long tails: averaged over those
// that are seen, with their masking, they give 'facets' (midpoints of 400 x 72 slopes, by a program apart
// from this one; 2e-3: samples).
TEST(Polariser, TakesTheGlareOfWaterByFresnel) {
  struct {
    double degrees, smooth, facets;
  } const table[] = {
      {53, 0, .0291}, {65, .1972, .2180}, {75, .5214, .5240}, {80, .6864, .6760}, {85, .8454, .8106}};
  for (const auto& [degrees, smooth, facets] : table) {
    EXPECT_NEAR(glare_left(degrees, 0), smooth, 1e-4);
    const double whole = luminance({degrees}, none), dark = luminance({degrees}, darkest) / whole;
    EXPECT_NEAR(dark, smooth, .04) << degrees;
    EXPECT_NEAR(dark, facets, 2e-3) << degrees;
    EXPECT_NEAR(luminance({degrees}, lightest) / whole, 2 - facets, 2e-3) << degrees;
  }
}

// Its turn is counted against the level, whatever the camera's roll; on the way between Malus's cosine
// squared. .04: the facets, as above.
TEST(Polariser, IsTurnedAgainstTheLevel) {
  for (const double roll : {-40., 30.}) {
    const Glance glance{.from_normal_deg = 60, .roll_deg = roll};
    const double whole = luminance(glance, none);
    for (const double turn : {0., -60., 25.})
      EXPECT_NEAR(luminance(glance, fmt::format("polariser_deg = {}\n", turn)) / whole, glare_left(60, turn),
                  .04)
          << roll << " " << turn;
  }
}

// What comes out of the body is not polarised: a dry dull plane is the same to the last bit, and under water
// the polariser takes from a grey one what it takes from a black one. 1 %: statistics.
TEST(Polariser, LeavesTheLightOfTheBody) {
  const Glance dry{.from_normal_deg = 65, .reflectance = .5, .wet = 0};
  EXPECT_EQ(luminance(dry, darkest), luminance(dry, none));
  const Glance black{.from_normal_deg = 65}, grey{.from_normal_deg = 65, .reflectance = .5};
  const double taken_of_black = luminance(black, none) - luminance(black, darkest),
               taken_of_grey = luminance(grey, none) - luminance(grey, darkest);
  EXPECT_GT(taken_of_black, 0);
  EXPECT_NEAR(taken_of_grey / taken_of_black, 1, .01);
}

}  // namespace
}  // namespace undercap
