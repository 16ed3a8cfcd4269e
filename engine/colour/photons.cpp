#include "engine/colour/photons.h"

#include <algorithm>
#include <cmath>

#include "engine/colour/observer.h"
#include "engine/colour/temperature.h"

namespace undercap {

namespace {

constexpr double planck_constant = 6.62607015e-34, speed_of_light = 299792458;  // SI, exact
constexpr double second_radiation_constant = 1.4388e-2;                         // m K, as in temperature.h
constexpr double most_lumens_per_watt = 683.002;                                // at 555 nm in air
constexpr double square_micrometre = 1e-12;                                     // m2

// CIE 15, the components of daylight, every 10 nm from 360 nm: from memory, held by the published values of
// D65.
struct DaylightRow {
  double mean, first, second;  // S0, S1, S2
};
constexpr double first_row_nm = 360, row_nm = 10;
constexpr DaylightRow daylight_rows[] = {
    {61.5, 38.0, 5.3},   {68.8, 42.4, 6.1},   {63.4, 38.5, 3.0},   {65.8, 35.0, 1.2},   {94.8, 43.4, -1.1},
    {104.8, 46.3, -0.5}, {105.9, 43.9, -0.7}, {96.8, 37.1, -1.2},  {113.9, 36.7, -2.6}, {125.6, 35.9, -2.9},
    {125.5, 32.6, -2.8}, {121.3, 27.9, -2.6}, {121.3, 24.3, -2.6}, {113.5, 20.1, -1.8}, {113.1, 16.2, -1.5},
    {110.8, 13.2, -1.3}, {106.5, 8.6, -1.2},  {108.8, 6.1, -1.0},  {105.3, 4.2, -0.5},  {104.4, 1.9, -0.3},
    {100.0, 0.0, 0.0},   {96.0, -1.6, 0.2},   {95.1, -3.5, 0.5},   {89.1, -3.5, 2.1},   {90.5, -5.8, 3.2},
    {90.3, -7.2, 4.1},   {88.4, -8.6, 4.7},   {84.0, -9.5, 5.1},   {85.1, -10.9, 6.7},  {81.9, -10.7, 7.3},
    {82.6, -12.0, 8.6},  {84.9, -14.0, 9.8},  {81.3, -13.6, 10.2}, {71.9, -12.0, 8.3},  {74.3, -13.3, 9.6},
    {76.4, -12.9, 8.5},  {63.3, -10.6, 7.0},  {71.7, -11.6, 7.6},  {77.0, -12.2, 8.0},  {65.2, -10.2, 6.7},
    {47.7, -7.8, 5.2},   {68.6, -11.2, 7.4},  {65.0, -10.4, 6.8},  {66.0, -10.6, 7.0},  {61.0, -9.7, 6.4}};

double photons_per_joule(Length wavelength) {
  return wavelength.value() / (planck_constant * speed_of_light);
}

}  // namespace

// S0 + M1 S1 + M2 S2 with Judd, MacAdam & Wyszecki's M1 and M2 (1964, as in CIE 15, from memory); between the
// rows a straight line, as CIE 15 has it.
Spectrum daylight_spectrum(ColourTemperature temperature) {
  const auto [x, y] = daylight_xy(temperature);
  const double divisor = 0.0241 + 0.2562 * x - 0.7341 * y;
  const double m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / divisor;
  const double m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / divisor;
  return [m1, m2](Length wavelength) {
    constexpr double last = static_cast<double>(std::size(daylight_rows) - 1);
    const double place = std::clamp((wavelength.value() * 1e9 - first_row_nm) / row_nm, 0., last);
    const auto below = static_cast<std::size_t>(std::min(place, last - 1));
    const auto power = [&](const DaylightRow& row) { return row.mean + m1 * row.first + m2 * row.second; };
    return std::lerp(power(daylight_rows[below]), power(daylight_rows[below + 1]),
                     place - static_cast<double>(below));
  };
}

// Planck: lambda^-5 / (e^x - 1), x = c2 / (lambda T).
Spectrum planckian_spectrum(ColourTemperature temperature) {
  return [temperature](Length wavelength) {
    const double x = second_radiation_constant / (wavelength.value() * temperature.value());
    return std::pow(wavelength.value() * 1e6, -5) / std::expm1(x);
  };
}

double photons_per_um2_lxs(const Spectrum& spectrum, Length from, Length to) {
  constexpr Length rounding(1e-12);
  double photons = 0, lumens = 0;
  for (const ObserverRow& row : observer_1931()) {
    const double power = spectrum(row.wavelength);
    lumens += most_lumens_per_watt * power * row.response.y;
    if (row.wavelength < from - rounding || row.wavelength > to + rounding) continue;
    const bool at_end = row.wavelength < from + rounding || row.wavelength > to - rounding;
    photons += (at_end ? 0.5 : 1) * power * photons_per_joule(row.wavelength);
  }
  return photons / lumens * square_micrometre;
}

double photons_per_um2_lxs(Length wavelength) {
  const auto rows = observer_1931();
  const auto nearest = std::min_element(rows.begin(), rows.end(), [&](const auto& a, const auto& b) {
    return std::abs((a.wavelength - wavelength).value()) < std::abs((b.wavelength - wavelength).value());
  });
  return photons_per_joule(wavelength) / (most_lumens_per_watt * nearest->response.y) * square_micrometre;
}

}  // namespace undercap
