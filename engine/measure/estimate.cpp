#include "engine/measure/estimate.h"

#include <bit>
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
  Figure figure;
  figure.estimate = {*whole, 0, eighths - 1, false};
  double squares = 0;
  constexpr unsigned ways = eighths - 1;
  for (unsigned way = 1; way <= ways; ++way) {
    // The rows of a Hadamard matrix but the first: two of them agree in half of the eighths.
    Use half{}, rest{};
    for (unsigned i = 0; i < eighths; ++i) (std::popcount(way & i) % 2 == 0 ? half : rest)[i] = true;
    const auto a = value_of(half), b = value_of(rest);
    if (!a || !b) return std::nullopt;
    squares += (*a - *b) * (*a - *b) / 4 / ways;
    figure.noise_bias += ((*a + *b) / 2 - *whole) / ways;
  }
  figure.estimate.se = std::sqrt(squares);
  return figure;
}

}  // namespace undercap
