// Spherical aberration in pictures: how light lies in a disc of blur, before the plane in focus and behind
// it.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/optics/diffraction.h"
#include "engine/optics/vignetting.h"
#include "tests/physics/bench_top.h"
#include "tests/physics/piece.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi, waves = 7.25, luminance = 1000;
// 60 mm f/2.8 at m .5: entrance pupil 180 mm before the plane in focus, N_w = 4.2.
constexpr double a_mm = 180, m = .5, pupil_mm = 60 / 2.8;

std::string camera(double spherical_waves) {
  return bare + no_sky +
         fmt::format(
             "[camera]\nformat_mm = [17.3, 13]\nfocal_length_mm = 60\nf_number = 2.8\nblades = 0\nbarrel_mm "
             "= 0\n"
             "position_m = [0, -0.5, 0]\nlook_at = [0, 0, 0]\nmagnification = 0.5\nspherical_waves = {}\n",
             spherical_waves);
}

// The disc of a round emitter so far behind the plane in focus, whose sharp image has a share of the disc's
// diameter.
struct Disc {
  double behind_mm = 0, image_share = .1;
  double blur_mm() const { return m * pupil_mm * std::abs(behind_mm) / (a_mm + behind_mm); }
  double image_mm() const { return image_share * blur_mm(); }
  double side_mm() const { return 1.5 * blur_mm(); }
  // sigma = 2 W040 / W20, the defocus W20 = b / (8 N_w) above 0 behind the plane in focus.
  double sigma() const { return 2 * waves / defocus_waves(blur_mm() * 1_mm, 4.2) * (behind_mm > 0 ? 1 : -1); }
  Piece piece(double spherical_waves, unsigned samples) const {
    const double emitter_mm = image_mm() * (a_mm + behind_mm) / (m * a_mm);
    return take_piece(
        world_of(camera(spherical_waves) + emitter("point", 0, behind_mm, emitter_mm, luminance)), side_mm(),
        60, samples);
  }
  double plateau() const { return luminance * image_share * image_share; }
};

// Of a point, by its place in radii of the disc without aberration; the centre has 1.
double profile_at(double place, double sigma) {
  if (place > blur_profile_place(1, sigma)) return 0;
  double low = 0, high = 1;
  for (int i = 0; i < 30; ++i) {
    const double middle = (low + high) / 2;
    (blur_profile_place(middle, sigma) < place ? low : high) = middle;
  }
  return blur_profile(low, sigma);
}

// The mean over the emitter's own image, by 6 rings of 24 places.
double profile_of_disc(double place, double sigma, double image_radius) {
  double sum = 0;
  for (int ring = 0; ring < 6; ++ring)
    for (int i = 0; i < 24; ++i) {
      const double r = image_radius * std::sqrt((ring + .5) / 6), angle = 2 * pi * (i + .5) / 24;
      sum += profile_at(std::hypot(place + r * std::cos(angle), r * std::sin(angle)), sigma);
    }
  return sum / (6 * 24);
}

struct Ring {
  double measured = 0, expected = 0;
  int pixels = 0;
};

// Means over the pixels of rings a tenth of the radius wide.
std::vector<Ring> rings_of(const Disc& disc, const Piece& piece) {
  std::vector<Ring> rings(12);
  for (int y = 0; y < piece.side_px; ++y)
    for (int x = 0; x < piece.side_px; ++x) {
      const double place = std::hypot(piece.x_mm(x), piece.x_mm(y)) / (disc.blur_mm() / 2);
      const auto number = static_cast<std::size_t>(10 * place);
      if (number >= rings.size()) continue;
      Ring& ring = rings[number];
      ring.measured += piece.luminance[static_cast<std::size_t>(y * piece.side_px + x)] / disc.plateau();
      ring.expected += profile_of_disc(place, disc.sigma(), disc.image_share);
      ++ring.pixels;
    }
  for (Ring& ring : rings) {
    ring.measured /= ring.pixels;
    ring.expected /= ring.pixels;
  }
  return rings;
}

// Several rings as one.
Ring together(const std::vector<Ring>& rings, std::size_t from, std::size_t to) {
  Ring sum;
  for (std::size_t i = from; i < to; ++i) {
    sum.measured += rings[i].measured * rings[i].pixels;
    sum.expected += rings[i].expected * rings[i].pixels;
    sum.pixels += rings[i].pixels;
  }
  return {sum.measured / sum.pixels, sum.expected / sum.pixels, sum.pixels};
}

// I(rho) = 1 / [(1 + sigma rho^2) (1 + 3 sigma rho^2)] at y = rho + sigma rho^3 (Welford, Aberrations of
// Optical Systems, 1986, from memory). One lens of 7.25 waves: 20 mm before the plane in focus sigma is -.2,
// a bright rim 3.125 times as light as the centre at .8 of the radius; as far behind sigma is .25 and the rim
// has .457, at 1.25. In each ring 3 %, by the count of samples, and 2 % of the centre where the edge crosses
// pixels.
TEST(Spherical, DiscsHaveTheProfileOfTheLaw) {
  EXPECT_NEAR((Disc{-20}.sigma()), -.2, 1e-3);
  EXPECT_NEAR((Disc{20}.sigma()), .25, 1e-3);
  for (const Disc& disc : {Disc{-20}, Disc{20}}) {
    const std::vector<Ring> rings = rings_of(disc, disc.piece(waves, 1024));
    for (std::size_t i = 1; i < rings.size(); ++i)
      EXPECT_NEAR(rings[i].measured, rings[i].expected, .03 * rings[i].expected + .02)
          << disc.behind_mm << " mm, ring " << i;
    const std::size_t rim = disc.behind_mm < 0 ? 6 : 10;
    const Ring centre = together(rings, 0, 3), edge = together(rings, rim, rim + 2);
    const double ratio = edge.measured / centre.measured;
    EXPECT_NEAR(ratio / (edge.expected / centre.expected), 1, .05) << disc.behind_mm;
    EXPECT_EQ(ratio > 1, disc.behind_mm < 0);
  }
}

// Light is moved, not made: a disc has as much with as without. 1 %: statistics.
TEST(Spherical, KeepsTheLight) {
  for (const Disc& disc : {Disc{-20, .3}, Disc{20, .3}}) {
    double sum[2] = {0, 0};
    for (const bool aberrant : {false, true})
      for (const double l : disc.piece(aberrant ? waves : 0, 64).luminance) sum[aberrant] += l;
    EXPECT_NEAR(sum[1] / sum[0], 1, .01) << disc.behind_mm;
  }
}

}  // namespace
}  // namespace undercap
