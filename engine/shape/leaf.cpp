#include "engine/shape/leaf.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// Linear RGB of leaves on the floor: seven browns and tans, a russet and a yellow.
constexpr double palettes[9][3] = {{0.235, 0.140, 0.075}, {0.185, 0.112, 0.064}, {0.300, 0.178, 0.088},
                                   {0.160, 0.105, 0.066}, {0.270, 0.185, 0.105}, {0.335, 0.200, 0.098},
                                   {0.210, 0.148, 0.098}, {0.290, 0.130, 0.060}, {0.460, 0.310, 0.085}};

double vein_pairs(LeafForm form) {
  switch (form) {
    case LeafForm::wavy_oval:
      return 7.5;
    case LeafForm::lobed:
      return 5;
    case LeafForm::toothed:
      return 6;
    case LeafForm::narrow:
      return 10;
    case LeafForm::scrap:
      return 3;
  }
  return 6;
}

double positive_sine(double x) { return std::max(std::sin(x), 0.0); }

// 1 on a side vein, 0 between: veins leave the midrib in pairs and slant towards the tip.
double side_vein(const LeafShape& shape, double along, double out) {
  const double phase = along * vein_pairs(shape.form) - 1.3 * out * leaf_half_width(shape, along) * 3;
  const double off = std::abs(phase - std::floor(phase) - 0.5);
  return ramp(0.20, 0.02, off) * ramp(1.05, 0.5, out);
}

glm::dvec3 leaf_colour(const LeafShape& shape, double along, double across) {
  const double out = std::abs(across);
  const glm::dvec2 place(across * leaf_half_width(shape, along) * shape.length, along * shape.length);
  const double blotch = ramp(-0.25, 0.55, fbm(0.055 * place, 3, shape.seed + 1) + 0.30 * (out - 0.5));
  glm::dvec3 colour =
      mix(shape.colour, shape.colour * glm::dvec3(0.52, 0.42, 0.40), (0.25 + 0.6 * shape.age) * blotch);
  colour *= 1 + 0.22 * gradient_noise(0.23 * place, shape.seed + 2);
  const double edge =
      ramp(0.74, 1.0, out + 0.22 * fbm(0.10 * place, 2, shape.seed + 3)) * (0.3 + 0.7 * shape.age);
  colour = mix(colour, glm::dvec3(0.075, 0.045, 0.028), 0.72 * edge);
  const Cell spot = cells(0.13 * place, shape.seed + 4);
  if (unit_from_bits(spot.id) > 0.66) colour *= 1 - 0.6 * shape.age * ramp(0.30, 0.12, spot.nearest);
  const double vein = std::max(ramp(0.11, 0.02, out), 0.6 * side_vein(shape, along, out));
  return mix(colour, 1.5 * colour + 0.03, 0.75 * vein);
}

// The midrib bent in its own upright plane, and the directions along and up from it at one place.
struct RibPoint {
  glm::dvec3 place{}, along{0, 1, 0}, up{0, 0, 1};
};

// Rows stand closer at both ends, where the outline turns.
double along_at(int row, int rows) {
  const double even = static_cast<double>(row) / (rows - 1);
  return mix(even, 0.5 - 0.5 * std::cos(pi * even), 0.6);
}

std::vector<RibPoint> midrib(const LeafShape& shape, int rows) {
  std::vector<RibPoint> rib;
  glm::dvec3 place(0);
  for (int row = 0; row < rows; ++row) {
    const double u = along_at(row, rows);
    const double angle = shape.bend * (u - 0.5) + shape.counter_bend * std::sin(2 * pi * u);
    const glm::dvec3 along(0, std::cos(angle), std::sin(angle)), up(0, -std::sin(angle), std::cos(angle));
    rib.push_back({place, along, up});
    place += shape.length * (along_at(row + 1, rows) - u) * along;
  }
  return rib;
}

}  // namespace

