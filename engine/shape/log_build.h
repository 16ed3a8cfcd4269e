// Builders of a log's surfaces, mm. The axis lies along x at z = 0; colours are balanced later.
#pragma once

#include <vector>

#include "engine/shape/bark.h"
#include "engine/shape/mesh.h"

namespace undercap {

// The tube's rows run from the left end to the right; columns round it from the top, closest at the upper
// front.
struct LogTube {
  int rows = 0, columns = 0;
  std::vector<double> angle;  // one a column
  Mesh mesh;                  // 'bark', with the places of its pattern; positions row by row, first at 0
};

LogTube build_log_tube(const LogShape& shape);

// Where the axis runs: its middle at x, y and z off the straight line.
glm::dvec3 log_axis(const LogShape& shape, double x);
// A direction about the axis: 0 is up, increasing towards -y (the front).
glm::dvec3 log_outward(double angle);

// Closes the tube with the two ends, 'wood'.
void add_log_ends(Mesh& mesh, const LogTube& tube, const LogShape& shape);

// The whole log in m, with normals and patterns.
Mesh build_log(const LogShape& shape);

// 'bark' and 'wood'.
std::vector<KindPart> log_parts();

}  // namespace undercap
