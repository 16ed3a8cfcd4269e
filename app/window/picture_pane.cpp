#include "app/window/picture_pane.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/core/errors.h"
#include "engine/session/overlay_legend.h"
#include "engine/world/pick.h"

namespace undercap::window {
namespace {

void outlined_text(ImDrawList* list, ImFont* font, float size, ImVec2 at, ImU32 colour,
                   const std::string& text) {
  list->AddText(font, size, {at.x + 1, at.y + 1}, IM_COL32(0, 0, 0, 200), text.c_str());
  list->AddText(font, size, at, colour, text.c_str());
}

}  // namespace

ImTextureID texture_of(const ShownPicture& shown) {
  return reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(shown.texture));
}

RenderedSize rendered_size(float width, float height, bool software) {
  // The longest side of the full size; without a graphics card what two cores can bring to a good picture.
  const float longest = software ? 480 : 1600;
  const float wanted = std::min(std::max(width, height), longest);
  // In steps, so that a dragged border does not restart it at each pixel.
  const double side = std::max(160.0, std::floor(static_cast<double>(wanted) / 80) * 80);
  const double larger = static_cast<double>(std::max(width, height));
  const auto pixels = [&](float length) {
    return std::max(16, 2 * static_cast<int>(std::lround(static_cast<double>(length) / larger * side / 2)));
  };
  return {pixels(width), pixels(height)};
}

void picture_label(ImVec2 at, const std::string& text, ImU32 colour) {
  ImDrawList* list = ImGui::GetWindowDrawList();
  const float size = small_px * scale();
  const ImVec2 extent = fonts().small->CalcTextSizeA(size, FLT_MAX, 0, text.c_str());
  list->AddRectFilled({at.x - em(0.25f), at.y - 1}, {at.x + extent.x + em(0.25f), at.y + extent.y + 1},
                      ink::shade, 2 * scale());
  list->AddText(fonts().small, size, at, colour, text.c_str());
}

ImVec2 PicturePane::window_place(const glm::dvec2& p) const {
  return {low_.x + static_cast<float>(p.x) * (high_.x - low_.x),
          low_.y + static_cast<float>(p.y) * (high_.y - low_.y)};
}

glm::dvec2 PicturePane::frame_place_of(ImVec2 window) const {
  return {static_cast<double>((window.x - low_.x) / (high_.x - low_.x)),
          static_cast<double>((window.y - low_.y) / (high_.y - low_.y))};
}

void PicturePane::follow_split(Desk& desk, View& view, const ShaderLibrary& shaders) {
  if (view.beside.empty() || !desk.open()) {
    beside_.reset();
    beside_text_.clear();
    return;
  }
  if (beside_text_ == desk.edited().text() && beside_name_ == view.beside) return;
  if (desk.dragging()) return;
  try {
    SceneFile file = SceneFile::from_text(desk.edited().text(), desk.edited().path());
    file.use_variant(view.beside);
    const Scene scene = file.scene();
    if (!beside_) beside_ = std::make_unique<Live>(shaders);
    beside_->open(scene);
    beside_text_ = desk.edited().text();
    beside_name_ = view.beside;
  } catch (const Refusal& refusal) {
    desk.say(refusal.what(), true);
    view.beside.clear();
  }
}

void PicturePane::draw(Desk& desk, View& view, const ShaderLibrary& shaders, bool software) {
  pane_low_ = ImGui::GetCursorScreenPos();
  const ImVec2 size = ImGui::GetContentRegionAvail();
  pane_high_ = {pane_low_.x + size.x, pane_low_.y + size.y};
  ImGui::GetWindowDrawList()->AddRectFilled(pane_low_, pane_high_, ink::ground);
  name_place("picture pane", pane_low_, pane_high_);
  if (!desk.open() || size.x < em(4) || size.y < em(4)) {
    low_ = high_ = pane_low_;
    return;
  }
  const auto& format = desk.scene().camera.format_mm;
  const float aspect = static_cast<float>(format[0] / format[1]);
  const float width = std::min(size.x, size.y * aspect), height = width / aspect;
  low_ = {std::floor(pane_low_.x + (size.x - width) / 2), std::floor(pane_low_.y + (size.y - height) / 2)};
  high_ = {low_.x + width, low_.y + height};
  name_place("picture", low_, high_);
  const RenderedSize rendered = rendered_size(width, height, software);
  desk.live().set_size(rendered.width, rendered.height);
  desk.live().set_filtered(!view.raw);
  desk.live().set_overlay(view.overlay);
  follow_split(desk, view, shaders);
  if (beside_) {
    beside_->set_size(rendered.width, rendered.height);
    beside_->set_filtered(!view.raw);
    beside_->set_overlay(view.overlay);
  }
  draw_picture(desk, view);
  ImGui::SetCursorScreenPos(pane_low_);
  ImGui::InvisibleButton("picture", size);
  if (desk.in_step()) {
    draw_marks(desk, view);
    handle_mouse(desk, view);  // which goes by where the marks are now
  }
  draw_notices(desk, view);
  if (desk.in_step()) draw_legend(view, circle_of(desk.live().world()));
}

