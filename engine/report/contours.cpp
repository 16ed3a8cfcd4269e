#include "engine/report/contours.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/common.hpp>
#include <limits>
#include <map>
#include <set>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// The corners of a cell run counter-clockwise from its lower left; side k goes from corner k to the next.
constexpr std::array<int, 4> corner_x{0, 1, 1, 0}, corner_y{0, 0, 1, 1};

class Tracing {
 public:
  Tracing(const FieldGrid& field, double level) : field_(field), level_(level) {
    for (int row = 0; row + 1 < field.up; ++row)
      for (int column = 0; column + 1 < field.across; ++column) cross_cell(column, row);
  }

  std::vector<ContourLine> lines() {
    std::set<std::size_t> entered;
    for (const auto& [from, to] : next_) entered.insert(to);
    std::vector<std::size_t> ends;
    for (const auto& [from, to] : next_)
      if (!entered.contains(from)) ends.push_back(from);
    std::vector<ContourLine> lines;
    for (const std::size_t end : ends) follow(end, false, lines);
    while (!next_.empty()) follow(next_.begin()->first, true, lines);
    return lines;
  }

 private:
  // Two cells share a side, so it is named by its lower or left node: even along a row, odd upward.
  std::size_t side(int column, int row, std::size_t k) const {
    const bool upward = k % 2 == 1;
    return 2 * field_.index(column + (k == 1), row + (k == 2)) + (upward ? 1 : 0);
  }

  glm::dvec2 place_on(std::size_t side) const {
    const auto across = static_cast<std::size_t>(field_.across);
    const int column = static_cast<int>(side / 2 % across), row = static_cast<int>(side / 2 / across);
    const int column_b = column + (side % 2 == 0), row_b = row + (side % 2 == 1);
    const double a = field_.value[field_.index(column, row)], b = field_.value[field_.index(column_b, row_b)];
    return glm::mix(field_.place(column, row), field_.place(column_b, row_b), (level_ - a) / (b - a));
  }

  // Around a cell the level is left at some sides and entered at others. A line goes from the former to the
  // latter: so it has what is above at its left, and the next cell goes on where this one ends.
  void cross_cell(int column, int row) {
    std::array<double, 4> value{};
    for (std::size_t k = 0; k < 4; ++k) {
      value[k] = field_.value[field_.index(column + corner_x[k], row + corner_y[k])];
      if (!std::isfinite(value[k])) return;
    }
    const auto above = [&](std::size_t k) { return value[k % 4] >= level_; };
    const bool middle_above = (value[0] + value[1] + value[2] + value[3]) / 4 >= level_;
    for (std::size_t k = 0; k < 4; ++k) {
      if (!above(k) || above(k + 1)) continue;
      std::size_t to = k + 1;
      if (middle_above)  // around what is below: to the next side that is entered
        while (above(to) || !above(to + 1)) ++to;
      else  // around what is above: to the last one before
        for (to = k + 3; above(to) || !above(to + 1);) --to;
      next_[side(column, row, k)] = side(column, row, to % 4);
    }
  }

  void follow(std::size_t from, bool closed, std::vector<ContourLine>& lines) {
    ContourLine line{.level = level_, .points = {}, .closed = closed};
    const auto add = [&](std::size_t side) {
      const glm::dvec2 place = place_on(side);
      // Through a node that is at the level several sides are crossed in one place.
      if (line.points.empty() || place != line.points.back()) line.points.push_back(place);
    };
    add(from);
    for (auto step = next_.find(from); step != next_.end(); step = next_.find(from)) {
      from = step->second;
      next_.erase(step);
      add(from);
    }
    if (closed && line.points.back() == line.points.front()) line.points.pop_back();
    if (line.points.size() > (closed ? 2U : 1U)) lines.push_back(std::move(line));
  }

  const FieldGrid& field_;
  double level_;
  std::map<std::size_t, std::size_t> next_;  // from side to side
};

}  // namespace

std::vector<ContourLine> contour_lines(const FieldGrid& field, std::span<const double> levels) {
  UNDERCAP_CHECK(field.across >= 2 && field.up >= 2 && field.value.size() == field.index(0, field.up),
                 "a field has a value for each of its nodes, two a side at least");
  std::vector<ContourLine> all;
  for (const double level : levels)
    for (ContourLine& line : Tracing(field, level).lines()) all.push_back(std::move(line));
  return all;
}

std::vector<Tick> round_levels(std::span<const double> values, int most) {
  double low = std::numeric_limits<double>::infinity(), high = 0;
  for (const double value : values) {
    if (!std::isfinite(value) || value <= 0) continue;
    low = std::min(low, value);
    high = std::max(high, value);
  }
  // Values that differ by rounding alone are one value.
  return high > low * (1 + 1e-9) ? logarithmic_ticks(low, high, most) : std::vector<Tick>{};
}

}  // namespace undercap
