#include "engine/report/lux_lines.h"

#include <array>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

namespace undercap {
namespace {

constexpr double right_angle = std::numbers::pi / 2;

// The thirds of a stop as people write them: ten steps a decade (the series R10 of ISO 3, rounded as on
// cameras).
double third_of_stop(int step) {
  constexpr std::array<double, 10> value{1, 1.25, 1.6, 2, 2.5, 3.2, 4, 5, 6.4, 8};
  const int decade = static_cast<int>(std::floor(step / 10.0));
  return value[static_cast<std::size_t>(step - 10 * decade)] * std::pow(10.0, decade);
}

// From lamp.right toward its up.
Angle azimuth_of(const Lamp& lamp, const glm::dvec3& across) {
  const glm::dvec3 up = glm::cross(lamp.right, lamp.direction);
  return Angle(std::atan2(glm::dot(across, up), glm::dot(across, lamp.right)));
}

}  // namespace

BeamSection::BeamSection(const Lamp& lamp, const glm::dvec3& across)
    : beam_{.planes = lamp.planes, .node = lamp.beam}, azimuth_(azimuth_of(lamp, across)) {}

double BeamSection::ratio(double angle_rad) const {
  const Angle half_turn(std::numbers::pi);
  return beam_ratio(beam_, Angle(std::abs(angle_rad)), angle_rad < 0 ? azimuth_ + half_turn : azimuth_);
}

double BeamSection::angle_below(double share, bool toward_across) const {
  constexpr int steps = 360;
  const double step = (toward_across ? 1 : -1) * right_angle / steps;
  for (int i = 1; i <= steps; ++i) {
    if (ratio(i * step) >= share) continue;
    double above = (i - 1) * step, below = i * step;
    for (int halving = 0; halving < 30; ++halving) {
      const double middle = (above + below) / 2;
      (ratio(middle) < share ? below : above) = middle;
    }
    return std::abs(above);
  }
  return right_angle;
}

std::vector<double> round_lux_near(double peak, double distance_m) {
  if (!(peak > 0) || !(distance_m > 0)) return {};
  constexpr int stop = 3;
  const int step = static_cast<int>(std::lround(10 * std::log10(peak / (distance_m * distance_m))));
  return {third_of_stop(step + 2 * stop), third_of_stop(step + stop), third_of_stop(step),
          third_of_stop(step - stop)};
}

std::vector<glm::dvec3> lux_line(const Lamp& lamp, double peak, double lux, const glm::dvec3& across) {
  constexpr double least_share = 0.2;
  constexpr int half_steps = 24;
  const BeamSection section(lamp, across);
  const double left = -section.angle_below(least_share, false),
               right = section.angle_below(least_share, true);
  std::vector<glm::dvec3> places;
  for (int i = -half_steps; i <= half_steps; ++i) {
    const double angle = (i < 0 ? -left : right) * i / half_steps;
    const double distance = std::sqrt(peak * section.ratio(angle) / lux);
    places.push_back(lamp.position_m +
                     distance * (std::cos(angle) * lamp.direction + std::sin(angle) * across));
  }
  return places;
}

}  // namespace undercap
