// What lies around the panes: menus, the line of state, messages, the export question.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include "app/window/application.h"
#include "app/window/widgets.h"
#include "engine/gl/objects.h"

namespace undercap::window {

namespace fs = std::filesystem;

void Application::menu() {
  if (!ImGui::BeginMainMenuBar()) return;
  const bool open = desk_->open();
  if (ImGui::BeginMenu("Scene")) {
    if (ImGui::MenuItem("Open ...", "Ctrl+O")) ask_open();
    if (ImGui::BeginMenu("Bundled")) {
      std::error_code none;
      std::vector<std::string> names;
      for (const auto& entry : fs::directory_iterator(desk_->bundled_scenes(), none))
        if (entry.path().extension() == ".toml") names.push_back(entry.path().stem().string());
      std::sort(names.begin(), names.end());
      for (const std::string& name : names) {
        std::string words = name;
        std::replace(words.begin(), words.end(), '_', ' ');
        if (ImGui::MenuItem(words.c_str()))
          unsaved_.ask(*desk_, [this, name] {
            if (desk_->open_scene(name)) view_ = {};
          });
        name_item("bundled " + name);
      }
      ImGui::EndMenu();
    }
    name_item("menu Bundled");
    if (ImGui::BeginMenu("Recent")) {
      for (const fs::path& path : desk_->recent())
        if (ImGui::MenuItem(path.string().c_str()))
          unsaved_.ask(*desk_, [this, path] {
            if (desk_->open_scene(path)) view_ = {};
          });
      ImGui::EndMenu();
    }
    if (ImGui::MenuItem("Save", "Ctrl+S", false, open)) save();
    if (ImGui::MenuItem("Save as ...", "Ctrl+Shift+S", false, open)) ask_save_as();
    if (ImGui::MenuItem("Export ...", "Ctrl+E", false, open)) export_open_ = true;
    if (ImGui::MenuItem("Quit", "Ctrl+Q")) glfwSetWindowShouldClose(native_->get(), GLFW_TRUE);
    ImGui::EndMenu();
  }
  name_item("menu Scene");
  if (ImGui::BeginMenu("Edit")) {
    const auto undo = open ? desk_->edited().undo_name() : std::nullopt;
    const auto redo = open ? desk_->edited().redo_name() : std::nullopt;
    if (ImGui::MenuItem(undo ? ("Undo: " + *undo).c_str() : "Undo", "Ctrl+Z", false, undo.has_value()))
      desk_->undo();
    if (ImGui::MenuItem(redo ? ("Again: " + *redo).c_str() : "Again", "Ctrl+Y", false, redo.has_value()))
      desk_->redo();
    ImGui::EndMenu();
  }
  name_item("menu Edit");
  if (ImGui::BeginMenu("Light", open)) {
    ImGui::MenuItem("Placement map", "M", &view_.map.on);
    name_item("menu placement map");
    if (ImGui::MenuItem("Find places ...", "Ctrl+F")) places_.ask(*desk_, view_);
    name_item("menu find places");
    ImGui::EndMenu();
  }
  name_item("menu Light");
  lessons_menu();
  if (ImGui::BeginMenu("Show")) {
    if (ImGui::MenuItem("Variants beside each other", "V", view_.side_by_side.on, open))
      toggle_side_by_side(*desk_, view_);
    name_item("menu side by side");
    ImGui::MenuItem("Raw picture", "R", &view_.raw);
    ImGui::MenuItem("Thirds", "G", &view_.grid);
    static constexpr const char* names[overlay_kinds] = {"No overlay", "Clipping", "Stops from mid-grey",
                                                         "Sharp zone", "Plane in focus"};
    for (int i = 0; i < overlay_kinds; ++i)
      if (ImGui::MenuItem(names[i], i == 0 ? "O" : nullptr, static_cast<int>(view_.overlay) == i))
        view_.overlay = static_cast<Overlay::Kind>(i);
    ImGui::Separator();
    if (ImGui::MenuItem("Fit the drawings", "Home")) view_.plan.fitted = view_.elevation.fitted = false;
    if (ImGui::MenuItem("Larger text", "Ctrl+plus"))
      set_text_scale(desk_->preferences().text_scale() * 1.125);
    if (ImGui::MenuItem("Smaller text", "Ctrl+minus"))
      set_text_scale(desk_->preferences().text_scale() / 1.125);
    ImGui::EndMenu();
  }
  name_item("menu Show");
  if (ImGui::BeginMenu("Help")) {
    if (ImGui::MenuItem("Keys and cautions", "F1")) view_.help = true;
    if (ImGui::MenuItem("Show the first hints again")) {
      try {
        desk_->preferences().bring_hints_back();
      } catch (const std::exception& fault) {
        desk_->say(fault.what(), true);
      }
    }
    ImGui::EndMenu();
  }
  name_item("menu Help");
  if (open) {
    std::string title = desk_->edited().path().stem().string();
    if (!desk_->scene().title.empty()) title = desk_->scene().title;
    if (desk_->edited().unsaved()) title += "  (not saved)";
    right_text(title, ink::soft);
  }
  ImGui::EndMainMenuBar();
}

void Application::lessons_menu() {
  if (ImGui::BeginMenu("Lessons")) {
    for (const Lesson& lesson : lessons()) {
      if (ImGui::MenuItem(lesson.title))
        unsaved_.ask(*desk_, [this, &lesson] {
          desk_->say(fmt::format("Preparing the lesson '{}' ...", lesson.title));
          lesson_ = &lesson;
          // A message is measured in its first frame and drawn in the next.
          lesson_frames_ = 2;
        });
      name_item(fmt::format("lesson {}", lesson.name));
      explain(lesson.question);
    }
    ImGui::EndMenu();
  }
  name_item("menu Lessons");
}

// It takes a second or three to work out its variants, so that what is done is told first.
void Application::open_due_lesson() {
  if (!lesson_) return;
  busy_frames_ = std::max(busy_frames_, 2);
  if (lesson_frames_-- > 0) return;
  if (desk_->open_lesson(*std::exchange(lesson_, nullptr))) view_ = {};
}

void Application::status_line(float height) {
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({0, size.y - height});
  ImGui::SetNextWindowSize({size.x, height});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {em(0.5f), em(0.1f)});
  ImGui::PushStyleColor(ImGuiCol_WindowBg, ink::raised);
  if (ImGui::Begin("status", nullptr,
                   ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoNav |
                       ImGuiWindowFlags_NoBringToFrontOnFocus)) {
    ImGui::PushFont(fonts().small);
    const Live& live = desk_->live();
    std::string text;
    if (export_) {
      text = fmt::format("Writing {}: {:.0f} %, {:.0f} s left", export_->request().file.filename().string(),
                         100 * export_->share_done(), export_->seconds_left());
    } else if (live.building()) {
      text = "Building the set beside the picture that is shown";
    } else if (live.ready()) {
      const ShownPicture& shown = live.picture().shown();
      text = fmt::format("{} x {}, {} samples a pixel", shown.width, shown.height, shown.samples);
      const double rate = live.picture().pace().paths_per_second() / 1e6;
      text +=
          fmt::format("   {} million paths a second", shown.width ? undercap::window::shown(rate, 2) : "-");
      if (!desk_->last_cost().empty()) text += "   last edit: " + desk_->last_cost();
    }
    ImGui::TextUnformatted(text.c_str());
    if (export_) {
      ImGui::SameLine();
      if (ImGui::SmallButton("Cancel")) {
        export_.reset();
        desk_->say("Cancelled; nothing was written");
      }
      name_item("cancel export");
    }
    const double rays = live.ready() && live.exposed() ? live.development().shutter.value() : 0;
    std::string right = live.ready() && live.exposed()
                            ? fmt::format("f/{}   {}   ISO {}   ", shown(desk_->scene().camera.f_number, 2),
                                          shutter_text(rays), shown(desk_->scene().exposure.iso, 3))
                            : "";
    right += renderer_name();
    ImGui::SameLine();
    right_text(right, ink::soft, fonts().small);
    ImGui::PopFont();
  }
  ImGui::End();
  ImGui::PopStyleColor();
  ImGui::PopStyleVar();
}

