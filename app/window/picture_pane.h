// The picture: click to focus, drag what is in it, scroll over a lamp for its power; overlays and a split.
#pragma once

#include <imgui/imgui.h>

#include <memory>
#include <string>

#include "app/window/desk.h"
#include "app/window/look.h"
#include "app/window/view.h"

namespace undercap::window {

// Of a picture that takes so much of the window, pixels: what the device can bring to a good picture.
struct RenderedSize {
  int width = 0, height = 0;
};
RenderedSize rendered_size(float width, float height, bool software);
ImTextureID texture_of(const ShownPicture& shown);
// Words over a picture, legible on anything.
void picture_label(ImVec2 at, const std::string& text, ImU32 colour = ink::strong);

class PicturePane {
 public:
  void draw(Desk& desk, View& view, const ShaderLibrary& shaders, bool software);
  // The variant that the picture is split with works as long as it is seen.
  Live* beside() { return beside_.get(); }
  void drop_device() { beside_.reset(); }

 private:
  void follow_split(Desk& desk, View& view, const ShaderLibrary& shaders);
  void draw_picture(Desk& desk, View& view);
  void draw_marks(Desk& desk, View& view);
  void handle_mouse(Desk& desk, View& view);
  void draw_notices(Desk& desk, View& view);
  void draw_legend(const View& view, Length circle);
  ImVec2 window_place(const glm::dvec2& in_frame) const;
  glm::dvec2 frame_place_of(ImVec2 window) const;

  std::unique_ptr<Live> beside_;
  std::string beside_text_, beside_name_;
  ImVec2 low_{0, 0}, high_{0, 0};  // of the picture, window pixels
  ImVec2 pane_low_{0, 0}, pane_high_{0, 0};
  std::string held_, over_;
  bool moved_ = false, on_divider_ = false;
  double depth_m_ = 0;  // of what is held, along the lens axis
  glm::dvec3 offset_m_{0};
};

}  // namespace undercap::window
