#include "engine/shape/bark.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

}  // namespace

BarkField::BarkField(const LogShape& shape)
    : shape_(shape),
      plates_around_(std::max(3, static_cast<int>(std::lround(2 * pi * shape.radius / shape.plate)))) {}

glm::dvec3 BarkField::wrapped(double x, double angle, double wavelength) const {
  const double reach = shape_.radius / wavelength;
  // The offset keeps two logs of one seed and the lattice's zeros apart from the axis.
  return {x / wavelength + 17.3, reach * std::cos(angle) + 5.7, reach * std::sin(angle) + 9.1};
}

double BarkField::trunk(double x, double angle) const {
  return 0.055 * fbm(wrapped(x, angle, 1.9 * shape_.radius), 3, shape_.seed + 61);
}

BarkSample BarkField::at(double x, double angle) const {
  const std::uint32_t seed = shape_.seed;
  const double plate = shape_.plate;
  // Bent at two scales: at one scale the plates come out as cobbles.
  const glm::dvec3 slow = wrapped(x, angle, 2.2 * plate), quick = wrapped(x, angle, 0.45 * plate);
  const double across = 0.55 * fbm(slow, 2, seed + 62) + 0.13 * gradient_noise(quick, seed + 63);
  const double along = 0.50 * fbm(slow, 2, seed + 64) + 0.06 * gradient_noise(quick, seed + 65);
  const double around = plates_around_ * angle / (2 * pi);
  const glm::dvec2 place(around + across, x / (4.2 * plate) + along);

  // Plates between furrows, each at its own level and tilted like a scale.
  const Cell cell = cells(place, seed + 66, plates_around_);
  const double edge = cell.second - cell.nearest;
  const double level = 0.72 + 0.28 * unit_from_bits(cell.id);
  const glm::dvec2 tilt(unit_from_bits(hash_bits(cell.id, 1)) - 0.5,
                        unit_from_bits(hash_bits(cell.id, 2)) - 0.5);
  double height = ramp(0.015, 0.15, edge) *
                  (level + 0.45 * (tilt.x * cell.from_nearest.x + tilt.y * cell.from_nearest.y));

  // Each plate is split again by cracks that the mesh can hardly hold: they are drawn rather than cut.
  const glm::dvec2 finer(2.2 * place.x + 0.5 * across, 3.1 * place.y - 0.4 * along);
  const Cell piece = cells(finer, seed + 67, 0);
  const double crack = ramp(0.10, 0.01, piece.second - piece.nearest) * ramp(0.05, 0.25, edge);
  height -= 0.12 * crack;
  height += 0.07 * (unit_from_bits(piece.id) - 0.5);

  // Fine fibrous relief, drawn out along the log.
  glm::dvec3 fibre = wrapped(0, angle, 0.20 * plate);
  fibre.x = x / (1.6 * plate);
  const double grain = fbm(fibre, 2, seed + 68);
  height += 0.13 * grain;
  BarkSample sample;
  sample.height = std::clamp(height + 0.10 * fbm(slow, 2, seed + 69), -0.1, 1.15);
  sample.shade = std::clamp(0.8 * crack + 0.8 * std::max(-grain - 0.05, 0.0), 0.0, 1.0);
  return sample;
}

double BarkField::loss(double x, double angle) const {
  glm::dvec3 patch = wrapped(x, angle, 1.15 * shape_.radius);
  patch.x *= 0.62;
  // Bark holds longer near the ground on the sheltered side and comes off the flanks first.
  return fbm(patch, 2, shape_.seed + 71) + 0.30 * fbm(wrapped(x, angle, 16), 3, shape_.seed + 72) +
         0.12 * std::cos(angle - 0.9);
}

glm::dvec3 BarkField::bark_colour(double x, double angle, const BarkSample& sample, double up) const {
  const std::uint32_t seed = shape_.seed;
  const double mottle = fbm(wrapped(x, angle, 5), 3, seed + 73);
  const double slow = fbm(wrapped(x, angle, 55), 2, seed + 74);
  const double light = ramp(0.0, 0.95, sample.height + 0.25 * mottle);
  glm::dvec3 colour = mix(glm::dvec3(0.032, 0.024, 0.018), glm::dvec3(0.168, 0.128, 0.094), light);
  colour = mix(colour, glm::dvec3(0.125, 0.075, 0.045), 0.45 * ramp(0.1, 0.6, slow + 0.3 * mottle));
  const double grit = gradient_noise(wrapped(x, angle, 2.6), seed + 80);
  colour *= (1 + 0.28 * slow) * (1 - 0.55 * sample.shade) * (1 + 0.45 * grit);

  // A film of algae where rain runs and the sky is seen.
  const double damp = fbm(wrapped(x, angle, 45), 3, seed + 75) + 0.58 * up;
  const double algae = ramp(0.38, 1.0, damp + 0.30 * mottle);
  colour = mix(colour, glm::dvec3(0.074, 0.092, 0.036) * (0.45 + 0.7 * light), 0.72 * algae);

  // Crusts of lichen on the plates: lobed, two greys, broken by cracks.
  const double lobes =
      fbm(wrapped(x, angle, 26), 2, seed + 76) + 0.40 * fbm(wrapped(x, angle, 5.5), 3, seed + 77);
  const double crust = ramp(0.30, 0.37, lobes) * ramp(0.10, 0.45, sample.height);
  const double grey = 0.75 + 0.35 * ramp(0.37, 0.7, lobes) + 0.35 * mottle;
  colour = mix(colour, glm::dvec3(0.255, 0.265, 0.215) * grey, 0.85 * crust * (1 - 0.6 * sample.shade));
  return colour;
}

glm::dvec3 BarkField::bare_wood_colour(double x, double angle, double up) const {
  const std::uint32_t seed = shape_.seed;
  glm::dvec3 streak = wrapped(0, angle, 3.2);
  streak.x = x / 60;
  const double grain = fbm(streak, 3, seed + 78);
  const double rot = fbm(wrapped(x, angle, 24), 3, seed + 79);
  glm::dvec3 colour =
      mix(glm::dvec3(0.275, 0.185, 0.108), glm::dvec3(0.20, 0.17, 0.135), ramp(-0.3, 0.5, rot));
  colour *= 1 + 0.55 * grain;
  colour = mix(colour, glm::dvec3(0.075, 0.052, 0.036), 0.7 * ramp(0.22, 0.55, rot + 0.5 * grain));
  return mix(colour, colour * glm::dvec3(0.62, 0.78, 0.42), 0.5 * ramp(0.4, 1.0, up));
}

}  // namespace undercap
