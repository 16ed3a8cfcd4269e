#include "engine/report/plot_ticks.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace undercap {
namespace {

// A limit that is itself a multiple of a step counts as reached in spite of rounding.
constexpr double slack = 1e-9;

// mantissa x 10^exponent; 1, 2 and 5 stand for themselves, so that .3 comes out as 3 / 10 and not as 3 x .1.
struct Step {
  int mantissa = 1, exponent = 0;
  double times(double count) const {
    const double power = std::pow(10.0, std::abs(exponent));
    return exponent < 0 ? count * mantissa / power : count * mantissa * power;
  }
};

std::string words_of(double value, int decimals) {
  // The minus of print, U+2212.
  return fmt::format("{}{:.{}f}", value < 0 ? "\xe2\x88\x92" : "", std::abs(value), std::max(decimals, 0));
}

// The whole multiples of a step in low..high.
struct Count {
  double first, last;
  double ticks() const { return last - first + 1; }
};
Count count_of(const Step& step, double low, double high) {
  const double unit = step.times(1);
  return {std::ceil(low / unit - slack), std::floor(high / unit + slack)};
}

Step step_of(double low, double high, int most) {
  // No step below a tenth of what leaves 'most' ticks comes in question.
  Step step{1, static_cast<int>(std::floor(std::log10((high - low) / most))) - 1};
  while (count_of(step, low, high).ticks() > most) {
    step.exponent += step.mantissa == 5 ? 1 : 0;
    step.mantissa = step.mantissa == 1 ? 2 : step.mantissa == 2 ? 5 : 1;
  }
  return step;
}

// One tick a digit and decade, decades 'every' apart.
template <std::size_t n>
std::vector<Tick> decade_ticks(double low, double high, const std::array<int, n>& digits, int every) {
  std::vector<Tick> ticks;
  for (int decade = static_cast<int>(std::floor(std::log10(low))); decade <= std::log10(high) + slack;
       ++decade) {
    if (decade % every != 0) continue;
    for (const int digit : digits) {
      const double value = Step{digit, decade}.times(1);
      if (value >= low * (1 - slack) && value <= high * (1 + slack))
        ticks.push_back({value, words_of(value, -decade)});
    }
  }
  return ticks;
}

}  // namespace

double tick_step(double low, double high, int most) { return step_of(low, high, most).times(1); }

std::vector<Tick> linear_ticks(double low, double high, int most) {
  const Step step = step_of(low, high, most);
  const Count count = count_of(step, low, high);
  std::vector<Tick> ticks;
  for (double i = count.first; i <= count.last; ++i)
    ticks.push_back({step.times(i), words_of(step.times(i), -step.exponent)});
  return ticks;
}

std::vector<Tick> logarithmic_ticks(double low, double high, int most) {
  std::vector<Tick> ticks = decade_ticks(low, high, std::array{1, 2, 5}, 1);
  if (ticks.size() < 3) return linear_ticks(low, high, most);
  for (int every = 1; static_cast<int>(ticks.size()) > most; ++every)
    ticks = decade_ticks(low, high, std::array{1}, every);
  return ticks;
}

}  // namespace undercap
