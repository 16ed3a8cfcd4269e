// What lies on the ground so far, as a field of heights, so that the next leaf rests on it and not in it.
// Lengths in mm.
#pragma once

#include <functional>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <vector>

#include "engine/shape/mesh.h"

namespace undercap {

class LeafBed {
 public:
  // 'ground' gives the bare ground; the field covers the square within 'reach' of the origin, beyond it the
  // ground is all there is.
  LeafBed(std::function<double(double x, double y)> ground, double reach);

  double height(double x, double y) const;
  // The rise of what lies there for each mm in x and in y, over a leaf of this length.
  glm::dvec2 slope(const glm::dvec2& at, double length) const;
  // How far a body must be lifted so that this share of its positions stays beneath what lies there: a leaf
  // gives a little and pushes others aside. None goes deeper than 8 mm.
  double lift(const Mesh& body, double share_beneath) const;
  // A damp leaf gives: what stands far above the leaves below it sinks towards them, the more the
  // higher. The normals stay as they were.
  void let_sag(Mesh& body, double length) const;
  void cover(const Mesh& body);

 private:
  static constexpr double cell = 3.0;
  std::size_t index(int column, int row) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(count_) +
           static_cast<std::size_t>(column);
  }
  std::function<double(double, double)> ground_;
  double reach_;
  int count_;
  std::vector<float> top_;
};

}  // namespace undercap
