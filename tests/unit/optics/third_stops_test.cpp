// Exact values under nominal labels, five digits: N = 2^(i/6), t = 2^(-i/3), S = 100 x 2^(i/3).
#include "engine/optics/third_stops.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

TEST(ThirdStops, FNumbers) {
  const std::pair<double, double> table[] = {
      {1.4, 1.4142}, {1.8, 1.7818}, {2.2, 2.2449}, {2.5, 2.5198}, {2.8, 2.8284}, {3.2, 3.1748},
      {3.5, 3.5636}, {4.5, 4.4898}, {5.0, 5.0397}, {5.6, 5.6569}, {6.3, 6.3496}, {7.1, 7.1272},
      {9, 8.9797},   {10, 10.079},  {11, 11.314},  {13, 12.699},  {14, 14.254},  {18, 17.959},
      {20, 20.159},  {22, 22.627},  {25, 25.398},  {29, 28.509}};
  for (const auto& [nominal, exact] : table) {
    EXPECT_EQ(nearest_f_number(nominal).nominal, nominal);
    expect_digits(nearest_f_number(nominal).exact, exact, 5);
  }
}

TEST(ThirdStops, Shutters) {
  const std::pair<double, double> table[] = {
      {30, 32},           {25, 25.398},         {20, 20.159},         {15, 16},
      {13, 12.699},       {10, 10.079},         {6, 6.3496},          {5, 5.0397},
      {3.2, 3.1748},      {2.5, 2.5198},        {1.6, 1.5874},        {1.3, 1.2599},
      {.8, .79370},       {.6, .62996},         {1. / 15, 1. / 16},   {1. / 30, 1. / 32},
      {1. / 60, 1. / 64}, {1. / 125, 1. / 128}, {1. / 250, 1. / 256}, {1. / 1000, 1. / 1024}};
  for (const auto& [nominal, exact] : table) {
    EXPECT_EQ(nearest_shutter(Duration(nominal)).nominal, nominal);
    EXPECT_NEAR(nearest_shutter(Duration(nominal)).exact / exact, 1, 4e-5) << nominal;  // half a fifth digit
  }
}

TEST(ThirdStops, Isos) {
  const std::pair<double, double> table[] = {
      {125, 125.99}, {160, 158.74}, {250, 251.98}, {320, 317.48}, {640, 634.96}};
  for (const auto& [nominal, exact] : table) expect_digits(nearest_iso(nominal).exact, exact, 5);
}

// A row that slipped by one would be a third of a stop off; the steps between exact values are thirds.
double worst_error(std::span<const ThirdStop> series, double stops_per_octave) {
  double worst = 0;
  for (std::size_t i = 0; i < series.size(); ++i) {
    const double error = stops_per_octave * std::log2(series[i].nominal / series[i].exact);
    if (std::abs(error) > std::abs(worst)) worst = error;
    const double before =
        i > 0 ? series[i - 1].exact : series[i].exact / std::exp2(1 / (3 * stops_per_octave));
    EXPECT_NEAR(stops_per_octave * std::log2(series[i].exact / before), 1. / 3, 1e-12);
  }
  return worst;
}

// Worst labels, stops to three decimals: f/1.3 +.090; 15, 30, 60 and their fractions .093; f/11 -.081.
TEST(ThirdStops, NoLabelIsATenthOfAStopOff) {
  EXPECT_NEAR(worst_error(third_stop_f_numbers(), 2), .090, 5e-4);
  EXPECT_NEAR(std::abs(worst_error(third_stop_shutters(), 1)), .093, 5e-4);
  EXPECT_NEAR(2 * std::log2(11 / nearest_f_number(11).exact), -.081, 5e-4);
  EXPECT_NEAR(std::abs(worst_error(third_stop_isos(), 1)), .0228, 5e-5);  // 32 for 31.498
}

TEST(ThirdStops, SeriesReachFarEnough) {
  EXPECT_EQ(third_stop_f_numbers().front().label, "f/0.7");
  EXPECT_EQ(third_stop_f_numbers().back().exact, 64);
  EXPECT_EQ(third_stop_shutters().front().exact, 1. / 32768);
  EXPECT_NEAR(third_stop_shutters().back().exact, 3251, .5);  // 2^(35/3) = 3250.997
  EXPECT_EQ(third_stop_isos().front().exact, 25);
  EXPECT_EQ(third_stop_isos().back().exact, 102400);
}

TEST(ThirdStops, Labels) {
  EXPECT_EQ(f_number_label(5.6), "f/5.6");
  EXPECT_EQ(f_number_label(std::exp2(2.5)), "f/5.6");
  EXPECT_EQ(f_number_label(5.9), "about f/5.6");  // .12 stop from 5.657
  EXPECT_EQ(f_number_label(64.5), "f/64");
  EXPECT_EQ(f_number_label(90), "f/90");
  EXPECT_EQ(shutter_label(1_s), "1 s");
  EXPECT_EQ(shutter_label(Duration(1. / 128)), "1/125 s");
  EXPECT_EQ(shutter_label(Duration(1. / 115)), "about 1/125 s");  // .12 and .15 stop
  EXPECT_EQ(shutter_label(32_s), "30 s");
  EXPECT_EQ(shutter_label(1024_s), "17 min");
  EXPECT_EQ(shutter_label(6000_s), "100 min");
  EXPECT_EQ(iso_label(200), "ISO 200");
  EXPECT_EQ(iso_label(102400), "ISO 102400");
  EXPECT_EQ(iso_label(220), "about ISO 200");
}

}  // namespace
}  // namespace undercap
