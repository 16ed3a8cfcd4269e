#include "engine/session/live_picture.h"

#include <algorithm>
#include <cmath>

namespace undercap {
namespace {

using Clock = LivePicture::Clock;

double seconds_between(Clock::time_point from, Clock::time_point to) {
  return std::chrono::duration<double>(to - from).count();
}
double seconds_since(Clock::time_point start) { return seconds_between(start, Clock::now()); }

// A first sample in both halves, while dragging and after an edit: short of what people notice as a wait.
constexpr double dragging_s = 0.12, first_sample_s = 0.25;
// A coarse size has given what it can when its noise is that of one sample at the next one.
constexpr unsigned enough_when_coarse = 8;
// The filter takes at most this share of the time while samples come in.
constexpr double filter_share = 0.2;

}  // namespace

LivePicture::LivePicture(const ShaderLibrary& shaders)
    : shaders_(shaders), developer_(shaders), software_(software_renderer()) {}

void LivePicture::set_size(int width, int height) {
  if (width == width_ && height == height_) return;
  width_ = width;
  height_ = height;
  levels_.clear();
  filtering_.reset();
}

void LivePicture::start(const Tracer& tracer) {
  filtering_.reset();
  if (!filter_ || filter_defines_ != tracer.walk_defines()) {
    filter_defines_ = tracer.walk_defines();
    filter_ = std::make_unique<DisplayFilter>(shaders_, tracer);
  }
  levels_.clear();
}

void LivePicture::make_levels(const Tracer& tracer, std::uint32_t seed) {
  seed_ = seed;
  constexpr int smallest_side = 48;
  for (int divisor = 1;
       divisor <= 8 && (divisor == 1 || std::min(width_, height_) / divisor >= smallest_side); divisor *= 2) {
    const int width = width_ / divisor, height = height_ / divisor;
    levels_.push_back({LiveFilm(tracer, width, height, seed),
                       TexelBuffer(TexelFormat::rgba32f, static_cast<std::size_t>(width * height) *
                                                             DisplayFilter::features_of_a_pixel)});
  }
  active_ = coarsest_that_keeps_up(first_sample_s);
  stale_ = true;
}

// The finest size whose first sample in both halves comes within a time; the coarsest where none does.
std::size_t LivePicture::coarsest_that_keeps_up(double seconds) const {
  for (std::size_t i = 0; i < levels_.size(); ++i)
    if (2.0 * static_cast<double>(levels_[i].film.view().pixels()) <= seconds * pace_.paths_per_second())
      return i;
  return levels_.size() - 1;
}

// The finest size with samples that the filter brings in a time, for a power or an exposure that is dragged.
std::size_t LivePicture::level_that_filters_within(double seconds) const {
  for (std::size_t i = active_; i < levels_.size(); ++i) {
    const double pixels = static_cast<double>(levels_[i].film.view().pixels());
    if (levels_[i].film.samples() >= 2 &&
        pixels * FilterRun::steps <= seconds * filter_pace_.paths_per_second())
      return i;
  }
  return active_;
}

void LivePicture::restart() {
  filtering_.reset();
  for (Level& level : levels_) {
    level.film.restart();
    level.feature_rows = 0;
    level.feature_samples = level.shown_samples = 0;
  }
  stale_ = true;
  pace_.unsettle();
  if (!levels_.empty()) active_ = coarsest_that_keeps_up(dragging_ ? dragging_s : first_sample_s);
}

void LivePicture::restart_group(int group) {
  filtering_.reset();
  for (Level& level : levels_) {
    level.film.restart_group(group);
    level.shown_samples = 0;
  }
  stale_ = true;
  if (!levels_.empty()) active_ = coarsest_that_keeps_up(dragging_ ? dragging_s : first_sample_s);
}

void LivePicture::refresh() {
  filtering_.reset();
  refresh_ = true;
}

void LivePicture::set_overlay(Overlay::Kind kind) {
  if (kind == overlay_) return;
  overlay_ = kind;
  refresh();
}

std::vector<std::uint32_t> LivePicture::codes() const {
  std::vector<std::uint32_t> words(codes_.size() / sizeof(std::uint32_t));
  if (!words.empty()) codes_.read(std::as_writable_bytes(std::span(words)));
  return words;
}

void LivePicture::choose_level() {
  if (dragging_ || active_ == 0 || levels_[active_].film.samples() < enough_when_coarse) return;
  --active_;
}

// Whether something is worth being shown: what was asked for anew, or samples enough since the last time.
bool LivePicture::wants_show(bool filtered) const {
  const Level& level = levels_[active_];
  const unsigned samples = level.film.samples();
  if (refresh_) return true;
  if (samples < 2 || samples == level.shown_samples) return false;
  if (level.shown_samples == 0) return true;
  const double cost = filtered ? show_cost_s_ : 0.002;
  return seconds_since(last_show_) > cost / filter_share && samples >= level.shown_samples + 2;
}

void LivePicture::put(const World& world, const Development& development, const Level& level, bool filtered) {
  const View& view = level.film.view();
  const CameraRig& rig = world.camera;
  const Overlay overlay{.kind = overlay_,
                        .features = level.feature_rows == view.height ? &level.features : nullptr,
                        .circle_px = circle_of(world) / rig.width * view.width};
  codes_ = filtered
               ? developer_.codes(world, view, filtering_->result(),
                                  film_weights(Mix{glm::dvec3(1)}, even_counts(1, 2)), development, overlay)
               : developer_.codes(world, view, level.film.film(),
                                  film_weights(mix_over(world, development.shutter), level.film.counts()),
                                  development, overlay);
  if (texture_.width() != view.width || texture_.height() != view.height)
    texture_ = Texture(view.width, view.height);
  texture_.fill(codes_);
  shown_ = {texture_.id(), view.width,
            view.height,   filtered ? filtering_samples_ : level.film.samples(),
            filtered,      &level == &levels_[0]};
}

bool LivePicture::advance_show(Tracer& tracer, const World& world, const Development& development,
                               bool filtered, Clock::time_point until) {
  if (!filtering_) {
    // Of the sizes that have samples, the finest that is being sampled or finer.
    std::size_t chosen = dragging_ && refresh_ ? level_that_filters_within(dragging_s) : active_;
    if (levels_[chosen].film.samples() < 2) {
      // A refresh while the next size has nothing yet: the size before it.
      while (chosen + 1 < levels_.size() && levels_[chosen].film.samples() < 2) ++chosen;
      if (levels_[chosen].film.samples() < 2) return false;
    }
    Level& level = levels_[chosen];
    filtering_level_ = chosen;
    filtering_samples_ = level.film.samples();
    const View& view = level.film.view();
    const unsigned wanted = std::min(filtering_samples_, 8u);
    // A light that restarts leaves what is seen as it is: the features of more samples stay.
    if (level.feature_samples < wanted) {
      level.feature_samples = wanted;
      level.feature_rows = 0;
    }
    const bool wants_features = filtered || Overlay::needs_features(overlay_);
    while (wants_features && level.feature_rows < view.height) {
      const double left = seconds_between(Clock::now(), until);
      if (left <= 0) return false;
      const int rows = std::min(feature_pace_.rows(left, view.width, 8), view.height - level.feature_rows);
      const auto start = Clock::now();
      filter_->find_features(tracer, world, view, wanted, level.feature_rows, rows, level.features);
      finish();
      feature_pace_.took(seconds_since(start), view.width, rows);
      level.feature_rows += rows;
    }
    if (!filtered) {
      put(world, development, level, false);
      level.shown_samples = filtering_samples_;
      last_show_ = Clock::now();
      refresh_ = false;
      stale_ = false;
      return true;
    }
    filtering_.emplace(*filter_, world, view, level.film.film(), level.film.counts(), level.features,
                       development);
    filtering_->advance(view.height);  // the mix, which frees the film to grow
    show_cost_s_ = 0;
  }
  const Level& level = levels_[filtering_level_];
  const auto begin = Clock::now();
  while (!filtering_->done()) {
    const double left = seconds_between(Clock::now(), until);
    if (left <= 0) {
      show_cost_s_ += seconds_since(begin);
      return false;
    }
    const int rows = filter_pace_.rows(left, level.film.view().width, 8);
    const auto start = Clock::now();
    filtering_->advance(rows);
    finish();
    filter_pace_.took(seconds_since(start), level.film.view().width,
                      std::min(rows, level.film.view().height));
  }
  show_cost_s_ += seconds_since(begin);
  put(world, development, level, true);
  levels_[filtering_level_].shown_samples = filtering_samples_;
  filtering_.reset();
  last_show_ = Clock::now();
  refresh_ = false;
  stale_ = false;
  return true;
}

bool LivePicture::advance(Tracer& tracer, const World& world, const Development& development, bool filtered,
                          double seconds) {
  const auto until =
      Clock::now() + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(seconds));
  const auto seed = static_cast<std::uint32_t>(world.scene.seed);
  if (levels_.empty() || seed != seed_) {
    levels_.clear();
    make_levels(tracer, seed);
  }
  choose_level();
  bool shown = false;
  if (filtering_ || wants_show(filtered)) shown = advance_show(tracer, world, development, filtered, until);
  const double left = seconds_between(Clock::now(), until);
  if (left > 0 && !filtering_) levels_[active_].film.advance(tracer, pace_, left, most_samples);
  return shown;
}

}  // namespace undercap
