// How noisy scenes are, and how many fireflies they have.
//
//   undercap_noise [--device D] [--shader-dir DIR] [--size WxH] [--samples N] SCENE ...
//
// For each scene 32 batches of half of N samples, each with scrambles of its own, are a render 16 times as
// long as a short one of N. They give each pixel's mean and the standard error of the short render; the short
// render is then held against them. Printed: rays a path; the error as --noise counts it, the root mean
// square of the relative errors of tiles of 16 x 16 pixels, and the same of single pixels, which the darkest
// crevices rule; the error squared times the rays, which is the cost of a given error, over the first
// scene's; and the pixels of the short render that are off by more than 8 standard errors and 1 % of the
// local mean, 5 x 5 pixels, in the film and in the picture that is shown (strays.h).
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <numeric>
#include <string>
#include <vector>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/gl/context.h"
#include "engine/render/embedded_shaders.h"
#include "engine/render/stop_rule.h"
#include "engine/render/strays.h"
#include "engine/render/tracer.h"
#include "engine/scene/load.h"

using namespace undercap;

namespace {

constexpr int batches = 32;

struct Options {
  std::string device, shader_dir;
  int width = 240, height = 160;
  unsigned samples = 64;
  std::vector<std::string> scenes;
};

class Noise {
 public:
  Noise(const World& world, const Options& options)
      : world_(world), o_(options), tracer_(ShaderLibrary(embedded_shaders(), options.shader_dir), world) {}

  // The picture's two halves, cd/m2 a pixel.
  std::vector<float> render(unsigned samples, std::uint32_t seed) {
    const View view{.width = o_.width, .height = o_.height};
    Film film = tracer_.make_film(view);
    for (std::uint32_t half = 0; half < 2; ++half)
      for (unsigned i = 0; i < samples / 2; i += 4)
        tracer_.sample(view, film, {.index = i, .count = 4, .half = half, .seed = seed});
    return mixed_halves(mix_of(world_), film.read(), view.pixels(), samples);
  }

  double rays_a_path() {
    const View view{.width = o_.width, .height = o_.height, .count_rays = true};
    Film film = tracer_.make_film(view);
    tracer_.reset_counters();
    tracer_.sample(view, film, {.index = 0, .count = 8, .half = 0, .seed = 77});
    const TraceCounters counted = tracer_.counters();
    return static_cast<double>(counted.rays) / counted.paths;
  }

