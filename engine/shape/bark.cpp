#include "engine/shape/bark.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// The shorter way round from one angle to another.
double turn_between(double a, double b) { return std::remainder(a - b, 2 * pi); }

}  // namespace

BarkForm bark_form(const std::string& word) {
  return word == "plated" ? BarkForm::plated : word == "smooth" ? BarkForm::smooth : BarkForm::ridged;
}

KindKey bark_key(std::string fallback) {
  return choice_key("bark", std::move(fallback), bark_words,
                    "ridges and furrows, flat scales, or smooth with lenticels");
}

BarkField::BarkField(const LogShape& shape)
    : shape_(shape),
      plates_around_(std::max(3, static_cast<int>(std::lround(2 * pi * shape.radius / shape.plate)))) {
  // Scars of branches, a few diameters apart.
  Random random(hash_bits(shape.seed, 0x6b07u));
  const int knots = std::min(9, static_cast<int>(shape.length / (7 * shape.radius) + random.unit()));
  for (int i = 0; i < knots; ++i) {
    knots_.push_back({shape.length * (random.unit() - 0.5), random.between(0, 2 * pi),
                      shape.radius * random.between(0.18, 0.34)});
  }
}

glm::dvec3 BarkField::wrapped(double x, double angle, double wavelength) const {
  const double reach = shape_.radius / wavelength;
  // The offset keeps two logs of one seed and the lattice's zeros apart from the axis.
  return {x / wavelength + 17.3, reach * std::cos(angle) + 5.7, reach * std::sin(angle) + 9.1};
}

double BarkField::trunk(double x, double angle) const {
  double share = 0.075 * fbm(wrapped(x, angle, 1.9 * shape_.radius), 3, shape_.seed + 61);
  for (const Knot& knot : knots_) {
    const double along = (x - knot.x) / (1.4 * knot.size);
    const double across = shape_.radius * turn_between(angle, knot.angle) / knot.size;
    const double off = along * along + across * across;
    // A collar of overgrown bark round a hollow where the branch broke off.
    if (off < 9) share += 0.16 * std::exp(-off) - 0.20 * std::exp(-7 * off);
  }
  return share;
}

double BarkField::height(double x, double angle) const {
  return shape_.bark == BarkForm::smooth ? smooth_height(x, angle) : ridged_height(x, angle);
}

double BarkField::ridged_height(double x, double angle) const {
  const std::uint32_t seed = shape_.seed;
  const bool plated = shape_.bark == BarkForm::plated;
  const double plate = shape_.plate, stretch = plated ? 1.7 : 8.0;
  // Bent at two scales: at one scale the plates come out as cobbles.
  const glm::dvec3 slow = wrapped(x, angle, 2.6 * plate), quick = wrapped(x, angle, 0.6 * plate);
  const double across = 0.55 * fbm(slow, 2, seed + 62) + 0.22 * gradient_noise(quick, seed + 63);
  const double along = 0.55 * fbm(slow, 2, seed + 64) + 0.12 * gradient_noise(quick, seed + 65);
  const double around = plates_around_ * angle / (2 * pi);
  const glm::dvec2 place(around + across, x / (stretch * plate) + along);

  // Plates between furrows, each at its own level and tilted like a scale; a flank steep at the furrow's
  // foot and rounded above.
  const Cell cell = cells(place, seed + 66, plates_around_);
  const double edge = cell.second - cell.nearest;
  const double level = plated ? 0.55 + 0.45 * unit_from_bits(cell.id) : 0.65 + 0.35 * unit_from_bits(cell.id);
  const glm::dvec2 tilt(unit_from_bits(hash_bits(cell.id, 1)) - 0.5,
                        unit_from_bits(hash_bits(cell.id, 2)) - 0.5);
  const double flank = plated ? 0.9 * ramp(0.005, 0.08, edge) + 0.1 * ramp(0.1, 0.5, edge)
                              : 0.82 * ramp(0.005, 0.13, edge) + 0.18 * ramp(0.08, 0.55, edge);
  double height = flank * (level + 0.5 * (tilt.x * cell.from_nearest.x + tilt.y * cell.from_nearest.y));

  // Each plate is split again: cracks across a ridge, flakes of a scale.
  const int pieces_around = static_cast<int>(std::lround(2.3 * plates_around_));
  const glm::dvec2 finer(place.x * pieces_around / plates_around_ + 0.5 * across,
                         (plated ? 2.3 : 5.5) * place.y - 0.4 * along);
  const Cell piece = cells(finer, seed + 67, pieces_around);
  height -= 0.26 * ramp(0.12, 0.01, piece.second - piece.nearest) * ramp(0.05, 0.25, edge);
  height += 0.13 * (unit_from_bits(piece.id) - 0.5) * ramp(0.05, 0.3, edge);

  // Fine fibrous relief, drawn out along the log.
  glm::dvec3 fibre = wrapped(0, angle, 0.16 * plate);
  fibre.x = x / (1.1 * plate);
  height += 0.22 * fbm(fibre, 3, seed + 68) + 0.10 * fbm(slow, 2, seed + 69);
  return std::clamp(height, -0.1, 1.15);
}