void PicturePane::draw_picture(Desk& desk, View& view) {
  ImDrawList* list = ImGui::GetWindowDrawList();
  const ShownPicture& shown = desk.live().picture().shown();
  if (!shown.texture) {
    const std::string text = desk.live().building() ? "Building the set ..." : "First samples ...";
    list->AddText(fonts().text, text_px * scale(), {low_.x + em(1), low_.y + em(1)}, ink::soft, text.c_str());
    return;
  }
  list->AddImage(texture_of(shown), low_, high_);
  if (!beside_) return;
  const float x = low_.x + view.divider * (high_.x - low_.x);
  if (const ShownPicture& other = beside_->picture().shown(); other.texture)
    list->AddImage(texture_of(other), {x, low_.y}, high_, {view.divider, 0}, {1, 1});
  else
    list->AddRectFilled({x, low_.y}, high_, ink::ground);
  list->AddLine({x, low_.y}, {x, high_.y}, ink::strong, 2 * scale());
  name_place("divider", {x, (low_.y + high_.y) / 2}, {x, (low_.y + high_.y) / 2});
  picture_label({x + em(0.5f), high_.y - em(1.4f)}, view.beside, ink::accent);
  const float now = fonts().small->CalcTextSizeA(small_px * scale(), FLT_MAX, 0, "as it is").x;
  picture_label({x - em(0.5f) - now, high_.y - em(1.4f)}, "as it is");
}

