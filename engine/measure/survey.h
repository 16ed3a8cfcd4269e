// A survey: the picture sampled coarsely but many times, with the first thing that each sample meets.
//
// 32 batches, each with a scramble of its own; what a region's luminance is, and how sure, follows from the
// batch sums (region.h). Numbers come from raw films, at unit power until a mix is asked for.
#pragma once

#include <array>
#include <functional>
#include <optional>
#include <vector>

#include "engine/measure/first_hits.h"
#include "engine/measure/region.h"
#include "engine/render/tracer.h"
#include "engine/world/world.h"

namespace undercap {

struct Survey {
  int width = 0, height = 0;     // cells; a cell is 1/64 of the frame's height unless said otherwise
  bool white_first = false;      // every first hit a perfect white: luminance x pi is the illuminance there
  unsigned passes = 0;           // samples a cell and batch
  std::vector<RegionSums> part;  // by World::parts
  // foreground: what is seen and is neither subject nor backdrop; whole: every sample, sky and all.
  RegionSums subject, backdrop, foreground, whole;
  TraceCounters counters;
  // For figures that are no means (estimate.h), by eighths of the batches.
  std::array<std::vector<float>, eighths> subject_depth_m;  // along the axis, from the entrance pupil
  // Sums of luminance a group and cell, at unit power.
  std::array<std::vector<std::vector<glm::dvec3>>, eighths> cell;
  std::vector<std::uint32_t> subject_hits;  // a cell: samples that met the subject
  // Whether most of a cell's samples met the subject.
  bool is_subject(std::size_t at) const { return 2 * subject_hits[at] > passes * batch_count; }
};

// Told the share done after each round of all batches; false stops there.
using KeepGoing = std::function<bool(double done)>;

Survey take_survey(Tracer& tracer, const World& world, unsigned passes, bool white_first,
                   const KeepGoing& keep_going, int cells_high = 64);
// An empty survey to extend; extending returns false when stopped, which may be before 'passes' more are
// there.
Survey start_survey(const World& world, bool white_first, int cells_high = 64);
bool extend_survey(Tracer& tracer, const World& world, Survey& survey, unsigned passes,
                   const KeepGoing& keep_going);

// A survey in slices of rows, for a window that stays responsive. The tracer may be used for other things in
// between. Tracer and world must outlive it.
class SurveyRun {
 public:
  SurveyRun(const Tracer& tracer, const World& world, bool white_first, int cells_high = 64);
  const Survey& survey() const { return survey_; }
  // Takes so many rows, or what is left of a batch; true when that ended a round of all batches.
  bool advance(Tracer& tracer, int rows);
  int width() const { return survey_.width; }

 private:
  friend bool extend_survey(Tracer&, const World&, Survey&, unsigned, const KeepGoing&);
  SurveyRun(const Tracer& tracer, const World& world, Survey survey);
  void add_batch();
  const World& world_;
  Survey survey_;
  View view_;
  Film film_;
  std::vector<double> weights_;
  FirstHits whose_;
  unsigned batch_ = 0;
  int row_ = 0;
};

// Where the visible subject lies along the axis, from the entrance pupil: its first and its last hundredth.
// None where some eighths have no sample of it.
struct DepthRange {
  Length near, far;
};
std::optional<DepthRange> subject_range(const Survey& survey, const Use& use);

// Share of the axis's illuminance in the middle of each of so many cells of the frame, row by row.
std::vector<double> axis_shares(const World& world, int width, int height);

// Mean luminance of the cells (linear RGB, cd/m2) under a mix, from some of the eighths.
std::vector<glm::dvec3> cell_luminance(const Survey& survey, const Mix& mix, const Use& use);

// An incident meter (lx) or a spot (cd/m2) of the scene, by group at unit power. A spot is small, so its
// weighted sums take cos^4 of its centre. The scrambles are the meter's own, by its name, so that the errors
// of two meters are independent. A batch has meter_side^2 samples a pass.
inline constexpr int meter_side = 32;
RegionSums take_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned passes);
// The same, a batch at a time. Tracer and world must outlive it.
class MeterRun {
 public:
  MeterRun(const Tracer& tracer, const World& world, const Meter& meter, int side = meter_side);
  // The next batch: so many passes after the first ones.
  void add_batch(Tracer& tracer, unsigned first, unsigned passes);
  bool done() const { return batch_ == batch_count; }
  const Meter& meter() const { return meter_; }
  const RegionSums& sums() const { return sums_; }

 private:
  const World& world_;
  Meter meter_;
  View view_;
  Film film_;
  RegionSums sums_;
  unsigned batch_ = 0;
};
// Adds the passes after 'first' to sums that have as many.
void extend_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned first, unsigned passes,
                  RegionSums& into, int side = meter_side);

}  // namespace undercap
