// The lens in pictures: blur discs, depth limits, backdrop magnification.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "tests/physics/bench_top.h"
#include "tests/physics/piece.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

struct LensCase {
  double focal_mm = 60, f_number = 2.8, magnification = 0.5, pupil_ratio = 1;
  int blades = 0;  // straight ones
  double width_mm = 17.3, height_mm = 13;
};

// The camera looks along +y at the origin, which is in focus; no barrel, transmission 1.
std::string camera_text(const LensCase& lens) {
  return bare + no_sky +
         fmt::format(
             "[camera]\nformat_mm = [{}, {}]\nfocal_length_mm = {}\nf_number = {}\npupil_magnification = "
             "{}\nposition_m = [0.0, -0.5, 0.0]\n"
             "look_at = [0.0, 0.0, 0.0]\nmagnification = {}\nblades = {}\nblade_curvature = 0\nbarrel_mm = "
             "0\ntransmission = 1\n",
             lens.width_mm, lens.height_mm, lens.focal_mm, lens.f_number, lens.pupil_ratio,
             lens.magnification, lens.blades);
}

struct Moments {
  double sum = 0, x_mm = 0, radius_squared_mm2 = 0;  // about the centroid
};

Moments moments(const Piece& piece) {
  Moments m;
  double sx = 0, sy = 0, s2 = 0;
  for (int y = 0; y < piece.side_px; ++y)
    for (int x = 0; x < piece.side_px; ++x) {
      const double l = piece.luminance[static_cast<std::size_t>(y * piece.side_px + x)], px = piece.x_mm(x),
                   py = piece.x_mm(y);
      m.sum += l;
      sx += l * px;
      sy += l * py;
      s2 += l * (px * px + py * py);
    }
  m.x_mm = sx / m.sum;
  m.radius_squared_mm2 = s2 / m.sum - std::pow(sx / m.sum, 2) - std::pow(sy / m.sum, 2);
  return m;
}

// The diameter on the sensor of the blur disc of a point 'behind_mm' behind the plane in focus. An even disc
// of diameter b has a mean squared radius of b^2 / 8; the emitter's own image and the square pixel (side^2 /
// 6) are taken off.
double measured_blur_mm(const LensCase& lens, double behind_mm, double expected_mm) {
  const double pupil_mm = lens.focal_mm * (1 / lens.magnification + 1 / lens.pupil_ratio);
  const double scale = lens.magnification * pupil_mm / (pupil_mm + behind_mm);  // sharp image of that plane
  const double image_mm = std::max(expected_mm / 4, 0.0055);
  const World world = world_of(camera_text(lens) + emitter("point", 0, behind_mm, image_mm / scale, 1000));
  const Piece piece = take_piece(world, 1.25 * (expected_mm + image_mm), 40, 512);
  return std::sqrt(8 * (moments(piece).radius_squared_mm2 - image_mm * image_mm / 8 -
                        piece.pixel_mm * piece.pixel_mm / 6));
}

// Blur disc b = m d |D - a| / D, exact for a Gaussian lens (optics of the entrance pupil). 60 mm f/2.8 at m
// 0.5: the figures in mm; 5184 px on 17.3 mm. Tolerance 1 % or half a pixel (0.0017 mm): the count of
// samples.
TEST(Blur, ThroughFocus) {
  const double behind[] = {-20, -5, -1, -.25, .25, 1, 5, 20, 50, 100};
  const double pixels[] = {401.32, 91.731, 17.936, 4.4653, 4.4529, 17.738, 86.772, 321.06, 697.95, 1146.6};
  for (std::size_t i = 0; i < std::size(behind); ++i) {
    const double exact = pixels[i] * 17.3 / 5184;
    EXPECT_NEAR(measured_blur_mm({}, behind[i], exact), exact, std::max(0.01 * exact, 0.5 * 17.3 / 5184))
        << behind[i];
  }
}

// At the near and the far limit for a circle of confusion of 0.015 mm the blur is 0.015 mm: -0.25165 and
// +0.25235 mm.
TEST(Blur, DepthLimits) {
  EXPECT_NEAR(measured_blur_mm({}, -.25165, .015), .015, .015 * .01);
  EXPECT_NEAR(measured_blur_mm({}, .25235, .015), .015, .015 * .01);
}

