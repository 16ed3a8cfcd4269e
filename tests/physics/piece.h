// A square piece of a picture, its place and size in millimetres on the sensor, as luminance; and a small
// emitter to look at.
#pragma once

#include <string>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

struct Piece {
  int side_px = 0;
  double pixel_mm = 0;
  std::vector<double> luminance;
  // From the piece's middle, rightward of a column and downward of a row.
  double x_mm(int column) const { return (column + 0.5 - side_px / 2.0) * pixel_mm; }
};

// 'x_mm' to the right of the middle of the sensor, as the picture shows it.
Piece take_piece(const World& world, double side_mm, int side_px, unsigned samples, double x_mm = 0);

// Lines of a scene: a disc that faces the camera along y.
std::string emitter(const std::string& name, double x_mm, double behind_mm, double diameter_mm,
                    double luminance);

}  // namespace undercap