void PicturePane::draw_marks(Desk& desk, View& view) {
  ImDrawList* list = ImGui::GetWindowDrawList();
  const World& world = desk.live().world();
  if (view.grid)
    for (const float third : {1 / 3.f, 2 / 3.f}) {
      const float x = low_.x + third * (high_.x - low_.x), y = low_.y + third * (high_.y - low_.y);
      list->AddLine({x, low_.y}, {x, high_.y}, IM_COL32(255, 255, 255, 90));
      list->AddLine({low_.x, y}, {high_.x, y}, IM_COL32(255, 255, 255, 90));
    }
  // The plane in focus, where it was set.
  if (const auto focus = frame_place(world.camera, world.camera.focus_point_m)) {
    const ImVec2 p = window_place(*focus);
    const float r = em(0.55f);
    list->AddRect({p.x - r, p.y - r}, {p.x + r, p.y + r}, IM_COL32(0, 0, 0, 160), 0, 0, 3 * scale());
    list->AddRect({p.x - r, p.y - r}, {p.x + r, p.y + r}, ink::strong, 0, 0, 1.2f * scale());
    name_place("picture focus", p, p);
  }
  for (const Source& source : desk.scene().sources) {
    const auto in_frame = frame_place(world.camera, source.position_m);
    const std::string handle = "source:" + source.name;
    glm::dvec2 at = in_frame.value_or(glm::dvec2(0.5, 1.05));
    const bool outside = at.x < 0 || at.x > 1 || at.y < 0 || at.y > 1 || !in_frame;
    at = glm::clamp(at, glm::dvec2(0.012, 0.02), glm::dvec2(0.988, 0.98));
    const ImVec2 p = window_place(at);
    const ImU32 colour = !source.on ? ink::soft : ink::accent;
    const bool lit = over_ == handle || held_ == handle || view.source == source.name;
    list->AddCircleFilled(p, em(0.42f), IM_COL32(0, 0, 0, 150));
    list->AddCircle(p, em(0.42f), colour, 0, (lit ? 2.4f : 1.4f) * scale());
    if (source.on) list->AddCircleFilled(p, em(0.16f), colour);
    if (lit || outside) {
      const std::string text = source.name + (outside ? " (outside the frame)" : "");
      const float w = fonts().small->CalcTextSizeA(small_px * scale(), FLT_MAX, 0, text.c_str()).x;
      picture_label({at.x > 0.5 ? p.x - em(0.8f) - w : p.x + em(0.8f), p.y - em(0.5f)}, text, colour);
    }
    name_place("picture " + handle, p, p);
  }
  for (const Meter& meter : desk.scene().meters) {
    const bool spot = meter.kind == Meter::Kind::spot;
    const auto at = spot ? std::optional(glm::dvec2(meter.at[0], meter.at[1]))
                         : frame_place(world.camera, meter.position_m);
    if (!at || at->x < 0 || at->x > 1 || at->y < 0 || at->y > 1) continue;
    const ImVec2 p = window_place(*at);
    const std::string handle = "meter:" + meter.name;
    const float radius =
        spot ? std::max(em(0.35f), static_cast<float>(meter.diameter_pct / 200) * (high_.y - low_.y))
             : em(0.35f);
    list->AddCircle(p, radius, IM_COL32(0, 0, 0, 160), 0, 3 * scale());
    list->AddCircle(p, radius, ink::strong, 0, 1.2f * scale());
    if (!spot) list->AddLine({p.x - radius, p.y}, {p.x + radius, p.y}, ink::strong, 1.2f * scale());
    std::string value;
    for (const Reading& reading : desk.live().readings().readings())
      if (reading.name == fmt::format("meter.{}.{}", meter.name, spot ? "stops" : "illuminance_lx") ||
          reading.name == fmt::format("meter.{}.luminance_cd_m2", meter.name))
        if (const auto* number = std::get_if<double>(&reading.value))
          value = fmt::format("{} {}", shown(*number, 3), reading.unit);
    picture_label({p.x + radius + em(0.3f), p.y - em(0.5f)}, value.empty() ? meter.name : value);
    name_place("picture " + handle, p, p);
  }
}

// What the mouse is over, nearest first.
static std::string handle_under(const View& view, bool split, ImVec2 mouse) {
  std::string nearest;
  float best = em(0.75f);
  for (const auto& [name, place] : named_things()) {
    const bool divider = name == "divider" && split;
    if (!divider && !name.starts_with("picture source:") && !name.starts_with("picture meter:")) continue;
    const float far = divider ? std::abs(mouse.x - place.low.x) * 1.5f
                              : std::hypot(mouse.x - place.low.x, mouse.y - place.low.y);
    if (far >= best) continue;
    best = far;
    nearest = divider ? "divider" : name.substr(8);
  }
  (void)view;
  return nearest;
}

