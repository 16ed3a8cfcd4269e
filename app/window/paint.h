// Paints a drawing of engine/draw into the window.
#pragma once

#include <imgui/imgui.h>

#include <string>

#include "engine/draw/drawing.h"

namespace undercap::window {

// Pixels of the window for a millimetre of a drawing, so that its smallest type can be read.
float pixels_per_mm();

// 'lit' is the handle that the mouse is over or that is dragged.
void paint(const Drawing& drawing, ImVec2 corner, const std::string& lit);

// What painting keeps on the device goes with it.
void drop_painted();

}  // namespace undercap::window
