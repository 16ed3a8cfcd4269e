// What a rim before the pupil takes: discs of blur become cat's eyes, and pictures darken toward their
// corners.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <numeric>

#include "engine/colour/spaces.h"
#include "engine/optics/vignetting.h"
#include "tests/physics/bench_top.h"
#include "tests/physics/piece.h"
#include "tests/physics/sampler_bench.h"
#include "tests/physics/statistics.h"

namespace undercap {
namespace {

constexpr double pupil_mm = 60 / 2.8;

// 60 mm f/2.8 with a round iris, looking along +y; the origin is in focus. 'more': further lines of the
// camera.
std::string camera(double magnification, const std::string& more) {
  return bare + no_sky +
         fmt::format(
             "[camera]\nformat_mm = [60, 40]\nfocal_length_mm = 60\nf_number = 2.8\nblades = 0\nbarrel_mm = "
             "0\n"
             "transmission = 1\nposition_m = [0, -5, 0]\nlook_at = [0, 0, 0]\nmagnification = {}\n",
             magnification) +
         more;
}

std::string rim(double ahead_mm, double diameter_mm) {
  return fmt::format("rim_ahead_mm = {:.9f}\nrim_diameter_mm = {:.9f}\n", ahead_mm, diameter_mm);
}

// Light that a piece of the sensor gets: a film holds luminance, and a pixel's share of the pupil comes on
// top.
double light_of(const World& world, double side_mm, double x_mm) {
  const Piece piece = take_piece(world, side_mm, 40, 256, x_mm);
  const CameraRig& rig = world.camera;
  double sum = 0;
  for (int y = 0; y < piece.side_px; ++y)
    for (int x = 0; x < piece.side_px; ++x) {
      const Length height = std::hypot(x_mm + piece.x_mm(x), piece.x_mm(y)) * 1_mm;
      const double share = rig.rim_diameter > 0_mm ? rim_share(rig.lens, rig.magnification, height,
                                                               rig.rim_ahead, rig.rim_diameter)
                                                   : 1;
      sum += share * piece.luminance[static_cast<std::size_t>(y * piece.side_px + x)];
    }
  return sum;
}

// The disc of an emitter 900 m away, tan(theta) = 1/4 off the axis: the pupil of radius R and the rim's
// picture in it overlap in a lens of two arcs, their centres e = z tan(theta) apart (plane geometry). Areas
// over the pupil's, for a rim of R and of 1.2 R at e = .6 R and R. 1 %: statistics.
TEST(Rim, MakesACatsEyeOfADisc) {
  constexpr double emitter_mm = 2000, distance_mm = 900e3, v_mm = 60 * 1.02, blur_mm = .02 * pupil_mm;
  const std::string far = emitter("far", distance_mm / 4, distance_mm - 60 * 51, emitter_mm, 1000);
  const double side_mm = 1.25 * (blur_mm + emitter_mm * v_mm / distance_mm), x_mm = v_mm / 4;
  const double whole = light_of(world_of(camera(.02, "") + far), side_mm, x_mm);
  struct {
    double apart, rim_over_pupil, area;
  } const table[] = {{.6, 1, .62384}, {.6, 1.2, .78068}, {1, 1, .39100}, {1, 1.2, .52913}};
  for (const auto& row : table) {
    const std::string lines = rim(4 * row.apart * pupil_mm / 2, row.rim_over_pupil * pupil_mm);
    const double left = light_of(world_of(camera(.02, lines) + far), side_mm, x_mm);
    EXPECT_NEAR(left / whole, row.area, .01 * row.area) << row.apart << " " << row.rim_over_pupil;
  }
}

// Close up the bundle narrows on its way to the rim: of a point at D on the axis it has the radius R (1 - z /
// D) there. A rim of R / 2, 60 mm before the pupil, leaves (1/2 / (1 - 60 / 230))^2 = .45761 of the disc of a
// point 50 mm behind the plane in focus at 180 mm (similar triangles). 1 %: statistics.
TEST(Rim, TakesLessOfANarrowerBundle) {
  const double blur_mm = .5 * pupil_mm * 50 / 230, emitter_mm = blur_mm / 2;
  const std::string point = emitter("point", 0, 50, emitter_mm, 1000);
  const double side_mm = 1.25 * (blur_mm + emitter_mm);
  const double whole = light_of(world_of(camera(.5, "") + point), side_mm, 0);
  const double left = light_of(world_of(camera(.5, rim(60, pupil_mm / 2)) + point), side_mm, 0);
  EXPECT_NEAR(left / whole, .45761, .01 * .45761);
}

// Numbers of the test's own.
double random_number(std::uint64_t& state) {
  std::uint64_t z = state += 0x9e3779b97f4a7c15u;  // splitmix64
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return static_cast<double>((z ^ (z >> 31)) >> 40) / (1 << 24);
}

// What the rim leaves of the pupil is sampled evenly: in squares of a tenth of the pupil that lie within both
// circles, counts of 2^17 points are those of their area (Pearson's chi-square, of all three places together
// .1 %). The share of the area that is left is the law's. On the axis, and where the rim's picture is off the
// centre; 60 mm before the pupil the bundle of a point in focus at 180 mm has two thirds of its width.
TEST(Rim, IsFilledEvenlyByRays) {
  constexpr std::size_t count = 1 << 17;
  const World world = world_of(camera(.5, rim(60, pupil_mm / 2)));
  const CameraRig& rig = world.camera;
  const SamplerBench bench(world);
  std::uint64_t state = 1;
  Verdicts verdicts;
  for (const double across : {.5, .55, .6}) {
    std::vector<glm::vec4> given;
    for (std::size_t i = 0; i < count; ++i)
      given.emplace_back(across, .5, random_number(state), random_number(state));
    const double tangent = (2 * across - 1) * (rig.width / rig.image_distance) / 2, radius = pupil_mm / 2;
    // In the pupil's plane, mm: the circle that the rim lets through.
    const double rim_radius = radius / 2 * 3 / 2, rim_x = -60 * tangent * 3 / 2;
    const auto passes = [&](double x, double y, double spare) {
      return std::hypot(x - rim_x, y) <= rim_radius + spare && std::hypot(x, y) <= radius + spare;
    };
    constexpr int side = 20;
    std::vector<double> counts(side * side, 0.);
    for (const SamplerBench::Answer& ray : bench.run(Wanted::camera, given)) {
      const glm::dvec3 from = glm::dvec3(ray.first) - rig.pupil_m;
      const double x = glm::dot(from, rig.right) * 1e3, y = glm::dot(from, rig.up) * 1e3;
      ASSERT_TRUE(passes(x, y, 1e-3)) << across << ": " << x << " " << y;
      const int column = static_cast<int>((x / radius + 1) * side / 2),
                row = static_cast<int>((y / radius + 1) * side / 2);
      counts[static_cast<std::size_t>(std::clamp(row, 0, side - 1) * side +
                                      std::clamp(column, 0, side - 1))] += 1;
    }
    const double share = rim_share(rig.lens, rig.magnification, rig.image_distance * std::abs(tangent),
                                   rig.rim_ahead, rig.rim_diameter);
    std::vector<double> within, expected;
    double inside = 0;
    const double cell = 2 * radius / side;
    for (int i = 0; i < side * side; ++i) {
      const double x = (i % side) * cell - radius, y = i / side * cell - radius;  // of its lower left corner
      const auto corner = [&](double right, double up) {
        return passes(x + right * cell, y + up * cell, -.01);
      };
      if (!corner(0, 0) || !corner(0, 1) || !corner(1, 0) || !corner(1, 1)) continue;
      within.push_back(counts[static_cast<std::size_t>(i)]);
      expected.push_back(count * cell * cell / (share * std::numbers::pi * radius * radius));
      inside += expected.back();
    }
    EXPECT_GT(inside, .6 * count) << across;
    within.push_back(count - std::accumulate(within.begin(), within.end(), 0.));
    expected.push_back(count - inside);
    verdicts.add(pearson_chance(within, expected), fmt::format("{}", across));
  }
  EXPECT_TRUE(verdicts.hold());
}

// A film holds luminance: an even card is even in it, whatever a rim takes; single precision.
TEST(Rim, LeavesTheFilmsLuminance) {
  const World world =
      world_of(camera(.1, rim(30, 15)) +
               "[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0, 0, 0]\nsize_mm = [2000, 2000]\n"
               "material.surface = { reflectance = 0, emission_cd_m2 = 250 }\n");
  for (const double x_mm : {0., 15.})
    for (const double l : take_piece(world, 10, 8, 8, x_mm).luminance) EXPECT_NEAR(l, 250, 250 * 1e-5);
}

// --- in a developed picture

// An even film of 90 % of white, developed; as codes of the middle of each pixel against those of the law.
void expect_fall_off(const World& world) {
  const View view{.width = 36, .height = 24};
  const Development how{.shutter = 1_s, .iso = 100};
  const double white = 10 / .18 / how.iso / exposure_per_luminance(world, how.shutter).value();
  const std::vector<float> sums(view.pixels() * 6, static_cast<float>(.9 * white));
  const Picture8 picture = Developer(test_shaders()).develop_mixed(world, view, Film(view, sums), how);
  const CameraRig& rig = world.camera;
  for (int y = 0; y < view.height; ++y)
    for (int x = 0; x < view.width; ++x) {
      const Length right = rig.width * ((x + .5) / view.width - .5),
                   down = rig.height * ((y + .5) / view.height - .5);
      const double share = share_of_axis(rig, Length(std::hypot(right.value(), down.value())));
      EXPECT_NEAR(picture.rgb[pixel_index(picture, x, y)], srgb_code(.9 * share), 1) << x << " " << y;
    }
}

// Corner over centre, far away, 12 mm on 17.3 x 13 mm: cos^4 of 42.040 degrees is .30423 (Gardner, J. Res.
// NBS 39, RP1824, 1947). With an exit pupil of twice the entrance pupil's diameter the angle behind the lens
// is smaller: -.534 stops. 1e-4 and half of the last digit: at 1:10000, not at infinity. One code: rounding.
TEST(FallOff, OfADevelopedPictureIsThatOfTheChiefRay) {
  const auto wide = [](const std::string& more) {
    return world_of(
        bare + no_sky +
        "[camera]\nformat_mm = [17.3, 13]\nfocal_length_mm = 12\nbarrel_mm = 0\nlook_at = [0, 0, 0]\n"
        "position_m = [0, -5, 0]\nmagnification = 0.0001\n" +
        more);
  };
  const Length corner = Length(std::hypot(17.3e-3, 13e-3) / 2);
  const World plain = wide(""), image_side = wide("pupil_magnification = 2\nfall_off = \"image\"\n"),
              object_side = wide("pupil_magnification = 2\n");
  EXPECT_NEAR(share_of_axis(plain.camera, corner), .30423, 1e-4);
  EXPECT_NEAR(share_of_axis(object_side.camera, corner), .30423, 1e-4);
  EXPECT_NEAR(std::log2(share_of_axis(image_side.camera, corner)), -.534, 6e-4);
  expect_fall_off(plain);
  expect_fall_off(image_side);
}

// What a rim leaves of the pupil comes on top: the corner of 36 x 24 mm at 60 mm, tan = .36056, gets of a rim
// of the pupil's own size 25 mm before it, e = .8413 R, the overlap of two discs: (2 acos(h) - 2 h sqrt(1 -
// h^2)) / pi with h = .42065 (plane geometry), .48066. At 1:10000; 1e-3.
TEST(FallOff, OfADevelopedPictureHasTheRimInIt) {
  const World world =
      world_of(bare + no_sky +
               "[camera]\nformat_mm = [36, 24]\nfocal_length_mm = 60\nf_number = 2.8\nbarrel_mm = 0\n"
               "look_at = [0, 0, 0]\nposition_m = [0, -5, 0]\nmagnification = 0.0001\n" +
               rim(25, pupil_mm));
  const Length corner = Length(std::hypot(36e-3, 24e-3) / 2);
  const double tangent = std::hypot(36, 24) / 2 / 60, h = 25 * tangent / pupil_mm;
  const double overlap = (2 * std::acos(h) - 2 * h * std::sqrt(1 - h * h)) / std::numbers::pi;
  EXPECT_NEAR(share_of_axis(world.camera, corner), overlap / std::pow(1 + tangent * tangent, 2), 1e-3);
  EXPECT_NEAR(share_of_axis(world.camera, 0_mm), 1, 1e-3);
  expect_fall_off(world);
}

}  // namespace
}  // namespace undercap
