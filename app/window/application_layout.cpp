// Where the panes are.
#include <algorithm>
#include <cmath>

#include "app/window/application.h"
#include "app/window/panes.h"
#include "app/window/widgets.h"

namespace undercap::window {
namespace {

template <class Draw>
void pane(const char* name, float x, float y, float w, float h, bool tight, const Draw& draw) {
  const ImGuiWindowFlags flags = ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                                 ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoSavedSettings;
  ImGui::SetNextWindowPos({std::floor(x), std::floor(y)});
  ImGui::SetNextWindowSize({std::floor(w), std::floor(h)});
  if (tight) ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
  if (ImGui::Begin(
          name, nullptr,
          tight ? flags | ImGuiWindowFlags_NoScrollWithMouse : flags & ~ImGuiWindowFlags_NoScrollbar)) {
    if (tight) ImGui::PopStyleVar();
    name_place(std::string("pane ") + name, {x, y}, {x + w, y + h});
    draw();
  } else if (tight) {
    ImGui::PopStyleVar();
  }
  ImGui::End();
}

}  // namespace

// Places of the panes for a window of a size: drawings beside the picture, tables below. Narrow windows get
// the panes that do not fit as tabs of the one on the right.
void Application::lay_out() {
  view_.map.there.clear();
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  const float top = ImGui::GetFrameHeight(), status = em(1.5f), gap = em(0.25f);
  const float height = size.y - top - status;
  const bool narrow = size.x < em(58) || size.y < em(34);
  const float below = std::clamp(height * 0.31f, em(11), em(20));
  const float above = height - below - gap;
  if (view_.side_by_side.on) {
    // In the place of picture, drawings and readings: what is compared wants all of it.
    picture_.drop_device();
    pane("side by side", 0, top, size.x, narrow ? height : above, true,
         [&] { side_by_side_.draw(*desk_, view_, shaders_, software_); });
    if (!narrow) lay_out_tables(top + above + gap, below);
    return;
  }
  side_by_side_.drop_device();
  if (narrow) {
    const float right = std::min(size.x * 0.45f, em(24)), left = size.x - right - gap;
    pane("picture", 0, top, left, height * 0.62f, true,
         [&] { picture_.draw(*desk_, view_, shaders_, software_); });
    pane("plan", 0, top + height * 0.62f + gap, left, height * 0.38f - gap, true,
         [&] { drawing_pane(*desk_, view_, view_.plan); });
    pane("tabs", left + gap, top, right, height, false, [&] {
      if (!ImGui::BeginTabBar("tabs")) return;
      const auto tab = [&](const char* name, const auto& draw) {
        const bool open = ImGui::BeginTabItem(name);
        name_item(std::string("tab ") + name);
        if (!open) return;
        draw();
        ImGui::EndTabItem();
      };
      tab("Readings", [&] { readings_pane(*desk_, view_); });
      tab("Light", [&] { sources_pane(*desk_, view_); });
      tab("Camera", [&] { camera_row(*desk_, view_); });
      tab("Ground", [&] { ground_pane(*desk_, view_); });
      tab("Variants", [&] { variants_.draw(*desk_, view_); });
      tab("Side", [&] { drawing_pane(*desk_, view_, view_.elevation); });
      ImGui::EndTabBar();
    });
    return;
  }
  const float readings_w = std::clamp(size.x * 0.22f, em(17), em(23));
  const float drawings_w = std::floor((size.x - readings_w - 2 * gap) * 0.40f);
  const float picture_w = size.x - readings_w - drawings_w - 2 * gap;
  const float camera_h = em(7.4f);
  const float plan_h = std::floor(above * 0.56f);
  pane("plan", 0, top, drawings_w, plan_h, true, [&] { drawing_pane(*desk_, view_, view_.plan); });
  const float half = std::floor((drawings_w - gap) * 0.58f);
  pane("elevation", 0, top + plan_h + gap, half, above - plan_h - gap, true,
       [&] { drawing_pane(*desk_, view_, view_.elevation); });
  pane("from the source", half + gap, top + plan_h + gap, drawings_w - half - gap, above - plan_h - gap, true,
       [&] { from_source_pane(*desk_, view_); });
  const float x = drawings_w + gap;
  pane("picture", x, top, picture_w, above - camera_h - gap, true,
       [&] { picture_.draw(*desk_, view_, shaders_, software_); });
  pane("camera", x, top + above - camera_h, picture_w, camera_h, false, [&] { camera_row(*desk_, view_); });
  pane("readings", size.x - readings_w, top, readings_w, above, false, [&] { readings_pane(*desk_, view_); });
  lay_out_tables(top + above + gap, below);
}

// The row below: sources, ground, variants.
void Application::lay_out_tables(float y, float below) {
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  const float gap = em(0.25f), third = std::floor((size.x - 2 * gap) / 3);
  const float sources_w = std::floor(third * 1.25f), ground_w = std::floor(third * 0.8f);
  pane("sources", 0, y, sources_w, below, false, [&] { sources_pane(*desk_, view_); });
  pane("ground", sources_w + gap, y, ground_w, below, false, [&] { ground_pane(*desk_, view_); });
  pane("variants", sources_w + ground_w + 2 * gap, y, size.x - sources_w - ground_w - 2 * gap, below, false,
       [&] { variants_.draw(*desk_, view_); });
}

}  // namespace undercap::window
