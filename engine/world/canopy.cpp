#include "engine/world/canopy.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <glm/trigonometric.hpp>
#include <numbers>

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

// Common practice, no source: the wood as a ring 22 m away, stems every 1.6 m that take up a fifth of it,
// between them sprays of leaves some 30 cm wide.
constexpr double ring_sine = 0.342, ring_m = 22, stem_share = 0.2, ring_spray_m = 0.3;
constexpr int ring_stems = 86;

// Whether a direction meets a stem of the ring, and a chance of the stem's own. Turned as the seed says, so
// that over all seeds every direction meets one with the chance 'stem_share'.
struct RingPlace {
  bool stem = false;
  double chance = 0;
};
RingPlace ring_place(const glm::dvec3& d, std::uint64_t seed) {
  constexpr double turn = 2 * std::numbers::pi;
  const double at = (std::atan2(d.y, d.x) / turn + chances(0, 0, 2 * seed + 7).x) * ring_stems;
  const double strip = std::floor(at);
  const auto number = (static_cast<std::int64_t>(strip) % ring_stems + ring_stems) % ring_stems;
  const glm::dvec3 c = chances(number, 1, 2 * seed + 8);
  const double half = stem_share * (0.2 + 0.6 * c.x);  // half the mean width, more or less
  return {std::abs(at - strip - (half + (1 - 2 * half) * c.y)) < half, c.z};
}

// Even in 0..1 at every direction, over all seeds: stems have the chances that are open last.
double ring_cover(const glm::dvec3& d, std::uint64_t seed) {
  const RingPlace place = ring_place(d, seed);
  if (place.stem) return 1 - stem_share + stem_share * place.chance;
  const glm::dvec2 on_ring(std::atan2(d.y, d.x), d.z / std::sqrt(1 - d.z * d.z));
  return (1 - stem_share) * patch(ring_m * on_ring, ring_spray_m, 2 * seed + 9).z;
}

}  // namespace

std::optional<LeafLayer> LeafLayer::of(const Canopy& canopy) {
  if (!canopy.any()) return std::nullopt;
  return LeafLayer(canopy);
}

double LeafLayer::gap_share(double sine_elevation) const {
  return gap_fraction(canopy_.leaf_area_index, canopy_.clumping, sine_elevation);
}

bool LeafLayer::open_at(const glm::dvec2& place_m, double sine_elevation) const {
  if (one_hole()) return glm::length(place_m) <= canopy_.height_m * std::tan(glm::radians(canopy_.gap_deg));
  return cover(place_m, static_cast<std::uint64_t>(canopy_.seed)) < gap_share(sine_elevation);
}

bool LeafLayer::open(const glm::dvec3& d) const {
  if (one_hole()) return d.z >= std::cos(glm::radians(canopy_.gap_deg));
  // Close to the horizon there is hardly a gap.
  const double sine = std::max(d.z, 1e-3);
  if (sine < ring_sine) return ring_cover(d, static_cast<std::uint64_t>(canopy_.seed)) < gap_share(sine);
  return open_at(glm::dvec2(d) * (canopy_.height_m / sine), sine);
}

glm::dvec3 LeafLayer::passed_on(const glm::dvec3& d) const {
  if (one_hole()) return glm::dvec3(0);
  const double sine = std::max(d.z, 1e-3);
  const double gap = gap_share(sine), closed = 1 - gap;
  const glm::dvec3 mean =
      (canopy_transmission(canopy_.leaf, canopy_.leaf_area_index, canopy_.clumping, sine) - gap) / closed;
  // A stem is darker than the leaves beside it, as far as these can make up for it within half as much again.
  const double stems = std::min(stem_share, closed), leaves = closed - stems;
  if (sine >= ring_sine || leaves <= 0) return mean;
  constexpr double dark = 0.3, most = 1.5;
  const double of_leaves = std::min(most, (closed - dark * stems) / leaves);
  const double of_stems = (closed - of_leaves * leaves) / stems;
  return mean * (ring_place(d, static_cast<std::uint64_t>(canopy_.seed)).stem ? of_stems : of_leaves);
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
