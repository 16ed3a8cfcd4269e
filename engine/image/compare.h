// How far two pictures of the same size lie apart, in the unit of their channels.
#pragma once

#include "engine/image/picture.h"

namespace undercap {

struct Difference {
  double rmse = 0;     // root of the mean square difference over all channels
  double largest = 0;  // largest difference of one channel
  double failing_share =
      0;  // 0..1: share of the pixels with a channel that differs by more than the tolerance
};

// Equal values differ by 0, infinities included; anything else that is not a number counts as infinitely far.
// Both pictures must be whole and of one size.
Difference compare(const Picture& one, const Picture& other, double tolerance);
Difference compare(const Picture8& one, const Picture8& other, double tolerance);

}  // namespace undercap
