#include "engine/render/stop_rule.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "engine/colour/spaces.h"

namespace undercap {
namespace {

constexpr int fewest_pixels = 32;  // of a tile
constexpr double dark = 0.01;      // of the mean luminance of the band

double dark_below(const std::vector<TileSums>& tiles) {
  double light = 0, pixels = 0;
  for (const TileSums& tile : tiles) light += tile.luminance() * tile.pixels, pixels += tile.pixels;
  return dark * light / pixels;
}

}  // namespace

double TileSums::standard_error() const {
  return 2 * std::sqrt(squares) / (pixels * static_cast<double>(samples));
}
double TileSums::noise() const { return sum > 0 ? std::sqrt(squares) / sum : 0; }

double noise_pct(const std::vector<TileSums>& tiles) {
  const double threshold = dark_below(tiles);
  double squares = 0, count = 0;
  for (const TileSums& tile : tiles)
    if (tile.luminance() > threshold) squares += tile.noise() * tile.noise(), ++count;
  return count > 0 ? 100 * std::sqrt(squares / count) : 0;
}

// A band of a single row has tiles of 32 x 1.
TileGrid::TileGrid(int width, int rows)
    : side_(Film::block_side * (rows * Film::block_side < fewest_pixels ? 2 : 1)),
      across_(std::max(1, width / side_)),
      down_(std::max(1, rows / Film::block_side)) {}

std::size_t TileGrid::index(int x, int y) const {
  return static_cast<std::size_t>(std::min(y / Film::block_side, down_ - 1) * across_ +
                                  std::min(x / side_, across_ - 1));
}

TileStopRule::TileStopRule(Mix mix, const View& band)
    : mix_(std::move(mix)),
      width_(band.width),
      rows_(band.band_rows()),
      grid_(width_, rows_),
      stopped_at_(grid_.size()),
      last_round_(grid_.size()) {}

template <class Visit>
void TileStopRule::each_pixel(const Visit& visit) const {
  std::size_t pixel = 0;
  for (int y = 0; y < rows_; ++y)
    for (int x = 0; x < width_; ++x) visit(pixel++, grid_.index(x, y));
}

std::vector<TileSums> TileStopRule::tiles(const std::vector<float>& sums, unsigned samples) const {
  std::vector<TileSums> tiles(grid_.size());
  for (std::size_t i = 0; i < tiles.size(); ++i)
    tiles[i].samples = stopped_at_[i] > 0 ? stopped_at_[i] : samples;
  const std::size_t pixels = static_cast<std::size_t>(width_) * static_cast<std::size_t>(rows_);
  each_pixel([&](std::size_t pixel, std::size_t tile) {
    double half_a = 0, half_b = 0;
    for (std::size_t g = 0; g < mix_.size(); ++g) {
      if (mix_[g] == glm::dvec3(0)) continue;
      const float* a = &sums[(g * pixels + pixel) * 3];
      const float* b = &sums[((mix_.size() + g) * pixels + pixel) * 3];
      half_a += luminance_y(mix_[g] * glm::dvec3(a[0], a[1], a[2]));
      half_b += luminance_y(mix_[g] * glm::dvec3(b[0], b[1], b[2]));
    }
    tiles[tile].sum += (half_a + half_b) / 2;
    tiles[tile].squares += (half_a - half_b) * (half_a - half_b) / 4;
    ++tiles[tile].pixels;
  });
  return tiles;
}

bool TileStopRule::settle(const Film& film, const std::vector<float>& sums, unsigned samples,
                          double wanted_pct) {
  for (std::size_t i = 0; i < grid_.size(); ++i)
    if (last_round_[i] && stopped_at_[i] == 0) stopped_at_[i] = samples;
  const std::vector<TileSums> now = tiles(sums, samples);
  const double threshold = dark_below(now);
  bool goes_on = false;
  for (std::size_t i = 0; i < grid_.size(); ++i) {
    if (stopped_at_[i] > 0) continue;
    goes_on = true;
    // Twice the samples have at most 1 / sqrt(2) of the noise.
    const double then_pct = 100 * now[i].noise() / std::numbers::sqrt2;
    last_round_[i] = then_pct <= wanted_pct || now[i].luminance() <= threshold;
  }
  if (!goes_on) return true;
  std::vector<std::uint32_t> enough(Film::blocks({.width = width_, .height = rows_}));
  const int blocks_across = (width_ + Film::block_side - 1) / Film::block_side;
  each_pixel([&](std::size_t pixel, std::size_t tile) {
    const int x = static_cast<int>(pixel) % width_, y = static_cast<int>(pixel) / width_;
    enough[static_cast<std::size_t>(y / Film::block_side * blocks_across + x / Film::block_side)] =
        stopped_at_[tile] > 0;
  });
  film.leave_out(enough);
  return false;
}

bool TileStopRule::any_stopped_before(unsigned samples) const {
  return std::any_of(stopped_at_.begin(), stopped_at_.end(),
                     [&](unsigned at) { return at > 0 && at < samples; });
}

void TileStopRule::level(std::vector<float>& sums, unsigned samples) const {
  const std::size_t pixels = static_cast<std::size_t>(width_) * static_cast<std::size_t>(rows_);
  each_pixel([&](std::size_t pixel, std::size_t tile) {
    const unsigned at = stopped_at_[tile];
    if (at == 0 || at == samples) return;
    // Both counts are even; both powers of two unless time ran out, so that the factor is mostly exact.
    const float factor = static_cast<float>(samples) / static_cast<float>(at);
    for (std::size_t part = 0; part < 2 * mix_.size(); ++part)
      for (std::size_t c = 0; c < 3; ++c) sums[(part * pixels + pixel) * 3 + c] *= factor;
  });
}

}  // namespace undercap
