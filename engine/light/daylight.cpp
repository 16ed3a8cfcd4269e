#include "engine/light/daylight.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap {

namespace {

// The two laws below were fitted with different values of the sun above the air; each keeps its own. They are
// .07 stop apart.
constexpr Illuminance ies_solar_constant = 127500_lx;
constexpr Illuminance turbidity_solar_constant = 133334_lx;  // Darula, Kittler & Gueymard 2005 (from memory)

// IES, Recommended Practice for the Calculation of Daylight Availability, J. Illum. Eng. Soc. 13(4):381,
// 1984: direct E_xt exp(-extinction / sin h), diffuse A + B sin^C h.
struct IesRow {
  double extinction;
  double a_lx, b_lx, c;
};

IesRow ies_row(SkyCondition condition) {
  switch (condition) {
    case SkyCondition::clear:
      return {0.21, 800, 15500, 0.5};
    case SkyCondition::partly_cloudy:
      return {0.80, 300, 45000, 1.0};
    case SkyCondition::cloudy:
      break;
  }
  return {INFINITY, 300, 21000, 1.0};
}

bool is_up(Angle elevation) { return elevation > 0_deg; }

}  // namespace

double sun_distance_factor(int day_of_year) {
  return 1 + 0.034 * std::cos(2 * std::numbers::pi * (day_of_year - 2) / 365);
}

Illuminance extraterrestrial_illuminance(int day_of_year) {
  return ies_solar_constant * sun_distance_factor(day_of_year);
}

Illuminance ies_direct_normal(SkyCondition condition, Angle elevation, int day_of_year) {
  if (!is_up(elevation)) return 0_lx;
  const double mass = 1 / std::sin(elevation.value());
  return extraterrestrial_illuminance(day_of_year) * std::exp(-ies_row(condition).extinction * mass);
}

Illuminance ies_diffuse_horizontal(SkyCondition condition, Angle elevation) {
  if (!is_up(elevation)) return 0_lx;
  const IesRow row = ies_row(condition);
  return Illuminance(row.a_lx + row.b_lx * std::pow(std::sin(elevation.value()), row.c));
}

Illuminance overcast_horizontal(Angle elevation) {
  return ies_diffuse_horizontal(SkyCondition::cloudy, elevation);
}

// F. Kasten & A. T. Young, Applied Optics 28:4735, 1989, eq. 3: the second bracket takes degrees.
double air_mass(Angle elevation) {
  const double degrees = elevation / 1_deg;
  return 1 / (std::sin(elevation.value()) + 0.50572 * std::pow(degrees + 6.07995, -1.6364));
}

// R. Clear 1982; M. Navvab et al., Energy and Buildings 6:293, 1984 (coefficients from memory): pure air
// takes a_v = .1 / (1 + .0045 m) for each air mass m, and turbidity multiplies it.
Illuminance turbidity_direct_normal(double turbidity, Angle elevation, int day_of_year) {
  if (!is_up(elevation)) return 0_lx;
  const double mass = air_mass(elevation);
  const double pure_air = 0.1 / (1 + 0.0045 * mass);
  return turbidity_solar_constant *
         (sun_distance_factor(day_of_year) * std::exp(-pure_air * turbidity * mass));
}

Illuminance horizontal_from_normal(Illuminance normal, Angle elevation) {
  return normal * std::max(0.0, std::sin(elevation.value()));
}

}  // namespace undercap
