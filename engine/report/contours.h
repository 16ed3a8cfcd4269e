// Contour lines of a field on a regular grid: where it has a round value.
#pragma once

#include <glm/vec2.hpp>
#include <span>
#include <vector>

#include "engine/report/plot_ticks.h"

namespace undercap {

// Nodes row by row from low.y, in a row from low.x; the outermost ones lie on the edges. A node that is no
// finite number has no value.
struct FieldGrid {
  glm::dvec2 low{0}, high{0};  // m, drawing axes
  int across = 0, up = 0;      // nodes a row, and rows: two at least
  std::vector<double> value{};

  std::size_t index(int column, int row) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(across) +
           static_cast<std::size_t>(column);
  }
  glm::dvec2 place(int column, int row) const {
    return {low.x + (high.x - low.x) * column / (across - 1), low.y + (high.y - low.y) * row / (up - 1)};
  }
};

struct ContourLine {
  double level = 0;
  std::vector<glm::dvec2> points{};  // of a closed line the first is not repeated
  bool closed = false;
};

// Marching squares, Lorensen & Cline 1987 in two dimensions: a point on each side of a cell that the level
// crosses, by linear interpolation; of a saddle the mean of its corners says which sides are joined. What is
// at or above the level lies at the line's left hand (y up). Open lines end at the grid's edge or at a cell
// with a corner that has no value, where there is no line.
std::vector<ContourLine> contour_lines(const FieldGrid& field, std::span<const double> levels);

// Round levels within the range of the values above 0, as on a logarithmic axis: 1, 2 and 5 of each decade
// where that makes 'most' lines or fewer. None where no two values differ.
std::vector<Tick> round_levels(std::span<const double> values, int most = 8);

}  // namespace undercap
