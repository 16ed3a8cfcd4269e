#include "app/window/look.h"

#include <filesystem>

#include "engine/core/errors.h"

namespace undercap::window {
namespace {

Fonts loaded;
float applied = 1;

ImFont* load(const char* file, float size) {
  std::error_code none;
  if (!std::filesystem::exists(file, none))
    throw Trouble(std::string("the typeface of the window, ") + file +
                  ", is not installed; on Debian: apt-get install fonts-open-sans");
  // Latin, punctuation, arrows, mathematical signs: what names and messages are written with.
  static constexpr ImWchar ranges[] = {0x20,   0x17f,  0x2010, 0x2044, 0x2190, 0x2193,
                                       0x2212, 0x2212, 0x2248, 0x2265, 0};
  return ImGui::GetIO().Fonts->AddFontFromFileTTF(file, size, nullptr, ranges);
}

void set_colours(ImGuiStyle& style) {
  const auto set = [&](int which, ImU32 colour) {
    style.Colors[which] = ImGui::ColorConvertU32ToFloat4(colour);
  };
  ImGui::StyleColorsDark(&style);
  set(ImGuiCol_Text, ink::plain);
  set(ImGuiCol_TextDisabled, ink::faint);
  set(ImGuiCol_WindowBg, ink::pane);
  set(ImGuiCol_ChildBg, IM_COL32(0, 0, 0, 0));
  set(ImGuiCol_PopupBg, IM_COL32(54, 54, 54, 250));
  set(ImGuiCol_Border, ink::line);
  for (const int which : {ImGuiCol_FrameBg, ImGuiCol_Button, ImGuiCol_Header, ImGuiCol_TitleBg,
                          ImGuiCol_TitleBgActive, ImGuiCol_MenuBarBg, ImGuiCol_Tab})
    set(which, ink::raised);
  for (const int which : {ImGuiCol_FrameBgHovered, ImGuiCol_ButtonHovered, ImGuiCol_HeaderHovered})
    set(which, IM_COL32(78, 78, 78, 255));
  for (const int which : {ImGuiCol_FrameBgActive, ImGuiCol_ButtonActive, ImGuiCol_HeaderActive})
    set(which, IM_COL32(96, 96, 96, 255));
  for (const int which : {ImGuiCol_SliderGrab, ImGuiCol_SliderGrabActive, ImGuiCol_CheckMark,
                          ImGuiCol_NavHighlight, ImGuiCol_PlotHistogram, ImGuiCol_DragDropTarget})
    set(which, ink::accent);
  set(ImGuiCol_TextSelectedBg, ink::accent_soft);
  set(ImGuiCol_ScrollbarBg, IM_COL32(0, 0, 0, 0));
  set(ImGuiCol_ScrollbarGrab, ink::line);
  set(ImGuiCol_Separator, ink::line);
  set(ImGuiCol_TableHeaderBg, ink::pane);
  set(ImGuiCol_TableBorderLight, ink::raised);
  set(ImGuiCol_TableBorderStrong, ink::line);
  set(ImGuiCol_ModalWindowDimBg, ink::shade);
}

}  // namespace

void apply_look(float scale) {
  applied = scale;
  ImGuiIO& io = ImGui::GetIO();
  io.Fonts->Clear();
  loaded.text = load(UNDERCAP_FONT_REGULAR, text_px * scale);
  loaded.bold = load(UNDERCAP_FONT_BOLD, text_px * scale);
  loaded.small = load(UNDERCAP_FONT_REGULAR, small_px * scale);
  loaded.large = load(UNDERCAP_FONT_BOLD, large_px * scale);
  io.FontDefault = loaded.text;
  ImGuiStyle style;
  set_colours(style);
  style.WindowPadding = {8, 6};
  style.FramePadding = {6, 2};
  style.ItemSpacing = {6, 3};
  style.ItemInnerSpacing = {5, 3};
  style.CellPadding = {4, 1};
  style.WindowRounding = 0;
  style.FrameRounding = 2;
  style.GrabRounding = 2;
  style.PopupRounding = 3;
  style.ScrollbarRounding = 2;
  style.WindowBorderSize = 0;
  style.PopupBorderSize = 1;
  style.ScrollbarSize = 10;
  style.GrabMinSize = 9;
  style.ScaleAllSizes(scale);
  ImGui::GetStyle() = style;
}

const Fonts& fonts() { return loaded; }
float scale() { return applied; }

}  // namespace undercap::window
