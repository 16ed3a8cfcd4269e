// Diffraction in a developed picture: an edge's contrast at every frequency, the pattern of a point, and that
// bands do not show.
#include "engine/optics/diffraction.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/render/picture_job.h"
#include "tests/physics/bench_top.h"
#include "tests/physics/slanted_edge.h"

namespace undercap {
namespace {

constexpr double slant_deg = 5;

// A long lens before a small sensor of 3 mm, at m .25: N_w = 1.25 N, and cos^4 is .9999 in the corner.
World small_sensor(double working_f_number) {
  return world_of(
      bare + no_sky +
      fmt::format("[camera]\nformat_mm = [3, 3]\nfocal_length_mm = 300\nf_number = {}\nbarrel_mm = 0\n"
                  "transmission = 1\nlook_at = [0, 0, 0]\nposition_m = [0, -1.5, 0]\n",
                  working_f_number / 1.25));
}

// lambda N_w as a number of pixels of a picture so wide.
double pattern_unit_px(const World& world, int width) {
  return diffraction_wavelength * world.camera.working_f_number / (world.camera.width / width);
}

// Develops what a film of these linear values (1 = white) shows, to linear values: 8 bits, so good to .4 % of
// white.
std::vector<double> developed(const World& world, const View& view, const std::vector<double>& linear,
                              bool diffraction) {
  const Development how{.shutter = 1_s, .iso = 100, .diffraction = diffraction};
  const double white = 10 / .18 / how.iso / exposure_per_luminance(world, how.shutter).value();
  std::vector<float> sums;
  for (int half = 0; half < 2; ++half)
    for (const double value : linear) sums.insert(sums.end(), 3, static_cast<float>(value * white));
  const Picture8 picture = Developer(test_shaders()).develop_mixed(world, view, Film(view, sums), how);
  std::vector<double> shown;
  for (std::size_t i = 1; i < picture.rgb.size(); i += 3)
    shown.push_back(linear_from_srgb_code(picture.rgb[i]));
  return shown;
}

// An edge from 5 to 90 % of white, each pixel the mean over its square by 16 x 4 places.
EdgePicture sharp_edge(int width, int rows) {
  const double slope = std::tan(slant_deg * std::numbers::pi / 180);
  EdgePicture picture{width, rows, {}};
  for (int y = 0; y < rows; ++y)
    for (int x = 0; x < width; ++x) {
      int beyond = 0;
      for (int i = 0; i < 16; ++i)
        for (int j = 0; j < 4; ++j)
          beyond += x + (i + .5) / 16 - width / 2. - .3 > ((y + (j + .5) / 4) - rows / 2.) * slope;
      picture.luminance.push_back(.05 + .85 * beyond / 64);
    }
  return picture;
}

// An edge in focus has the contrast of a perfect lens (Goodman, Introduction to Fourier Optics, ch. 6, from
// memory): (2 / pi) (acos u - u sqrt(1 - u^2)), u = nu lambda N_w, through the pixel's own square and the
// bin. Of full contrast 3.5 %: the kernel knows nothing of the last 3 % of the light, which lies in far
// rings, and scales the rest up, so that contrast is up to a thirtieth too high; 8 bits add a noise of .5 %.
TEST(Diffraction, AnEdgeHasTheContrastOfAPerfectLens) {
  constexpr int width = 320, rows = 57;
  for (const double unit_px : {2.5, 4.}) {
    const World world = small_sensor(unit_px * 3e3 / width / .55);
    EXPECT_NEAR(pattern_unit_px(world, width), unit_px, 1e-6 * unit_px);
    const View view{.width = width, .height = rows};
    EdgePicture picture = sharp_edge(width, rows);
    picture.luminance = developed(world, view, picture.luminance, true);
    const EdgeResponse edge(picture);
    for (double nu = 0; nu < 1.2 / unit_px; nu += .01) {
      const double expected = diffraction_contrast(nu * unit_px) * disc_response(1e-6, edge.angle_deg(), nu);
      EXPECT_NEAR(edge.at(nu), expected, .035) << unit_px << " px, " << nu << " c/px";
    }
    EXPECT_NEAR(edge.half_contrast(), .40397 / unit_px, .05 * .40397 / unit_px);
  }
}

// The pattern of a point is the kernel's weights, pixel by pixel (one code: rounding): nothing is turned,
// shifted or lost. Brightest pixel 80 % of white.
TEST(Diffraction, APointHasThePatternOfTheKernel) {
  constexpr int side = 241, middle = 120;
  const World world = small_sensor(3 * 3e3 / side / .55);
  const DiffractionKernel kernel =
      diffraction_kernel(world.camera.working_f_number, world.camera.width / side);
  ASSERT_GT(kernel.radius, 10);
  ASSERT_LT(kernel.radius, middle);
  const int across = 2 * kernel.radius + 1;
  const auto weight = [&](int x, int y) {
    const int column = x - middle + kernel.radius, row = y - middle + kernel.radius;
    if (column < 0 || row < 0 || column >= across || row >= across) return 0.;
    return static_cast<double>(kernel.weight[static_cast<std::size_t>(row * across + column)]);
  };
  const double point = .8 / weight(middle, middle);
  std::vector<double> linear(side * side, 0.);
  linear[middle * side + middle] = point;
  const std::vector<double> shown = developed(world, {.width = side, .height = side}, linear, true);
  for (int y = 0; y < side; ++y)
    for (int x = 0; x < side; ++x)
      EXPECT_NEAR(srgb_code(shown[static_cast<std::size_t>(y * side + x)]), srgb_code(point * weight(x, y)),
                  1)
          << x << " " << y;
}

// A patch in the middle keeps its light. Its edge is blurred over some pixels, whose values are rounded to 8
// bits at random, and far rings are fainter than a step: .5 % of a patch of 1600 pixels.
TEST(Diffraction, KeepsTheLight) {
  constexpr int side = 240;
  const World world = small_sensor(3 * 3e3 / side / .55);
  const double dark = linear_from_srgb_code(64), bright = linear_from_srgb_code(230);
  std::vector<double> linear(side * side, dark);
  for (int y = 100; y < 140; ++y)
    for (int x = 100; x < 140; ++x) linear[static_cast<std::size_t>(y * side + x)] = bright;
  const View view{.width = side, .height = side};
  const auto light = [&](bool diffraction) {
    double sum = 0;
    for (const double value : developed(world, view, linear, diffraction)) sum += value - dark;
    return sum;
  };
  const double before = light(false), after = light(true);
  EXPECT_NEAR(before, 1600 * (bright - dark), 1e-6 * before);
  EXPECT_NEAR(after / before, 1, .005);
}

// An even picture stays even up to its edges, and a pattern that a pixel holds changes nothing: 17.3 mm over
// 32 pixels at f/.7, lambda N_w = .001 pixels.
TEST(Diffraction, LeavesAloneWhatItCannotSpread) {
  const View view{.width = 240, .height = 48};
  const World spread = small_sensor(3 * 3e3 / 240 / .55);
  for (const double value : developed(spread, view, std::vector<double>(240 * 48, .18), true))
    EXPECT_EQ(srgb_code(value), 118);
  const World coarse =
      world_of(bare + no_sky +
               "[camera]\nformat_mm = [17.3, 13]\nf_number = 0.7\nbarrel_mm = 0\nlook_at = [0, 0, 0]\n"
               "position_m = [0, -5, 0]\n");
  const View small{.width = 32, .height = 24};
  ASSERT_EQ(diffraction_kernel(coarse.camera.working_f_number, coarse.camera.width / 32).radius, 0);
  std::vector<double> chequered;
  for (int i = 0; i < 32 * 24; ++i) chequered.push_back((i / 32 + i) % 2 ? .1 : .6);
  EXPECT_EQ(developed(coarse, small, chequered, true), developed(coarse, small, chequered, false));
}

// A picture in bands is the picture in one, byte by byte, with noise and diffraction too: a pixel's noise
// goes by its place in the whole picture, and a band knows the rows that its own are spread from. f/64 on 3
// mm.
TEST(Diffraction, BandsAreTheSameBytesWithNoise) {
  const World world = world_of(
      "[ground]\nsize_m = 2\nrelief_mm = 0\n[sky]\nhorizontal_lx = 800\n[camera]\nformat_mm = [3, "
      "24]\nfocal_length_mm = 20\nf_number = 64\nposition_m = [0, -0.5, 0.1]\nlook_at = [0, 0, "
      "0.03]\nbarrel_mm = "
      "0\n[[prop]]\nname = \"ball\"\nkind = \"sphere\"\nat_m = [0, 0, 0.05]\nmaterial.surface = { "
      "reflectance = 0.6 }\n");
  const Development how{.shutter = 4_s, .iso = 6400, .sensor = SensorModel{}, .diffraction = true};
  ASSERT_GT(diffraction_kernel(world.camera.working_f_number, world.camera.width / 24).radius, 1);
  Tracer tracer(test_shaders(), world);
  const Developer developer(test_shaders());
  const auto picture = [&](std::size_t limit, const Development& development) {
    return render_picture(tracer, developer, world,
                          {.width = 24, .height = 192, .samples = 8, .film_limit_bytes = limit}, development,
                          [](double) { return true; });
  };
  const PictureResult whole = picture(std::size_t{1} << 30, how),
                      banded = picture(24 * 112 * 24 * world.groups.size(), how);
  EXPECT_EQ(whole.bands, 1);
  EXPECT_GT(banded.bands, 3);
  EXPECT_EQ(whole.picture.rgb, banded.picture.rgb);
  Development plain = how;
  plain.diffraction = false;
  EXPECT_NE(whole.picture.rgb, picture(std::size_t{1} << 30, plain).picture.rgb);
}

}  // namespace
}  // namespace undercap
