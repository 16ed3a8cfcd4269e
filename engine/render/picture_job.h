// A picture from first sample to last: bands where memory asks for them, a stop rule, progress, cancelling.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "engine/image/picture.h"
#include "engine/render/develop.h"
#include "engine/render/tracer.h"

namespace undercap {

struct PictureRequest {
  int width = 960, height = 640;
  unsigned samples = 64;              // a pixel, when neither noise nor seconds is given; rounded up to even
  std::optional<double> noise_pct{};  // stop at this RMS relative standard error of 16 x 16 pixel tiles
  std::optional<double> seconds{};    // stop after this long
  bool keep_groups = false;           // keep the films for EXR
  std::size_t film_limit_bytes = std::size_t{512} << 20;  // a band's film stays under it
};

// What the caller is told while it runs: share done (0..1). Returning false stops the job.
using Progress = std::function<bool(double done)>;

struct PictureResult {
  bool complete = false;                   // false: stopped by the caller
  bool whole = true;                       // false: stopped before every band had its turn; nothing to keep
  Picture8 picture;                        // developed, raw (no filter)
  Picture mix;                             // cd/m2, when groups are kept
  std::vector<std::vector<float>> groups;  // cd/m2 at unit power and white, when kept
  unsigned samples = 0;                    // fewest of any band
  double noise_pct = 0;                    // reached, largest of any band
  double seconds = 0;
  int bands = 1;
};

PictureResult render_picture(Tracer& tracer, const Developer& developer, const World& world,
                             const PictureRequest& request, const Development& development,
                             const Progress& progress);

// RMS relative standard error, per cent, of the mixed luminance of 16 x 16 pixel tiles, from the two halves'
// difference: SE = |A - B| / 2 a tile. Tiles darker than 1 % of the mean count as done.
double tile_noise_pct(const World& world, const std::vector<float>& sums, int width, int rows);

}  // namespace undercap
