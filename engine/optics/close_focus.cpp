#include "engine/optics/close_focus.h"

#include <algorithm>

namespace undercap {

namespace {

constexpr int bisections = 60;

// T - separation = f (2 + m + 1/m) in focal lengths.
double scale_in_focal_lengths(double magnification) { return 2 + magnification + 1 / magnification; }

// The magnification at which a distance that falls with it comes to 'wanted'. The distance of a plane is
// always more than shortest f / m, so that m = shortest f / wanted is too far away.
template <class Distance>
std::optional<double> where_distance_is(Length wanted, Length shortest_f, double largest,
                                        Distance&& distance) {
  if (!(wanted >= distance(largest))) return std::nullopt;
  double low = std::min(largest, shortest_f / wanted), high = largest;
  for (int i = 0; i < bisections; ++i) {
    const double middle = 0.5 * (low + high);
    (distance(middle) > wanted ? low : high) = middle;
  }
  return high;
}

Length shortest_focal_length(const GaussianLens& as_marked, const CloseFocus& close) {
  return std::min(as_marked.focal_length, closest_focal_length(as_marked, close));
}

}  // namespace

Length closest_focal_length(const GaussianLens& as_marked, const CloseFocus& close) {
  return (close.nearest_scale_distance - as_marked.principal_separation) /
         scale_in_focal_lengths(close.largest_magnification);
}

Length focal_length_at(const GaussianLens& as_marked, const CloseFocus& close, double magnification) {
  const double share = magnification / close.largest_magnification;
  return as_marked.focal_length * (1 - share) + closest_focal_length(as_marked, close) * share;
}

GaussianLens focused_at(const GaussianLens& as_marked, const CloseFocus& close, double magnification) {
  GaussianLens lens = as_marked;
  lens.focal_length = focal_length_at(as_marked, close, magnification);
  return lens;
}

std::optional<double> magnification_from_pupil_distance(const GaussianLens& as_marked,
                                                        const CloseFocus& close, Length pupil_distance) {
  return where_distance_is(
      pupil_distance, shortest_focal_length(as_marked, close), close.largest_magnification,
      [&](double m) { return undercap::pupil_distance(focused_at(as_marked, close, m), m); });
}

std::optional<double> magnification_from_scale_distance(const GaussianLens& as_marked,
                                                        const CloseFocus& close, Length scale_distance) {
  const Length separation = as_marked.principal_separation;
  return where_distance_is(
      scale_distance - separation, shortest_focal_length(as_marked, close), close.largest_magnification,
      [&](double m) { return undercap::scale_distance(focused_at(as_marked, close, m), m) - separation; });
}

// A converter images the lens's image again, 'factor' times as large: m' = factor m at the same
// a = f (1/m + 1/P), for every m, which f' = factor f and P' = factor P fulfil. At infinity the entrance
// pupil is f (2 - 1/P) + separation before the sensor.
GaussianLens with_converter(const GaussianLens& lens, double factor) {
  GaussianLens converted = lens;
  converted.focal_length = lens.focal_length * factor;
  converted.f_number *= factor;
  converted.pupil_magnification *= factor;
  converted.principal_separation = lens.principal_separation - lens.focal_length * (2 * (factor - 1));
  return converted;
}

ConvertedLens with_converter(const GaussianLens& as_marked, const CloseFocus& close, double factor) {
  ConvertedLens converted{with_converter(as_marked, factor), close};
  converted.close.largest_magnification *= factor;
  const Length closest = closest_focal_length(as_marked, close) * factor;
  converted.lens.principal_separation =
      close.nearest_scale_distance - closest * scale_in_focal_lengths(converted.close.largest_magnification);
  return converted;
}

}  // namespace undercap
