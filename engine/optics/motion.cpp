#include "engine/optics/motion.h"

#include <cmath>
#include <numbers>

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;

double radians_per_second(const Sway& sway) { return 2 * pi * sway.frequency_hz; }

}  // namespace

Length motion_blur(double magnification, double speed_m_s, Duration shutter) {
  return Length(magnification * speed_m_s * shutter.value());
}

Duration longest_shutter(double magnification, double speed_m_s, Length circle_of_confusion) {
  return Duration(circle_of_confusion.value() / (magnification * speed_m_s));
}

double peak_speed_m_s(const Sway& sway) { return radians_per_second(sway) * sway.amplitude.value(); }

// Widest about the place of rest, from -t/2 to t/2: 2 A sin(pi f t); from half a swing on it has seen both
// ends.
Length sway_blur(double magnification, const Sway& sway, Duration shutter) {
  const double half_turn = 0.5 * radians_per_second(sway) * shutter.value();
  const double share = half_turn < pi / 2 ? std::sin(half_turn) : 1;
  return sway.amplitude * (2 * magnification * share);
}

std::optional<Duration> longest_shutter(double magnification, const Sway& sway, Length circle_of_confusion) {
  const double share = circle_of_confusion / (sway.amplitude * (2 * magnification));
  if (!(share < 1)) return std::nullopt;
  return Duration(2 * std::asin(share) / radians_per_second(sway));
}

// 1 / (pi sqrt(A^2 - x^2)): twice a swing it passes x, at 2 pi f sqrt(A^2 - x^2).
double sway_density_per_m(const Sway& sway, Length offset) {
  const double a = sway.amplitude.value(), x = offset.value();
  if (std::abs(x) > a) return 0;
  return 1 / (pi * std::sqrt(a * a - x * x));
}

// A turn by phi shifts the image by f (1 + m/P) phi, the equivalent image distance.
Angle turn_for_blur(const GaussianLens& lens, double magnification, Length blur) {
  return Angle(blur / equivalent_image_distance(lens, magnification));
}

Length shift_for_blur(double magnification, Length blur) { return blur / magnification; }

Length stabiliser_rating_blur(const SensorFormat& format) {
  constexpr SensorFormat standard{36_mm, 24_mm};
  return 63_um * (format.diagonal() / standard.diagonal());
}

Stops stops_of_density(double density) { return Stops(density / std::log10(2.)); }

double density_of_stops(Stops stops) { return stops.value() * std::log10(2.); }

double transmission_of_density(double density) { return std::pow(10, -density); }

}  // namespace undercap
