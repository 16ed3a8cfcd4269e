// The picture of a window while it refines: films of one view in a few sizes, the coarse ones for what moves,
// and the newest of them as a texture, through the display filter or raw.
//
// What is shown stays until something newer has a whole sample in both halves.
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <vector>

#include "engine/render/filter.h"
#include "engine/render/live_film.h"

namespace undercap {

struct ShownPicture {
  unsigned texture = 0;  // 0: nothing yet
  int width = 0, height = 0;
  unsigned samples = 0;  // a pixel, both halves; of the light group that has fewest
  bool filtered = false;
  bool full = false;  // at full size
};

class LivePicture {
 public:
  using Clock = std::chrono::steady_clock;
  static constexpr unsigned most_samples = 4096;

  explicit LivePicture(const ShaderLibrary& shaders);

  // Of the full size, pixels.
  void set_size(int width, int height);
  // The world or its light groups are others: new films.
  void start(const Tracer& tracer);
  // The camera or the set changed, or all light.
  void restart();
  void restart_group(int group);
  // While something is dragged only the size that the device keeps up with is sampled.
  void set_dragging(bool dragging) { dragging_ = dragging; }
  // What is drawn over the picture; the circle in mm on the sensor.
  void set_overlay(Overlay::Kind kind);
  // Powers, colours, exposure or the wish to filter: shows anew what there is.
  void refresh();

  // Works for about so long. True when the texture is new.
  bool advance(Tracer& tracer, const World& world, const Development& development, bool filtered,
               double seconds);

  // The codes of the picture as shown, R G B 255 a word, for histograms; read back when asked.
  std::vector<std::uint32_t> codes() const;
  const ShownPicture& shown() const { return shown_; }
  bool showing_current() const { return shown_.texture != 0 && !stale_; }
  // Samples of the size that is being sampled, and whether that is the full one.
  unsigned samples() const { return levels_.empty() ? 0 : levels_[active_].film.samples(); }
  bool at_full_size() const { return active_ == 0; }
  bool complete() const { return at_full_size() && samples() >= most_samples; }
  // Whether everything that was asked for last has at least one whole sample.
  bool has_sample() const { return samples() >= 2; }
  // The film at full size, and its samples.
  const LiveFilm* full_film() const { return levels_.empty() ? nullptr : &levels_[0].film; }
  const SlicePace& pace() const { return pace_; }

 private:
  struct Level {
    LiveFilm film;
    TexelBuffer features;
    int feature_rows = 0;  // found so far
    unsigned feature_samples = 0;
    unsigned shown_samples = 0;
  };
  void make_levels(const Tracer& tracer, std::uint32_t seed);
  std::size_t coarsest_that_keeps_up(double seconds) const;
  std::size_t level_that_filters_within(double seconds) const;
  void choose_level();
  bool wants_show(bool filtered) const;
  bool advance_show(Tracer& tracer, const World& world, const Development& development, bool filtered,
                    Clock::time_point until);
  void put(const World& world, const Development& development, const Level& level, bool filtered);

  const ShaderLibrary& shaders_;
  Developer developer_;
  std::unique_ptr<DisplayFilter> filter_;
  std::string filter_defines_;
  bool software_;
  int width_ = 480, height_ = 320;
  std::uint32_t seed_ = 1;
  std::vector<Level> levels_;  // the full size first
  std::size_t active_ = 0;     // the size that is being sampled
  bool dragging_ = false, refresh_ = false, stale_ = false;
  SlicePace pace_, feature_pace_, filter_pace_;
  std::optional<FilterRun> filtering_;
  std::size_t filtering_level_ = 0;
  unsigned filtering_samples_ = 0;
  double show_cost_s_ = 0;
  Clock::time_point last_show_{};
  Texture texture_;
  Buffer codes_;
  Overlay::Kind overlay_ = Overlay::Kind::none;
  ShownPicture shown_;
};

}  // namespace undercap