double leaf_half_width(const LeafShape& shape, double along) {
  const double u = std::clamp(along, 0.0, 1.0);
  double width = 0;
  switch (shape.form) {
    case LeafForm::wavy_oval:
      width = 0.33 * std::pow(positive_sine(pi * std::pow(u, 0.88)), 0.8) *
              (1 + 0.05 * std::sin(2 * pi * 7.5 * u));
      break;
    case LeafForm::lobed:
      width = 0.31 * std::pow(positive_sine(pi * std::pow(u, 1.25)), 0.75) *
              (0.80 + 0.36 * std::sin(2 * pi * 4.2 * u - 1.2) * ramp(0.02, 0.35, u));
      break;
    case LeafForm::toothed: {
      const double teeth = 17 * u;
      width = 0.42 * std::pow(positive_sine(pi * std::pow(u, 0.7)), 1.25) *
              (1 + 0.10 * (teeth - std::floor(teeth) - 0.5));
      break;
    }
    case LeafForm::narrow:
      width = 0.11 * std::pow(positive_sine(pi * std::pow(u, 0.9)), 0.8);
      break;
    case LeafForm::scrap:
      width = 0.36 * std::pow(positive_sine(pi * u), 0.4) *
              (1 + 0.55 * gradient_noise(glm::dvec2(3.7 * u, 0.5), shape.seed + 5));
      break;
  }
  // A point has a little width left, so that the sheet has no triangle without area.
  return std::max(width, 0.012);
}

LeafShape fallen_leaf(Random& random, double length, double flat, double yellow) {
  LeafShape shape;
  shape.seed = random.bits();
  const double choice = random.unit();
  shape.form = choice < 0.48   ? LeafForm::wavy_oval
               : choice < 0.76 ? LeafForm::lobed
               : choice < 0.95 ? LeafForm::toothed
                               : LeafForm::narrow;
  shape.length = length * (1 + 0.17 * random.spread());
  if (shape.form == LeafForm::lobed) shape.length *= 1.25;
  if (shape.form == LeafForm::toothed) shape.length *= 0.78;
  const double curl = 1 - 0.75 * flat;
  shape.bend = curl * 0.95 * random.spread();
  shape.counter_bend = curl * 0.22 * random.spread();
  shape.fold = curl * random.between(-0.15, 0.55);
  shape.roll = curl * 0.75 * random.spread();
  shape.twist = curl * 0.5 * random.spread();
  shape.crinkle = (0.012 + 0.022 * random.unit()) * (1 - 0.4 * flat);
  const bool fresh = random.chance(yellow);
  const auto palette = fresh ? 8u : random.bits() % 8u;
  shape.age = fresh ? random.between(0.0, 0.35) : random.between(0.25, 1.0);
  shape.colour = glm::dvec3(palettes[palette][0], palettes[palette][1], palettes[palette][2]) *
                 random.between(0.80, 1.12);
  return shape;
}

LeafSheet make_leaf(const LeafShape& shape, int rows, int columns) {
  LeafSheet sheet{rows, columns, {}, {}};
  const std::vector<RibPoint> rib = midrib(shape, rows);
  for (int row = 0; row < rows; ++row) {
    const double u = along_at(row, rows);
    const double half = leaf_half_width(shape, u) * shape.length;
    const RibPoint& here = rib[static_cast<std::size_t>(row)];
    const double turn = shape.twist * (u - 0.5);
    const glm::dvec3 side = std::cos(turn) * glm::dvec3(1, 0, 0) + std::sin(turn) * here.up;
    const glm::dvec3 up = -std::sin(turn) * glm::dvec3(1, 0, 0) + std::cos(turn) * here.up;
    for (int column = 0; column < columns; ++column) {
      const double v = 2.0 * column / (columns - 1) - 1;
      const double out = std::abs(v);
      // Each half leaves the rib at the fold and turns on by the roll, an arc of the same length.
      const double mean_angle = shape.fold + 0.5 * shape.roll * out * out;
      glm::dvec3 place =
          here.place + v * half * std::cos(mean_angle) * side + out * half * std::sin(mean_angle) * up;
      const glm::dvec2 flat(v * half / shape.length, u);
      const double crinkle =
          shape.crinkle * shape.length * (0.25 + 0.95 * out) * 1.6 * fbm(4.5 * flat, 2, shape.seed + 6);
      const double corrugation = 0.014 * shape.length * side_vein(shape, u, out) * ramp(0.0, 0.3, out);
      place += (crinkle - corrugation) * up;
      sheet.position.push_back(place);
      sheet.colour.emplace_back(leaf_colour(shape, u, v));
    }
  }
  return sheet;
}

}  // namespace undercap
