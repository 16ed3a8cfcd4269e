// The kind 'stone': a field stone, half sunk, its faces worn.
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

std::vector<KindPart> stone_parts() { return {part_of("stone", "stone", false)}; }

struct Face {
  glm::dvec3 normal{};
  double away = 1;
};

// A ball cut by planes, the corners rounded by a soft least distance.
class StoneShape {
 public:
  StoneShape(double roundness, std::uint32_t seed) : sharp_(mix(26.0, 5.0, roundness)), seed_(seed) {
    Random random(hash_bits(seed, 0x570u));
    for (Face& face : faces_) {
      face.normal = glm::normalize(glm::dvec3(random.spread(), random.spread(), random.spread()) + 1e-3);
      face.away = random.between(0.72, 1.0);
    }
    ridge_ = mix(1.0, 0.35, roundness);
  }

  // Distance from the middle, as a share of the half width.
  double reach(const glm::dvec3& towards) const {
    double sum = 1;
    for (const Face& face : faces_) {
      const double facing = std::max(glm::dot(towards, face.normal), 0.05);
      sum += std::pow(facing / face.away, sharp_);
    }
    const double cut = std::pow(sum, -1 / sharp_);
    const double lumps = 0.10 * fbm(1.6 * towards + 3.5, 3, seed_ + 1);
    const double grain = 0.035 * fbm(7.0 * towards, 3, seed_ + 2);
    const double crack = 0.05 * ramp(0.10, 0.0, std::abs(fbm(2.1 * towards - 5.5, 2, seed_ + 3)));
    return cut * (1 + lumps + ridge_ * (grain - crack));
  }

 private:
  Face faces_[11];
  double sharp_, ridge_ = 1;
  std::uint32_t seed_;
};

Mesh build_stone(const KeyValues& values, const Setting& setting) {
  const double half = 0.5 * number(values, "width_mm"), height = number(values, "height_mm");
  const std::uint32_t seed = seed_of(values);
  const StoneShape shape(number(values, "roundness"), seed);
  const double pixels = setting.pixel_m > 0 ? 2e-3 * half / setting.pixel_m : 1e9;
  const int columns = pixels > 250 ? 84 : pixels > 60 ? 48 : 24, rings = columns / 2 - 1;
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("stone");
  Random random(hash_bits(seed, 0x571u));
  const double narrow = random.between(0.68, 0.92);
  const auto add = [&](const glm::dvec3& towards) {
    const double reach = shape.reach(towards);
    mesh.position.emplace_back(
        reach * glm::dvec3(half * towards.x, narrow * half * towards.y, 0.62 * height * towards.z));
    mesh.tint.emplace_back(static_cast<float>(1 + 0.3 * fbm(2.5 * towards, 2, seed + 5)));
  };
  add({0, 0, -1});
  for (int ring = 1; ring <= rings; ++ring) {
    const double down = pi * ring / (rings + 1);
    for (int column = 0; column < columns; ++column) {
      const double angle = 2 * pi * column / columns;
      add({std::sin(down) * std::cos(angle), std::sin(down) * std::sin(angle), -std::cos(down)});
    }
  }
  add({0, 0, 1});
  add_grid_triangles(mesh, {1, rings, columns, true}, part);
  add_fan(mesh, 0, 1, columns, part, true);
  const auto top = static_cast<std::uint32_t>(mesh.position.size() - 1);
  add_fan(mesh, top, top - static_cast<std::uint32_t>(columns), columns, part);
  // Wide as stated, and standing out of the ground as high as stated.
  glm::vec3 low(1e9f), high(-1e9f);
  for (const glm::vec3& p : mesh.position) low = glm::min(low, p), high = glm::max(high, p);
  const double wide = 2 * half / static_cast<double>(high.x - low.x);
  const double middle = 0.5 * static_cast<double>(high.x + low.x);
  const double rise = height - static_cast<double>(high.z) + 1e3 * ground_at(setting, 0, 0);
  for (glm::vec3& p : mesh.position)
    p = glm::vec3(wide * (static_cast<double>(p.x) - middle), wide * static_cast<double>(p.y),
                  static_cast<double>(p.z) + rise);
  mesh.parts[part].pattern = {.kind = PatternKind::stone, .seed = seed, .size_mm = static_cast<float>(half)};
  smooth_normals(mesh);
  scale_mesh(mesh, 1e-3f);
  balance_tints(mesh, stone_parts());
  return mesh;
}

}  // namespace

Kind stone_kind() {
  return {"stone",
          "a worn field stone, its lower part in the ground",
          {number_key("width_mm", "90", 4, 2000, "along its x axis, which is the longest way"),
           number_key("height_mm", "40", 2, 1500, "that stands out of the ground"),
           number_key("roundness", "0.5", 0, 1, "0 split and angular, 1 a river pebble"), seed_key()},
          stone_parts(),
          build_stone};
}

}  // namespace undercap
