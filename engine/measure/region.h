// Sums over the samples of one region (a part, the subject, a meter), by batch and light group, and what
// follows from them: mean luminance and stops, with standard errors.
//
// A part's luminance under defocus is a ratio over first hits, sum(L [hit in part]) / sum([hit in part]), and
// its standard error that of the residuals of the batches (ratio estimator). Sums are at unit power until a
// mix is asked for.
#pragma once

#include <optional>
#include <vector>

#include "engine/measure/estimate.h"
#include "engine/world/mix.h"
#include "engine/world/world.h"

namespace undercap {

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

// Mean luminance (cd/m2) of a region under a mix. Nothing for a region that no sample met.
std::optional<Estimate> mean_luminance(const RegionSums& region, const Mix& mix, bool chief_weighted = false);
// log2 of (a under mix_a / b under mix_b), by the delta method; a and b share their batches' samples or are
// independent. Nothing when one of them is under five standard errors, or black.
std::optional<Estimate> stops_between(const RegionSums& a, const Mix& mix_a, const RegionSums& b,
                                      const Mix& mix_b);
// The error of log2 of an estimate. Nothing when it is under five standard errors, or black.
std::optional<Estimate> in_stops(const Estimate& estimate);
// Mean colours under a mix for the error of a figure that is smooth in them: of the whole region, then with
// each batch left out that met it. Nothing where fewer than two did.
std::vector<glm::dvec3> colours_left_out(const RegionSums& region, const Mix& mix);
// From the figure of each of these colours, the whole's first (jackknife, Quenouille 1949 and Tukey 1958,
// from memory).
Estimate jackknife(const std::vector<double>& figures);
// Mean colour, linear RGB, of a region under a mix.
glm::dvec3 mean_colour(const RegionSums& region, const Mix& mix);

}  // namespace undercap
