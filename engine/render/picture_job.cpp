#include "engine/render/picture_job.h"

#include <algorithm>
#include <bit>
#include <chrono>
#include <cmath>

#include "engine/colour/spaces.h"

namespace undercap {
namespace {

constexpr int tile = 16;
constexpr unsigned fewest_samples = 32;      // before a stop rule may speak
constexpr unsigned most_samples = 1u << 16;  // of a stop rule that is never content

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

int rows_of_a_band(const PictureRequest& request, int groups) {
  View row{.width = request.width, .height = request.height, .rows = 1};
  const std::size_t limit = std::min(request.film_limit_bytes, largest_storage_block());
  const std::size_t rows = limit / Film::bytes(row, groups);
  return static_cast<int>(
      std::clamp<std::size_t>(rows / tile * tile, tile, static_cast<std::size_t>(request.height + tile)));
}

// Runs one band until its rule stops it. Returns samples a pixel, or nothing when the caller stopped it.
struct BandRun {
  unsigned samples = 0;
  double noise_pct = 0;
  bool stopped = false;
};

BandRun run_band(Tracer& tracer, const World& world, const View& view, Film& film,
                 const PictureRequest& request, double seconds_share,
                 const std::function<bool(double)>& progress) {
  const auto start = Clock::now();
  const auto seed = static_cast<std::uint32_t>(world.scene.seed);
  const bool by_rule = request.noise_pct || request.seconds;
  const unsigned wanted = by_rule ? most_samples : (request.samples + 1) / 2 * 2;
  BandRun run;
  while (run.samples < wanted) {
    for (std::uint32_t half = 0; half < 2; ++half)
      tracer.sample(view, film, {.index = run.samples / 2, .half = half, .seed = seed});
    finish();
    run.samples += 2;
    double done = static_cast<double>(run.samples) / wanted;
    if (request.seconds) {
      done = seconds_since(start) / seconds_share;
      if (done >= 1) break;
    }
    const bool power_of_two = (run.samples & (run.samples - 1)) == 0;
    if (request.noise_pct && run.samples >= fewest_samples && power_of_two) {
      run.noise_pct = tile_noise_pct(world, film.read(), view.width, view.band_rows());
      if (run.noise_pct <= *request.noise_pct) break;
    }
    if (request.noise_pct && !request.seconds) {
      // The error falls with the root of the count: what was measured last says how many will be needed.
      const double needed = run.noise_pct > 0 ? std::pow(run.noise_pct / *request.noise_pct, 2) : 4;
      done = std::min(0.99, run.samples / (needed * std::max(fewest_samples, std::bit_floor(run.samples))));
    }
    if (!progress(done)) {
      run.stopped = true;
      break;
    }
  }
  run.noise_pct = tile_noise_pct(world, film.read(), view.width, view.band_rows());
  return run;
}

}  // namespace

double tile_noise_pct(const World& world, const std::vector<float>& sums, int width, int rows) {
  const auto pixels = static_cast<std::size_t>(width) * static_cast<std::size_t>(rows);
  const std::size_t groups = world.groups.size();
  const int across = (width + tile - 1) / tile, down = (rows + tile - 1) / tile;
  std::vector<double> half_a(static_cast<std::size_t>(across * down)), half_b(half_a.size());
  for (std::size_t g = 0; g < groups; ++g) {
    const glm::dvec3 weight = world.groups[g].weight();
    if (weight == glm::dvec3(0)) continue;
    for (int y = 0; y < rows; ++y) {
      for (int x = 0; x < width; ++x) {
        const auto pixel =
            static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
        const auto into = static_cast<std::size_t>(y / tile * across + x / tile);
        const float* a = &sums[(g * pixels + pixel) * 3];
        const float* b = &sums[((groups + g) * pixels + pixel) * 3];
        half_a[into] += luminance_y(weight * glm::dvec3(a[0], a[1], a[2]));
        half_b[into] += luminance_y(weight * glm::dvec3(b[0], b[1], b[2]));
      }
    }
  }
  double total = 0;
  for (std::size_t i = 0; i < half_a.size(); ++i) total += half_a[i] + half_b[i];
  const double threshold = 0.01 * total / static_cast<double>(half_a.size());
  double squares = 0;
  for (std::size_t i = 0; i < half_a.size(); ++i) {
    const double sum = half_a[i] + half_b[i];
    if (sum > threshold && sum > 0) squares += std::pow((half_a[i] - half_b[i]) / sum, 2);
  }
  return 100 * std::sqrt(squares / static_cast<double>(half_a.size()));
}

PictureResult render_picture(Tracer& tracer, const Developer& developer, const World& world,
                             const PictureRequest& request, const Development& development,
                             const Progress& progress) {
  const auto start = Clock::now();
  const int rows = rows_of_a_band(request, tracer.groups());
  const int bands = (request.height + rows - 1) / rows;
  PictureResult result;
  result.bands = bands;
  result.complete = true;
  result.samples = most_samples;
  result.picture.width = result.mix.width = request.width;
  result.picture.height = result.mix.height = request.height;
  if (request.keep_groups) result.groups.resize(world.groups.size());
  for (int band = 0; band < bands; ++band) {
    View view{.width = request.width, .height = request.height, .first_row = band * rows};
    view.rows = std::min(rows, request.height - view.first_row);
    Film film = tracer.make_film(view);
    const BandRun run = run_band(tracer, world, view, film, request, request.seconds.value_or(0) / bands,
                                 [&](double done) { return progress((band + done) / bands); });
    result.samples = std::min(result.samples, run.samples);
    result.noise_pct = std::max(result.noise_pct, run.noise_pct);
    const Picture8 part = developer.develop(world, view, film, run.samples, development);
    result.picture.rgb.insert(result.picture.rgb.end(), part.rgb.begin(), part.rgb.end());
    if (request.keep_groups) {
      const auto means = group_means(film.read(), view.pixels(), tracer.groups(), run.samples);
      const auto mix = mixed(world, means);
      result.mix.rgb.insert(result.mix.rgb.end(), mix.begin(), mix.end());
      for (std::size_t g = 0; g < means.size(); ++g)
        result.groups[g].insert(result.groups[g].end(), means[g].begin(), means[g].end());
    }
    if (run.stopped) {
      // A picture in one band is whole at fewer samples; of several bands, only a part would be there.
      result.complete = false;
      result.whole = bands == 1;
      break;
    }
  }
  result.seconds = seconds_since(start);
  return result;
}

}  // namespace undercap
