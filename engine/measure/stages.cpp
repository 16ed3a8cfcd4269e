#include "engine/measure/stages.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap {
namespace {

// A standard error from 32 batches is itself uncertain by an eighth (1 / sqrt(2 x 31)): with a margin of a
// fifth the goal is seldom missed.
constexpr double margin = 0.8;

// Calls take(passes) until the goal is reached or take returns false.
void take_in_stages(const Goal& goal, const std::function<bool(unsigned passes)>& take,
                    const std::function<double()>& noise_pct) {
  bool enough = !goal.noise_pct;
  for (unsigned passes = 0, next = 1; take(next);) {
    passes += next;
    if (passes >= goal.fewest && (enough || 2 * passes > goal.most)) return;
    if (goal.noise_pct) {
      // Twice the samples have at most 1 / sqrt(2) of the noise.
      enough = noise_pct() / std::numbers::sqrt2 <= margin * *goal.noise_pct;
      next = passes;
    } else {
      next = std::min(passes, goal.fewest - passes);
    }
  }
}

}  // namespace

double noise_pct_of(const RegionSums& region, const Mix& mix) {
  const auto mean = mean_luminance(region, mix);
  return mean && mean->value > 0 ? 100 * mean->se / mean->value : 0;
}

bool extend_survey_to(Tracer& tracer, const World& world, Survey& survey, const Goal& goal,
                      const KeepGoing& keep_going) {
  const Mix mix = mix_foreseen(world);
  const auto noise_pct = [&] {
    return std::max(noise_pct_of(survey.subject, mix), noise_pct_of(survey.backdrop, mix));
  };
  double foreseen = goal.fewest;  // passes
  bool whole = true;
  take_in_stages(
      goal,
      [&](unsigned more) {
        const double there = survey.passes;
        foreseen = std::max(foreseen, there + more);
        whole = extend_survey(tracer, world, survey, more,
                              [&](double done) { return keep_going((there + more * done) / foreseen); });
        if (goal.noise_pct)
          foreseen =
              std::max(foreseen,
                       std::min<double>(
                           goal.most, survey.passes * std::pow(noise_pct() / (margin * *goal.noise_pct), 2)));
        return whole;
      },
      noise_pct);
  return whole;
}

RegionSums take_meter_to(Tracer& tracer, const World& world, const Meter& meter, const Goal& goal,
                         const std::function<bool()>& go_on, int side) {
  const Mix mix = mix_foreseen(world);
  RegionSums sums(world.groups.size());
  unsigned taken = 0;
  take_in_stages(
      goal,
      [&](unsigned more) {
        if (taken > 0 && !go_on()) return false;
        extend_meter(tracer, world, meter, taken, more, sums, side);
        taken += more;
        return true;
      },
      [&] { return noise_pct_of(sums, mix); });
  return sums;
}

}  // namespace undercap