// 50 mm behind, f/2.8 to f/16: 2.3292 1.6304 1.1646 .81522 .59289 .40761 mm. 0.5 %: 1 % in area.
TEST(Blur, StopsDown) {
  const double f_number[] = {2.8, 4, 5.6, 8, 11, 16},
               exact[] = {2.3292, 1.6304, 1.1646, .81522, .59289, .40761};
  for (std::size_t i = 0; i < std::size(exact); ++i)
    EXPECT_NEAR(measured_blur_mm({.f_number = f_number[i]}, 50, exact[i]), exact[i], 0.005 * exact[i]);
}

// Pupil magnification 0.7 at 200 mm behind: 5.2817 mm against 5.6391 mm for a symmetrical lens; working
// f-number 4.8 and 4.2.
TEST(Blur, PupilMagnification) {
  EXPECT_NEAR(measured_blur_mm({.pupil_ratio = 0.7}, 200, 5.2817), 5.2817, 0.005 * 5.2817);
  EXPECT_NEAR(measured_blur_mm({}, 200, 5.6391), 5.6391, 0.005 * 5.6391);
  EXPECT_NEAR(world_of(camera_text({.pupil_ratio = 0.7})).camera.working_f_number, 4.8, 1e-12);
}

// The blur disc of a point of 1 cd, 50 mm behind, m 0.5: E = I / (m^2 delta^2) = 1600 lx whatever the
// f-number. The disc's middle, away from the emitter's edge; 2 %: statistics.
TEST(Blur, PlateauDoesNotDependOnTheStop) {
  for (const double n : {2.8, 5.6, 11.0}) {
    const LensCase lens{.f_number = n};
    const double b = 2.3292 * 2.8 / n, image = b / 5, scale = 0.5 * 180 / 230, diameter = image / scale;
    const double luminance = 1 / (pi * std::pow(diameter * 1e-3, 2) / 4);
    const World world = world_of(camera_text(lens) + emitter("point", 0, 50, diameter, luminance));
    const Piece piece = take_piece(world, b * 0.5, 24, 512);
    double sum = 0;
    for (const double l : piece.luminance) sum += l;
    const double mean = sum / static_cast<double>(piece.luminance.size());
    EXPECT_NEAR(mean * exposure_per_luminance(world, 1_s).value(), 1600, 32) << n;
  }
}

// On the axis E / L = pi T / (4 N_w^2) for a Gaussian lens with the chief ray's cos^4 alone: .044524 at
// N_w 4.2. A card of even luminance is that luminance in the film at any stop, since the weight is taken when
// exposing.
TEST(Exposing, GreyCardOnTheAxis) {
  const World world =
      world_of(camera_text({}) +
               "[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0.0, 0.0, 0.0]\nsize_mm = [100, "
               "100]\nmaterial.surface = { reflectance = 0, emission_cd_m2 = 250 }\n");
  EXPECT_NEAR(exposure_per_luminance(world, 1_s).value(), .044524, .044524 * 1e-3);
  for (const double l : take_piece(world, 8, 8, 8).luminance) EXPECT_NEAR(l, 250, 250 * 1e-5);
}

