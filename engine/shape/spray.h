// Leafy shoots for what is seen from a few metres: a thin rod with leaves at its nodes, left and right in
// turn. Each leaf is a folded sheet of 12 triangles or fewer. Lengths in mm, z up.
#pragma once

#include <glm/vec3.hpp>
#include <vector>

#include "engine/shape/mesh.h"
#include "engine/shape/noise.h"

namespace undercap {

// A closed rod through the points, thinning evenly; two points or more.
void add_rod(Mesh& mesh, std::uint32_t part, const std::vector<glm::dvec3>& points, double radius_first,
             double radius_last, int sides, const glm::vec3& tint);

struct LeafColours {
  double yellow = 0.45, green = 0.3;  // shares; the rest is brown
};
// Linear RGB of a leaf still on its twig.
glm::dvec3 hanging_leaf_colour(Random& random, const LeafColours& shares);

struct Spray {
  glm::dvec3 start{0}, reach{0, 0, 1};  // to where the shoot would end without its weight
  double droop = 0;                     // how far its tip hangs lower than that
  double radius = 1.2;
  int leaves = 8;
  double leaf_length = 52;
  LeafColours colours{};
  bool small = false;  // seen so small that a leaf has 4 triangles
};

struct SprayParts {
  std::uint32_t leaf = 0, twig = 0;
};

// Its leaves and its rod, with tints to be balanced and the places of a leaf's pattern.
void add_spray(Mesh& mesh, const SprayParts& parts, const Spray& spray, Random& random);

// What the renderer draws on such leaves and twigs.
Pattern spray_leaf_pattern(double leaf_length, std::uint32_t seed);
Pattern spray_twig_pattern(std::uint32_t seed);

}  // namespace undercap
