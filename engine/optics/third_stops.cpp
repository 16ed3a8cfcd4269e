#include "engine/optics/third_stops.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

namespace undercap {

namespace {

constexpr double nominal_f_numbers[] = {0.7, 0.8, 0.9, 1,  1.1, 1.3, 1.4, 1.6, 1.8, 2,  2.2, 2.5, 2.8, 3.2,
                                        3.5, 4,   4.5, 5,  5.6, 6.3, 7.1, 8,   9,   10, 11,  13,  14,  16,
                                        18,  20,  22,  25, 29,  32,  36,  40,  45,  51, 57,  64};
constexpr int first_f_number = -3;  // i of N = 2^(i/6)

// Written as fractions up to 1/4 s.
constexpr double nominal_fractions[] = {32000, 25600, 20000, 16000, 12800, 10000, 8000, 6400, 5000, 4000,
                                        3200,  2500,  2000,  1600,  1250,  1000,  800,  640,  500,  400,
                                        320,   250,   200,   160,   125,   100,   80,   60,   50,   40,
                                        30,    25,    20,    15,    13,    10,    8,    6,    5,    4};
constexpr double nominal_seconds[] = {0.3, 0.4, 0.5, 0.6, 0.8, 1,   1.3, 1.6, 2,   2.5, 3.2,
                                      4,   5,   6,   8,   10,  13,  15,  20,  25,  30,  40,
                                      50,  60,  80,  100, 125, 160, 200, 250, 320, 400, 500};
constexpr double nominal_minutes[] = {11, 13, 17, 21, 27, 34, 43, 54};
constexpr int first_shutter = -45;  // i of t = 2^(i/3) s

constexpr double nominal_isos[] = {25,    32,    40,    50,    64,    80,    100,   125,   160,   200,
                                   250,   320,   400,   500,   640,   800,   1000,  1250,  1600,  2000,
                                   2500,  3200,  4000,  5000,  6400,  8000,  10000, 12800, 16000, 20000,
                                   25600, 32000, 40000, 51200, 64000, 80000, 102400};
constexpr int first_iso = -6;  // i of S = 100 x 2^(i/3)

std::vector<ThirdStop> f_number_series() {
  std::vector<ThirdStop> series;
  int i = first_f_number;
  for (double nominal : nominal_f_numbers)
    series.push_back({fmt::format("f/{:g}", nominal), nominal, std::exp2(i++ / 6.)});
  return series;
}

std::vector<ThirdStop> shutter_series() {
  std::vector<ThirdStop> series;
  const auto add = [&](std::string label, double nominal) {
    const int i = first_shutter + static_cast<int>(series.size());
    series.push_back({std::move(label), nominal, std::exp2(i / 3.)});
  };
  for (double fraction : nominal_fractions) add(fmt::format("1/{:g} s", fraction), 1 / fraction);
  for (double seconds : nominal_seconds) add(fmt::format("{:g} s", seconds), seconds);
  for (double minutes : nominal_minutes) add(fmt::format("{:g} min", minutes), 60 * minutes);
  return series;
}

std::vector<ThirdStop> iso_series() {
  std::vector<ThirdStop> series;
  int i = first_iso;
  for (double nominal : nominal_isos)
    series.push_back({fmt::format("ISO {:.0f}", nominal), nominal, 100 * std::exp2(i++ / 3.)});
  return series;
}

// How far apart, in steps of factor two; an f-number counts double, which cancels where only the nearest is
// wanted.
double octaves_apart(double a, double b) { return std::abs(std::log2(a / b)); }

const ThirdStop& nearest(std::span<const ThirdStop> series, double value) {
  return *std::min_element(series.begin(), series.end(), [&](const ThirdStop& a, const ThirdStop& b) {
    return octaves_apart(value, a.exact) < octaves_apart(value, b.exact);
  });
}

// 'number' is the value in words for where the series does not reach.
std::string label_of(std::span<const ThirdStop> series, double value, double stops_per_octave,
                     const std::string& number) {
  const ThirdStop& step = nearest(series, value);
  const double from_exact = stops_per_octave * octaves_apart(value, step.exact);
  const double from_nominal = stops_per_octave * octaves_apart(value, step.nominal);
  if (std::min(from_exact, from_nominal) <= 0.05) return step.label;
  const bool beyond = value < series.front().exact || value > series.back().exact;
  if (beyond && from_exact > 1. / 6) return number;
  return fmt::format("about {}", step.label);
}

}  // namespace

std::span<const ThirdStop> third_stop_f_numbers() {
  static const std::vector<ThirdStop> series = f_number_series();
  return series;
}

std::span<const ThirdStop> third_stop_shutters() {
  static const std::vector<ThirdStop> series = shutter_series();
  return series;
}

std::span<const ThirdStop> third_stop_isos() {
  static const std::vector<ThirdStop> series = iso_series();
  return series;
}

const ThirdStop& nearest_f_number(double f_number) { return nearest(third_stop_f_numbers(), f_number); }

const ThirdStop& nearest_shutter(Duration shutter) { return nearest(third_stop_shutters(), shutter.value()); }

const ThirdStop& nearest_iso(double iso) { return nearest(third_stop_isos(), iso); }

std::string f_number_label(double f_number) {
  return label_of(third_stop_f_numbers(), f_number, 2, fmt::format("f/{:.3g}", f_number));
}

std::string shutter_label(Duration shutter) {
  const double seconds = shutter.value();
  const std::string number =
      seconds < 1 ? fmt::format("1/{:.0f} s", 1 / seconds) : fmt::format("{:.0f} min", seconds / 60);
  return label_of(third_stop_shutters(), seconds, 1, number);
}

std::string iso_label(double iso) {
  return label_of(third_stop_isos(), iso, 1, fmt::format("ISO {:.0f}", iso));
}

}  // namespace undercap
