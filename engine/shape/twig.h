// Dead twigs, kinked tubes that branch, and crumbs; all closed. Lengths in mm; lies about the origin, first
// along x, flat on z = 0.
#pragma once

#include "engine/shape/mesh.h"

namespace undercap {

struct TwigShape {
  double length = 120;
  double radius = 1.6;
  int sides = 6;
  int orders = 2;  // 1 = no side twigs
  std::uint32_t seed = 1;
};

// One part 'twig', colours to be balanced.
Mesh make_twig(const TwigShape& shape);

// A crumb of soil, bark or rotten wood: an uneven octahedron, drawn out along x by 'stretch'. Part 'twig'.
Mesh make_crumb(double size, double stretch, std::uint32_t seed);

}  // namespace undercap
