// A measured value with its standard error, and how to get one for figures that are no means.
#pragma once

#include <array>
#include <functional>
#include <optional>

namespace undercap {

inline constexpr unsigned batch_count = 32;  // of a survey and of a meter, each with a scramble of its own
inline constexpr int whole_freedom = batch_count - 1;  // of a figure that every batch has a say in

// A value with one standard error, from batches that are independent of one another.
struct Estimate {
  double value = 0;
  double se = 0;
  int freedom = whole_freedom;  // degrees of freedom of the standard error
  bool doubtful = false;        // one batch carries over a quarter of the sum, or too few batches met it

  bool above_noise() const { return value > 0 && value >= 5 * se; }
};

// Fewer degrees of freedom than this give no error that could be trusted.
inline constexpr int least_freedom = 7;

// How many standard errors make the two-sided 95 % interval: Student's t, for 'least_freedom' or more.
double student_t_95(int freedom);
inline double interval_95(const Estimate& estimate) { return student_t_95(estimate.freedom) * estimate.se; }

// Figures that are no means (percentiles, shares above a threshold) come from eighths of the samples: each
// eighth has every batch whose number leaves the same rest.
inline constexpr std::size_t eighths = 8;
using Use = std::array<bool, eighths>;  // which eighths a figure is taken from

struct Figure {
  Estimate estimate;
  double noise_bias = 0;  // how far the noise of the samples shifts the value, by the samples' halves
};

// The figure of all samples. Its SE is that of balanced half samples (McCarthy 1969, from memory): seven ways
// to halve the eighths, orthogonal to one another, each with the halves' difference / 2, as for the half
// films of a picture. It holds for percentiles, whose jackknife does not, and what noise adds to both halves
// cancels. What noise does to a figure that is no mean falls with the samples, so that the halves (N / 2)
// stand off from the whole by as much as the whole stands off from the truth. Nothing where half the samples
// give no such figure.
std::optional<Figure> figure_of(const std::function<std::optional<double>(const Use&)>& value_of);

}  // namespace undercap
