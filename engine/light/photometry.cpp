#include "engine/light/photometry.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/core/errors.h"

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;
constexpr Illuminance beam_end = Illuminance(0.25);  // ANSI/PLATO FL 1, read in a secondary source

}  // namespace

double beam_exponent(Angle beam) {
  if (!(beam > 0_deg && beam < 180_deg))
    throw Refusal(
        fmt::format("a beam of {:g} degrees: allowed is above 0 and below 180, the full angle at half the "
                    "intensity",
                    beam / 1_deg));
  return std::log(0.5) / std::log(std::cos(beam.value() / 2));
}

double beam_falloff(Angle beam, Angle off_axis) {
  const double cosine = std::cos(off_axis.value());
  return cosine > 0 ? std::pow(cosine, beam_exponent(beam)) : 0;
}

// The flux is the integral of I0 cos^n(a) over the half space:
//   Phi = 2 pi I0 * integral from 0 to 1 of mu^n d mu = 2 pi I0 / (n + 1).
Intensity peak_intensity(Flux flux, Angle beam) {
  return Intensity(flux.value() * (beam_exponent(beam) + 1) / (2 * pi));
}

Flux flux_from_peak_intensity(Intensity peak, Angle beam) {
  return Flux(peak.value() * 2 * pi / (beam_exponent(beam) + 1));
}

Intensity intensity_from_beam_distance(Length distance) {
  return Intensity(beam_end.value() * distance.value() * distance.value());
}

Length beam_distance(Intensity intensity) { return Length(std::sqrt(intensity.value() / beam_end.value())); }

Illuminance inverse_square(Intensity intensity, Length distance) {
  return Illuminance(intensity.value() / (distance.value() * distance.value()));
}

Luminance disc_luminance(Intensity on_axis, Length radius) {
  return Luminance(on_axis.value() / (pi * radius.value() * radius.value()));
}

// The disc fills a cone of half angle t seen from the point, and E = pi L sin^2 t with sin^2 t = R^2 / (R^2 +
// d^2).
Illuminance disc_illuminance(Luminance luminance, Length radius, Length distance) {
  const double ratio = distance / radius;
  return Illuminance(pi * luminance.value() / (1 + ratio * ratio));
}

Luminance rectangle_luminance(Intensity on_axis, Length width, Length height) {
  return Luminance(on_axis.value() / (width.value() * height.value()));
}

// Four quarters, each with the corner on the axis (J. R. Howell, A Catalog of Radiation Heat Transfer
// Configuration Factors): with A = a/d, B = b/d the factor is [A/sqrt(1+A^2) atan(B/sqrt(1+A^2)) +
// B/sqrt(1+B^2) atan(A/sqrt(1+B^2))] / 2 pi, and E = pi L times it.
Illuminance rectangle_illuminance(Luminance luminance, Length width, Length height, Length distance) {
  const double a = width / distance / 2, b = height / distance / 2;
  const double far_a = std::hypot(1, a), far_b = std::hypot(1, b);
  const double quarter = (a / far_a * std::atan(b / far_a) + b / far_b * std::atan(a / far_b)) / (2 * pi);
  return Illuminance(pi * luminance.value() * 4 * quarter);
}

}  // namespace undercap
