// A raster of marked cells and the outline of what is marked: silhouettes. Private to the module.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <vector>

namespace undercap {

class Mask {
 public:
  // Covers an area with square cells, at most 'most_cells' a side and none under 'finest_cell' wide.
  Mask(const glm::dvec2& low, const glm::dvec2& high, int most_cells, double finest_cell);

  double cell() const { return cell_; }

  // Marks the cell that holds a place.
  void mark(const glm::dvec2& place);
  // Marks cells that hold some of a triangle's inside: every cell whose middle lies in it, and of a triangle
  // too thin or small to hold middles enough, cells along it. What lies outside the area is left out.
  void mark_triangle(const glm::dvec2& a, const glm::dvec2& b, const glm::dvec2& c);

  // Fills gaps up to two cells wide: between the shoots of a cushion, between gills.
  void close_gaps();

  // Closed rings within a cell of the edge of what is marked, simplified, outer ones counter-clockwise. Holes
  // smaller than a fiftieth of what is marked are left out.
  std::vector<std::vector<glm::dvec2>> contours() const;

 private:
  std::size_t index(int column, int row) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns_) +
           static_cast<std::size_t>(column);
  }
  bool is_marked(int column, int row) const { return marked_[index(column, row)] != 0; }
  void mark_cell(const glm::dvec2& cells);
  std::vector<glm::dvec2> follow(std::vector<std::uint8_t>& seen, int column, int row) const;

  glm::dvec2 corner_;  // where cell (0, 0) begins; columns go along x, rows along y
  double cell_;
  int columns_, rows_;
  std::vector<std::uint8_t> marked_;  // the outermost cells never are
};

// A closed ring with fewer corners, none of its own further than 'tolerance' from it.
std::vector<glm::dvec2> simplified(const std::vector<glm::dvec2>& ring, double tolerance);

// Positive when it runs counter-clockwise with y up.
double signed_area(const std::vector<glm::dvec2>& ring);

}  // namespace undercap
