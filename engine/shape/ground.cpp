#include "engine/shape/ground.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double fine_spacing_m = 0.004;
constexpr double fine_reach_m = 0.4;
constexpr double growth = 1.12;  // of the spacing, cell by cell, beyond the fine field

// Places of the grid lines along one axis: even near the origin, then farther and farther apart.
std::vector<double> grid_lines(double half_size_m) {
  std::vector<double> outwards;
  double spacing = fine_spacing_m;
  for (double at = spacing; at < half_size_m - 0.5 * spacing; at += spacing) {
    outwards.push_back(at);
    if (at > fine_reach_m) spacing *= growth;
  }
  outwards.push_back(half_size_m);
  std::vector<double> lines(outwards.rbegin(), outwards.rend());
  for (double& line : lines) line = -line;
  lines.push_back(0);
  lines.insert(lines.end(), outwards.begin(), outwards.end());
  return lines;
}

// Damp soil under old litter, paler where it is dry: the slow changes. Crumbs and fragments are the
// pattern's.
glm::vec3 soil_tint(double x_m, double y_m, std::uint32_t seed) {
  const glm::dvec2 place(x_m, y_m);
  const glm::dvec2 bend(fbm(place / 0.035, 2, seed + 11), fbm(place / 0.035, 2, seed + 12));
  const glm::dvec2 bent = place + 0.016 * bend;
  // The grid grows coarse outwards; what is finer than its cells would only make streaks.
  const double far = std::max(std::abs(x_m), std::abs(y_m));
  const double patches = fbm(bent / 0.30, 3, seed + 13);
  const double lumps = fbm(bent / 0.045, 2, seed + 14) * ramp(1.3, 0.45, far);
  const double swathes = fbm(place / 1.1, 2, seed + 17) * ramp(9, 3, far);
  const double level = 1 + 0.25 * swathes + 0.40 * patches * ramp(4, 1.5, far) + 0.35 * lumps;
  const double damp = ramp(-0.1, 0.4, patches - 0.4 * lumps);
  return std::max(level, 0.25) * mix(glm::dvec3(1.08, 0.98, 0.88), glm::dvec3(0.96, 0.98, 0.98), damp);
}

Pattern soil_pattern(std::uint32_t seed) { return {.kind = PatternKind::soil, .seed = seed, .size_mm = 8}; }

Mesh flat_square(double half_size_m, std::uint32_t seed) {
  const auto h = static_cast<float>(half_size_m);
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("surface");
  mesh.position = {{-h, -h, 0}, {h, -h, 0}, {h, h, 0}, {-h, h, 0}};
  mesh.normal.assign(4, glm::vec3(0, 0, 1));
  mesh.triangle = {{0, 1, 2, part}, {0, 2, 3, part}};
  mesh.parts[part].pattern = soil_pattern(seed);
  return mesh;
}

}  // namespace

double ground_height_m(const GroundShape& ground, double x_m, double y_m) {
  if (ground.relief_mm == 0) return 0;
  // Swells, hummocks, roots and crumbs. The sizes sum to 2, and no octave goes beyond its own, so the height
  // stays within twice the relief.
  constexpr struct {
    double wavelength_m, size;
  } octaves[] = {{2.3, 1.02}, {0.52, 0.64}, {0.19, 0.24}, {0.06, 0.10}};
  double sum = 0;
  std::uint32_t number = 0;
  for (const auto& octave : octaves) {
    const std::uint32_t seed = hash_bits(ground.seed, ++number);
    // Offset, so that the zeros of all octaves do not meet at the origin.
    const glm::dvec2 place(x_m / octave.wavelength_m + 0.37, y_m / octave.wavelength_m + 0.41);
    sum += octave.size * gradient_noise(place, seed);
  }
  return 1e-3 * ground.relief_mm * sum;
}

Mesh build_ground(const GroundShape& ground) {
  if (ground.relief_mm == 0) return flat_square(0.5 * ground.size_m, ground.seed);
  const std::vector<double> lines = grid_lines(0.5 * ground.size_m);
  const auto count = static_cast<int>(lines.size());
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("surface");
  mesh.position.reserve(lines.size() * lines.size());
  mesh.tint.reserve(lines.size() * lines.size());
  for (const double y : lines) {
    for (const double x : lines) {
      mesh.position.emplace_back(x, y, ground_height_m(ground, x, y));
      mesh.tint.push_back(soil_tint(x, y, ground.seed));
    }
  }
  mesh.parts[part].pattern = soil_pattern(ground.seed);
  add_grid_triangles(mesh, {0, count, count, false}, part);
  smooth_normals(mesh);
  balance_tint(mesh, "surface", 1.99f);
  return mesh;
}

}  // namespace undercap
