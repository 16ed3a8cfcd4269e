// Plan and elevation for the pocket card: subject, camera, lamps and cards alone, in type that is read at 40
// cm without glasses. Both at one scale; all black.
#pragma once

#include "engine/draw/drawing.h"
#include "engine/report/pocket_words.h"

namespace undercap {

inline constexpr double pocket_words_mm = 4.94;    // 14 pt
inline constexpr double pocket_numbers_mm = 6.35;  // 18 pt

struct PocketDrawings {
  Drawing plan, elevation;
  double mm_per_m = 0;
};
// So wide are the two in all, and each so high.
PocketDrawings pocket_drawings(const World& world, const std::vector<PocketThing>& things, double wide_mm,
                               double high_mm);

}  // namespace undercap
