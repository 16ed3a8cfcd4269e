// The sheet of a focus stack: two single frames, the merge, and where the merge comes from, in words and
// pictures.
#pragma once

#include <string>
#include <vector>

#include "engine/measure/exposing.h"
#include "engine/measure/stack_task.h"
#include "engine/report/contact_sheet.h"

namespace undercap {

// What to know of a plan before it is carried out: how many frames by which count, how long, what may move
// meanwhile.
std::vector<std::string> stack_words(const World& world, const StackPlan& plan,
                                     const ExposureChoice& exposure, bool rail);

struct StackFacts {
  DepthRange range;                  // of the visible subject
  unsigned samples = 0;              // a pixel
  std::string made_by;               // program, version, renderer
  int width = 3, height = 2;         // of each picture
  std::string title{};               // empty: by the scene's
  std::vector<std::string> lines{};  // to be said aloud, above the small ones
  double figure_aspect = 0;          // of the plot below them, height over width; 0: none
};

// Four pictures: one frame as set, one at its best f-number, the merge, the frame that each place of it comes
// from.
ContactSheet stack_sheet(const World& world, const StackPlan& plan, const ExposureChoice& exposure, bool rail,
                         const StackFacts& facts);

}  // namespace undercap
