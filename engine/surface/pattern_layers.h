// A pattern as a renderer reads it: layers of noise, cells and ramps that are put on top of each other. The
// renderer has one loop over them and knows no cap and no bark; what a cap looks like is written here, once.
//
// A layer looks at a place: 'own' is the place in the prop's own space, mm; q is (cos, sin of the angle, v)
// where the layer turns round, else (u, v, e) with e = |2 v - 1|, the distance from a leaf's midrib. It adds
//   amount x source(place x own + along x q) + by_u u + by_v v + by_e e + by_up (height of the normal)
// to a running sum, and mostly ends the sum: mask = smoothstep(low, high, sum) x gate.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>
#include <vector>

#include "engine/surface/pattern.h"

namespace undercap {

struct PatternLayer {
  enum class Source : std::uint32_t {
    noise,   // gradient noise, mostly within -1..1
    points,  // distance to the nearest random point, one a cell
    edges,   // how much farther the second nearest is: 0 on the border between two
    spots,   // the distance less a chance 0..1 of the point: low only in some
    cells,   // the chance alone: one value for each cell
    wave     // a triangle wave, -1..1, of the sum of the three coordinates, period 1
  };
  enum class Does : std::uint32_t {
    add,   // the sum goes on
    gate,  // the mask is for the next layer that acts
    act,   // colour, transmission and height change by the mask
    damp,  // the sum says where it is wet or glossy first
    bend   // moves own and q of the layers after it by noise as a vector, and leaves the sum alone
  };
  Source source = Source::noise;
  Does does = Does::act;
  bool turns = false, covers = false;  // covers: 'colour' in place of what was there, not a factor on it
  glm::vec3 place{0};                  // per mm
  glm::vec3 along{0};
  float amount = 1, by_u = 0, by_v = 0, by_e = 0, by_up = 0;
  float low = -1, high = 1;  // low > high: falling
  glm::vec3 colour{1};       // factor on the material's, where the mask is 1
  float through = 1;         // further factor on what comes through
  float height_mm = 0;
  float bend_mm = 0, bend_along = 0;  // of own, and of q
};

// Of a part of this mean reflectance. A tone of 1 stands for the kind's usual second colour. Empty when
// nothing is to be seen. The pattern's seed is not in them.
std::vector<PatternLayer> pattern_layers(const Pattern& pattern, const glm::vec3& reflectance);

// Where water and gloss gather: patches of some 5 mm. 'from memory': look of damp leaves and caps.
std::vector<PatternLayer> damp_layers();

// Whether the kind's u is the share of a turn.
bool turns_round(PatternKind kind);

}  // namespace undercap
