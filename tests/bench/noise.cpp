// How noisy scenes are, and how many fireflies they have.
//
//   undercap_noise [--device D] [--size WxH] [--samples N] SCENE ...
//
// For each scene 32 batches of half of N samples, each with scrambles of its own, are a render 16 times as
// long as a short one of N. They give each pixel's mean and the standard error of the short render; the short
// render is then held against them. Printed: rays a path; the root mean square over the picture of a pixel's
// relative error (pixels under 1 % of the mean luminance left out); that error squared times the rays, which
// is the cost of a given error, over the first scene's; and the pixels of the short render that are off by
// more than 8 standard errors and 1 % of the local mean, 5 x 5 pixels.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/gl/context.h"
#include "engine/render/embedded_shaders.h"
#include "engine/render/tracer.h"
#include "engine/scene/load.h"

using namespace undercap;

namespace {

constexpr int batches = 32;

struct Options {
  std::string device;
  int width = 240, height = 160;
  unsigned samples = 64;
  std::vector<std::string> scenes;
};

class Noise {
 public:
  Noise(const World& world, const Options& options) : world_(world), o_(options), tracer_(shaders(), world) {}

  // Luminance of the picture, cd/m2 a pixel.
  std::vector<double> render(unsigned samples, std::uint32_t seed) {
    const View view{.width = o_.width, .height = o_.height};
    Film film = tracer_.make_film(view);
    for (std::uint32_t half = 0; half < 2; ++half)
      for (unsigned i = 0; i < samples / 2; i += 4)
        tracer_.sample(view, film, {.index = i, .count = 4, .half = half, .seed = seed});
    const std::vector<float> sums = film.read();
    const std::size_t pixels = view.pixels(), groups = world_.groups.size();
    std::vector<double> luminance(pixels);
    for (std::size_t half = 0; half < 2; ++half)
      for (std::size_t g = 0; g < groups; ++g) {
        const LightGroup& group = world_.groups[g];
        if (!group.on) continue;
        for (std::size_t p = 0; p < pixels; ++p) {
          const float* rgb = &sums[((half * groups + g) * pixels + p) * 3];
          luminance[p] +=
              group.power * luminance_y(group.colour * glm::dvec3(rgb[0], rgb[1], rgb[2])) / samples;
        }
      }
    return luminance;
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
  static const ShaderLibrary& shaders() {
    static const ShaderLibrary library(embedded_shaders(), {});
    return library;
  }
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

// Returns the cost.
double judge(const std::string& file, const Options& o, double first_cost) {
  const World world = build_world(SceneFile::open(file).scene());
  Noise noise(world, o);
  const double rays = noise.rays_a_path();
  const auto pixels = static_cast<std::size_t>(o.width) * static_cast<std::size_t>(o.height);
  std::vector<double> sum(pixels), squares(pixels);
  for (std::uint32_t b = 0; b < batches; ++b) {
    const std::vector<double> batch = noise.render(o.samples / 2, 100 + b);
    for (std::size_t p = 0; p < pixels; ++p) sum[p] += batch[p], squares[p] += batch[p] * batch[p];
  }
  const std::vector<double> brief = noise.render(o.samples, 1);
  double whole = 0;
  for (double& s : sum) whole += (s /= batches) / static_cast<double>(pixels);
  double relative = 0;
  int counted = 0, off = 0;
  for (int y = 0; y < o.height; ++y)
    for (int x = 0; x < o.width; ++x) {
      const auto p = static_cast<std::size_t>(y * o.width + x);
      const double variance =
          std::max(squares[p] / batches - sum[p] * sum[p], 0.0) * batches / (batches - 1) / 2;
      off += std::abs(brief[p] - sum[p]) > 8 * std::sqrt(variance) + 0.01 * local_mean(sum, o, x, y);
      if (sum[p] < 0.01 * whole) continue;
      relative += variance / (sum[p] * sum[p]);
      ++counted;
    }
  const double error = std::sqrt(relative / std::max(counted, 1)), cost = error * error * rays;
  std::printf("%-40s rays a path %5.2f  error %6.2f %%  cost of an error %6.3f  fireflies %d of %zu\n",
              file.c_str(), rays, 100 * error, first_cost > 0 ? cost / first_cost : 1.0, off, pixels);
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
    else if (word == "--samples" && i + 1 < count)
      o.samples = static_cast<unsigned>(std::atoi(words[++i])) / 16 * 16;
    else if (word == "--size" && i + 1 < count)
      std::sscanf(words[++i], "%dx%d", &o.width, &o.height);
    else
      o.scenes.push_back(word);
  }
  const HeadlessContext context(o.device);
  std::printf("%s, %dx%d, %u samples\n", context.renderer().c_str(), o.width, o.height, o.samples);
  double first = 0;
  for (const std::string& scene : o.scenes) {
    const double cost = judge(scene, o, first);
    if (first <= 0) first = cost;
  }
  return 0;
} catch (const Refusal& refusal) {
  std::fprintf(stderr, "%s\n", refusal.what());
  return 1;
}
