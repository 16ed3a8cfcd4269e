#include "engine/measure/separation.h"

#include <algorithm>
#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/measure/scrambles.h"

namespace undercap {
namespace {

constexpr int most_columns = 1024;

SeparationFilm empty_film(const World& world) {
  const double aspect = world.camera.width / world.camera.height;
  SeparationFilm film;
  film.height =
      std::max(8, static_cast<int>(std::lround(std::min<double>(separation_rows, most_columns / aspect))));
  film.width = std::max(8, static_cast<int>(std::lround(film.height * aspect)));
  const std::size_t pixels = static_cast<std::size_t>(film.width) * static_cast<std::size_t>(film.height);
  for (auto& eighth : film.sum) eighth.assign(world.groups.size(), std::vector<glm::vec3>(pixels));
  film.subject_hits.assign(pixels, 0);
  film.backdrop_hits.assign(pixels, 0);
  return film;
}

Share share_of(unsigned hits, unsigned samples) {
  return 8 * hits >= 7 * samples ? nearly_all : 2 * hits > samples ? most : no_share;
}

}  // namespace

SeparationRun::SeparationRun(const Tracer& tracer, const World& world)
    : world_(world),
      film_(empty_film(world)),
      view_{.width = film_.width, .height = film_.height, .first_hits = true},
      sums_(tracer.make_film(view_)),
      whose_(world) {}

bool SeparationRun::advance(Tracer& tracer, int rows) {
  if (row_ == 0) sums_.clear();
  rows = std::min(rows, view_.height - row_);
  tracer.sample(view_, sums_,
                {.index = film_.passes,
                 .half = 0,
                 .seed = batch_seed(world_, eighth_, separation_purpose),
                 .first_row = row_,
                 .rows = rows});
  row_ += rows;
  if (row_ < view_.height) return false;
  row_ = 0;
  add_eighth();
  eighth_ = (eighth_ + 1) % eighths;
  // Only whole rounds end a film, so that every eighth has the same count.
  if (eighth_ != 0) return false;
  ++film_.passes;
  return true;
}

void SeparationRun::add_eighth() {
  const std::vector<float> sums = sums_.read();
  const std::vector<Film::FirstHit> hits = sums_.read_first_hits();
  for (std::size_t g = 0; g < world_.groups.size(); ++g)
    for (std::size_t pixel = 0; pixel < hits.size(); ++pixel) {
      const float* rgb = &sums[(g * hits.size() + pixel) * 3];
      film_.sum[eighth_][g][pixel] += glm::vec3(rgb[0], rgb[1], rgb[2]);
    }
  for (std::size_t pixel = 0; pixel < hits.size(); ++pixel) {
    const Film::FirstHit& hit = hits[pixel];
    if (whose_.is_subject(hit)) ++film_.subject_hits[pixel];
    if (!whose_.is_backdrop(hit)) continue;
    ++film_.backdrop_hits[pixel];
    if (hit.part == no_part)
      ++film_.open_hits;
    else
      film_.backdrop_m[eighth_].push_back(hit.distance_m);
  }
}

SeparationFilm take_separation(Tracer& tracer, const World& world, unsigned passes,
                               const KeepGoing& keep_going) {
  SeparationRun run(tracer, world);
  bool go_on = true;
  while (go_on && run.film().passes < passes)
    if (run.advance(tracer, run.height()))
      go_on = keep_going(static_cast<double>(run.film().passes) / passes);
  return run.film();
}

SeparationPicture mixed_separation(const SeparationFilm& film, const Mix& mix) {
  UNDERCAP_CHECK(film.passes > 0, "a film is mixed after a round of samples");
  SeparationPicture picture{
      .width = film.width, .height = film.height, .colour = {}, .subject = {}, .backdrop = {}};
  for (std::size_t eighth = 0; eighth < eighths; ++eighth) {
    picture.colour[eighth].resize(picture.pixels());
    for (std::size_t g = 0; g < mix.size(); ++g)
      for (std::size_t pixel = 0; pixel < picture.pixels(); ++pixel)
        picture.colour[eighth][pixel] +=
            mix[g] * glm::dvec3(film.sum[eighth][g][pixel]) / static_cast<double>(film.passes);
  }
  const unsigned samples = film.passes * eighths;
  for (std::size_t pixel = 0; pixel < picture.pixels(); ++pixel) {
    picture.subject.push_back(share_of(film.subject_hits[pixel], samples));
    picture.backdrop.push_back(share_of(film.backdrop_hits[pixel], samples));
  }
  return picture;
}

std::vector<glm::dvec3> mean_colour(const SeparationPicture& picture, const Use& use) {
  const auto used = static_cast<double>(std::count(use.begin(), use.end(), true));
  std::vector<glm::dvec3> mean(picture.pixels());
  for (std::size_t eighth = 0; eighth < eighths; ++eighth)
    for (std::size_t pixel = 0; use[eighth] && pixel < mean.size(); ++pixel)
      mean[pixel] += picture.colour[eighth][pixel] / used;
  return mean;
}

std::vector<double> mean_luminance(const SeparationPicture& picture, const Use& use) {
  std::vector<double> luminance;
  luminance.reserve(picture.pixels());
  for (const glm::dvec3& colour : mean_colour(picture, use)) luminance.push_back(luminance_y(colour));
  return luminance;
}

std::pair<Use, Use> halves_of(const Use& use) {
  std::pair<Use, Use> halves{};
  bool second = false;
  for (std::size_t eighth = 0; eighth < eighths; ++eighth) {
    if (!use[eighth]) continue;
    (second ? halves.second : halves.first)[eighth] = true;
    second = !second;
  }
  return halves;
}

Display display_of(const World& world, const Development& how, int width, int height) {
  Display display{.how = how, .exposure_per_luminance = axis_shares(world, width, height)};
  for (double& share : display.exposure_per_luminance)
    share *= exposure_per_luminance(world, how.shutter).value();
  return display;
}

std::vector<glm::dvec3> displayed(const SeparationPicture& picture, const Display& display, const Use& use) {
  std::vector<glm::dvec3> colours = mean_colour(picture, use);
  for (std::size_t pixel = 0; pixel < colours.size(); ++pixel)
    colours[pixel] = displayed_linear(display.exposure_per_luminance[pixel] * colours[pixel], display.how);
  return colours;
}

}  // namespace undercap
