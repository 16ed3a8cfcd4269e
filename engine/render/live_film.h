// A film that grows in slices of time, for a window that stays responsive: rows of a sample at a time, sized
// by what the last ones took. Light groups may restart alone and then catch up with the others.
//
//   LiveFilm film(tracer, 480, 320, seed);
//   while (film.samples() < 64) film.advance(tracer, 0.008);
//   film.restart_group(2);  // its lamp moved
//
// Every group's samples are those of a picture that was rendered in one go: a film that has caught up equals
// it bit by bit.
#pragma once

#include <vector>

#include "engine/render/tracer.h"

namespace undercap {

// How long rows take on this device, learned from slice to slice.
class SlicePace {
 public:
  // Rows to take now so that they last about so long: a multiple of 'step', at least one step. After a change
  // a quarter of what the last ones promise, since drivers reset a device that does not answer.
  int rows(double seconds, int width, int step) const;
  void took(double seconds, int width, int rows);
  void unsettle() { sure_ = false; }
  double paths_per_second() const { return paths_per_second_; }

 private:
  double paths_per_second_ = 2e4;  // until measured: a slow machine without a GPU
  bool sure_ = false;
};

class LiveFilm {
 public:
  LiveFilm(const Tracer& tracer, int width, int height, std::uint32_t seed);

  const View& view() const { return view_; }
  const Film& film() const { return film_; }
  const FilmCounts& counts() const { return counts_; }
  void restart();
  void restart_group(int group);

  // Whole samples a pixel, both halves together, of the group that has fewest.
  unsigned samples() const;

  // Takes slices for about so long, at least one; stops at so many samples.
  void advance(Tracer& tracer, SlicePace& pace, double seconds, unsigned most_samples);

 private:
  // Which group goes next and how far: all (-1), or the first of those that lag behind.
  struct Turn {
    int group = -1, end_row = 0;
  };
  Turn next_turn() const;
  void move_on(int group, int rows);

  View view_;
  Film film_;
  std::uint32_t seed_;
  FilmCounts counts_;
};

}  // namespace undercap
