#include "engine/measure/backdrop_area.h"

#include <algorithm>
#include <cmath>
#include <glm/vec2.hpp>
#include <vector>

#include "engine/colour/spaces.h"

namespace undercap {
namespace {

constexpr int cells_high = 64;

// Means of some pixels of each cell that has any.
template <class Value>
struct Cell {
  Value mean{};
  double pixels = 0;
};
template <class Value>
std::vector<Cell<Value>> cells_of(const SeparationPicture& picture, const std::vector<Value>& values,
                                  const std::vector<std::uint8_t>& shares) {
  const int side = std::max(1, picture.height / cells_high), across = (picture.width + side - 1) / side,
            down = (picture.height + side - 1) / side;
  std::vector<Cell<Value>> cells(static_cast<std::size_t>(across * down));
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x) {
      const auto pixel = static_cast<std::size_t>(y * picture.width + x);
      if (shares[pixel] == no_share) continue;
      Cell<Value>& cell = cells[static_cast<std::size_t>(y / side * across + x / side)];
      cell.mean += values[pixel];
      ++cell.pixels;
    }
  std::erase_if(cells, [](const auto& cell) { return cell.pixels == 0; });
  for (auto& cell : cells) cell.mean /= cell.pixels;
  return cells;
}

// Half of the pixels lie in cells of less.
double median(std::vector<Cell<double>> cells) {
  std::sort(cells.begin(), cells.end(), [](const auto& a, const auto& b) { return a.mean < b.mean; });
  double all = 0, passed = 0;
  for (const auto& cell : cells) all += cell.pixels;
  for (const auto& cell : cells)
    if (2 * (passed += cell.pixels) >= all) return cell.mean;
  return 0;
}

// Sums over rectangles in four steps (F. C. Crow, SIGGRAPH 1984, from memory).
class AreaSums {
 public:
  AreaSums(int width, int height)
      : width_(width), sum_(static_cast<std::size_t>((width + 1) * (height + 1))) {}
  void add_row(int y, const auto& value_at) {
    double row = 0;
    for (int x = 0; x < width_; ++x) {
      row += value_at(x);
      sum_[at(x + 1, y + 1)] = sum_[at(x + 1, y)] + row;
    }
  }
  // Over the square of pixels up to 'reach' away.
  double around(int x, int y, int reach) const {
    return sum_[at(x + reach + 1, y + reach + 1)] - sum_[at(x - reach, y + reach + 1)] -
           sum_[at(x + reach + 1, y - reach)] + sum_[at(x - reach, y - reach)];
  }

 private:
  std::size_t at(int x, int y) const { return static_cast<std::size_t>(y * (width_ + 1) + x); }
  int width_;
  std::vector<double> sum_;
};

// The squares of one region that are averaged before the logarithm.
class Smooth {
 public:
  Smooth(const SeparationPicture& picture, const std::vector<std::uint8_t>& region)
      : picture_(picture), reach_(std::max(1, picture.height / 128)) {
    AreaSums count(picture.width, picture.height);
    for (int y = 0; y < picture.height; ++y)
      count.add_row(
          y, [&](int x) { return region[static_cast<std::size_t>(y * picture.width + x)] != no_share; });
    const int whole = reach_ + 1, side = 2 * whole + 1;  // the squares of the four neighbours as well
    for (int y = whole; y < picture.height - whole; ++y)
      for (int x = whole; x < picture.width - whole; ++x)
        if (count.around(x, y, whole) > side * side - 0.5) inner_.push_back({x, y});
  }
  bool enough() const { return inner_.size() >= 64; }

  // The mean product of the gradients of two pictures of luminance, (stops / frame height)^2.
  std::optional<double> product(const std::vector<double>& a, const std::vector<double>& b) const {
    const AreaSums first = sums_of(a), second = sums_of(b);
    double sum = 0, counted = 0;
    for (const Pixel& at : inner_) {
      const glm::dvec2 one = gradient(first, at), other = gradient(second, at);
      const double square = one.x * other.x + one.y * other.y;
      if (!std::isfinite(square)) continue;
      sum += square;
      ++counted;
    }
    return counted >= 0.99 * static_cast<double>(inner_.size()) ? std::optional(sum / counted) : std::nullopt;
  }

 private:
  struct Pixel {
    int x = 0, y = 0;
  };
  AreaSums sums_of(const std::vector<double>& luminance) const {
    AreaSums sums(picture_.width, picture_.height);
    for (int y = 0; y < picture_.height; ++y)
      sums.add_row(y, [&](int x) { return luminance[static_cast<std::size_t>(y * picture_.width + x)]; });
    return sums;
  }
  glm::dvec2 gradient(const AreaSums& sums, const Pixel& at) const {
    const int x = at.x, y = at.y;
    const auto stops = [&](int u, int v) { return std::log2(std::max(0.0, sums.around(u, v, reach_))); };
    return {(stops(x + 1, y) - stops(x - 1, y)) / 2 * picture_.height,
            (stops(x, y + 1) - stops(x, y - 1)) / 2 * picture_.height};
  }
  const SeparationPicture& picture_;
  int reach_;  // pixels
  std::vector<Pixel> inner_;
};

std::optional<double> energy_in(const SeparationPicture& picture, const Smooth& smooth, const Use& use) {
  if (!smooth.enough()) return std::nullopt;
  const auto [half, rest] = halves_of(use);
  return smooth.product(mean_luminance(picture, half), mean_luminance(picture, rest));
}

}  // namespace

std::optional<Figure> hot_spots_pct(const SeparationPicture& picture) {
  return figure_of([&](const Use& use) -> std::optional<double> {
    const std::vector<double> luminance = mean_luminance(picture, use);
    const double subject = median(cells_of(picture, luminance, picture.subject));
    if (subject <= 0) return std::nullopt;
    double hot = 0;
    for (const auto& cell : cells_of(picture, luminance, picture.backdrop))
      if (cell.mean > 2 * subject) hot += cell.pixels;
    return 100 * hot / static_cast<double>(picture.pixels());
  });
}

Figure clipped_pct(const SeparationPicture& picture, const Display& display) {
  return *figure_of([&](const Use& use) -> std::optional<double> {
    std::vector<glm::dvec3> colours = mean_colour(picture, use);
    for (std::size_t pixel = 0; pixel < colours.size(); ++pixel)
      colours[pixel] *= display.exposure_per_luminance[pixel];
    double clipped = 0;
    for (const auto& cell : cells_of(picture, colours, picture.backdrop)) {
      const glm::dvec3 shown = displayed_linear(cell.mean, display.how);
      if (std::max({shown.x, shown.y, shown.z}) >= 1) clipped += cell.pixels;
    }
    return 100 * clipped / static_cast<double>(picture.pixels());
  });
}

GradientEnergy gradient_energy(const SeparationPicture& picture) {
  const Smooth subject(picture, picture.subject), backdrop(picture, picture.backdrop);
  GradientEnergy energy;
  energy.subject = figure_of([&](const Use& use) { return energy_in(picture, subject, use); });
  energy.backdrop = figure_of([&](const Use& use) { return energy_in(picture, backdrop, use); });
  if (energy.subject && energy.backdrop && energy.backdrop->estimate.above_noise())
    energy.ratio = figure_of([&](const Use& use) -> std::optional<double> {
      const auto above = energy_in(picture, subject, use), below = energy_in(picture, backdrop, use);
      return above && below && *below > 0 ? std::optional(*above / *below) : std::nullopt;
    });
  return energy;
}

}  // namespace undercap