// A thin skin: slow swellings, creases round the stem, and lenticels, short lips that lie across it.
double BarkField::smooth_height(double x, double angle) const {
  const std::uint32_t seed = shape_.seed;
  double height = 0.8 + 0.16 * fbm(wrapped(x, angle, 26), 3, seed + 62);
  glm::dvec3 lip = wrapped(0, angle, 9);
  lip.x = x / 2.2 + 0.6 * gradient_noise(wrapped(x, angle, 30), seed + 63);
  height -= 0.55 * ramp(0.30, 0.55, gradient_noise(lip, seed + 64));
  glm::dvec3 crease = wrapped(0, angle, 45);
  crease.x = x / 14 + 0.8 * gradient_noise(wrapped(x, angle, 20), seed + 65);
  height -= 0.35 * ramp(0.06, 0.0, std::abs(gradient_noise(crease, seed + 66))) *
            ramp(0.0, 0.3, gradient_noise(wrapped(x, angle, 60), seed + 67));
  return std::clamp(height, -0.1, 1.15);
}

double BarkField::loss(double x, double angle) const {
  glm::dvec3 patch = wrapped(x, angle, 1.15 * shape_.radius);
  patch.x *= 0.62;
  // Bark holds longer near the ground on the sheltered side and comes off the flanks first.
  return fbm(patch, 2, shape_.seed + 71) + 0.20 * fbm(wrapped(x, angle, 16), 2, shape_.seed + 72) +
         0.12 * std::cos(angle - 0.9);
}

double BarkField::wood_relief(double x, double angle) const {
  glm::dvec3 fibre = wrapped(0, angle, 4.5);
  fibre.x = x / 70 + 0.5 * gradient_noise(wrapped(x, angle, 50), shape_.seed + 77);
  return 0.16 * fbm(fibre, 3, shape_.seed + 78) + 0.10 * fbm(wrapped(x, angle, 30), 2, shape_.seed + 79);
}

glm::dvec3 BarkField::tint(double x, double angle, double up) const {
  const std::uint32_t seed = shape_.seed;
  const double slow = fbm(wrapped(x, angle, 55), 3, seed + 74);
  glm::dvec3 colour(1 + 0.40 * slow);
  colour = mix(colour, colour * glm::dvec3(1.12, 0.90, 0.78), ramp(0.0, 0.5, slow));
  // A film of algae where rain runs and the sky is seen.
  const double damp = fbm(wrapped(x, angle, 45), 3, seed + 75) + 0.58 * up;
  const double algae = ramp(0.25, 1.0, damp) * (0.2 + 0.6 * shape_.age);
  return mix(colour, colour * glm::dvec3(0.70, 0.98, 0.50), algae);
}

// Each buttress has a size of its own; they are gone about two radii up.
double root_spread(double flare, double height, double angle, double radius, std::uint32_t seed) {
  if (flare <= 0) return 0;
  const double reach = std::exp(-std::max(height, -0.2 * radius) / (0.6 * radius));
  const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0.3);
  const double lobes = 0.5 + 0.5 * std::cos(5 * angle + 2.6 * fbm(ring, 2, seed + 91));
  const double size = 1 + 0.8 * fbm(1.3 * ring + 4.0, 2, seed + 92);
  return flare * reach * (0.3 + 0.7 * lobes * size);
}

Pattern bark_pattern(const LogShape& shape) {
  return {.kind = PatternKind::bark,
          .seed = hash_bits(shape.seed, 0xba4bu),
          .size_mm = static_cast<float>(shape.plate),
          .strength = shape.bark == BarkForm::smooth ? 0.7f : 1.0f,
          .relief = shape.bark == BarkForm::smooth ? 0.35f : 1.0f,
          .gloss = 0.05f,
          .wear = static_cast<float>(shape.age)};
}

Pattern wood_pattern(const LogShape& shape) {
  constexpr double ring_mm = 2.6;  // growth rings are 1 to 5 mm apart: from memory
  return {.kind = PatternKind::wood,
          .seed = hash_bits(shape.seed, 0x300du),
          .size_mm = static_cast<float>(shape.radius),
          .relief = shape.right_broken ? 1.0f : 0.5f,
          .gloss = 0.06f,
          .lines = static_cast<float>(std::max(3.0, shape.radius / ring_mm)),
          .wear = static_cast<float>(shape.age)};
}

}  // namespace undercap
