// A survey: the picture sampled coarsely but many times, with the first thing that each sample meets.
//
// 32 batches, each with a scramble of its own; what a region's luminance is, and how sure, follows from the
// batch sums. A part's luminance under defocus is a ratio over first hits, sum(L [hit in part]) / sum([hit in
// part]), and its standard error that of the residuals (ratio estimator). Numbers come from raw films, at
// unit power until a mix is asked for.
#pragma once

#include <functional>
#include <span>
#include <vector>

#include "engine/render/tracer.h"
#include "engine/world/world.h"

namespace undercap {

inline constexpr unsigned batch_count = 32;

// A value with one standard error.
struct Estimate {
  double value = 0;
  double se = 0;
};

// Sums over the samples of one region: a value per batch and group.
class RegionSums {
 public:
  RegionSums() = default;
  explicit RegionSums(std::size_t groups);
  void add(unsigned batch, std::size_t group, const glm::dvec3& luminance, double chief_weight);
  void count(unsigned batch, double samples = 1) { count_[batch] += samples; }
  void merge(const RegionSums& other);

  double samples() const;
  bool empty() const { return samples() <= 0; }
  std::size_t groups() const { return groups_; }
  double count_of(unsigned batch) const { return count_[batch]; }
  const glm::dvec3& luminance_of(unsigned batch, std::size_t group) const {
    return plain_[batch * groups_ + group];
  }
  const glm::dvec3& weighted_of(unsigned batch, std::size_t group) const {
    return weighted_[batch * groups_ + group];
  }

 private:
  std::size_t groups_ = 0;
  std::vector<double> count_;
  std::vector<glm::dvec3> plain_;     // luminance
  std::vector<glm::dvec3> weighted_;  // luminance x cos^4 of the chief ray: what the sensor gets
};

struct Survey {
  int width = 0, height = 0;            // cells; a cell is 1/64 of the frame's height
  unsigned samples = 0;                 // a cell
  std::vector<RegionSums> part;         // by World::parts
  RegionSums subject, backdrop, whole;  // whole: every sample, sky and all
  std::vector<float> subject_depth_m,
      backdrop_depth_m;                       // along the axis, from the entrance pupil, a sample each
  std::vector<std::vector<glm::dvec3>> cell;  // mean luminance a group and cell, at unit power
  TraceCounters counters;
};

// 'passes' samples a cell and batch. 'white_first' makes every first hit a perfect white: luminance x pi is
// then the illuminance there. 'keep_going' is asked between passes; false stops the survey early.
Survey take_survey(Tracer& tracer, const World& world, unsigned passes, bool white_first,
                   const std::function<bool(double done)>& keep_going);

// A mix of the groups: what each unit film is multiplied by.
using Mix = std::vector<glm::dvec3>;
Mix mix_of(const World& world);                                // as the scene has it
Mix mix_with(const World& world, std::size_t group, bool on);  // one group on or off at its power

// Mean luminance (cd/m2) of a region under a mix, and its ratio in stops between regions or mixes. Estimates
// of a region that no sample met are empty.
std::optional<Estimate> mean_luminance(const RegionSums& region, const Mix& mix, bool chief_weighted = false);
// log2 of (a under mix_a / b under mix_b). Nothing when the base is under five standard errors, or black.
std::optional<Estimate> stops_between(const RegionSums& a, const Mix& mix_a, const RegionSums& b,
                                      const Mix& mix_b);
// Mean colour, linear RGB, of a region under a mix.
glm::dvec3 mean_colour(const RegionSums& region, const Mix& mix);

// An incident meter (lx) or a spot (cd/m2) of the scene, by group at unit power: a mean a batch and group. A
// spot is small, so its weighted sums take cos^4 of its centre.
RegionSums take_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned passes);

}  // namespace undercap
