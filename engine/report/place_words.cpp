// A place in the words of people who light: clock, height, distance.
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/report/places.h"
#include "engine/report/plan.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

// Seen from above, twelve away from the camera, to the nearest half hour.
std::string clock_words(const DrawingAxes& axes, const glm::dvec2& from_subject_m) {
  const double right = glm::dot(from_subject_m, axes.right), ahead = glm::dot(from_subject_m, axes.forward);
  const double hours = std::atan2(right, ahead) * 6 / std::numbers::pi;
  const int halves = (static_cast<int>(std::lround(2 * hours)) + 24) % 24;
  const int hour = halves / 2 == 0 ? 12 : halves / 2;
  return halves % 2 ? fmt::format("{}:30", hour) : fmt::format("{} o'clock", hour);
}

}  // namespace

// A hand across its knuckles is 8 to 9 cm.
std::string hand_words(double height_m) {
  constexpr double hand_m = 0.085;
  const int halves = static_cast<int>(std::lround(2 * height_m / hand_m));
  if (halves <= 0) return "under half a hand";
  if (halves == 1) return "half a hand";
  if (halves == 2) return "1 hand";
  return fmt::format("{:g} hands", halves / 2.0);
}

std::string clock_place_words(const World& world, const glm::dvec3& place_m, const glm::dvec3& about_m) {
  const glm::dvec2 level = glm::dvec2(place_m - about_m);
  // Nearer than this to the upright through the middle no hour can be told.
  constexpr double upright_m = 0.01;
  if (glm::length(level) > upright_m) return clock_words(axes_of(world), level);
  return place_m.z >= about_m.z ? "straight above" : "straight below";
}

std::string height_words(const World& world, const glm::dvec3& place_m) {
  const double height = place_m.z - ground_below(world, std::array{glm::dvec2(place_m)})[0];
  return fmt::format("{} above the ground ({})", length_words(height), hand_words(height));
}

std::string place_words(const World& world, const glm::dvec3& place_m) {
  const glm::dvec3 subject = subject_middle(world);
  return fmt::format("{}, {} from the middle of the subject, {}", clock_place_words(world, place_m, subject),
                     length_words(glm::distance(place_m, subject)), height_words(world, place_m));
}

}  // namespace undercap
