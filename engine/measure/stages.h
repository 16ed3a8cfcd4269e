// Sampling in stages: 1, 2, 4, 8 ... passes in all, until what there is will do.
//
// Whether a stage is the last is settled by the noise before that stage, foreseen for its end. Asked about
// the very samples that it ends with, a run would end when they happen to lie close together, which for light
// is when they happen to be low: the mean would come out low, and its error too small.
#pragma once

#include <optional>

#include "engine/measure/survey.h"

namespace undercap {

struct Goal {
  unsigned fewest = 1;              // passes; a pass is a sample for each cell and batch
  unsigned most = 1;                // with a noise to reach
  std::optional<double> noise_pct;  // relative standard error to reach, per cent
};

// Relative standard error of the mean luminance, per cent; 0 of a region that is black or not met.
double noise_pct_of(const RegionSums& region, const Mix& mix);

// Extends an empty survey until its subject and backdrop reach the goal. Returns false when stopped before.
// With a noise to reach, the end is not known: the share done is of what is foreseen.
bool extend_survey_to(Tracer& tracer, const World& world, Survey& survey, const Goal& goal,
                      const KeepGoing& keep_going);

// A meter or spot; 'go_on' is asked before each stage but the first, which takes as long as all before it.
RegionSums take_meter_to(Tracer& tracer, const World& world, const Meter& meter, const Goal& goal,
                         const std::function<bool()>& go_on, int side = meter_side);

}  // namespace undercap
