// How the window looks: neutral greys, so that tone can be judged, and one accent for light.
#pragma once

#include <imgui/imgui.h>

namespace undercap::window {

// sRGB. All greys are neutral.
namespace ink {
inline constexpr ImU32 ground = IM_COL32(38, 38, 38, 255);  // around picture and drawings
inline constexpr ImU32 pane = IM_COL32(46, 46, 46, 255);
inline constexpr ImU32 raised = IM_COL32(62, 62, 62, 255);
inline constexpr ImU32 line = IM_COL32(84, 84, 84, 255);
inline constexpr ImU32 faint = IM_COL32(120, 120, 120, 255);
inline constexpr ImU32 soft = IM_COL32(160, 160, 160, 255);
inline constexpr ImU32 plain = IM_COL32(214, 214, 214, 255);
inline constexpr ImU32 strong = IM_COL32(244, 244, 244, 255);
inline constexpr ImU32 accent = IM_COL32(240, 178, 72, 255);  // light, and what is chosen
inline constexpr ImU32 accent_soft = IM_COL32(240, 178, 72, 70);
inline constexpr ImU32 shade = IM_COL32(0, 0, 0, 150);
}  // namespace ink

// Type sizes at a scale of 1, pixels of the body.
inline constexpr float text_px = 16, small_px = 13, large_px = 22;

struct Fonts {
  ImFont *text = nullptr, *bold = nullptr, *small = nullptr, *large = nullptr;
};

// Loads the faces and sets sizes and colours for a scale: display density times the user's wish. Throws
// Trouble when the typeface is not installed.
void apply_look(float scale);
const Fonts& fonts();
float scale();  // that was applied last

}  // namespace undercap::window
