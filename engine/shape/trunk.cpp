// The kind 'trunk': standing stems with bark and root flare, one alone or a stand of them. Lengths in mm.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <vector>

#include "engine/core/errors.h"
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

  void add_place(double height, int column) {
    const double angle = 2 * pi * column / stem_.columns;
    const double along = height - 0.5 * stem_.shape.length;
    const double height_of_bark = field_.height(along, angle);
    const double tapered = stem_.shape.radius * (1 - stem_.shape.taper * along / stem_.shape.length);
    const double radius =
        tapered * (1 + field_.trunk(along, angle) +
                   root_spread(stem_.flare, height, angle, stem_.shape.radius, stem_.shape.seed)) +
        stem_.shape.relief * (height_of_bark - 0.6);
    mesh_.position.emplace_back(axis(height) + radius * glm::dvec3(std::cos(angle), std::sin(angle), 0));
    mesh_.uv.emplace_back(std::clamp(height_of_bark, 0.0, 1.0), 0);
    // Algae keep to one side of a stem, and to its foot.
    const double damp = 0.45 * std::cos(angle - 2.0) + 0.5 * std::exp(-std::max(height, 0.0) / 350);
    mesh_.tint.emplace_back(field_.tint(along, angle, damp));
  }

  void close(double height, std::uint32_t ring, bool reversed) {
    mesh_.position.emplace_back(axis(height));
    mesh_.tint.emplace_back(0.6f);
    mesh_.uv.emplace_back(0.5f, 1);
    add_fan(mesh_, static_cast<std::uint32_t>(mesh_.position.size() - 1), ring, stem_.columns, part_,
            reversed);
  }

  Mesh& mesh_;
  const Stem& stem_;
  BarkField field_;
  std::uint32_t part_;
};

// Where the stems of a stand are, mm: one in each strip of its width, so that they neither merge into a wall
// nor leave a great gap, each at that depth out of a few at which it is farthest from those before it.
std::vector<glm::dvec2> stand_places(const KeyValues& values, int count, Random& random) {
  const double width = 1e3 * number(values, "stand_width_m"), depth = 1e3 * number(values, "stand_depth_m");
  const double fan = number(values, "stand_fan");
  const double clear_width = 1e3 * number(values, "clear_width_m");
  const double clear_depth = 1e3 * number(values, "clear_depth_m");
  std::vector<glm::dvec2> places;
  for (int i = 0; i < count; ++i) {
    const double strip = (i + random.between(0.1, 0.9)) / count - 0.5;
    glm::dvec2 best(0);
    double farthest = -1;
    constexpr int tries = 6;
    for (int k = 0; k < tries; ++k) {
      const double back = depth * std::sqrt(random.unit());  // as many to each area of a stand that widens
      const glm::dvec2 place(strip * (width + fan * back), back - 0.5 * depth);
      if (back < clear_depth && std::abs(place.x) < 0.5 * clear_width) continue;
      double nearest = 1e12;
      for (const glm::dvec2& other : places) nearest = std::min(nearest, glm::distance(place, other));
      if (nearest <= farthest) continue;
      farthest = nearest;
      best = place;
    }
    if (farthest >= 0) places.push_back(best);
  }
  if (places.empty())
    throw Refusal("the stand has no place left for a stem: make clear_width_m or clear_depth_m smaller");
  return places;
}

Stem stem_of(const KeyValues& values, std::uint32_t seed) {
  Stem stem;
  stem.shape.length = 1e3 * number(values, "height_m");
  stem.shape.radius = 0.5 * number(values, "diameter_mm");
  stem.shape.relief = number(values, "bark_relief_mm");
  stem.shape.plate = number(values, "plate_mm");
  stem.shape.taper = 0.25;
  stem.shape.bark = bark_form(text(values, "bark"));
  stem.shape.age = number(values, "age");
  stem.shape.seed = seed;
  stem.flare = number(values, "root_flare");
  return stem;
}

