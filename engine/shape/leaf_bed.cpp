#include "engine/shape/leaf_bed.h"

#include <algorithm>
#include <cmath>

#include "engine/shape/mesh_build.h"

namespace undercap {
namespace {

// A leaf that lies down reaches farther, so that it keeps its area, to 2 %: it widens in plan only.
void widen(Mesh& body, double area) {
  const auto factor = static_cast<float>(std::sqrt(area / surface_area(body)));
  glm::vec2 middle(0);
  for (const glm::vec3& p : body.position) middle += glm::vec2(p) / static_cast<float>(body.position.size());
  for (glm::vec3& p : body.position) {
    p.x = middle.x + factor * (p.x - middle.x);
    p.y = middle.y + factor * (p.y - middle.y);
  }
}

}  // namespace

LeafBed::LeafBed(std::function<double(double x, double y)> ground, double reach)
    : ground_(std::move(ground)), reach_(reach), count_(static_cast<int>(std::ceil(2 * reach / cell))) {
  top_.reserve(static_cast<std::size_t>(count_) * static_cast<std::size_t>(count_));
  for (int row = 0; row < count_; ++row)
    for (int column = 0; column < count_; ++column)
      top_.push_back(
          static_cast<float>(ground_((column + 0.5) * cell - reach_, (row + 0.5) * cell - reach_)));
}

double LeafBed::height(double x, double y) const {
  const int column = static_cast<int>(std::floor((x + reach_) / cell)),
            row = static_cast<int>(std::floor((y + reach_) / cell));
  if (column < 0 || row < 0 || column >= count_ || row >= count_) return ground_(x, y);
  return static_cast<double>(top_[index(column, row)]);
}

glm::dvec2 LeafBed::slope(const glm::dvec2& at, double length) const {
  const double step = 0.3 * length;
  glm::dvec2 sum(0);
  for (const double side : {-0.6, 0.0, 0.6}) {
    sum.x += height(at.x + step, at.y + side * step) - height(at.x - step, at.y + side * step);
    sum.y += height(at.x + side * step, at.y + step) - height(at.x + side * step, at.y - step);
  }
  return sum / (6 * step);
}

double LeafBed::lift(const Mesh& body, double share_beneath) const {
  std::vector<double> gap;
  gap.reserve(body.position.size());
  for (const glm::vec3& p : body.position) {
    const auto x = static_cast<double>(p.x), y = static_cast<double>(p.y);
    gap.push_back(static_cast<double>(p.z) - height(x, y));
  }
  constexpr double deepest = 8;
  const double least = *std::min_element(gap.begin(), gap.end());
  const auto nth = gap.begin() + static_cast<std::ptrdiff_t>(share_beneath * static_cast<double>(gap.size()));
  std::nth_element(gap.begin(), nth, gap.end());
  return -std::min(*nth, least + deepest);
}

void LeafBed::let_sag(Mesh& body, double length) const {
  const double area = surface_area(body);
  // Of what lies below, only what is wider than a quarter of the leaf shapes it.
  const double step = 0.12 * length;
  constexpr double free_mm = 3, share = 0.55;
  for (glm::vec3& p : body.position) {
    double below = 0;
    for (int i = -1; i <= 1; ++i)
      for (int j = -1; j <= 1; ++j)
        below += height(static_cast<double>(p.x) + i * step, static_cast<double>(p.y) + j * step) / 9;
    const double gap = static_cast<double>(p.z) - below;
    // Smooth where it sets in, so that no crease shows.
    if (gap > free_mm) p.z -= static_cast<float>(share * (gap - free_mm) * (gap - free_mm) / gap);
  }
  widen(body, area);
}

void LeafBed::cover(const Mesh& body) {
  // A leaf on edge carries none on its tip: they push it over.
  constexpr float most_rise = 7;
  for (const MeshTriangle& one : body.triangle) {
    const glm::dvec3 a(body.position[one.a]), b(body.position[one.b]), c(body.position[one.c]);
    const auto from = [&](double low) { return static_cast<int>(std::floor((low + reach_) / cell)); };
    const int left = std::max(from(std::min({a.x, b.x, c.x})), 0),
              right = std::min(from(std::max({a.x, b.x, c.x})), count_ - 1),
              front = std::max(from(std::min({a.y, b.y, c.y})), 0),
              back = std::min(from(std::max({a.y, b.y, c.y})), count_ - 1);
    // The triangles of a leaf are not much larger than a cell: its mean height stands for it.
    const auto middle = static_cast<float>((a.z + b.z + c.z) / 3);
    for (int row = front; row <= back; ++row)
      for (int column = left; column <= right; ++column) {
        float& top = top_[index(column, row)];
        top = std::max(top, std::min(middle, top + most_rise));
      }
  }
}

}  // namespace undercap
