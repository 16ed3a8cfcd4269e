#include "engine/shape/leaf.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/mesh_build.h"
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
    case LeafForm::elliptic:
      return 7;
    case LeafForm::lobed:
    case LeafForm::palmate:
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

// Slow changes only; veins, spots and decay are the pattern's.
glm::dvec3 leaf_colour(const LeafShape& shape, const glm::dvec2& flat, double out) {
  const double edge = ramp(0.55, 1.0, out + 0.3 * fbm(flat / 14.0, 2, shape.seed + 3));
  const double patch = 0.5 * fbm(flat / 30.0, 2, shape.seed + 1);
  return shape.colour * ((1 + 0.35 * patch) * (1 - 0.22 * shape.age * edge));
}

// The midrib bent in its own upright plane, and the directions along and up from it at one place.
struct RibPoint {
  glm::dvec3 place{}, along{0, 1, 0}, up{0, 0, 1};
};

// Rows stand closer at both ends, where the outline turns; teeth are rows, and even.
double along_at(const LeafShape& shape, int row, int rows) {
  const double even = static_cast<double>(row) / (rows - 1);
  return mix(even, 0.5 - 0.5 * std::cos(pi * even), shape.form == LeafForm::toothed ? 0.15 : 0.6);
}

// The bent midrib, asked at any share of the length.
class Rib {
 public:
  explicit Rib(const LeafShape& shape) {
    glm::dvec3 place(0);
    for (int i = 0; i <= steps; ++i) {
      const double u = static_cast<double>(i) / steps;
      const double angle = shape.bend * (u - 0.5) + shape.counter_bend * std::sin(2 * pi * u) +
                           shape.tip_curl * ramp(0.6, 1.15, u);
      point_[i] = {place, {0, std::cos(angle), std::sin(angle)}, {0, -std::sin(angle), std::cos(angle)}};
      place += shape.length / steps * point_[i].along;
    }
    length_ = shape.length;
  }
  RibPoint at(double u) const {
    const double scaled = std::clamp(u, 0.0, 1.0) * steps;
    const int i = std::min(static_cast<int>(scaled), steps - 1);
    const double t = scaled - i;
    RibPoint here{mix(point_[i].place, point_[i + 1].place, t),
                  glm::normalize(mix(point_[i].along, point_[i + 1].along, t)),
                  glm::normalize(mix(point_[i].up, point_[i + 1].up, t))};
    here.place += (u - std::clamp(u, 0.0, 1.0)) * length_ * here.along;
    return here;
  }

 private:
  static constexpr int steps = 32;
  RibPoint point_[steps + 1];
  double length_ = 0;
};

// A point of the flat blade, bent with it. 'out' 0 on the midrib to 1 on the margin.
glm::dvec3 bent(const LeafShape& shape, const Rib& rib, const glm::dvec2& flat, double out, double vein) {
  const double u = flat.y / shape.length;
  const RibPoint here = rib.at(u);
  const double turn = shape.twist * (u - 0.5);
  const glm::dvec3 side = std::cos(turn) * glm::dvec3(1, 0, 0) + std::sin(turn) * here.up;
  const glm::dvec3 up = -std::sin(turn) * glm::dvec3(1, 0, 0) + std::cos(turn) * here.up;
  // Each half leaves the rib at the fold and turns on by the roll, an arc of the same length.
  const double angle = shape.fold + 0.5 * shape.roll * out * out;
  const double hand = flat.x < 0 ? 1.0 : 0.0;
  const glm::dvec2 place = flat / shape.length;
  const double crinkle = (0.25 + 0.95 * out) * 1.6 * fbm(4.5 * place, 2, shape.seed + 6);
  const double beat = 2.6 + 1.4 * unit_from_bits(hash_bits(shape.seed, 21));
  const double wave =
      out * out * std::sin(2 * pi * (beat * u + 0.37 * hand) + unit_from_bits(shape.seed) * 6.0);
  const double corrugation = 0.014 * vein * ramp(0.0, 0.3, out);
  return here.place + flat.x * std::cos(angle) * side + std::abs(flat.x) * std::sin(angle) * up +
         shape.length * (shape.crinkle * crinkle + shape.wave * wave - corrugation) * up;
}

// What the two margins have of their own: unequal halves, and bites.
double margin_factor(const LeafShape& shape, double along, double hand) {
  const std::uint32_t seed = hash_bits(shape.seed, hand < 0 ? 31u : 32u);
  double factor = 1 + 0.16 * gradient_noise(glm::dvec2(2.3 * along + 0.4, 0.6), seed) +
                  0.035 * gradient_noise(glm::dvec2(7.1 * along, 1.6), seed);
  for (int bite = 0; bite < shape.bites; ++bite) {
    const std::uint32_t bits = hash_bits(shape.seed, 41u + static_cast<std::uint32_t>(bite));
    if ((bits & 1u) == (hand < 0 ? 1u : 0u)) continue;
    const double middle = 0.15 + 0.7 * unit_from_bits(hash_bits(bits, 1)),
                 width = 0.03 + 0.07 * unit_from_bits(hash_bits(bits, 2)),
                 depth = 0.25 + 0.5 * unit_from_bits(hash_bits(bits, 3));
    factor *= 1 - depth * ramp(1.0, 0.45, std::abs(along - middle) / width);
  }
  return factor;
}

