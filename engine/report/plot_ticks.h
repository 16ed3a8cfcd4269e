// The round numbers along an axis of a plot, and how they are written.
//
// Steps are 1, 2 or 5 times a power of ten; a number has the digits that its step needs.
#pragma once

#include <string>
#include <vector>

namespace undercap {

struct Tick {
  double value = 0;
  std::string words;
};

// The least step 1, 2 or 5 times a power of ten with which at most 'most' (2 or more) ticks lie in low..high.
double tick_step(double low, double high, int most);

// Every multiple of tick_step in low..high, ends included: two at least but where 'most' is small.
std::vector<Tick> linear_ticks(double low, double high, int most);

// 1, 2 and 5 of each decade in low..high (low above 0) where at most 'most' of them lie in it, else whole
// decades, else every second, third ... one. Where that gives fewer than three, the ticks of a linear axis.
std::vector<Tick> logarithmic_ticks(double low, double high, int most);

}  // namespace undercap
