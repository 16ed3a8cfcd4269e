#include "engine/render/picture_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <chrono>
#include <cmath>

#include "engine/core/errors.h"
#include "engine/render/strays.h"

namespace undercap {
namespace {

constexpr unsigned most_samples = 1u << 16;  // of a stop rule that is never content

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

// Rows beside a band that its picture looks at: for the filter, for strays from over the edge, for
// diffraction. Whole blocks.
int margin_rows(const PictureRequest& request) {
  constexpr int raw = Film::block_side + Developer::margin_rows;
  static_assert(stray_rows <= Film::block_side && Developer::margin_rows % Film::block_side == 0);
  return request.filtered ? DisplayFilter::margin_rows + Developer::margin_rows : raw;
}

int rows_of_a_band(const PictureRequest& request, int groups) {
  View row{.width = request.width, .height = request.height, .rows = 1};
  const std::size_t limit = std::min(request.film_limit_bytes, largest_storage_block());
  constexpr std::size_t block = Film::block_side;
  // The largest buffer of a band: the film, or what the filter keeps of each pixel.
  const std::size_t kept = request.filtered ? DisplayFilter::bytes_a_pixel * row.pixels() : 0;
  const std::size_t rows = limit / std::max(Film::bytes(row, groups), kept);
  const auto whole = static_cast<std::size_t>(request.height);
  if (rows >= whole) return request.height;
  const auto margins = 2 * static_cast<std::size_t>(margin_rows(request));
  if (largest_storage_block() / std::max(Film::bytes(row, groups), kept) < margins + block)
    throw Refusal(fmt::format("a picture of {} x {} pixels is too wide for this device; render it {}smaller",
                              request.width, request.height,
                              request.filtered ? "without the filter or " : ""));
  return static_cast<int>(std::max((rows - std::min(rows, margins)) / block * block, block));
}

// A band, and the rows around it.
struct Band {
  View view;               // what is sampled
  int skip = 0, rows = 0;  // of it, what belongs to the picture
};

Band band_of(const PictureRequest& request, int number, int rows) {
  const int first = number * rows, last = std::min(first + rows, request.height);
  const int margin = margin_rows(request);
  Band band{
      .view = {.width = request.width, .height = request.height, .first_row = std::max(0, first - margin)},
      .rows = last - first};
  band.view.rows = std::min(last + margin, request.height) - band.view.first_row;
  band.skip = first - band.view.first_row;
  return band;
}

// Adds the band's own rows to a picture of three channels.
template <class T>
void add_rows(const Band& band, const std::vector<T>& from, std::vector<T>& to) {
  const auto row = static_cast<std::ptrdiff_t>(band.view.width) * 3;
  to.insert(to.end(), from.begin() + band.skip * row, from.begin() + (band.skip + band.rows) * row);
}

}  // namespace

BandResult sample_band(Tracer& tracer, const World& world, const Mix& mix, const View& view, Film& film,
                       const PictureRequest& request, double seconds_share, const Progress& progress) {
  const auto start = Clock::now();
  const auto seed = static_cast<std::uint32_t>(world.scene.seed);
  const bool by_rule = request.noise_pct || request.seconds;
  const unsigned wanted = by_rule ? most_samples : (request.samples + 1) / 2 * 2;
  TileStopRule rule(mix, view);
  double rounds_left = 1;  // doublings until the noise is reached, as foreseen at the last look
  BandResult band;
  for (bool content = false; band.samples < wanted && !content && !band.stopped;) {
    for (std::uint32_t half = 0; half < 2; ++half)
      tracer.sample(view, film, {.index = band.samples / 2, .half = half, .seed = seed});
    finish();
    band.samples += 2;
    double done = static_cast<double>(band.samples) / wanted;
    band.sums.clear();
    if (request.noise_pct && std::has_single_bit(band.samples) &&
        2 * band.samples >= TileStopRule::fewest_samples) {
      band.sums = film.read();
      content = rule.settle(film, band.sums, band.samples, *request.noise_pct);
      const double reached = noise_pct(rule.tiles(band.sums, band.samples));
      rounds_left = std::max(1.0, std::ceil(2 * std::log2(reached / *request.noise_pct)));
    }
    if (request.noise_pct)
      done = std::min(0.99, band.samples / std::exp2(rounds_left) /
                                std::max(TileStopRule::fewest_samples / 2, std::bit_floor(band.samples)));
    if (request.seconds) {
      const double time = seconds_since(start) / seconds_share;
      content = content || time >= 1;
      done = std::max(request.noise_pct ? done : 0, time);
    }
    band.stopped = !content && band.samples < wanted && !progress(done);
  }
  if (band.sums.empty()) band.sums = film.read();
  band.tiles = rule.tiles(band.sums, band.samples);
  if (rule.any_stopped_before(band.samples)) {
    rule.level(band.sums, band.samples);
    film.write(band.sums);
  }
  return band;
}

Film film_without_strays(const Mix& mix, const View& view, const std::vector<float>& sums, unsigned samples) {
  return {view, spread_strays(mixed_halves(mix, sums, view.pixels(), samples), view.width)};
}

bool fits_in_one_piece(const PictureRequest& request, int groups) {
  return rows_of_a_band(request, groups) >= request.height;
}

std::optional<SampledPicture> sample_picture(Tracer& tracer, const View& view, unsigned samples,
                                             std::uint32_t seed, const Progress& progress) {
  SampledPicture sampled{view, {}, (samples + 1) / 2 * 2};
  Film film = tracer.make_film(view);
  for (unsigned i = 0; i < sampled.samples; i += 2) {
    for (std::uint32_t half = 0; half < 2; ++half)
      tracer.sample(view, film, {.index = i / 2, .half = half, .seed = seed});
    finish();
    if (!progress((i + 2.0) / sampled.samples)) return std::nullopt;
  }
  sampled.sums = film.read();
  return sampled;
}

Picture8 develop_sampled(Tracer& tracer, const Developer& developer, const World& world,
                         const SampledPicture& sampled, const Development& development,
                         const DisplayFilter* filter) {
  const View& view = sampled.view;
  if (!filter)
    return developer.develop_mixed(
        world, view,
        film_without_strays(mix_over(world, development.shutter), view, sampled.sums, sampled.samples),
        development);
  const TexelBuffer features = filter->features(tracer, world, view, sampled.samples);
  return developer.develop_mixed(
      world, view, filter->run(world, view, Film(view, sampled.sums), features, sampled.samples, development),
      development);
}

double noise_of(const SampledPicture& sampled, const Mix& mix) {
  return noise_pct(TileStopRule(mix, sampled.view).tiles(sampled.sums, sampled.samples));
}

PictureResult render_picture(Tracer& tracer, const Developer& developer, const World& world,
                             const PictureRequest& request, const Development& development,
                             const Progress& progress, const DisplayFilter* filter) {
  const bool wants_features = request.filtered || Overlay::needs_features(request.overlay);
  UNDERCAP_CHECK(!wants_features || filter, "a filtered picture is asked for with a filter");
  const auto start = Clock::now();
  const int rows = rows_of_a_band(request, tracer.groups());
  const int bands = (request.height + rows - 1) / rows;
  const Mix mix = mix_over(world, development.shutter);
  PictureResult result;
  result.bands = bands;
  result.filtered = request.filtered;
  result.complete = true;
  result.samples = most_samples;
  result.picture.width = result.mix.width = request.width;
  result.picture.height = result.mix.height = request.height;
  if (request.keep_groups) result.groups.resize(world.groups.size());
  for (int band = 0; band < bands; ++band) {
    const Band piece = band_of(request, band, rows);
    const View& view = piece.view;
    Film film = tracer.make_film(view);
    const BandResult run =
        sample_band(tracer, world, mix, view, film, request, request.seconds.value_or(0) / bands,
                    [&](double done) { return progress((band + done) / bands); });
    for (const TileSums& tile : run.tiles) {
      result.samples = std::min(result.samples, tile.samples);
      result.most_samples = std::max(result.most_samples, tile.samples);
    }
    result.noise_pct = std::max(result.noise_pct, noise_pct(run.tiles));
    std::optional<TexelBuffer> features;
    if (wants_features) features = filter->features(tracer, world, view, run.samples);
    const Overlay overlay{.kind = request.overlay,
                          .features = features ? &*features : nullptr,
                          .circle_px = circle_of(world) / world.camera.width * view.width};
    const Film film_shown = request.filtered
                                ? filter->run(world, view, film, *features, run.samples, development)
                                : film_without_strays(mix, view, run.sums, run.samples);
    const Picture8 shown = developer.develop_mixed(world, view, film_shown, development, overlay);
    add_rows(piece, shown.rgb, result.picture.rgb);
    if (request.keep_groups) {
      const auto means = group_means(run.sums, view.pixels(), tracer.groups(), run.samples);
      add_rows(piece, mixed(mix, means), result.mix.rgb);
      for (std::size_t g = 0; g < means.size(); ++g) add_rows(piece, means[g], result.groups[g]);
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
