// What keys do, beside what the widgets take themselves. dialogs.cpp has their list for people.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/window/application.h"
#include "app/window/panes.h"

namespace undercap::window {

void Application::power_keys() {
  const auto& sources = desk_->scene().sources;
  if (sources.empty()) return;
  auto chosen =
      std::find_if(sources.begin(), sources.end(), [&](const Source& s) { return s.name == view_.source; });
  if (chosen == sources.end()) chosen = sources.begin();
  const std::string name = chosen->name;
  view_.source = name;
  const ImGuiIO& io = ImGui::GetIO();
  const auto hit = [](int key) { return ImGui::IsKeyPressed(key); };
  if (hit(GLFW_KEY_SPACE))
    desk_->set(fmt::format("source.{}.on", name), toml(!chosen->on), name + (chosen->on ? " off" : " on"));
  if (hit(GLFW_KEY_EQUAL) || hit(GLFW_KEY_KP_ADD)) change_power(*desk_, name, 1);
  if (hit(GLFW_KEY_MINUS) || hit(GLFW_KEY_KP_SUBTRACT)) change_power(*desk_, name, -1);
  if (hit(GLFW_KEY_TAB)) {
    const auto at = static_cast<std::size_t>(chosen - sources.begin());
    const std::size_t step = io.KeyShift ? sources.size() - 1 : 1;
    view_.source = sources[(at + step) % sources.size()].name;
  }
  // As seen from above: up is away from the camera.
  if (!desk_->in_step()) return;
  const DrawingAxes axes = axes_of(desk_->live().world());
  glm::dvec3 by(0);
  const glm::dvec3 right(axes.right, 0), ahead(axes.forward, 0);
  if (hit(GLFW_KEY_LEFT)) by -= right;
  if (hit(GLFW_KEY_RIGHT)) by += right;
  if (hit(GLFW_KEY_UP)) by += ahead;
  if (hit(GLFW_KEY_DOWN)) by -= ahead;
  if (hit(GLFW_KEY_PAGE_UP)) by.z += 1;
  if (hit(GLFW_KEY_PAGE_DOWN)) by.z -= 1;
  if (by != glm::dvec3(0))
    if (const auto place = place_of(*desk_, "source:" + name))
      move_thing(*desk_, "source:" + name, *place + 0.01 * by);
}

void Application::keys() {
  const ImGuiIO& io = ImGui::GetIO();
  const auto hit = [](int key) { return ImGui::IsKeyPressed(key, false); };
  if (hit(GLFW_KEY_F1)) view_.help = !view_.help;
  if (io.WantTextInput || ImGui::IsPopupOpen("", ImGuiPopupFlags_AnyPopupId)) return;
  if (io.KeyCtrl) {
    if (hit(GLFW_KEY_O)) ask_open();
    if (hit(GLFW_KEY_S) && io.KeyShift)
      ask_save_as();
    else if (hit(GLFW_KEY_S))
      save();
    if (hit(GLFW_KEY_Z) && io.KeyShift)
      desk_->redo();
    else if (hit(GLFW_KEY_Z))
      desk_->undo();
    if (hit(GLFW_KEY_Y)) desk_->redo();
    if (hit(GLFW_KEY_E)) export_open_ = true;
    if (hit(GLFW_KEY_F)) places_.ask(*desk_, view_);
    if (hit(GLFW_KEY_Q)) glfwSetWindowShouldClose(native_->get(), GLFW_TRUE);
    if (hit(GLFW_KEY_K) && desk_->open()) {
      const std::string name = desk_->edited().next_name("variant", "my light");
      if (desk_->keep_variant(name)) desk_->say(fmt::format("Kept as variant '{}'", name));
    }
    if (hit(GLFW_KEY_EQUAL) || hit(GLFW_KEY_KP_ADD))
      set_text_scale(desk_->preferences().text_scale() * 1.125);
    if (hit(GLFW_KEY_MINUS) || hit(GLFW_KEY_KP_SUBTRACT))
      set_text_scale(desk_->preferences().text_scale() / 1.125);
    if (hit(GLFW_KEY_0)) set_text_scale(1);
    if (desk_->open())
      for (int i = 0; i < 9; ++i)
        if (hit(GLFW_KEY_1 + i) && static_cast<std::size_t>(i) < desk_->scene().variants.size())
          desk_->use_variant(desk_->scene().variants[static_cast<std::size_t>(i)].name);
    return;
  }
  if (io.KeyAlt || !desk_->open()) return;
  if (hit(GLFW_KEY_ESCAPE)) {
    view_.tidy = view_.side_by_side.on = false;
    desk_->dismiss_messages();
  }
  if (hit(GLFW_KEY_R)) view_.raw = !view_.raw;
  if (hit(GLFW_KEY_V)) toggle_side_by_side(*desk_, view_);
  if (hit(GLFW_KEY_G)) view_.grid = !view_.grid;
  if (hit(GLFW_KEY_M)) view_.map.on = !view_.map.on;
  if (hit(GLFW_KEY_T)) view_.tidy = !view_.tidy;
  if (hit(GLFW_KEY_O))
    view_.overlay = static_cast<Overlay::Kind>((static_cast<int>(view_.overlay) + 1) % overlay_kinds);
  if (hit(GLFW_KEY_HOME)) view_.plan.fitted = view_.elevation.fitted = false;
  if (hit(GLFW_KEY_B))
    view_.beside =
        !view_.beside.empty() || desk_->scene().variants.empty() ? "" : desk_->scene().variants.front().name;
  const double f = desk_->scene().camera.f_number;
  const double third = std::round(std::log2(f) * 6);
  const auto aperture = [&](double steps) {
    desk_->set("camera.f_number", toml(std::clamp(std::exp2((third + steps) / 6), 0.75, 64.0)), "Aperture");
  };
  if (ImGui::IsKeyPressed(GLFW_KEY_LEFT_BRACKET)) aperture(-1);
  if (ImGui::IsKeyPressed(GLFW_KEY_RIGHT_BRACKET)) aperture(1);
  if (desk_->in_step()) {
    const auto raise = [&](double metres) {
      move_thing(*desk_, "camera", desk_->live().world().camera.pupil_m + glm::dvec3(0, 0, metres));
    };
    if (ImGui::IsKeyPressed(GLFW_KEY_COMMA)) raise(-0.01);
    if (ImGui::IsKeyPressed(GLFW_KEY_PERIOD)) raise(0.01);
    if (hit(GLFW_KEY_F) && !desk_->scene().props.empty())
      desk_->set(
          "camera.focus",
          toml_quoted(desk_->scene().subject.parts.empty() ? desk_->scene().props.front().name
                                                           : desk_->scene().subject.parts.front().text()),
          "Focus");
  }
  // Arrow keys walk through controls once one is in use.
  if (io.NavVisible) return;
  if (view_.side_by_side.on)
    side_by_side_keys(view_);
  else
    power_keys();
}

}  // namespace undercap::window
