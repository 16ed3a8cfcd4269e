// A raster of covered cells and the outline of what is covered: silhouettes. Private to the module.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <vector>

namespace undercap {

class Mask {
 public:
  // How many of the cells of a side lie beside the area.
  static constexpr int edge_cells = 7;

  // Covers an area with square cells, at most 'most_cells' a side and none under 'finest_cell' wide.
  Mask(const glm::dvec2& low, const glm::dvec2& high, int most_cells, double finest_cell);

  double cell() const { return cell_; }

  // Covers the cell that holds a place.
  void cover(const glm::dvec2& place);
  // Covers every cell whose middle lies in a triangle. Of a triangle too thin or small to hold middles enough
  // the cells along it are touched. What lies outside the area is left out.
  void cover_triangle(const glm::dvec2& a, const glm::dvec2& b, const glm::dvec2& c);

  // Once all is covered: what is touched counts where little beside it is covered, as along a blade of grass,
  // so that the edge of a body stays where it is; gaps up to two cells wide are filled, between shoots of
  // moss.
  void settle();

  // Closed rings within a cell of the edge of what is marked, simplified, outer ones counter-clockwise. Holes
  // under a fiftieth and specks under a five-hundredth of all that is marked are left out.
  std::vector<std::vector<glm::dvec2>> contours() const;

 private:
  static constexpr std::uint8_t touched = 1, covered = 2;
  std::size_t index(int column, int row) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns_) +
           static_cast<std::size_t>(column);
  }
  bool is_marked(int column, int row) const { return marked_[index(column, row)] == covered; }
  void raise(const glm::dvec2& cells, std::uint8_t to);
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
