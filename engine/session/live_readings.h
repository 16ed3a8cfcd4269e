// The readings of a window while they sharpen: first a quick survey in large cells, then the one that
// 'measure' takes, then every meter. In slices of time; edits of power, colour and exposure need no new ray.
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <vector>

#include "engine/measure/exposing.h"
#include "engine/measure/readings.h"
#include "engine/measure/survey.h"
#include "engine/render/live_film.h"
#include "engine/render/tracer.h"

namespace undercap {

class LiveReadings {
 public:
  // Rounds of the survey in the end: those of 'measure' at its usual quality.
  static constexpr unsigned whole_passes = 4;

  // Geometry, camera or light changed: everything is taken anew, while the old readings stay to be seen.
  void restart(const Tracer& tracer, const World& world);
  // The same, but meters and survey of another world than before: nothing is kept.
  void start(const Tracer& tracer, const World& world);
  // Powers, colours, times, exposure: the same rays, mixed anew.
  void remix(const World& world);
  // Meters were added, moved or taken away.
  void meters_changed(const Tracer& tracer, const World& world);

  // Works for about so long. True when exposure or readings are new.
  bool advance(Tracer& tracer, const World& world, double seconds);

  const std::optional<ExposureChoice>& exposure() const { return exposure_; }
  const std::vector<Reading>& readings() const { return readings_; }
  // Of the world as it is now; while it moves, what is shown may be of a moment before.
  bool current() const { return current_; }
  bool quick() const { return stage_ < Stage::meters && !whole_taken_; }  // from large cells
  bool done() const { return stage_ == Stage::done && !readings_due_; }
  double share_done() const;
  // The survey that the readings rest on.
  const Survey* survey() const;
  const RegionSums* meter(const std::string& name) const;

 private:
  enum class Stage { quick, quick_white, whole, whole_white, meters, without_barrel, done };
  bool finish_stage(const Tracer& tracer, const World& world);
  void next_stage(const Tracer& tracer, const World& world);
  void expose(const World& world);
  bool work_out(const World& world);  // when it is due
  const RegionSums* exposing_sums(const World& world) const;

  Stage stage_ = Stage::quick;
  std::unique_ptr<SurveyRun> run_;        // under way
  std::unique_ptr<MeterRun> meter_run_;   // under way
  std::optional<Survey> survey_, white_;  // that the readings rest on
  std::optional<Survey> without_barrel_;
  std::vector<MeterSums> meters_;
  std::optional<ExposureChoice> exposure_;
  std::vector<Reading> readings_;
  SlicePace pace_;
  std::chrono::steady_clock::time_point worked_out_{};
  bool readings_due_ = false;
  bool current_ = false, whole_taken_ = false, whole_white_ = false;
};

}  // namespace undercap
