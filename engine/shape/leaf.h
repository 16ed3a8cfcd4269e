// A fallen leaf as an open sheet: outline, curl, and the colours of autumn. Lengths in mm.
//
// Leaf space: y along the midrib from the stalk (0) to the tip (length), x across, z up from the upper face.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>
#include <vector>

namespace undercap {

class Random;

enum class LeafForm { wavy_oval, lobed, toothed, narrow, scrap };

struct LeafShape {
  LeafForm form = LeafForm::wavy_oval;
  double length = 60;
  double bend = 0, counter_bend = 0;  // rad over the length: an arc, and an S
  double fold = 0;                    // rad, both halves up from the midrib
  double roll = 0;                    // rad, of the outer halves
  double twist = 0;                   // rad over the length
  double crinkle = 0.02;              // share of the length
  glm::dvec3 colour{0.25, 0.15, 0.085};
  double age = 0.5;  // 0 fresh fallen .. 1 dark and blotched
  std::uint32_t seed = 1;
};

struct LeafSheet {
  int rows = 0, columns = 0;
  std::vector<glm::dvec3> position;  // row by row from the stalk
  std::vector<glm::vec3> colour;
};

// A leaf such as one finds lying about; 'flat' 0..1 takes the curl away. 'yellow' is the share of fresh
// yellow ones.
LeafShape fallen_leaf(Random& random, double length, double flat, double yellow);

LeafSheet make_leaf(const LeafShape& shape, int rows, int columns);

// Half the width at a share of the length, as a share of the length.
double leaf_half_width(const LeafShape& shape, double along);

}  // namespace undercap
