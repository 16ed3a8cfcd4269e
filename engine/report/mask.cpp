#include "engine/report/mask.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>

namespace undercap {
namespace {

// Cells around the area that stay empty, so that neither growing by one nor shrinking again meets an edge.
constexpr int margin = 3;
static_assert(Mask::edge_cells == 2 * margin + 1);

double cross(const glm::dvec2& a, const glm::dvec2& b) { return a.x * b.y - a.y * b.x; }

double from_line(const glm::dvec2& place, const glm::dvec2& a, const glm::dvec2& b) {
  const glm::dvec2 line = b - a;
  const double square = glm::dot(line, line);
  const double along = square > 0 ? std::clamp(glm::dot(place - a, line) / square, 0.0, 1.0) : 0;
  return glm::distance(place, a + along * line);
}

// Douglas & Peucker 1973, on the corners from 'first' to 'last'; keeps neither of the two.
void keep_corners(const std::vector<glm::dvec2>& ring, std::size_t first, std::size_t last, double tolerance,
                  std::vector<glm::dvec2>& kept) {
  double furthest = tolerance;
  std::size_t corner = first;
  for (std::size_t i = first + 1; i < last; ++i) {
    const double distance = from_line(ring[i], ring[first], ring[last % ring.size()]);
    if (distance <= furthest) continue;
    furthest = distance;
    corner = i;
  }
  if (corner == first) return;
  keep_corners(ring, first, corner, tolerance, kept);
  kept.push_back(ring[corner]);
  keep_corners(ring, corner, last, tolerance, kept);
}

// Each corner drawn a quarter of the way to its neighbours' middle, twice: the steps of a raster go, a wave
// of ten cells keeps its place to a tenth of a cell.
void smooth(std::vector<glm::dvec2>& ring) {
  const std::size_t count = ring.size();
  for (int round = 0; round < 2; ++round) {
    const std::vector<glm::dvec2> before = ring;
    for (std::size_t i = 0; i < count; ++i)
      ring[i] = (before[(i + count - 1) % count] + 2.0 * before[i] + before[(i + 1) % count]) / 4.0;
  }
}

}  // namespace

std::vector<glm::dvec2> simplified(const std::vector<glm::dvec2>& ring, double tolerance) {
  if (ring.size() < 4) return ring;
  std::size_t opposite = 0;
  for (std::size_t i = 1; i < ring.size(); ++i)
    if (glm::distance(ring[i], ring[0]) > glm::distance(ring[opposite], ring[0])) opposite = i;
  std::vector<glm::dvec2> kept{ring[0]};
  keep_corners(ring, 0, opposite, tolerance, kept);
  kept.push_back(ring[opposite]);
  keep_corners(ring, opposite, ring.size(), tolerance, kept);
  return kept;
}

double signed_area(const std::vector<glm::dvec2>& ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) twice += cross(ring[i], ring[(i + 1) % ring.size()]);
  return twice / 2;
}

Mask::Mask(const glm::dvec2& low, const glm::dvec2& high, int most_cells, double finest_cell) {
  const glm::dvec2 extent = high - low;
  cell_ = std::max(std::max(extent.x, extent.y) / (most_cells - edge_cells), finest_cell);
  corner_ = low - margin * cell_;
  columns_ = static_cast<int>(extent.x / cell_) + edge_cells;
  rows_ = static_cast<int>(extent.y / cell_) + edge_cells;
  marked_.assign(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_), 0);
}

void Mask::raise(const glm::dvec2& cells, std::uint8_t to) {
  const int column = static_cast<int>(std::floor(cells.x)), row = static_cast<int>(std::floor(cells.y));
  if (column < margin || row < margin || column >= columns_ - margin || row >= rows_ - margin) return;
  std::uint8_t& cell = marked_[index(column, row)];
  cell = std::max(cell, to);
}

void Mask::cover(const glm::dvec2& place) { raise((place - corner_) / cell_, covered); }

