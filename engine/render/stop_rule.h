// When a band of a picture has samples enough, tile by tile.
//
// A tile is 16 x 16 pixels; the last of a row or a column takes the rest of the band. Every pixel has
// scrambles of its own in each half film, so that the halves' differences are independent: the mean of a tile
// is sum((A + B) / 2) and SE^2 = sum(((A - B) / 2)^2) over its pixels, with as many degrees of freedom as it
// has pixels, 32 at least: Student's t and the normal law differ by under 4 % there.
//
// Whether a tile stops at n samples is settled by what it had at n / 2: a tile that is asked about the
// samples it ends with stops when they happen to be low, and its mean comes out low.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/render/tracer.h"
#include "engine/world/mix.h"

namespace undercap {

struct TileSums {
  double sum = 0;      // of (A + B) / 2 over the pixels: mixed luminance x samples of a half
  double squares = 0;  // of ((A - B) / 2)^2
  unsigned pixels = 0;
  unsigned samples = 0;  // a pixel, both halves
  double luminance() const { return 2 * sum / (pixels * static_cast<double>(samples)); }  // cd/m2
  double standard_error() const;                                                          // cd/m2
  double noise() const;  // standard error / luminance; 0 where there is no light
};

class TileGrid {
 public:
  TileGrid(int width, int rows);  // of the band, pixels
  std::size_t size() const { return static_cast<std::size_t>(across_ * down_); }
  std::size_t index(int x, int y) const;

 private:
  int side_, across_, down_;
};

class TileStopRule {
 public:
  static constexpr unsigned fewest_samples = 32;

  TileStopRule(Mix mix, const View& band);

  // Told the sums of the film after 'samples' a pixel, a power of two from 16 on. Settles who stops here,
  // tells the film, and returns true when no tile goes on.
  bool settle(const Film& film, const std::vector<float>& sums, unsigned samples, double noise_pct);

  // The tiles at the end of the band, when its pixels have 'samples' but for those that stopped before.
  std::vector<TileSums> tiles(const std::vector<float>& sums, unsigned samples) const;

  // Brings the sums of tiles that stopped early to what 'samples' would have given.
  void level(std::vector<float>& sums, unsigned samples) const;
  bool any_stopped_before(unsigned samples) const;

 private:
  template <class Visit>
  void each_pixel(const Visit& visit) const;
  Mix mix_;
  int width_, rows_;
  TileGrid grid_;
  std::vector<unsigned> stopped_at_;      // samples; 0: goes on
  std::vector<std::uint8_t> last_round_;  // will stop at the next power of two
};

// Root mean square of the tiles' noise, per cent. Tiles darker than 1 % of the mean count as done and are
// left out.
double noise_pct(const std::vector<TileSums>& tiles);

}  // namespace undercap
