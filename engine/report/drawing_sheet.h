// A page of drawings before it is painted: the set from above and from the side, what each lamp sees, the
// key.
//
// A4 landscape, mm from the upper left corner.
#pragma once

#include <glm/vec2.hpp>
#include <string>
#include <vector>

#include "engine/draw/drawing.h"
#include "engine/world/world.h"

namespace undercap {

inline constexpr double sheet_width_mm = 297, sheet_height_mm = 210;

struct DrawingSheet {
  std::string title;  // in a file's own data
  std::vector<Drawing> drawings;
  std::vector<glm::dvec2> place_mm;  // of each, its upper left corner
  std::vector<Text> texts;           // beside the drawings
};

// Plan and elevation at one scale, the first two lamps that are on as seen from them, the key.
DrawingSheet set_sheet(const World& world);

}  // namespace undercap
