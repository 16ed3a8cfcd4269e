// Steps of 1, 2 and 5 times powers of ten are common practice, no source; what follows from that is exact.
#include "engine/report/plot_ticks.h"

#include <gtest/gtest.h>

namespace undercap {
namespace {

std::vector<std::string> words_of(const std::vector<Tick>& ticks) {
  std::vector<std::string> words;
  for (const Tick& tick : ticks) words.push_back(tick.words);
  return words;
}
using Words = std::vector<std::string>;

TEST(PlotTicks, StepsAreTheFirstThatLeaveFewEnough) {
  EXPECT_EQ(tick_step(0, 10, 11), 1);
  EXPECT_EQ(tick_step(0, 10, 10), 2);
  EXPECT_EQ(tick_step(0, 10, 5), 5);
  EXPECT_EQ(tick_step(0, 10, 2), 10);
  EXPECT_EQ(tick_step(0, 0.35, 8), 0.05);
  EXPECT_EQ(tick_step(-300, 4700, 7), 1000);
}

// A double of .3 is 3 / 10, not three times the double of .1, which differs in its last bit.
TEST(PlotTicks, ValuesAreTheDoublesOfTheirWords) {
  const std::vector<Tick> ticks = linear_ticks(0.05, 0.95, 10);
  EXPECT_EQ(words_of(ticks), (Words{"0.1", "0.2", "0.3", "0.4", "0.5", "0.6", "0.7", "0.8", "0.9"}));
  for (const Tick& tick : ticks) EXPECT_EQ(tick.value, std::stod(tick.words));
  EXPECT_EQ(words_of(linear_ticks(0, 0.1, 6)), (Words{"0.00", "0.02", "0.04", "0.06", "0.08", "0.10"}));
  EXPECT_EQ(words_of(linear_ticks(999, 3001, 4)), (Words{"1000", "2000", "3000"}));
}

TEST(PlotTicks, BelowZeroStandsAMinusOfPrint) {
  EXPECT_EQ(words_of(linear_ticks(-2.5, 1, 5)), (Words{"\xe2\x88\x92"
                                                       "2",
                                                       "\xe2\x88\x92"
                                                       "1",
                                                       "0", "1"}));
}

// 0.1 + 0.2 is above .3 by a bit of rounding and still reaches it.
TEST(PlotTicks, EndsThatAreMultiplesAreTicks) {
  EXPECT_EQ(words_of(linear_ticks(0.1 + 0.2, 0.7, 5)), (Words{"0.3", "0.4", "0.5", "0.6", "0.7"}));
}

TEST(PlotTicks, DecadesAreDividedWhereThereIsRoom) {
  EXPECT_EQ(words_of(logarithmic_ticks(10, 200, 8)), (Words{"10", "20", "50", "100", "200"}));
  EXPECT_EQ(words_of(logarithmic_ticks(0.01, 100, 8)), (Words{"0.01", "0.1", "1", "10", "100"}));
  EXPECT_EQ(words_of(logarithmic_ticks(0.01, 100, 3)), (Words{"0.01", "1", "100"}));
  EXPECT_EQ(words_of(logarithmic_ticks(30, 45, 4)), (Words{"30", "35", "40", "45"}));
}

}  // namespace
}  // namespace undercap
