// The key: the symbols of drawings explained. Private to the module.
#pragma once

#include <span>

#include "engine/draw/drawing.h"

namespace undercap {

// What the pens of some drawings mean, in columns of a drawing of its own, which is as high as it needs.
Drawing key_drawing(std::span<const Drawing> drawings, double width_mm);

// How high that comes out with so many signs.
double key_height(int signs, double width_mm);

// The key of a drawing in its own lower left corner.
void add_key(Drawing& drawing);

}  // namespace undercap
