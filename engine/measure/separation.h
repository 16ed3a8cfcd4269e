// The picture that backdrop separation is read from: 256 rows, sampled evenly, with what is subject and what
// is backdrop in it.
//
// A survey's cells (survey.h) are too coarse for an outline and for fine texture. Here a pixel belongs to the
// subject, or to the backdrop, when more than half of its samples meet it first; where neither has most, it
// belongs to none. The samples come in eighths with scrambles of their own, so that a figure that noise would
// shift is made as the product of independent halves, and has a standard error (estimate.h). Luminances in
// cd/m2, linear RGB; row 0 is the top one.
#pragma once

#include <array>
#include <cstdint>
#include <utility>
#include <vector>

#include "engine/measure/estimate.h"
#include "engine/measure/survey.h"
#include "engine/render/develop.h"
#include "engine/render/tracer.h"
#include "engine/world/mix.h"

namespace undercap {

struct SeparationFilm {
  int width = 0, height = 0;  // pixels
  unsigned passes = 0;        // samples a pixel and eighth
  // Sums a group and pixel at unit power, by eighths.
  std::array<std::vector<std::vector<glm::vec3>>, eighths> sum;
  std::vector<std::uint16_t> subject_hits, backdrop_hits;  // of all samples, a pixel
  // Of first hits on the backdrop's parts, m along the axis from the entrance pupil.
  std::array<std::vector<float>, eighths> backdrop_m;
  std::size_t open_hits = 0;  // samples of the backdrop that meet nothing: open sky
};

// Rows, so that 128 cycles fit into the frame's height; fewer where the frame is over four times as wide as
// high, to keep the pixels within 1024 columns.
inline constexpr int separation_rows = 256;

// A film in slices of rows. The tracer may be used for other things in between; tracer and world must outlive
// the run.
class SeparationRun {
 public:
  SeparationRun(const Tracer& tracer, const World& world);
  const SeparationFilm& film() const { return film_; }
  int width() const { return film_.width; }
  int height() const { return film_.height; }
  // Takes so many rows, or what is left of an eighth; true when that ended a round of all eighths.
  bool advance(Tracer& tracer, int rows);

 private:
  void add_eighth();
  const World& world_;
  SeparationFilm film_;
  View view_;
  Film sums_;
  FirstHits whose_;
  unsigned eighth_ = 0;
  int row_ = 0;
};

// A film of so many samples a pixel and eighth; fewer, but whole rounds, when stopped.
SeparationFilm take_separation(Tracer& tracer, const World& world, unsigned passes,
                               const KeepGoing& keep_going);

// Of a pixel's samples that meet something first: a pixel with most belongs to it; one with nearly all, seven
// in eight, hardly mixes its light with what is beside it.
enum Share : std::uint8_t { no_share, most, nearly_all };

// What the figures are made from.
struct SeparationPicture {
  int width = 0, height = 0;
  std::array<std::vector<glm::dvec3>, eighths> colour;  // cd/m2, by eighths
  std::vector<std::uint8_t> subject, backdrop;          // a Share
  std::size_t pixels() const { return static_cast<std::size_t>(width) * static_cast<std::size_t>(height); }
};
SeparationPicture mixed_separation(const SeparationFilm& film, const Mix& mix);

// Means of the eighths in use.
std::vector<glm::dvec3> mean_colour(const SeparationPicture& picture, const Use& use);
std::vector<double> mean_luminance(const SeparationPicture& picture, const Use& use);

// The eighths in use as two independent halves, for squares without the noise's own.
std::pair<Use, Use> halves_of(const Use& use);

// The picture as a display shows it, linear light 0..1 with its white at 1, without the sensor's noise.
struct Display {
  Development how;
  std::vector<double> exposure_per_luminance;  // lx s for 1 cd/m2, a pixel
};
Display display_of(const World& world, const Development& how, int width, int height);
std::vector<glm::dvec3> displayed(const SeparationPicture& picture, const Display& display, const Use& use);

}  // namespace undercap
