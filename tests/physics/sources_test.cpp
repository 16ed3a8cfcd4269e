// Sources as a scene names them, rendered: a flash near and far, a snoot, a field angle, lamps that go out.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/render/picture_job.h"
#include "engine/world/mix.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::string source(const std::string& keys) {
  return bare + no_sky + plain_camera +
         "[[source]]\nname = \"s\"\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\n" + keys;
}

// Light at a place, facing the source's plane.
Estimate light_at(Tracer& tracer, const World& world, const Mix& mix, double x, double distance,
                  unsigned passes = 4) {
  return mean_luminance(receive(tracer, world, {{.at = {x, 0, 1 - distance}, .normal = {0, 0, 1}}}, passes),
                        mix)
      .value_or(Estimate{-1});
}

// A Lambertian rectangle, w x h, at its middle: four times the corner factor (Howell's catalogue, parallel
// plates), so that E = L 4 (1/2) [A / sqrt(1 + A^2) atan(B / sqrt(1 + A^2)) + the same with A and B changed].
double before_a_rectangle(double intensity, double w, double h, double distance) {
  const double a = w / 2 / distance, b = h / 2 / distance, ra = std::sqrt(1 + a * a),
               rb = std::sqrt(1 + b * b);
  return intensity / (w * h) * 2 * (a / ra * std::atan(b / ra) + b / rb * std::atan(a / rb));
}

// A flash of guide number 10 m has 2.5 x 10^2 = 250 cd s: 2777.8 lx s by the square of 0.30 m, and 2751.3 lx
// s from its 60 x 40 mm. At 3 m the two agree within 1e-4.
TEST(Flash, NearAndFar) {
  const World world =
      world_of(source("kind = \"flash\"\nguide_number_m = 10\nsize_mm = [60, 40]\nbeam_deg = 120\n"));
  Tracer tracer(test_shaders(), world);
  const Mix mix = mix_of_flashes(world);
  const double near = before_a_rectangle(250, .06, .04, .3);
  EXPECT_NEAR(near, 2751.3, .05);
  EXPECT_TRUE(agrees(light_at(tracer, world, mix, 0, .3), near));
  EXPECT_TRUE(agrees(light_at(tracer, world, mix, 0, .05), before_a_rectangle(250, .06, .04, .05)));
  EXPECT_TRUE(agrees(light_at(tracer, world, mix, 0, 3), 250. / 9));
  EXPECT_EQ(light_at(tracer, world, mix_of(world), 0, .3).value, 0);  // no steady light
}

// From half the peak at beam / 2 to a tenth at field / 2; E = I cos^3(a) / d^2 on a plane. The disc of 2 mm
// at 1 m is a point within 1e-5; the beam's table within 1e-3.
TEST(Torch, BeamAndField) {
  const World world = world_of(
      source("kind = \"torch\"\nintensity_cd = 1000\nbeam_deg = 30\nfield_deg = 80\ndiameter_mm = 2\n"));
  Tracer tracer(test_shaders(), world);
  for (const auto& [degrees, share] : {std::pair{0., 1.}, {15., .5}, {40., .1}}) {
    const double a = degrees * pi / 180;
    EXPECT_TRUE(agrees(light_at(tracer, world, mix_of(world), std::tan(a), 1),
                       1000 * share * std::pow(std::cos(a), 3), 1e-3))
        << degrees;
  }
}

// Before a disc of radius R in a tube of length l: a point of the disc is seen when the line to it passes the
// tube's mouth. E = sum over the seen points of (I / area) / cos x cos cos / d^2 = I h^2 / (area d^4) for a
// Lambertian disc (I = I0 cos). Dark once the whole disc is behind the rim: from R (2 h / l - 1) on.
TEST(Snoot, CutsTheBeamAtItsMouth) {
  constexpr double radius = .0125, length = .08, h = .5;
  const World world = world_of(
      source("kind = \"torch\"\nintensity_cd = 100\nbeam_deg = 120\ndiameter_mm = 25\nsnoot_mm = 80\n"));
  Tracer tracer(test_shaders(), world);
  const auto exact = [&](double x) {
    constexpr int steps = 1000;
    double sum = 0;
    for (int i = 0; i < steps; ++i)
      for (int j = 0; j < steps; ++j) {
        const double u = radius * (2 * (i + .5) / steps - 1), v = radius * (2 * (j + .5) / steps - 1);
        const double mouth_u = u + (x - u) * length / h, mouth_v = v - v * length / h;
        if (std::hypot(u, v) > radius || std::hypot(mouth_u, mouth_v) > radius) continue;
        const double d2 = (x - u) * (x - u) + v * v + h * h;
        sum += h * h / (d2 * d2);
      }
    return 100 * sum * std::pow(2 * radius / steps, 2) / (pi * radius * radius);
  };
  // 96 flat sides let 2e-3 more through where the rim cuts the disc in half.
  for (const double x : {0., .05, .09, .11})
    EXPECT_TRUE(agrees(light_at(tracer, world, mix_of(world), x, h, 16), exact(x), 5e-3)) << x;
  const double dark_from = radius * (2 * h / length - 1);
  EXPECT_GT(light_at(tracer, world, mix_of(world), dark_from * .98, h).value, 0);
  EXPECT_EQ(light_at(tracer, world, mix_of(world), dark_from * 1.01, h).value, 0);
}

// Time sets what shines on, power and distance what flashes: of four times the exposure a flash makes the
// same picture, its mean luminance a quarter, and a lamp that is on for half a second likewise.
TEST(Flash, IsNoMatterOfTime) {
  for (const std::string kind : {"kind = \"flash\"\nsize_mm = [60, 40]\nguide_number_m = 2\n",
                                 "kind = \"torch\"\nintensity_cd = 20\non_s = 0.5\n"}) {
    const World world = world_of(source(kind) + "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\n");
    Tracer tracer(test_shaders(), world);
    const Developer developer(test_shaders());
    const auto picture = [&](Duration shutter) {
      return render_picture(tracer, developer, world,
                            {.width = 24, .height = 16, .samples = 4, .keep_groups = true},
                            {.shutter = shutter, .iso = 100}, [](double) { return true; });
    };
    const PictureResult brief = picture(Duration(.5)), slow = picture(2_s);
    double most = 0;
    for (std::size_t i = 0; i < brief.mix.rgb.size(); ++i) {
      most = std::max(most, static_cast<double>(brief.mix.rgb[i]));
      EXPECT_FLOAT_EQ(brief.mix.rgb[i], 4 * slow.mix.rgb[i]);
      EXPECT_NEAR(brief.picture.rgb[i], slow.picture.rgb[i], 1);  // rounding
    }
    EXPECT_GT(most, 0);
  }
}

}  // namespace
}  // namespace undercap
