#include "engine/colour/temperature.h"

#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <glm/vec2.hpp>

#include "engine/colour/observer.h"
#include "engine/core/errors.h"

namespace undercap {

namespace {

constexpr double second_radiation_constant = 1.4388e-2;  // c2 = h c / k, m K
constexpr double largest_duv = 0.05;

// CIE 1960 UCS: u = 4X / (X + 15Y + 3Z), v = 6Y / (X + 15Y + 3Z).
glm::dvec2 uv_from_xyz(const glm::dvec3& xyz) {
  return glm::dvec2(4 * xyz.x, 6 * xyz.y) / (xyz.x + 15 * xyz.y + 3 * xyz.z);
}

// The inverse: x = 3u / (2u - 8v + 4), y = 2v / (2u - 8v + 4).
Chromaticity xy_from_uv(const glm::dvec2& uv) {
  const double divisor = 2 * uv.x - 8 * uv.y + 4;
  return {3 * uv.x / divisor, 2 * uv.y / divisor};
}

struct LocusPoint {
  glm::dvec2 uv;
  glm::dvec2 tangent;  // d(u, v)/dT, unit length, towards hotter
  // The tangent turned clockwise: the locus runs to smaller u as it gets hotter, so this one points to larger
  // v.
  glm::dvec2 above() const { return {tangent.y, -tangent.x}; }
};

// Planck: M ~ lambda^-5 / (e^x - 1) with x = c2 / (lambda T), and dM/dT = M (x / T) e^x / (e^x - 1).
// The derivative of u = U / D is (U' - u D') / D, and so for v.
LocusPoint locus_at(double kelvin) {
  glm::dvec3 xyz(0), slope(0);
  for (const ObserverRow& row : observer_1931()) {
    const double metres = row.wavelength.value();
    const double x = second_radiation_constant / (metres * kelvin);
    const double exitance = std::pow(metres * 1e6, -5) / std::expm1(x);
    xyz += exitance * row.response;
    slope += exitance * (x / kelvin) / -std::expm1(-x) * row.response;
  }
  const auto divisor = [](const glm::dvec3& c) { return c.x + 15 * c.y + 3 * c.z; };
  const glm::dvec2 uv = uv_from_xyz(xyz);
  const glm::dvec2 tangent = (glm::dvec2(4 * slope.x, 6 * slope.y) - uv * divisor(slope)) / divisor(xyz);
  return {uv, glm::normalize(tangent)};
}

void refuse_unless_within(const char* what, ColourTemperature temperature, double least, double most) {
  const double kelvin = temperature.value();
  if (!(kelvin >= least && kelvin <= most))
    throw Refusal(fmt::format("{} of {:g} K: allowed is {:g} to {:g} K; choose one in that range", what,
                              kelvin, least, most));
}

}  // namespace

Chromaticity planckian_xy(ColourTemperature temperature, double duv) {
  refuse_unless_within("a colour temperature", temperature, coolest_planckian_k, hottest_planckian_k);
  const LocusPoint point = locus_at(temperature.value());
  return xy_from_uv(point.uv + duv * point.above());
}

// CIE 15, the D illuminants (Judd, MacAdam & Wyszecki, J. Opt. Soc. Am. 54:1031, 1964).
Chromaticity daylight_xy(ColourTemperature temperature) {
  refuse_unless_within("a daylight colour temperature", temperature, 4000, 25000);
  const double t = temperature.value();
  const double x = t <= 7000 ? ((-4.6070e9 / t + 2.9678e6) / t + 99.11) / t + 0.244063
                             : ((-2.0064e9 / t + 1.9018e6) / t + 247.48) / t + 0.237040;
  return {x, (-3.000 * x + 2.870) * x - 0.275};
}

// Along the locus the distance to the point is least where the way to it is at right angles to the tangent.
// The locus is nearly evenly spread in reciprocal temperature, so a coarse walk in mireds (1e6 / T) finds the
// neighbourhood and bisection of the tangential part the place.
std::optional<CorrelatedTemperature> correlated_temperature(Chromaticity chromaticity) {
  constexpr double first_mired = 1e6 / hottest_planckian_k, last_mired = 1e6 / coolest_planckian_k, step = 10;
  const glm::dvec2 uv = uv_from_xyz(xyz_with_unit_luminance(chromaticity));
  const auto locus_at_mired = [](double mired) { return locus_at(1e6 / mired); };
  double nearest = first_mired, least = glm::distance(uv, locus_at_mired(first_mired).uv);
  for (double mired = first_mired + step; mired <= last_mired; mired += step) {
    const double distance = glm::distance(uv, locus_at_mired(mired).uv);
    if (distance < least) nearest = mired, least = distance;
  }
  if (least > largest_duv + 0.01) return std::nullopt;

  const auto still_hotter = [&](double mired) {
    const LocusPoint point = locus_at_mired(mired);
    return glm::dot(uv - point.uv, point.tangent) > 0;
  };
  double hot = std::max(nearest - step, first_mired), cool = std::min(nearest + step, last_mired);
  if (still_hotter(hot) || !still_hotter(cool)) return std::nullopt;
  for (int i = 0; i < 50; ++i) {
    const double middle = 0.5 * (hot + cool);
    (still_hotter(middle) ? cool : hot) = middle;
  }
  const double kelvin = 1e6 / (0.5 * (hot + cool));
  const LocusPoint point = locus_at(kelvin);
  const double duv = glm::dot(uv - point.uv, point.above());
  if (std::abs(duv) > largest_duv) return std::nullopt;
  return CorrelatedTemperature{ColourTemperature(kelvin), duv};
}

}  // namespace undercap
