#include "engine/measure/estimate.h"

#include <cmath>

#include "engine/core/errors.h"

namespace undercap {

// Expansion in 1 / freedom (Abramowitz & Stegun 1964, 26.7.5) around the normal quantile; right to 1e-4 from
// 7 on.
double student_t_95(int freedom) {
  UNDERCAP_CHECK(freedom >= least_freedom, "an interval is asked for where the error can be trusted");
  constexpr double x = 1.959963985, x2 = x * x;
  constexpr double g1 = x * (x2 + 1) / 4, g2 = x * ((5 * x2 + 16) * x2 + 3) / 96,
                   g3 = x * (((3 * x2 + 19) * x2 + 17) * x2 - 15) / 384,
                   g4 = x * ((((79 * x2 + 776) * x2 + 1482) * x2 - 1920) * x2 - 945) / 92160;
  const double n = freedom;
  return x + (g1 + (g2 + (g3 + g4 / n) / n) / n) / n;
}

std::optional<Figure> figure_of(const std::function<std::optional<double>(const Use&)>& value_of) {
  Use all;
  all.fill(true);
  const auto whole = value_of(all);
  if (!whole) return std::nullopt;
  std::array<double, eighths> own{};
  double mean = 0;
  for (std::size_t i = 0; i < eighths; ++i) {
    Use use{};
    use[i] = true;
    const auto value = value_of(use);
    if (!value) return std::nullopt;
    own[i] = *value;
    mean += *value / eighths;
  }
  double squares = 0;
  for (const double value : own) squares += (value - mean) * (value - mean);
  Figure figure;
  figure.estimate = {*whole, std::sqrt(squares / (eighths - 1) / eighths), eighths - 1, false};
  for (const bool first : {true, false}) {
    Use half;
    for (std::size_t i = 0; i < eighths; ++i) half[i] = (i < eighths / 2) == first;
    const auto value = value_of(half);
    if (!value) return std::nullopt;
    figure.noise_bias += (*value - *whole) / 2;
  }
  return figure;
}

}  // namespace undercap
