#include "engine/light/photometry.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

Angle from_degrees(double value) { return Angle(value * pi / 180); }

// n = ln .5 / ln cos(beam/2), I0/Phi = (n + 1)/(2 pi), and the full angle at a tenth, evaluated: beam, n (its
// printed digits), cd/lm to five decimals, field angle to .001 degree.
TEST(Photometry, BeamTable) {
  const double table[][5] = {{10, 181.806, 5e-4, 29.09451, 18.199}, {20, 45.2776, 5e-5, 7.36531, 36.237},
                             {30, 19.9937, 5e-5, 3.34126, 53.946},  {40, 11.1434, 5e-5, 1.93268, 71.157},
                             {60, 4.8188, 5e-5, .92610, 103.349},   {90, 2.0, 1e-12, .47746, 143.130},
                             {120, 1.0, 1e-12, .31831, 168.522}};
  for (const auto& [beam_deg, exponent, tolerance, per_lumen, field_deg] : table) {
    const Angle beam = from_degrees(beam_deg);
    EXPECT_NEAR(beam_exponent(beam), exponent, tolerance) << beam_deg;
    EXPECT_NEAR(peak_intensity(1_lm, beam).value(), per_lumen, 5.1e-6) << beam_deg;
    EXPECT_NEAR(beam_falloff(beam, beam / 2), .5, 1e-12) << beam_deg;
    // Half a last digit of the field angle moves the tenth by n tan(field/2) x 9e-6 / 10, below 3e-5.
    EXPECT_NEAR(beam_falloff(beam, from_degrees(field_deg / 2)), .1, 3e-5) << beam_deg;
  }
}

// The flux put in comes out again: the integral of I over the half space, summed in rings of mu = cos.
TEST(Photometry, TheBeamCarriesItsFlux) {
  for (double beam_deg : {20., 60., 120., 150.}) {
    const Angle beam = from_degrees(beam_deg);
    const Intensity peak = peak_intensity(300_lm, beam);
    constexpr int rings = 20000;
    double flux = 0;
    for (int i = 0; i < rings; ++i)
      flux += peak.value() * beam_falloff(beam, Angle(std::acos((i + .5) / rings))) * 2 * pi / rings;
    EXPECT_NEAR(flux, 300, 1e-3) << beam_deg;
    EXPECT_NEAR(flux_from_peak_intensity(peak, beam).value(), 300, 1e-11);
  }
  EXPECT_EQ(beam_falloff(60_deg, 91_deg), 0);
}

TEST(Photometry, RefusesABeamThatIsNone) {
  for (double beam_deg : {0., -10., 180., 360., double(NAN)}) {
    try {
      beam_exponent(from_degrees(beam_deg));
      FAIL() << beam_deg;
    } catch (const Refusal& refusal) {
      EXPECT_NE(std::string(refusal.what()).find("above 0 and below 180"), std::string::npos);
    }
  }
}

// ANSI/PLATO FL 1: d = 2 sqrt(I), to the millimetre.
TEST(Photometry, BeamDistance) {
  const double table[][2] = {{100, 20.000}, {500, 44.721}, {1000, 63.246}, {5000, 141.421}};
  for (const auto& [candela, metres] : table) {
    EXPECT_NEAR(beam_distance(Intensity(candela)).value(), metres, 5.1e-4);
    EXPECT_NEAR(intensity_from_beam_distance(beam_distance(Intensity(candela))).value(), candela, 1e-10);
    EXPECT_NEAR(inverse_square(Intensity(candela), beam_distance(Intensity(candela))).value(), .25, 1e-14);
  }
}

// I/d^2 is too high by (R/d)^2: at .5, 1, 2, 3, 5 and 10 diameters +100, 25, 6.25, 2.778, 1 and .25 %.
TEST(Photometry, DiscCloseBy) {
  const double table[][2] = {{.5, 100}, {1, 25}, {2, 6.25}, {3, 2.7778}, {5, 1}, {10, .25}};
  const Length radius = 12.5_mm;
  const Luminance luminance = disc_luminance(100_cd, radius);
  for (const auto& [diameters, error_pct] : table) {
    const Length distance = radius * (2 * diameters);
    const double ratio = inverse_square(100_cd, distance) / disc_illuminance(luminance, radius, distance);
    EXPECT_NEAR(100 * (ratio - 1), error_pct, 5e-5) << diameters;
  }
}

// A Lambertian disc: I = pi R^2 L. Touching it, the receiver sees nothing else: E = pi L, its exitance.
TEST(Photometry, DiscLimits) {
  EXPECT_NEAR(disc_luminance(Intensity(pi), 1_m).value(), 1, 1e-15);
  EXPECT_NEAR(disc_illuminance(1000_cd_m2, 10_mm, 0_m).value(), 1000 * pi, 1e-10);
}

// A panel of 60 x 40 mm and 300 lm: 39 789 cd/m2, 95.49 cd; exact on its axis, and by I / d^2, in lx.
TEST(Photometry, PanelCloseBy) {
  const Intensity on_axis(300 / pi);
  EXPECT_NEAR(on_axis.value(), 95.49, 5.1e-3);
  const Luminance luminance = rectangle_luminance(on_axis, 60_mm, 40_mm);
  EXPECT_NEAR(luminance.value(), 39789, .51);
  const double table[][4] = {{.10, 8793.0, 9549.3, .051},
                             {.20, 2336.8, 2387.3, .051},
                             {.30, 1050.92, 1061.03, .0051},
                             {.50, 380.65, 381.97, .0051}};
  for (const auto& [metres, exact, far_law, half_digit] : table) {
    EXPECT_NEAR(rectangle_illuminance(luminance, 60_mm, 40_mm, Length(metres)).value(), exact, half_digit);
    EXPECT_NEAR(inverse_square(on_axis, Length(metres)).value(), far_law, half_digit);
  }
}

// Centred rectangles, configuration factors from the same catalogue: 1 x 1 at 1 .239456, 2 x 1 at 1 .360737;
// touching, the receiver sees nothing else.
TEST(Photometry, RectangleFactors) {
  EXPECT_NEAR(rectangle_illuminance(1_cd_m2, 1_m, 1_m, 1_m).value() / pi, .239456, 5.1e-7);
  EXPECT_NEAR(rectangle_illuminance(1_cd_m2, 2_m, 1_m, 1_m).value() / pi, .360737, 5.1e-7);
  EXPECT_NEAR(rectangle_illuminance(1000_cd_m2, 2_m, 1_m, 3_m).value(), 203.626, 5.1e-4);
  EXPECT_NEAR(rectangle_illuminance(1_cd_m2, 1_m, 1_m, Length(1e-6)).value(), pi, 1e-5);
}

}  // namespace
}  // namespace undercap
