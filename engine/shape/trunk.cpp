// The kind 'trunk': standing stems with bark and root flare, one alone or a stand of them. Lengths in mm.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/bark.h"
#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double sunk = 60;  // below the ground, so that uneven ground leaves no gap

std::vector<KindPart> trunk_parts() { return {part_of("bark", "trunk_bark", false)}; }

// One stem of a stand: its bark as that of a log of the same length, set upright.
struct Stem {
  LogShape shape;
  glm::dvec2 base{};
  glm::dvec2 lean{};  // tangent of the angle off the vertical
  double flare = 0.6, ground = 0;
  int rows = 90, columns = 100;
};

class StemBuilder {
 public:
  StemBuilder(Mesh& mesh, const Stem& stem)
      : mesh_(mesh), stem_(stem), field_(stem.shape), part_(mesh.part_index("bark")) {}

  void build() {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int row = 0; row < stem_.rows; ++row) {
      // Rows stand closer near the ground, where a camera on the ground sees them.
      const double u = static_cast<double>(row) / (stem_.rows - 1);
      const double height = -sunk + (stem_.shape.length + sunk) * mix(u, u * u * u, 0.7);
      for (int column = 0; column < stem_.columns; ++column) add_place(height, column);
    }
    add_grid_triangles(mesh_, {first, stem_.rows, stem_.columns, true}, part_);
    close(-sunk, first, true);
    close(stem_.shape.length, first + static_cast<std::uint32_t>((stem_.rows - 1) * stem_.columns), false);
  }

 private:
  glm::dvec3 axis(double height) const {
    const double u = height / stem_.shape.length;
    const double sway = stem_.shape.bend * std::sin(1.7 * pi * u) * std::clamp(u * 4, 0.0, 1.0);
    return {stem_.base + stem_.lean * height + glm::dvec2(sway, 0.4 * sway), stem_.ground + height};
  }

  // Buttresses of the roots, each of its own size, gone at about two radii up.
  double flare(double height, double angle) const {
    const double reach = std::exp(-std::max(height, -0.5 * sunk) / (0.75 * stem_.shape.radius));
    const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0.3);
    const double lobes = 0.55 + 0.45 * std::cos(5 * angle + 2.2 * fbm(ring, 2, stem_.shape.seed + 91));
    return stem_.flare * reach * (0.35 + 0.65 * lobes);
  }

  void add_place(double height, int column) {
    const double angle = 2 * pi * column / stem_.columns;
    const double along = height - 0.5 * stem_.shape.length;
    const BarkSample sample = field_.at(along, angle);
    const double tapered = stem_.shape.radius * (1 - stem_.shape.taper * along / stem_.shape.length);
    const double radius = tapered * (1 + field_.trunk(along, angle) + flare(height, angle)) +
                          stem_.shape.relief * (sample.height - 0.6);
    mesh_.position.emplace_back(axis(height) + radius * glm::dvec3(std::cos(angle), std::sin(angle), 0));
    // Algae keep to one side of a stem, and to its foot.
    const double damp = 0.45 * std::cos(angle - 2.0) + 0.5 * std::exp(-std::max(height, 0.0) / 350);
    mesh_.tint.emplace_back(field_.bark_colour(along, angle, sample, damp));
  }

  void close(double height, std::uint32_t ring, bool reversed) {
    mesh_.position.emplace_back(axis(height));
    mesh_.tint.emplace_back(0.06f);
    add_fan(mesh_, static_cast<std::uint32_t>(mesh_.position.size() - 1), ring, stem_.columns, part_,
            reversed);
  }

  Mesh& mesh_;
  const Stem& stem_;
  BarkField field_;
  std::uint32_t part_;
};

Mesh build(const KeyValues& values, const Setting& setting) {
  const std::uint32_t seed = seed_of(values);
  const int count = whole(values, "count");
  const double width = 1e3 * number(values, "stand_width_m"), depth = 1e3 * number(values, "stand_depth_m");
  Random random(hash_bits(seed, 0x7ba1u));
  Mesh mesh;
  for (int i = 0; i < count; ++i) {
    Stem stem;
    const double size = count > 1 ? random.between(0.45, 1.4) : 1.0;
    stem.shape.length = 1e3 * number(values, "height_m");
    stem.shape.radius = 0.5 * size * number(values, "diameter_mm");
    stem.shape.relief = std::min(number(values, "bark_relief_mm"), 0.3 * stem.shape.radius);
    stem.shape.plate = std::min(number(values, "plate_mm"), 2 * stem.shape.radius);
    stem.shape.taper = 0.25;
    stem.shape.bend = 0.25 * stem.shape.radius;
    stem.shape.seed = hash_bits(seed, static_cast<std::uint32_t>(i) + 1);
    stem.flare = number(values, "root_flare");
    // One stem in each of 'count' strips of the width, so that they neither merge nor leave a great gap.
    if (count > 1) {
      stem.base.x = width * ((i + random.between(0.1, 0.9)) / count - 0.5);
      stem.base.y = depth * (random.unit() - 0.5);
    }
    const double lean = std::tan(number(values, "lean_deg") * pi / 180);
    const double towards = count > 1 ? random.between(0, 2 * pi) : 0.0;
    stem.lean = (count > 1 ? random.spread() : 1.0) * lean * glm::dvec2(std::cos(towards), std::sin(towards));
    stem.ground = 1e3 * ground_at(setting, 1e-3 * stem.base.x, 1e-3 * stem.base.y);
    const double around = 2 * pi * stem.shape.radius;
    stem.columns = std::clamp(static_cast<int>(around / (count > 1 ? 18 : 7)), 20, count > 1 ? 60 : 130);
    stem.rows = count > 1 ? 56 : 120;
    StemBuilder(mesh, stem).build();
  }
  smooth_normals(mesh);
  scale_mesh(mesh, 1e-3f);
  balance_tints(mesh, trunk_parts());
  return mesh;
}

}  // namespace

Kind trunk_kind() {
  return {"trunk",
          "a standing stem with rough bark and spreading roots; alone or a stand of them",
          {number_key("height_m", "5", 0.2, 40, "of the stem above the ground"),
           number_key("diameter_mm", "280", 15, 2000, "at half height, over the bark; in a stand the mean"),
           number_key("bark_relief_mm", "8", 0, 60, "from the furrows to the tops of the plates"),
           number_key("plate_mm", "26", 4, 200, "width of a plate of bark"),
           number_key("root_flare", "0.6", 0, 2, "how far the roots spread at the ground, in radii"),
           number_key("lean_deg", "2", -45, 45, "off the vertical, to the right; in a stand to any side"),
           integer_key("count", "1", 1, 200, "stems; above 1 a stand, spread over its width and depth"),
           number_key("stand_width_m", "4", 0.1, 40, "width of a stand"),
           number_key("stand_depth_m", "3", 0, 40, "depth of a stand"), seed_key()},
          trunk_parts(),
          build};
}

}  // namespace undercap
