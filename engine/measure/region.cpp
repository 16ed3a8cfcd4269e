#include "engine/measure/region.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"

namespace undercap {
namespace {

double luminance_under(const RegionSums& region, unsigned batch, const Mix& mix, bool weighted) {
  double sum = 0;
  for (std::size_t g = 0; g < mix.size(); ++g)
    sum += luminance_y(mix[g] * (weighted ? region.weighted_of(batch, g) : region.luminance_of(batch, g)));
  return sum;
}

// Value and the residual of each batch, scaled so that SE^2 = sum of residual^2.
struct Residuals {
  double value = 0;
  int freedom = 0;
  bool doubtful = false;
  std::array<double, batch_count> residual{};

  Estimate estimate() const {
    double squares = 0;
    for (const double r : residual) squares += r * r;
    return {value, std::sqrt(squares), freedom, doubtful};
  }
};

// Batches that met nothing of a small region say nothing: the degrees of freedom are those of the others.
Residuals residuals(const RegionSums& region, const Mix& mix, bool weighted) {
  std::array<double, batch_count> sums{};
  double total = 0, count = 0, most = 0;
  int met = 0;
  for (unsigned b = 0; b < batch_count; ++b) {
    sums[b] = luminance_under(region, b, mix, weighted);
    total += sums[b];
    most = std::max(most, sums[b]);
    count += region.count_of(b);
    met += region.count_of(b) > 0;
  }
  Residuals r;
  r.value = total / count;
  r.freedom = met - 1;
  r.doubtful = most > total / 4 || r.freedom < least_freedom;
  const double scale = met > 1 ? std::sqrt(met / (met - 1.0)) / count : 0;
  for (unsigned b = 0; b < batch_count; ++b) r.residual[b] = (sums[b] - r.value * region.count_of(b)) * scale;
  return r;
}

}  // namespace

RegionSums::RegionSums(std::size_t groups)
    : groups_(groups), count_(batch_count), plain_(batch_count * groups), weighted_(batch_count * groups) {}

void RegionSums::add(unsigned batch, std::size_t group, const glm::dvec3& luminance, double chief_weight) {
  plain_[batch * groups_ + group] += luminance;
  weighted_[batch * groups_ + group] += luminance * chief_weight;
}

void RegionSums::merge(const RegionSums& other) {
  for (std::size_t i = 0; i < count_.size(); ++i) count_[i] += other.count_[i];
  for (std::size_t i = 0; i < plain_.size(); ++i) {
    plain_[i] += other.plain_[i];
    weighted_[i] += other.weighted_[i];
  }
}

double RegionSums::samples() const {
  double sum = 0;
  for (const double c : count_) sum += c;
  return sum;
}

std::optional<Estimate> mean_luminance(const RegionSums& region, const Mix& mix, bool chief_weighted) {
  if (region.empty()) return std::nullopt;
  return residuals(region, mix, chief_weighted).estimate();
}

std::optional<Estimate> stops_between(const RegionSums& a, const Mix& mix_a, const RegionSums& b,
                                      const Mix& mix_b) {
  if (a.empty() || b.empty()) return std::nullopt;
  const Residuals ra = residuals(a, mix_a, false), rb = residuals(b, mix_b, false);
  if (!ra.estimate().above_noise() || !rb.estimate().above_noise()) return std::nullopt;
  Residuals stops;
  stops.value = std::log2(ra.value / rb.value);
  stops.freedom = std::min(ra.freedom, rb.freedom);
  stops.doubtful = ra.doubtful || rb.doubtful;
  for (unsigned i = 0; i < batch_count; ++i)
    stops.residual[i] = (ra.residual[i] / ra.value - rb.residual[i] / rb.value) / std::numbers::ln2;
  return stops.estimate();
}

std::optional<Estimate> in_stops(const Estimate& estimate) {
  if (!estimate.above_noise()) return std::nullopt;
  return Estimate{std::log2(estimate.value), estimate.se / estimate.value / std::numbers::ln2,
                  estimate.freedom, estimate.doubtful};
}

std::vector<glm::dvec3> colours_left_out(const RegionSums& region, const Mix& mix) {
  std::array<glm::dvec3, batch_count> sums{};
  glm::dvec3 total(0);
  for (unsigned b = 0; b < batch_count; ++b) {
    for (std::size_t g = 0; g < mix.size(); ++g) sums[b] += mix[g] * region.luminance_of(b, g);
    total += sums[b];
  }
  std::vector<glm::dvec3> colours{total / region.samples()};
  for (unsigned b = 0; b < batch_count; ++b)
    if (region.count_of(b) > 0)
      colours.push_back((total - sums[b]) / (region.samples() - region.count_of(b)));
  if (colours.size() < 3) colours.clear();
  return colours;
}

Estimate jackknife(const std::vector<double>& figures) {
  const auto met = static_cast<int>(figures.size()) - 1;
  double mean = 0, squares = 0;
  for (auto value = figures.begin() + 1; value != figures.end(); ++value) mean += *value / met;
  for (auto value = figures.begin() + 1; value != figures.end(); ++value)
    squares += (*value - mean) * (*value - mean);
  return {figures.front(), std::sqrt(squares * (met - 1) / met), met - 1, met - 1 < least_freedom};
}

glm::dvec3 mean_colour(const RegionSums& region, const Mix& mix) {
  glm::dvec3 sum(0);
  for (unsigned b = 0; b < batch_count; ++b)
    for (std::size_t g = 0; g < mix.size(); ++g) sum += mix[g] * region.luminance_of(b, g);
  return region.empty() ? sum : sum / region.samples();
}

}  // namespace undercap
