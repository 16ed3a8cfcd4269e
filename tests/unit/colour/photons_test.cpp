#include "engine/colour/photons.h"

#include <gtest/gtest.h>

namespace undercap {
namespace {

Length nm(double nanometres) { return Length(nanometres * 1e-9); }

// Relative power of D65, CIE 15, at 400, 450, 500, 560, 600, 650 and 700 nm. The standard rounds M1 and M2,
// by up to 5e-4 of a component that reaches 46: .03.
TEST(Photons, DaylightSpectrum) {
  const Spectrum d65 = daylight_spectrum(ColourTemperature(6500 * 1.4388 / 1.4380));
  const std::pair<double, double> table[] = {{400, 82.75}, {450, 117.01}, {500, 109.35}, {560, 100},
                                             {600, 90.01}, {650, 80.03},  {700, 71.61}};
  for (const auto& [wavelength, power] : table) EXPECT_NEAR(d65(nm(wavelength)), power, .03) << wavelength;
  EXPECT_NEAR(d65(nm(555)), (d65(nm(550)) + d65(nm(560))) / 2, 1e-9);
}

// lambda / (683.002 h c) at 555 nm, five digits; the observer's y is exactly 1 there.
TEST(Photons, OneWavelength) { EXPECT_NEAR(photons_per_um2_lxs(nm(555)), 4090.7, .05); }

// 400 to 700 nm and 380 to 780 nm, by an independent program that sums every 10 nm: .5 % for the difference.
// The temperatures are those of the illuminants, on the scale of c2 = 1.4388e-2.
TEST(Photons, PerLuxSecond) {
  const double scale = 1.4388 / 1.4380;
  const struct {
    const char* name;
    Spectrum spectrum;
    double visible, wide;
  } table[] = {
      {"D50", daylight_spectrum(ColourTemperature(5000 * scale)), 10715, 14279},
      {"D55", daylight_spectrum(ColourTemperature(5500 * scale)), 10723, 14049},
      {"D65", daylight_spectrum(ColourTemperature(6500 * scale)), 10850, 13886},
      {"D75", daylight_spectrum(ColourTemperature(7500 * scale)), 11032, 13915},
      {"A", planckian_spectrum(2856_K), 11985, 21003},
      {"equal energy", [](Length) { return 1.; }, 11381, 16002},
  };
  for (const auto& row : table) {
    EXPECT_NEAR(photons_per_um2_lxs(row.spectrum, nm(400), nm(700)) / row.visible, 1, .005) << row.name;
    EXPECT_NEAR(photons_per_um2_lxs(row.spectrum, nm(380), nm(780)) / row.wide, 1, .005) << row.name;
  }
}

// 54 lux to a micromole of photons (400 to 700 nm) per m2 and s is the figure of horticulture for sunlight
// (Thimijan & Heins, HortScience 18:818, 1983, from memory): daylight lies within 5 %.
TEST(Photons, LuxPerMicromole) {
  const double avogadro = 6.02214076e23;
  const double photons = photons_per_um2_lxs(daylight_spectrum(5500_K), nm(400), nm(700)) * 1e12;
  EXPECT_NEAR(avogadro * 1e-6 / photons / 54, 1, .05);
}

}  // namespace
}  // namespace undercap