void PicturePane::handle_mouse(Desk& desk, View& view) {
  const ImGuiIO& io = ImGui::GetIO();
  const World& world = desk.live().world();
  const bool hovered = ImGui::IsItemHovered();
  const bool inside = io.MousePos.x >= low_.x && io.MousePos.x < high_.x && io.MousePos.y >= low_.y &&
                      io.MousePos.y < high_.y;
  if (!ImGui::IsAnyMouseDown()) over_ = hovered ? handle_under(view, beside_ != nullptr, io.MousePos) : "";
  const glm::dvec2 mouse = frame_place_of(io.MousePos);
  if (ImGui::IsItemActivated()) {
    held_ = over_;
    moved_ = false;
    if (held_.starts_with("source:")) view.source = held_.substr(7);
    if (const auto place = held_.empty() || held_ == "divider" ? std::nullopt : place_of(desk, held_)) {
      depth_m_ = std::max(0.01, glm::dot(*place - world.camera.pupil_m, world.camera.forward));
      const glm::dvec3 d = frame_direction(world.camera, mouse);
      offset_m_ = *place - (world.camera.pupil_m + d * (depth_m_ / glm::dot(d, world.camera.forward)));
    }
  }
  const bool drags = ImGui::IsItemActive() && (io.MouseDelta.x != 0 || io.MouseDelta.y != 0);
  if (drags && held_ == "divider") {
    view.divider = std::clamp(static_cast<float>(mouse.x), 0.02f, 0.98f);
  } else if (drags && held_.starts_with("meter:") && !place_of(desk, held_)) {
    // A spot meter lies in the picture.
    if (!std::exchange(moved_, true)) desk.begin_drag(step_name(held_));
    const glm::dvec2 at = glm::clamp(mouse, 0.0, 1.0);
    desk.set(fmt::format("meter.{}.at", held_.substr(6)), fmt::format("[{:.4f}, {:.4f}]", at.x, at.y),
             step_name(held_));
  } else if (drags && !held_.empty()) {
    if (!std::exchange(moved_, true)) desk.begin_drag(step_name(held_));
    if (io.KeyCtrl) {
      // Toward and away: a picture's height is as far again.
      depth_m_ = std::clamp(
          depth_m_ * std::exp2(-static_cast<double>(io.MouseDelta.y / (high_.y - low_.y)) * 2), 0.01, 50.0);
    }
    const glm::dvec3 d = frame_direction(world.camera, mouse);
    move_thing(desk, held_,
               world.camera.pupil_m + d * (depth_m_ / glm::dot(d, world.camera.forward)) + offset_m_);
  }
  if (ImGui::IsItemDeactivated()) {
    const float travelled =
        std::hypot(io.MouseClickedPos[0].x - io.MousePos.x, io.MouseClickedPos[0].y - io.MousePos.y);
    if (moved_) {
      desk.end_drag();
    } else if (held_.empty() && inside && travelled < em(0.4f)) {
      if (const auto met = pick(world, mouse)) {
        const WorldPart& part = world.parts[met->part];
        if (view.tidy || io.KeyAlt) {
          hide_part(desk, part);
        } else {
          move_thing(desk, "focus", met->place_m);
          view.prop = part.prop;
        }
      } else {
        desk.say("There is nothing to focus on: only sky is seen there.");
      }
    }
    held_.clear();
    moved_ = false;
  }
  if (hovered && io.MouseWheel != 0 && over_.starts_with("source:"))
    change_power(desk, over_.substr(7), static_cast<double>(io.MouseWheel));
  if (hovered && !over_.empty())
    ImGui::SetMouseCursor(over_ == "divider" ? ImGuiMouseCursor_ResizeEW : ImGuiMouseCursor_Hand);
}

void PicturePane::draw_notices(Desk& desk, View& view) {
  const Live& live = desk.live();
  const ShownPicture& shown = live.picture().shown();
  float y = low_.y + em(0.5f);
  const auto notice = [&](const std::string& text, ImU32 colour) {
    picture_label({low_.x + em(0.6f), y}, text, colour);
    y += em(1.35f);
  };
  if (shown.texture && shown.filtered) notice("filtered, R shows raw", ink::plain);
  if (shown.texture && !shown.filtered && view.raw) notice("raw", ink::accent);
  if (shown.texture && !shown.full) notice("coarse while it settles", ink::plain);
  if (live.building()) notice("building the set ...", ink::accent);
  if (view.tidy) notice("tidying: a click hides what it meets, T ends", ink::accent);
}

void PicturePane::draw_legend(const View& view, Length circle) {
  if (view.overlay == Overlay::Kind::none) return;
  ImDrawList* list = ImGui::GetWindowDrawList();
  const float y = low_.y + em(0.5f);
  if (view.overlay != Overlay::Kind::stops) {
    const std::string text = overlay_sentence(view.overlay, circle);
    const float w = fonts().small->CalcTextSizeA(small_px * scale(), FLT_MAX, 0, text.c_str()).x;
    picture_label({high_.x - w - em(0.6f), y}, text);
  } else {
    const int bands = brightest_stop - darkest_stop + 2;
    const float width = em(1.7f);
    for (int band = 0; band < bands; ++band) {
      const glm::vec3 c = stop_colour(band);
      const float x = high_.x - em(0.6f) - width * static_cast<float>(bands - band);
      list->AddRectFilled({x, y}, {x + width, y + em(0.7f)},
                          ImGui::ColorConvertFloat4ToU32({c.x, c.y, c.z, 1}));
      if (band > 0)
        outlined_text(list, fonts().small, small_px * scale(), {x - em(0.4f), y + em(0.75f)}, ink::strong,
                      stop_text(darkest_stop + band - 1));
    }
  }
}

}  // namespace undercap::window