void Application::message_strip() {
  const auto& messages = desk_->messages();
  float y = ImGui::GetIO().DisplaySize.y - em(2.2f);
  std::vector<Message> seen(messages.begin(), messages.end());
  const auto old = [](const Message& m) {
    return !m.fault && std::chrono::duration<double>(std::chrono::steady_clock::now() - m.since).count() > 5;
  };
  if (std::all_of(seen.begin(), seen.end(), old)) return;
  for (std::size_t i = seen.size(); i-- > 0;) {
    const Message& message = seen[i];
    if (old(message)) continue;
    ImGui::SetNextWindowPos({em(0.8f), y}, ImGuiCond_Always, {0, 1});
    ImGui::SetNextWindowBgAlpha(0.97f);
    ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 1);
    ImGui::PushStyleColor(ImGuiCol_Border, message.fault ? ink::accent : ink::line);
    if (ImGui::Begin(fmt::format("message {}", i).c_str(), nullptr,
                     ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                         ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoFocusOnAppearing |
                         ImGuiWindowFlags_NoNav)) {
      ImGui::PushTextWrapPos(em(44));
      ImGui::TextUnformatted(((message.fault ? "! " : "") + message.text).c_str());
      ImGui::PopTextWrapPos();
      if (message.fault) {
        if (ImGui::SmallButton("Close")) desk_->dismiss_messages();
        name_item("close message");
      }
    }
    y -= ImGui::GetWindowHeight() + em(0.3f);
    ImGui::End();
    ImGui::PopStyleColor();
    ImGui::PopStyleVar();
  }
}

