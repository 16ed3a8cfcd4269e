#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/log_build.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double most_cells = 38'000;  // of the bark, two triangles each

// How far the rim at each end falls short of the full length, mm; 0 at its farthest point.
std::vector<double> rim_shortfall(const LogShape& shape, bool broken, const std::vector<double>& angles,
                                  std::uint32_t salt) {
  std::vector<double> missing;
  for (const double angle : angles) {
    const glm::dvec3 ring(std::cos(angle) + 3.1, std::sin(angle) + 7.7, 0.5 + salt);
    const double torn =
        0.26 * fbm(1.1 * ring, 2, shape.seed + salt) + 0.07 * fbm(4.0 * ring, 2, shape.seed + salt + 1);
    missing.push_back(broken ? shape.radius * torn : 0.0);
  }
  const double least = *std::min_element(missing.begin(), missing.end());
  for (double& one : missing) one -= least;
  return missing;
}

// Columns stand closer on the side that a camera sees, the front and the top.
double column_angle(double column, int columns) {
  const double even = 2 * pi * column / columns;
  return even - 0.35 * std::sin(even - 0.7);
}

class TubeBuilder {
 public:
  explicit TubeBuilder(const LogShape& shape) : shape_(shape), field_(shape) {
    const double round = 2 * pi * shape.radius;
    // A cell of the mesh need not be smaller than three pixels, nor than what the relief itself resolves.
    const double cell = std::max({1.5, 0.09 * shape.plate, 3 * shape.pixel});
    const double wanted = shape.length / (1.25 * cell) * (round / cell);
    const double coarser = std::sqrt(std::max(1.0, wanted / most_cells));
    tube_.rows =
        std::clamp(static_cast<int>(shape.detail * shape.length / (1.25 * cell * coarser)), 40, 700) + 1;
    tube_.columns = std::clamp(static_cast<int>(shape.detail * round / (cell * coarser)), 24, 260);
    for (int column = 0; column < tube_.columns; ++column) {
      tube_.angle.push_back(column_angle(column, tube_.columns));
    }
    left_ = rim_shortfall(shape, shape.left_broken, tube_.angle, 81);
    right_ = rim_shortfall(shape, shape.right_broken, tube_.angle, 91);
  }

  LogTube build() {
    measure();
    snap_to_borders();
    place();
    tube_.mesh.parts = {{"bark"}, {"wood"}};
    add_grid_triangles(tube_.mesh, {0, tube_.rows, tube_.columns, true}, 0);
    return std::move(tube_);
  }

 private:
  std::size_t index(int row, int column) const {
    return static_cast<std::size_t>(row * tube_.columns + (column + tube_.columns) % tube_.columns);
  }

  // The place of a grid point, its row and column not whole where it has been moved.
  double x_at(double row, double column) const {
    const double u = row / (tube_.rows - 1);
    const auto near =
        static_cast<std::size_t>(static_cast<int>(std::lround(column) + tube_.columns) % tube_.columns);
    const double straight = shape_.length * (u - 0.5);
    return straight + left_[near] * ramp(0.12, 0.0, u) - right_[near] * ramp(0.88, 1.0, u);
  }

  double angle_at(double column) const { return column_angle(column, tube_.columns); }

  // Where bark is lost: the share asked for of the grid's area, chosen by rank.
  void measure() {
    const auto count = static_cast<std::size_t>(tube_.rows * tube_.columns);
    row_.resize(count);
    column_.resize(count);
    bare_.resize(count);
    for (int row = 0; row < tube_.rows; ++row) {
      for (int column = 0; column < tube_.columns; ++column) {
        const std::size_t i = index(row, column);
        row_[i] = row;
        column_[i] = column;
        bare_[i] = field_.loss(x_at(row, column), angle_at(column));
      }
    }
    std::vector<double> sorted = bare_;
    const auto kept = static_cast<std::size_t>((1 - shape_.bark_loss) * static_cast<double>(count - 1));
    std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(kept), sorted.end());
    const double threshold =
        shape_.bark_loss > 0 ? sorted[kept] : *std::max_element(sorted.begin(), sorted.end()) + 1;
    for (double& one : bare_) one -= threshold;
  }

  // Grid points near the border of the lost bark move onto it, so that the border runs smoothly and not along
  // the grid's teeth.
  void snap_to_borders() {
    const std::vector<double> mask = bare_;
    for (int row = 1; row + 1 < tube_.rows; ++row) {
      for (int column = 0; column < tube_.columns; ++column) {
        const std::size_t i = index(row, column);
        const double by_row = 0.5 * (mask[index(row + 1, column)] - mask[index(row - 1, column)]);
        const double by_column = 0.5 * (mask[index(row, column + 1)] - mask[index(row, column - 1)]);
        const double steep = by_row * by_row + by_column * by_column;
        if (steep < 1e-9) continue;
        const double shift_row = -mask[i] * by_row / steep, shift_column = -mask[i] * by_column / steep;
        if (std::max(std::abs(shift_row), std::abs(shift_column)) > 0.42) continue;
        row_[i] += shift_row;
        column_[i] += shift_column;
        bare_[i] = 0;
      }
    }
  }

  void place() {
    std::vector<double> bark, height;
    double mean = 0;
    for (std::size_t i = 0; i < bare_.size(); ++i) {
      const double x = x_at(row_[i], column_[i]), angle = angle_at(column_[i]);
      bark.push_back(field_.height(x, angle));
      // The torn edge of the bark is a step; the wood behind lies below the furrows.
      const double gone = ramp(-0.005, 0.025, bare_[i]);
      height.push_back(gone > 0 ? mix(bark[i], -0.25 + field_.wood_relief(x, angle), gone) : bark[i]);
      mean += height.back() / static_cast<double>(bare_.size());
    }
    for (std::size_t i = 0; i < bare_.size(); ++i) {
      const double x = x_at(row_[i], column_[i]), angle = angle_at(column_[i]);
      const double tapered = shape_.radius * (1 - shape_.taper * x / shape_.length);
      const double above = x + 0.5 * shape_.length - shape_.root_depth;
      const double roots = root_spread(shape_.root_flare, above, angle, shape_.radius, shape_.seed);
      const double radius =
          tapered * (1 + field_.trunk(x, angle) + roots) + shape_.relief * (height[i] - mean);
      const glm::dvec3 out = log_outward(angle);
      tube_.mesh.position.emplace_back(log_axis(shape_, x) + std::max(radius, 0.3 * shape_.radius) * out);
      tube_.mesh.tint.emplace_back(field_.tint(x, angle, out.z));
      // The border of the lost bark is where the second number passes one half.
      tube_.mesh.uv.emplace_back(std::clamp(bark[i], 0.0, 1.0), std::clamp(0.5 + 4 * bare_[i], 0.0, 1.0));
    }
  }

  LogShape shape_;
  BarkField field_;
  LogTube tube_;
  std::vector<double> left_, right_;
  std::vector<double> row_, column_, bare_;
};

}  // namespace

glm::dvec3 log_axis(const LogShape& shape, double x) {
  const double u = x / shape.length;  // -0.5..0.5
  return {x, shape.bend * (std::cos(pi * u) - 0.6 + 0.25 * std::sin(2 * pi * u)),
          0.12 * shape.bend * std::sin(3 * u)};
}

glm::dvec3 log_outward(double angle) { return {0, -std::sin(angle), std::cos(angle)}; }

LogTube build_log_tube(const LogShape& shape) { return TubeBuilder(shape).build(); }

}  // namespace undercap