void grow(Mesh& mesh, Stem stem, bool far, const Setting& setting) {
  LogShape& shape = stem.shape;
  shape.relief = std::min(shape.relief, 0.3 * shape.radius);
  shape.plate = std::min(shape.plate, 2 * shape.radius);
  shape.bend = 0.25 * shape.radius;
  stem.ground = 1e3 * ground_at(setting, 1e-3 * stem.base.x, 1e-3 * stem.base.y);
  shape.pixel = 1e3 * pixel_at(setting, 1e-3 * glm::dvec3(stem.base, stem.ground));
  const double cell = std::max(far ? 18.0 : 6.0, 3 * shape.pixel);
  stem.columns = std::clamp(static_cast<int>(2 * pi * shape.radius / cell), 16, far ? 60 : 150);
  stem.rows = std::clamp(static_cast<int>(shape.length / (4 * cell)), 40, far ? 64 : 150);
  StemBuilder(mesh, stem).build();
}

Mesh build(const KeyValues& values, const Setting& setting) {
  const std::uint32_t seed = seed_of(values);
  const int count = whole(values, "count");
  Random random(hash_bits(seed, 0x7ba1u));
  const double lean = std::tan(number(values, "lean_deg") * pi / 180);
  Mesh mesh;
  if (count == 1) {
    Stem stem = stem_of(values, hash_bits(seed, 1));
    stem.lean = {lean, 0};
    grow(mesh, stem, false, setting);
  } else {
    for (const glm::dvec2& place : stand_places(values, count, random)) {
      Stem stem = stem_of(values, random.bits());
      // Most stems are thin, a few are twice as thick.
      stem.shape.radius *= mix(0.42, 1.9, random.unit() * random.unit());
      stem.base = place;
      const double towards = random.between(0, 2 * pi);
      stem.lean = random.spread() * lean * glm::dvec2(std::cos(towards), std::sin(towards));
      grow(mesh, stem, true, setting);
    }
  }
  smooth_normals(mesh);
  scale_mesh(mesh, 1e-3f);
  if (!mesh.parts.empty()) {
    mesh.parts.front().pattern = bark_pattern(stem_of(values, seed).shape);
    mesh.parts.front().pattern.upright = true;
  }
  balance_tints(mesh, trunk_parts());
  return mesh;
}

}  // namespace

Kind trunk_kind() {
  return {
      "trunk",
      "a standing stem with rough bark and spreading roots; alone or a stand of them",
      {bark_key("ridged"), number_key("height_m", "5", 0.2, 40, "of the stem above the ground"),
       number_key("diameter_mm", "280", 15, 2000, "at half height, over the bark; in a stand the mean"),
       number_key("bark_relief_mm", "8", 0, 60, "from the furrows to the tops of the plates"),
       number_key("plate_mm", "26", 4, 200, "width of a plate of bark"),
       number_key("root_flare", "0.6", 0, 2, "how far the roots spread at the ground, in radii"),
       number_key("lean_deg", "2", -45, 45, "off the vertical, to the right; in a stand to any side"),
       integer_key("count", "1", 1, 200, "stems; above 1 a stand, spread over its width and depth"),
       number_key("stand_width_m", "4", 0.1, 40, "width of a stand"),
       number_key("stand_depth_m", "3", 0, 40, "depth of a stand"),
       number_key("stand_fan", "0", 0, 4,
                  "how much wider a stand grows for each m farther back; 24/16 for a 16 mm lens on 24 mm"),
       number_key("clear_width_m", "0", 0, 40, "no stem within this width round the middle of a stand,"),
       number_key("clear_depth_m", "0", 0, 40, "over this depth from its front"),
       number_key("age", "0.5", 0, 1, "0 young .. 1 old: algae, lichen"), seed_key()},
      trunk_parts(),
      build};
}

}  // namespace undercap
