#include "engine/world/canopy.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <glm/trigonometric.hpp>

namespace undercap {
namespace {

// Common practice, no source: sprays of leaves some 20 cm wide, and holes between crowns of some 1.4 m, which
// take up a third.
constexpr double spray_m = 0.2, hole_m = 1.4, holes = 0.33;

// Three chances of a cell of a lattice, even in 0..1. The mixer is D. Stafford's thirteenth variant of the
// last step of MurmurHash3 (from memory).
glm::dvec3 chances(std::int64_t x, std::int64_t y, std::uint64_t salt) {
  const auto mixed = [](std::uint64_t v) {
    v = (v ^ v >> 30) * 0xbf58476d1ce4e5b9u;
    v = (v ^ v >> 27) * 0x94d049bb133111ebu;
    return v ^ v >> 31;
  };
  std::uint64_t state = mixed(salt + 0x9e3779b97f4a7c15u);
  state = mixed(state ^ static_cast<std::uint64_t>(x));
  state = mixed(state ^ static_cast<std::uint64_t>(y) * 0x9e3779b97f4a7c15u);
  const auto part = [&](int shift) {
    return static_cast<double>(state >> shift & 0x1fffffu) / static_cast<double>(0x200000);
  };
  return {part(0), part(21), part(42)};
}

// The patch a place belongs to is that of the nearest point, one to each cell of a lattice (Worley 1996, 'A
// Cellular Texture Basis Function'). Returns the patch's chances: .z is the one no outline depends on.
glm::dvec3 patch(const glm::dvec2& place_m, double size_m, std::uint64_t salt) {
  const glm::dvec2 at = place_m / size_m, cell = glm::floor(at);
  double nearest = 1e30;
  glm::dvec3 found(0);
  for (int j = -1; j <= 1; ++j)
    for (int i = -1; i <= 1; ++i) {
      const glm::dvec2 corner = cell + glm::dvec2(i, j);
      const glm::dvec3 c =
          chances(static_cast<std::int64_t>(corner.x), static_cast<std::int64_t>(corner.y), salt);
      const glm::dvec2 off = corner + glm::dvec2(c) - at;
      if (const double distance = glm::dot(off, off); distance < nearest) {
        nearest = distance;
        found = c;
      }
    }
  return found;
}

// Even in 0..1 at every place, over all seeds: a hole's chance where the large patch says so, else a spray's.
double cover(const glm::dvec2& place_m, std::uint64_t seed) {
  const double large = patch(place_m, hole_m, 2 * seed).z;
  return large < holes ? large / holes : patch(place_m, spray_m, 2 * seed + 1).z;
}

}  // namespace

std::optional<LeafLayer> LeafLayer::of(const Canopy& canopy) {
  if (!canopy.any()) return std::nullopt;
  return LeafLayer(canopy);
}

bool LeafLayer::open_at(const glm::dvec2& place_m, double sine_elevation) const {
  if (one_hole()) return glm::length(place_m) <= canopy_.height_m * std::tan(glm::radians(canopy_.gap_deg));
  return cover(place_m, static_cast<std::uint64_t>(canopy_.seed)) <
         gap_fraction(canopy_.leaf_area_index, canopy_.clumping, sine_elevation);
}

bool LeafLayer::open(const glm::dvec3& d) const {
  if (one_hole()) return d.z >= std::cos(glm::radians(canopy_.gap_deg));
  // A direction close to the horizon meets the layer far away, and hardly a gap.
  const double sine = std::max(d.z, 1e-3);
  return open_at(glm::dvec2(d) * (canopy_.height_m / sine), sine);
}

glm::dvec3 LeafLayer::passed_on(double sine_elevation) const {
  if (one_hole()) return glm::dvec3(0);
  const double sine = std::max(sine_elevation, 1e-3);
  const double gap = gap_fraction(canopy_.leaf_area_index, canopy_.clumping, sine);
  return (canopy_transmission(canopy_.leaf, canopy_.leaf_area_index, canopy_.clumping, sine) - gap) /
         (1 - gap);
}

glm::dvec3 LeafLayer::scattered(double sine_elevation) const {
  if (one_hole() || sine_elevation <= 0) return glm::dvec3(0);
  return sine_elevation *
         (canopy_transmission(canopy_.leaf, canopy_.leaf_area_index, canopy_.clumping, sine_elevation) -
          gap_fraction(canopy_.leaf_area_index, canopy_.clumping, sine_elevation));
}

GapLayer LeafLayer::gaps(const glm::dvec3& sun) const {
  if (sun.z <= 0) return {};
  constexpr int side = 1024;
  // Two centimetres, against a sun that blurs over 9 mm for each metre; a hole's plane shows all of it.
  const double hole = canopy_.height_m * std::tan(glm::radians(canopy_.gap_deg));
  const glm::dvec2 crossing = glm::dvec2(sun) * (canopy_.height_m / sun.z);
  // The layer repeats; no ray from within 20 m of the origin may meet the hole a second time.
  const double width_m = one_hole() ? std::max(2.5 * hole + 40, glm::length(crossing) + hole + 20) : 20.48;
  GapLayer layer{.height_m = canopy_.height_m,
                 .corner_m = (one_hole() ? glm::dvec2(0) : crossing) - width_m / 2,
                 .cell_m = width_m / side,
                 .side = side,
                 .open = {}};
  layer.open.reserve(static_cast<std::size_t>(side * side));
  for (int row = 0; row < side; ++row)
    for (int column = 0; column < side; ++column)
      layer.open.push_back(open_at(layer.corner_m + (glm::dvec2(column, row) + 0.5) * layer.cell_m, sun.z));
  return layer;
}

}  // namespace undercap