 private:
  const World& world_;
  const Options& o_;
  Tracer tracer_;
};

double local_mean(const std::vector<double>& mean, const Options& o, int x, int y) {
  double sum = 0;
  int count = 0;
  for (int j = std::max(y - 2, 0); j <= std::min(y + 2, o.height - 1); ++j)
    for (int i = std::max(x - 2, 0); i <= std::min(x + 2, o.width - 1); ++i, ++count)
      sum += mean[static_cast<std::size_t>(j * o.width + i)];
  return sum / count;
}

// Luminance of each pixel of two halves.
std::vector<double> luminance_of(const std::vector<float>& halves) {
  std::vector<double> luminance(halves.size() / 6);
  for (std::size_t p = 0; p < luminance.size(); ++p)
    for (const std::size_t at : {3 * p, halves.size() / 2 + 3 * p})
      luminance[p] += 0.5 * luminance_y({halves[at], halves[at + 1], halves[at + 2]});
  return luminance;
}

// The means of tiles of 16 x 16 pixels; the last of a row or a column takes the rest.
std::vector<double> tile_means(const std::vector<double>& luminance, const Options& o) {
  const TileGrid grid(o.width, o.height);
  std::vector<double> sum(grid.size()), count(grid.size());
  for (int y = 0; y < o.height; ++y)
    for (int x = 0; x < o.width; ++x) {
      sum[grid.index(x, y)] += luminance[static_cast<std::size_t>(y * o.width + x)];
      ++count[grid.index(x, y)];
    }
  for (std::size_t i = 0; i < sum.size(); ++i) sum[i] /= count[i];
  return sum;
}

// Means over the batches, and the variances of a short render, which is as long as two batches.
struct Spread {
  std::vector<double> mean, variance;
  void add(const std::vector<double>& values) {
    mean.resize(values.size());
    variance.resize(values.size());
    for (std::size_t i = 0; i < values.size(); ++i)
      mean[i] += values[i] / batches, variance[i] += values[i] * values[i] / batches;
  }
  void finish() {
    for (std::size_t i = 0; i < mean.size(); ++i)
      variance[i] = std::max(variance[i] - mean[i] * mean[i], 0.0) * batches / (batches - 1) / 2;
  }
  // Root mean square of the relative errors; what is darker than 1 % of the mean is left out.
  double error() const {
    const double whole = std::accumulate(mean.begin(), mean.end(), 0.0) / static_cast<double>(mean.size());
    double sum = 0;
    int counted = 0;
    for (std::size_t i = 0; i < mean.size(); ++i) {
      if (mean[i] < 0.01 * whole) continue;
      sum += variance[i] / (mean[i] * mean[i]);
      ++counted;
    }
    return std::sqrt(sum / std::max(counted, 1));
  }
};

int fireflies(const std::vector<double>& picture, const Spread& pixel, const Options& o) {
  int off = 0;
  for (int y = 0; y < o.height; ++y)
    for (int x = 0; x < o.width; ++x) {
      const auto p = static_cast<std::size_t>(y * o.width + x);
      off += std::abs(picture[p] - pixel.mean[p]) >
             8 * std::sqrt(pixel.variance[p]) + 0.01 * local_mean(pixel.mean, o, x, y);
    }
  return off;
}

struct Costs {
  double tile = 0, pixel = 0;
};

Costs judge(const std::string& file, const Options& o, const Costs& first) {
  const World world = build_world(SceneFile::open(file).scene());
  Noise noise(world, o);
  const double rays = noise.rays_a_path();
  Spread pixel, tile;
  for (std::uint32_t b = 0; b < batches; ++b) {
    const std::vector<double> batch = luminance_of(noise.render(o.samples / 2, 100 + b));
    pixel.add(batch);
    tile.add(tile_means(batch, o));
  }
  pixel.finish();
  tile.finish();
  const std::vector<float> brief = noise.render(o.samples, 1);
  const Costs cost{tile.error() * tile.error() * rays, pixel.error() * pixel.error() * rays};
  std::printf(
      "%-28s rays %5.2f  error of tiles %6.3f %%, cost %6.3f; of pixels %6.2f %%, cost %6.3f; "
      "fireflies %d in the film, %d as shown\n",
      std::filesystem::path(file).filename().c_str(), rays, 100 * tile.error(),
      first.tile > 0 ? cost.tile / first.tile : 1.0, 100 * pixel.error(),
      first.pixel > 0 ? cost.pixel / first.pixel : 1.0, fireflies(luminance_of(brief), pixel, o),
      fireflies(luminance_of(spread_strays(brief, o.width)), pixel, o));
  std::fflush(stdout);
  return cost;
}

}  // namespace

int main(int count, char** words) try {
  Options o;
  for (int i = 1; i < count; ++i) {
    const std::string word = words[i];
    if (word == "--device" && i + 1 < count)
      o.device = words[++i];
    else if (word == "--shader-dir" && i + 1 < count)
      o.shader_dir = words[++i];
    else if (word == "--samples" && i + 1 < count)
      o.samples = static_cast<unsigned>(std::atoi(words[++i])) / 16 * 16;
    else if (word == "--size" && i + 1 < count)
      std::sscanf(words[++i], "%dx%d", &o.width, &o.height);
    else
      o.scenes.push_back(word);
  }
  const HeadlessContext context(o.device);
  std::printf("%s, %dx%d, %u samples\n", context.renderer().c_str(), o.width, o.height, o.samples);
  Costs first;
  for (const std::string& scene : o.scenes) {
    const Costs cost = judge(scene, o, first);
    if (first.tile <= 0) first = cost;
  }
  return 0;
} catch (const Refusal& refusal) {
  std::fprintf(stderr, "%s\n", refusal.what());
  return 1;
}
