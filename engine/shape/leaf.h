// A fallen leaf as an open sheet: outline, curl, and the colours of autumn. Lengths in mm.
//
// Leaf space: y along the midrib from the stalk (0) to the tip (length), x across, z up from the upper face.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <vector>

#include "engine/shape/mesh.h"

namespace undercap {

class Random;

// The outlines by the trade's terms: elliptic with a wavy margin; pinnately lobed; rhombic and toothed;
// palmate with five lobes; lanceolate. A scrap is a torn piece of any.
enum class LeafForm { elliptic, lobed, toothed, palmate, narrow, scrap };

struct LeafShape {
  LeafForm form = LeafForm::elliptic;
  double length = 60;
  double bend = 0, counter_bend = 0;  // rad over the length: an arc, and an S
  double tip_curl = 0;                // rad, of the last third
  double fold = 0;                    // rad, both halves up from the midrib
  double roll = 0;                    // rad, of the outer halves
  double twist = 0;                   // rad over the length
  double crinkle = 0.02;              // share of the length
  double wave = 0;                    // of the margin, share of the length
  int bites = 0;                      // torn or eaten out of the margin
  glm::dvec3 colour{0.25, 0.15, 0.085};
  double age = 0.5;  // 0 fresh fallen .. 1 dark and blotched
  std::uint32_t seed = 1;
};

// One grid of rows from the stalk, or several after each other: a palmate leaf has one a lobe.
struct LeafSheet {
  int rows = 0, columns = 0, blades = 1;
  std::vector<glm::dvec3> position;
  std::vector<glm::vec2> uv;  // as PatternKind::leaf reads it
  std::vector<glm::vec3> colour;
};

// A leaf such as one finds lying about, never palmate; 'flat' 0..1 takes the curl away. 'yellow' is the share
// of fresh yellow ones.
LeafShape fallen_leaf(Random& random, double length, double flat, double yellow);

// Curl, folds, waves and tears as a leaf has them after weeks on the floor, over what fallen_leaf gives.
void curl_up(LeafShape& shape, Random& random, double curl);

LeafSheet make_leaf(const LeafShape& shape, int rows, int columns);
// The triangles of a sheet whose positions begin at 'first', upper face in front.
void add_leaf_triangles(Mesh& mesh, const LeafSheet& sheet, std::uint32_t first, std::uint32_t part);

// The sheet with a stalk as a mesh with the one part 'leaf', smooth, its pattern set; the stalk is left out
// where the sheet has few rows.
Mesh leaf_mesh(const LeafShape& shape, int rows, int columns);

// Half the width at a share of the length, as a share of the length; 0 for palmate, which has no such number.
double leaf_half_width(const LeafShape& shape, double along);

}  // namespace undercap
