// A picture from first sample to last: bands where memory asks for them, a stop rule, progress, cancelling.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "engine/image/picture.h"
#include "engine/render/develop.h"
#include "engine/render/filter.h"
#include "engine/render/stop_rule.h"
#include "engine/render/tracer.h"

namespace undercap {

struct PictureRequest {
  int width = 960, height = 640;
  unsigned samples = 64;              // a pixel, when neither noise nor seconds is given; rounded up to even
  std::optional<double> noise_pct{};  // stop each tile at this relative standard error (stop_rule.h)
  std::optional<double> seconds{};    // stop after this long
  bool keep_groups = false;           // keep the films for EXR
  bool filtered = false;              // the developed picture goes through the display filter
  Overlay::Kind overlay = Overlay::Kind::none;            // drawn over the developed picture
  std::size_t film_limit_bytes = std::size_t{512} << 20;  // a band's film stays under it
};

// What the caller is told while it runs: share done (0..1). Returning false stops the job.
using Progress = std::function<bool(double done)>;

struct PictureResult {
  bool complete = false;                   // false: stopped by the caller
  bool whole = true;                       // false: stopped before every band had its turn; nothing to keep
  Picture8 picture;                        // developed, strays spread; else raw unless 'filtered'
  bool filtered = false;                   // the picture alone; mix and groups are raw always
  Picture mix;                             // cd/m2, when groups are kept
  std::vector<std::vector<float>> groups;  // cd/m2 at unit power and white, when kept
  unsigned samples = 0, most_samples = 0;  // a pixel: fewest and most of any tile
  double noise_pct = 0;                    // reached: RMS over the tiles of a band, largest of any band
  double seconds = 0;
  int bands = 1;
};

// What an unfiltered picture is developed from: the mix of a film's sums as one group, its strays spread.
Film film_without_strays(const Mix& mix, const View& view, const std::vector<float>& sums, unsigned samples);

// 'filter' is needed for a filtered picture, and for overlays that show where the lens is sharp. Bands
// overlap, so that each sees the same neighbours as in one piece.
PictureResult render_picture(Tracer& tracer, const Developer& developer, const World& world,
                             const PictureRequest& request, const Development& development,
                             const Progress& progress, const DisplayFilter* filter = nullptr);

// A picture's samples in one piece, before they are mixed and exposed: sums by group of two halves, as if
// every pixel had so many samples, both halves together.
struct SampledPicture {
  View view;
  std::vector<float> sums;
  unsigned samples = 0;
};

// Whether a picture's film, and what filters it, fit the device in one piece.
bool fits_in_one_piece(const PictureRequest& request, int groups);

// Takes so many samples a pixel, rounded up to even. Nothing when stopped.
std::optional<SampledPicture> sample_picture(Tracer& tracer, const View& view, unsigned samples,
                                             std::uint32_t seed, const Progress& progress);

// What a person sees of them under a mix and an exposure: 'filter' smooths, without it strays are spread. The
// tracer's camera is that of the samples.
Picture8 develop_sampled(Tracer& tracer, const Developer& developer, const World& world,
                         const SampledPicture& sampled, const Development& development,
                         const DisplayFilter* filter);

// RMS relative standard error of its tiles under a mix, per cent.
double noise_of(const SampledPicture& sampled, const Mix& mix);

// The sampling of one band, into a new film that is then as if every pixel had 'samples'. The noise to reach
// is that of the mix.
struct BandResult {
  unsigned samples = 0;  // most of any tile
  std::vector<float> sums;
  std::vector<TileSums> tiles;
  bool stopped = false;  // by the caller
};
BandResult sample_band(Tracer& tracer, const World& world, const Mix& mix, const View& view, Film& film,
                       const PictureRequest& request, double seconds_share, const Progress& progress);

}  // namespace undercap