// An iris of n straight blades is drawn so that its area is that of the disc of its f-number: R = k_R d / 2,
// k_R = 1.14948 for n = 5 (the equal-area rule of ISO 517, from memory). So a point out of focus has its
// 1600 lx as with a round iris (2 %: statistics; without k_R 32 % more), and its light is spread with the
// second moment of the polygon, E[r^2] = R^2 (2 + cos(2 pi / n)) / 6 = .38484 R^2 for n = 5, 1.7 % above the
// circle's (1 %: 0.5 % in diameter as above). 60 mm f/8, 50 mm behind.
TEST(Blur, StraightBlades) {
  constexpr double round_mm = 0.81522, image_mm = round_mm / 4, scale = 0.5 * 180 / 230;
  const double luminance = 1 / (pi * std::pow(image_mm / scale * 1e-3, 2) / 4);
  for (const int blades : {3, 5}) {
    const World world = world_of(camera_text({.f_number = 8, .blades = blades}) +
                                 emitter("point", 0, 50, image_mm / scale, luminance));
    const double step = 2 * pi / blades, k_squared = pi / (blades / 2.0 * std::sin(step));
    if (blades == 5) {
      EXPECT_NEAR(std::sqrt(k_squared), 1.14948, 5.1e-6);
      EXPECT_NEAR((2 + std::cos(step)) / 6, .38484, 5.1e-6);
    }
    const Piece middle = take_piece(world, round_mm * 0.35, 24, 512);
    const double mean = moments(middle).sum / static_cast<double>(middle.luminance.size());
    EXPECT_NEAR(mean * exposure_per_luminance(world, 1_s).value(), 1600, 32) << blades;
    const Piece whole = take_piece(world, 1.6 * round_mm + image_mm, 40, 512);
    const double blur =
        moments(whole).radius_squared_mm2 - image_mm * image_mm / 8 - whole.pixel_mm * whole.pixel_mm / 6;
    EXPECT_NEAR(blur / (std::pow(round_mm / 2, 2) * k_squared * (2 + std::cos(step)) / 6), 1, 0.01) << blades;
  }
}

// The same picture on a larger format: from 60 mm f/8 at m 0.5 on 17.3 x 13 mm to 36 x 24 mm, whose diagonal
// is c = 1.9994 times as long: m c, f = 180 mm / (1 / (m c) + 1) = 89.986 mm, and the same pupil, f/11.998.
// Perspective and blur discs agree at the size of the diagonal, so each sample takes the same ray and the two
// pictures are equal but for rounding, which moves a sample in some thousands across an edge.
TEST(Formats, SamePictureOnALargerOne) {
  const LensCase small{.f_number = 8};
  const double c = std::hypot(36, 24) / std::hypot(17.3, 13);
  LensCase large{.magnification = 0.5 * c, .width_mm = 36, .height_mm = 24};
  large.focal_mm = 180 / (1 / large.magnification + 1);
  large.f_number = 8 * large.focal_mm / 60;
  EXPECT_NEAR(c, 1.9994, 5.1e-5);
  EXPECT_NEAR(large.focal_mm, 89.986, 5.1e-4);
  EXPECT_NEAR(large.f_number, 11.998, 5.1e-4);
  const std::string scene =
      emitter("near", -1, -20, 0.4, 500) + emitter("sharp", 0.2, 0, 1.2, 300) + emitter("far", 1, 50, 1, 800);
  const Piece on_small = take_piece(world_of(camera_text(small) + scene), 2.5, 48, 64),
              on_large = take_piece(world_of(camera_text(large) + scene), 2.5 * c, 48, 64);
  double total = 0, difference = 0;
  for (std::size_t i = 0; i < on_small.luminance.size(); ++i) {
    total += on_small.luminance[i];
    difference += std::abs(on_small.luminance[i] - on_large.luminance[i]);
  }
  EXPECT_GT(total / static_cast<double>(on_small.luminance.size()), 10);
  EXPECT_LT(difference / total, 1e-3);
  EXPECT_NEAR(measured_blur_mm(large, 50, 0.81522 * c), 0.81522 * c, 0.005 * 0.81522 * c);
}

// A backdrop 1000 mm behind, m 0.5, 60 mm: the 17.3 mm of the sensor show 226.82 mm of it. Two emitters 80 mm
// apart; a small stop keeps their discs apart and does not move them. 0.2 %.
TEST(Backdrop, WidthInTheFrame) {
  const LensCase lens{.f_number = 64};
  double at[2];
  for (int side = 0; side < 2; ++side)
    at[side] =
        moments(take_piece(world_of(camera_text(lens) + emitter("mark", side ? 40 : -40, 1000, 2, 1000)), 9,
                           180, 256))
            .x_mm;
  EXPECT_NEAR(80 / (at[1] - at[0]) * 17.3, 226.82, 0.002 * 226.82);
}

}  // namespace
}  // namespace undercap