void Mask::cover_triangle(const glm::dvec2& a, const glm::dvec2& b, const glm::dvec2& c) {
  const std::array<glm::dvec2, 3> p{(a - corner_) / cell_, (b - corner_) / cell_, (c - corner_) / cell_};
  const glm::dvec2 low = glm::min(p[0], glm::min(p[1], p[2])), high = glm::max(p[0], glm::max(p[1], p[2]));
  const double area = cross(p[1] - p[0], p[2] - p[0]);
  const int first_row = std::max(margin, static_cast<int>(std::floor(low.y))),
            last_row = std::min(rows_ - margin - 1, static_cast<int>(std::floor(high.y))),
            first_column = std::max(margin, static_cast<int>(std::floor(low.x))),
            last_column = std::min(columns_ - margin - 1, static_cast<int>(std::floor(high.x)));
  for (int row = first_row; row <= last_row && area != 0; ++row)
    for (int column = first_column; column <= last_column; ++column) {
      const glm::dvec2 middle(column + 0.5, row + 0.5);
      bool inside = true;
      for (std::size_t i = 0; i < 3 && inside; ++i)
        inside = cross(p[(i + 1) % 3] - p[i], middle - p[i]) * area >= 0;
      if (inside) marked_[index(column, row)] = covered;
    }

  raise((p[0] + p[1] + p[2]) / 3.0, touched);
  if (high.x - low.x < 1 && high.y - low.y < 1) return;
  // From the middle of the shortest side to the corner across: inside all the way.
  std::size_t shortest = 0;
  for (std::size_t i = 1; i < 3; ++i)
    if (glm::distance(p[i], p[(i + 1) % 3]) < glm::distance(p[shortest], p[(shortest + 1) % 3])) shortest = i;
  const glm::dvec2 from = (p[shortest] + p[(shortest + 1) % 3]) / 2.0, to = p[(shortest + 2) % 3];
  const double length = glm::distance(from, to);
  if (std::abs(area) > 2 * length) return;  // as wide as two cells: it holds middles enough
  // Beyond the raster nothing is marked, so a long sliver may be walked in coarser steps.
  const int steps = std::min(static_cast<int>(2 * length) + 1, 4 * (columns_ + rows_));
  for (int i = 0; i <= steps; ++i) raise(glm::mix(from, to, (i + 0.5) / (steps + 1)), touched);
}

void Mask::settle() {
  std::vector<std::uint8_t> before = marked_;
  // Beside the edge of a body three cells are covered; along a blade there is one before it and one after.
  const auto is_of_a_blade = [&](int column, int row) {
    int beside = 0;
    for (int y = row - 1; y <= row + 1; ++y)
      for (int x = column - 1; x <= column + 1; ++x) beside += before[index(x, y)] == covered;
    return beside <= 2;
  };
  for (int row = 1; row < rows_ - 1; ++row)
    for (int column = 1; column < columns_ - 1; ++column)
      if (before[index(column, row)] == touched)
        marked_[index(column, row)] = is_of_a_blade(column, row) ? covered : 0;
  // Grown by one cell all around, then shrunk by one.
  for (const std::uint8_t grown : {covered, std::uint8_t{0}}) {
    before = marked_;
    for (int row = 1; row < rows_ - 1; ++row)
      for (int column = 1; column < columns_ - 1; ++column) {
        if (before[index(column, row)] != grown) continue;
        for (int y = row - 1; y <= row + 1; ++y)
          for (int x = column - 1; x <= column + 1; ++x) marked_[index(x, y)] = grown;
      }
  }
}

std::vector<glm::dvec2> Mask::follow(std::vector<std::uint8_t>& seen, int column, int row) const {
  // Along the sides of cells, from corner to corner, what is marked at the left hand. Directions: +x +y -x
  // -y.
  constexpr std::array<int, 4> step_x{1, 0, -1, 0}, step_y{0, 1, 0, -1};
  constexpr std::array<int, 4> left_x{0, -1, -1, 0}, left_y{0, 0, -1, -1};
  std::vector<glm::dvec2> ring;
  int x = column, y = row;
  std::size_t way = 0;
  do {
    if (way == 0) seen[index(x, y)] = 1;
    ring.emplace_back(corner_.x + cell_ * (x + step_x[way] / 2.0),
                      corner_.y + cell_ * (y + step_y[way] / 2.0));
    x += step_x[way];
    y += step_y[way];
    // The cells ahead of this corner: at the right hand lies what is at the left of a right turn.
    const std::size_t rightward = (way + 3) % 4;
    if (is_marked(x + left_x[rightward], y + left_y[rightward]))
      way = rightward;
    else if (!is_marked(x + left_x[way], y + left_y[way]))
      way = (way + 1) % 4;
  } while (x != column || y != row || way != 0);
  return ring;
}

std::vector<std::vector<glm::dvec2>> Mask::contours() const {
  const double marked_area =
      static_cast<double>(std::count(marked_.begin(), marked_.end(), covered)) * cell_ * cell_;
  std::vector<std::vector<glm::dvec2>> rings;
  std::vector<std::uint8_t> seen(marked_.size(), 0);
  for (int row = 1; row < rows_ - 1; ++row)
    for (int column = 1; column < columns_ - 1; ++column) {
      if (!is_marked(column, row) || is_marked(column, row - 1) || seen[index(column, row)]) continue;
      std::vector<glm::dvec2> ring = follow(seen, column, row);
      const double area = signed_area(ring);
      if (area < 0 ? -area < marked_area / 50 : area < marked_area / 500) continue;
      smooth(ring);
      rings.push_back(simplified(ring, 0.3 * cell_));
    }
  return rings;
}

}  // namespace undercap