LeafSheet make_strip(const LeafShape& shape, int rows, int columns) {
  LeafSheet sheet{rows, columns, 1, {}, {}, {}};
  const Rib rib(shape);
  const double slant = shape.form == LeafForm::lobed ? 0.14 : shape.form == LeafForm::toothed ? 0.12 : 0;
  const bool toothed = shape.form == LeafForm::toothed && rows >= 15;
  for (int row = 0; row < rows; ++row) {
    const double u = along_at(shape, row, rows);
    const double half = leaf_half_width(shape, u) * shape.length;
    for (int column = 0; column < columns; ++column) {
      const double v = 2.0 * column / (columns - 1) - 1, out = std::abs(v);
      const double shaped = mix(1.0, margin_factor(shape, u, v), out * out);
      const double tooth = !toothed || out < 0.999 || row == 0 || row == rows - 1 ? 1.0
                           : row % 2 == 1                                         ? 1.07
                                                                                  : 0.95;
      const glm::dvec2 flat(v * half * shaped * tooth, u * shape.length + slant * half * out * out);
      sheet.position.push_back(bent(shape, rib, flat, out, side_vein(shape, u, out)));
      sheet.uv.emplace_back(u, 0.5 + 0.5 * v);
      sheet.colour.emplace_back(leaf_colour(shape, flat, out));
    }
  }
  return sheet;
}

// Five lobes about the end of the stalk: angle from the midrib and length of each.
constexpr struct {
  double angle, reach;
} lobes[5] = {{-1.92, 0.52}, {-0.88, 0.84}, {0, 1}, {0.88, 0.84}, {1.92, 0.52}};

double palmate_reach(const LeafShape& shape, double angle) {
  double reach = 0.26, from_axis = 1;
  for (const auto& lobe : lobes) {
    const double off = std::abs(angle - lobe.angle) / 0.62;
    reach = std::max(reach, lobe.reach * (1 - 0.80 * std::pow(off, 0.85)));
    from_axis = std::min(from_axis, off);
  }
  // Coarse teeth on the flanks of the lobes, none at their tips.
  const double teeth = gradient_noise(glm::dvec2(angle / 0.16, 0.5), shape.seed + 9);
  return reach * (1 + 0.16 * ramp(0.1, 0.35, from_axis) * teeth);
}

LeafSheet make_palmate(const LeafShape& shape, int rows, int columns) {
  LeafSheet sheet{std::max(rows / 3, 4), columns, 5, {}, {}, {}};
  const Rib rib(shape);
  // From the sinus on one side of each lobe to that on the other; behind the stalk the blade is open.
  constexpr double borders[6] = {-2.62, -1.42, -0.45, 0.45, 1.42, 2.62};
  for (int lobe = 0; lobe < 5; ++lobe) {
    for (int row = 0; row < sheet.rows; ++row) {
      constexpr double least = 0.004;  // so that no triangle at the stalk is without area
      const double q = std::max(static_cast<double>(row) / (sheet.rows - 1), least);
      for (int column = 0; column < columns; ++column) {
        const double v = 2.0 * column / (columns - 1) - 1;
        const double middle = lobes[lobe].angle;
        const double angle = v < 0 ? mix(middle, borders[lobe], -v) : mix(middle, borders[lobe + 1], v);
        const double reach = q * palmate_reach(shape, angle) * shape.length;
        const glm::dvec2 flat(reach * std::sin(angle), reach * std::cos(angle));
        const double out = std::min(1.0, std::abs(flat.x) / (0.65 * shape.length));
        const double margin = std::max(q * q, out * out);
        glm::dvec3 place = bent(shape, rib, flat, std::max(out, 0.8 * margin), 0);
        place.z += 0.25 * shape.roll * margin * margin * shape.length * 0.3;
        sheet.position.push_back(place);
        sheet.uv.emplace_back(q, 0.5 + 0.5 * v);
        sheet.colour.emplace_back(leaf_colour(shape, flat, margin));
      }
    }
  }
  return sheet;
}

