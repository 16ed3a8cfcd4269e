// The signs of a map of lamp places, for drawings and their key. Private to the module.
#pragma once

#include <glm/vec2.hpp>
#include <string>
#include <vector>

#include "engine/draw/drawing.h"

namespace undercap {

// The strokes of a hatching pen all over a box, each from end to end.
std::vector<Polyline> hatch_of(Pen pen, const Box& box);

inline constexpr double place_letter_mm = 2.1;  // radius of the ring around a letter

// A letter in a ring and a short line along 'way' (unit), toward what a lamp there lights; none where it is
// 0.
void add_place_letter(Drawing& drawing, const std::string& letter, const glm::dvec2& at_mm,
                      const glm::dvec2& way);

}  // namespace undercap
