// Where the mushrooms of a cluster stand and how they differ: a tuft from joined bases, or a loose troop.
#pragma once

#include <vector>

#include "engine/shape/cap.h"

namespace undercap {

struct Individual {
  MushroomShape shape;
  glm::dvec2 base{0};  // mm, from the prop's origin
};

// 'model' is the largest; the others are smaller and younger. Bases lie within 'spread' mm of the origin; the
// caps are moved apart until none enters another.
std::vector<Individual> arrange_cluster(const MushroomShape& model, int count, double spread);

}  // namespace undercap
