// The kind 'grass': a tuft of blades, some green, some dead, each bent by its own weight.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::vector<KindPart> grass_parts() { return {part_of("blade", "grass", true)}; }

struct Blade {
  glm::dvec2 root{};
  double heading = 0, lean = 0, bend = 0, twist = 0;  // rad
  double length = 100, width = 2;
  double dead = 0;  // 0 green .. 1 straw
};

// A folded strip of three columns. It leaves the root by 'lean' from the upright and bends on towards the
// tip.
void add_blade(Mesh& mesh, const Blade& blade, double ground, int segments, std::uint32_t part) {
  const auto first = static_cast<std::uint32_t>(mesh.position.size());
  glm::dvec3 place(blade.root, ground - 3);
  const glm::dvec3 green(0.15, 0.20, 0.05), straw(0.42, 0.33, 0.17);
  for (int row = 0; row <= segments; ++row) {
    const double v = static_cast<double>(row) / segments;
    const double turn = blade.heading + blade.twist * v;
    const double down = blade.lean + blade.bend * std::pow(v, 1.6);
    const glm::dvec3 out(std::cos(blade.heading), std::sin(blade.heading), 0);
    const glm::dvec3 along = std::sin(down) * out + std::cos(down) * glm::dvec3(0, 0, 1);
    const glm::dvec3 across(-std::sin(turn), std::cos(turn), 0);
    const glm::dvec3 up = glm::cross(across, along);
    const double half = std::max(0.5 * blade.width * (1 - std::pow(v, 2.2)) * ramp(-0.3, 0.15, v), 0.02);
    // The dead colour comes down from the tip.
    const double dry = ramp(0.0, 0.35, blade.dead - 0.75 * (1 - v));
    for (const double side : {-1.0, 0.0, 1.0}) {
      const glm::dvec3 fold = (side == 0 ? -0.32 : 0.0) * half * up;
      mesh.position.emplace_back(place + side * half * across + fold);
      mesh.uv.emplace_back(0.5 + 0.5 * side, v);
      mesh.tint.emplace_back(mix(green, straw, dry) * mix(0.7, 1.1, ramp(0, 0.3, v)));
    }
    place += blade.length / segments * along;
  }
  add_grid_triangles(mesh, {first, segments + 1, 3, false}, part);
}

Mesh build_grass(const KeyValues& values, const Setting& setting) {
  const std::uint32_t seed = seed_of(values);
  const auto blades = whole(values, "blades");
  const double length = number(values, "length_mm"), width = number(values, "width_mm"),
               dead = number(values, "dead_share"), base = 0.5 * number(values, "base_mm"),
               splay = number(values, "splay");
  const double pixels = setting.pixel_m > 0 ? 1e-3 * length / setting.pixel_m : 1e9;
  const int segments = pixels > 250 ? 14 : pixels > 60 ? 8 : 4;
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("blade");
  for (int i = 0; i < blades; ++i) {
    Random random(hash_bits(seed, 0x6000000u + static_cast<std::uint32_t>(i)));
    Blade blade;
    const double q = std::sqrt((i + 0.5) / blades), angle = 2.399963 * i + 0.5 * random.spread();
    blade.root = base * q * glm::dvec2(std::cos(angle), std::sin(angle));
    blade.heading = angle + 0.6 * random.spread();
    blade.lean = splay * (0.08 + 0.40 * q) + 0.10 * random.spread();
    blade.bend = splay * random.between(0.15, 1.7) * (0.5 + 0.5 * q);
    blade.twist = 1.4 * random.spread();
    blade.length = length * random.between(0.45, 1.0);
    blade.width = width * random.between(0.6, 1.15);
    blade.dead = random.chance(dead) ? random.between(0.8, 1.4) : random.between(-0.3, 0.35);
    const double ground = 1e3 * ground_at(setting, 1e-3 * blade.root.x, 1e-3 * blade.root.y);
    add_blade(mesh, blade, ground, segments, part);
  }
  mesh.parts[part].pattern = {
      .kind = PatternKind::grass, .seed = seed, .size_mm = static_cast<float>(width), .lines = 7};
  smooth_normals(mesh);
  scale_mesh(mesh, 1e-3f);
  balance_tints(mesh, grass_parts());
  return mesh;
}

}  // namespace

Kind grass_kind() {
  return {"grass",
          "a tuft of grass, some of its blades dead",
          {number_key("length_mm", "130", 10, 900, "of the longest blades"),
           number_key("width_mm", "3.2", 0.3, 15, "of a blade in its lower half"),
           integer_key("blades", "18", 1, 400, "how many"),
           number_key("base_mm", "14", 0, 300, "width of the tuft at the ground"),
           number_key("splay", "1", 0, 2, "0 upright, 1 usual, 2 laid over"),
           number_key("dead_share", "0.3", 0, 1, "share of the blades that are straw"), seed_key()},
          grass_parts(),
          build_grass};
}

}  // namespace undercap
