#include "engine/render/live_film.h"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

}  // namespace

int SlicePace::rows(double seconds, int width, int step) const {
  const double paths = seconds * paths_per_second_ * (sure_ ? 1 : 0.25);
  const int steps = static_cast<int>(std::min(1e6, paths / width / step));
  return std::max(1, steps) * step;
}

void SlicePace::took(double seconds, int width, int rows) {
  const double measured = static_cast<double>(width) * rows / std::max(seconds, 1e-5);
  // A slice over the sky says little of one over the litter: faster only by half, slower at once.
  paths_per_second_ = measured > paths_per_second_ ? std::min(measured, paths_per_second_ * (sure_ ? 1.5 : 4))
                                                   : (paths_per_second_ + measured) / 2;
  sure_ = true;
}

LiveFilm::LiveFilm(const Tracer& tracer, int width, int height, std::uint32_t seed)
    : view_{.width = width, .height = height},
      film_(tracer.make_film(view_)),
      seed_(seed),
      counts_(static_cast<std::size_t>(tracer.groups())) {}

void LiveFilm::restart() {
  film_.clear();
  std::fill(counts_.begin(), counts_.end(), GroupCount{});
}

void LiveFilm::restart_group(int group) {
  film_.clear_group(group);
  counts_[static_cast<std::size_t>(group)] = {};
}

unsigned LiveFilm::samples() const {
  return static_cast<unsigned>(std::min_element(counts_.begin(), counts_.end())->passes) / 2 * 2;
}

LiveFilm::Turn LiveFilm::next_turn() const {
  const auto [least, most] = std::minmax_element(counts_.begin(), counts_.end());
  if (*least == *most) return {-1, view_.height};
  int end = view_.height;
  for (const GroupCount& other : counts_)
    if (other.passes == least->passes && other.rows > least->rows) end = std::min(end, other.rows);
  return {static_cast<int>(least - counts_.begin()), end};
}

void LiveFilm::move_on(int group, int rows) {
  for (std::size_t g = 0; g < counts_.size(); ++g) {
    if (group >= 0 && static_cast<int>(g) != group) continue;
    counts_[g].rows += rows;
    if (counts_[g].rows >= view_.height) counts_[g] = {counts_[g].passes + 1, 0};
  }
}

void LiveFilm::advance(Tracer& tracer, SlicePace& pace, double seconds, unsigned most_samples) {
  const auto start = Clock::now();
  for (double left = seconds; left > 0 && samples() < most_samples; left = seconds - seconds_since(start)) {
    const Turn turn = next_turn();
    const GroupCount& at = counts_[turn.group < 0 ? 0 : static_cast<std::size_t>(turn.group)];
    const auto pass = static_cast<unsigned>(at.passes);
    const int rows = std::min(pace.rows(left, view_.width, tracer.slice_rows()), turn.end_row - at.rows);
    const auto slice_start = Clock::now();
    tracer.sample(view_, film_,
                  {.index = pass / 2,
                   .half = pass % 2,
                   .seed = seed_,
                   .only_group = turn.group,
                   .first_row = at.rows,
                   .rows = rows});
    finish();
    pace.took(seconds_since(slice_start), view_.width, rows);
    move_on(turn.group, rows);
  }
}

}  // namespace undercap