void Application::export_dialog() {
  if (export_open_ && !ImGui::IsPopupOpen("export") && !files_.is_open()) ImGui::OpenPopup("export");
  ImGui::SetNextWindowPos({ImGui::GetIO().DisplaySize.x / 2, ImGui::GetIO().DisplaySize.y / 2},
                          ImGuiCond_Always, {0.5f, 0.5f});
  if (!ImGui::BeginPopupModal("export", nullptr,
                              ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_AlwaysAutoResize))
    return;
  heading("Export");
  static int what = 0, width = 1200, samples = 64;
  static bool filtered = false;
  for (const auto& [number, label] :
       {std::pair(0, "Picture, as shown (.png)"), std::pair(1, "Linear light by source (.exr)"),
        std::pair(2, "Drawing: plan, elevation, from the source (.pdf, .svg, .png)")})
    if (ImGui::RadioButton(label, what == number)) what = number;
  if (what != 2) {
    ImGui::SetNextItemWidth(em(8));
    ImGui::InputInt("pixels wide", &width, 100);
    width = std::clamp(width, 64, 8000);
    ImGui::SetNextItemWidth(em(8));
    ImGui::InputInt("samples a pixel", &samples, 16);
    samples = std::clamp(samples / 2 * 2, 2, 4096);
    if (what == 0) ImGui::Checkbox("smooth the noise (says so in the file)", &filtered);
  }
  const auto choose = [&] {
    export_open_ = false;
    ImGui::CloseCurrentPopup();
    static const std::vector<std::string> endings[] = {{".png"}, {".exr"}, {".pdf", ".svg", ".png"}};
    const fs::path start =
        (desk_->wants_place() ? fs::current_path() : desk_->edited().path().parent_path()) /
        (desk_->edited().path().stem().string() + endings[what].front());
    const double aspect = desk_->scene().camera.format_mm[1] / desk_->scene().camera.format_mm[0];
    ExportRequest request{.width = width,
                          .height = std::max(16, static_cast<int>(std::lround(width * aspect / 2)) * 2),
                          .samples = static_cast<unsigned>(samples),
                          .filtered = filtered,
                          .drawing = what == 2};
    files_.open("Export as", start, endings[what], true, [this, request](const fs::path& path, bool) {
      ExportRequest whole = request;
      whole.file = path;
      try {
        export_ = std::make_unique<ExportJob>(*desk_, whole, shaders_);
      } catch (const std::exception& fault) {
        desk_->say(fault.what(), true);
      }
    });
  };
  if (ImGui::Button("Choose a file ...")) choose();
  name_item("export choose");
  ImGui::SameLine();
  if (ImGui::Button("Cancel") || ImGui::IsKeyPressed(GLFW_KEY_ESCAPE, false)) {
    export_open_ = false;
    ImGui::CloseCurrentPopup();
  }
  ImGui::EndPopup();
}

}  // namespace undercap::window