// A thin three-sided tube on from the midrib, a little bent; the same part as the blade.
void add_stalk(Mesh& mesh, const LeafShape& shape, std::uint32_t part) {
  const auto first = static_cast<std::uint32_t>(mesh.position.size());
  Random random(hash_bits(shape.seed, 51));
  const double share = shape.form == LeafForm::palmate ? 0.55 : 0.19;
  const double length = shape.length * share * random.between(0.6, 1.4), thick = 0.010 * shape.length;
  const double turn = random.between(-0.7, 0.7), angle = -0.5 * shape.bend, sag = random.between(-0.3, 0.5);
  constexpr int rings = 5, sides = 4;
  for (int ring = 0; ring < rings; ++ring) {
    const double s = length * ring / (rings - 1);
    const glm::dvec3 axis(s * s / length * turn, -s * std::cos(angle),
                          -s * std::sin(angle) + sag * s * s / length);
    const double r = thick * (0.8 + (ring == rings - 1 ? 1.0 : 0.2 * ring / (rings - 1)));
    for (int side = 0; side < sides; ++side) {
      const double a = 2 * pi * side / sides;
      mesh.position.emplace_back(axis + glm::dvec3(r * std::cos(a), 0, r * std::sin(a)));
      mesh.tint.emplace_back(1.1 * shape.colour);
      mesh.uv.emplace_back(0.02, 0.5);
    }
  }
  add_grid_triangles(mesh, {first, rings, sides, true}, part);
}

}  // namespace

double leaf_half_width(const LeafShape& shape, double along) {
  const double u = std::clamp(along, 0.0, 1.0);
  double width = 0;
  switch (shape.form) {
    case LeafForm::elliptic:
      width = 0.33 * std::pow(positive_sine(pi * std::pow(u, 0.88)), 0.8) *
              (1 + 0.05 * std::sin(2 * pi * 7.5 * u));
      break;
    case LeafForm::lobed: {
      // Broad lobes and narrow bays.
      const double lobe = std::pow(0.5 + 0.5 * std::sin(2 * pi * 4.2 * u - 1.2), 0.55);
      width = 0.31 * std::pow(positive_sine(pi * std::pow(u, 1.25)), 0.75) *
              mix(0.80, 0.48 + 0.68 * lobe, ramp(0.02, 0.35, u));
      break;
    }
    case LeafForm::toothed:
      width = 0.42 * std::pow(positive_sine(pi * std::pow(u, 0.7)), 1.25);
      break;
    case LeafForm::narrow:
      width = 0.11 * std::pow(positive_sine(pi * std::pow(u, 0.9)), 0.8);
      break;
    case LeafForm::scrap:
      width = 0.36 * std::pow(positive_sine(pi * u), 0.4) *
              (1 + 0.55 * gradient_noise(glm::dvec2(3.7 * u, 0.5), shape.seed + 5));
      break;
    case LeafForm::palmate:
      return 0;
  }
  // A point has a little width left, so that the sheet has no triangle without area.
  return std::max(width, 0.012);
}

LeafShape fallen_leaf(Random& random, double length, double flat, double yellow) {
  LeafShape shape;
  shape.seed = random.bits();
  const double choice = random.unit();
  shape.form = choice < 0.48   ? LeafForm::elliptic
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

void curl_up(LeafShape& shape, Random& random, double curl) {
  shape.tip_curl = curl * 0.8 * random.spread();
  shape.wave = curl * random.between(0.0, 0.045);
  const double torn = random.unit();
  shape.bites = torn < 0.55 ? 0 : torn < 0.82 ? 1 : 3;
}

LeafSheet make_leaf(const LeafShape& shape, int rows, int columns) {
  return shape.form == LeafForm::palmate ? make_palmate(shape, rows, columns)
                                         : make_strip(shape, rows, columns);
}

void add_leaf_triangles(Mesh& mesh, const LeafSheet& sheet, std::uint32_t first, std::uint32_t part) {
  for (int blade = 0; blade < sheet.blades; ++blade) {
    const auto begin = static_cast<std::uint32_t>(blade * sheet.rows * sheet.columns);
    add_grid_triangles(mesh, {first + begin, sheet.rows, sheet.columns, false}, part);
  }
}

Mesh leaf_mesh(const LeafShape& shape, int rows, int columns) {
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("leaf");
  const LeafSheet sheet = make_leaf(shape, rows, columns);
  for (const glm::dvec3& place : sheet.position) mesh.position.emplace_back(place);
  mesh.uv = sheet.uv;
  mesh.tint = sheet.colour;
  add_leaf_triangles(mesh, sheet, 0, part);
  if (rows >= 13 && shape.form != LeafForm::scrap) add_stalk(mesh, shape, part);
  smooth_normals(mesh);
  mesh.parts[part].pattern = {.kind = PatternKind::leaf,
                              .seed = shape.seed,
                              .size_mm = static_cast<float>(shape.length),
                              .lines = static_cast<float>(vein_pairs(shape.form)),
                              .tone = {0.55f, 0.44f, 0.42f},
                              .wear = static_cast<float>(shape.age)};
  return mesh;
}

}  // namespace undercap
