#include "app/window/main_window.h"

#include <glad/gl.h>
// After it: GLFW brings no OpenGL header of its own then.
#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <imgui/backends/imgui_impl_glfw.h>
#include <imgui/backends/imgui_impl_opengl3.h>
#include <imgui/imgui.h>
#include <imgui/imgui_internal.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <memory>
#include <vector>

#include "app/window/dialogs.h"
#include "app/window/export_job.h"
#include "app/window/look.h"
#include "app/window/paint.h"
#include "app/window/panes.h"
#include "app/window/picture_pane.h"
#include "app/window/variants_pane.h"
#include "app/window/watch.h"
#include "app/window/widgets.h"
#include "engine/core/errors.h"
#include "engine/gl/objects.h"
#include "engine/render/embedded_shaders.h"

namespace undercap::window {
namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

std::string glfw_fault() {
  const char* words = nullptr;
  glfwGetError(&words);
  return words ? words : "no reason given";
}

// One native window with its context; the device may be lost and made anew.
class NativeWindow {
 public:
  NativeWindow(int width, int height) {
    glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 4);
    glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 5);
    glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
    // A device that is reset says so instead of going on with nonsense.
    glfwWindowHint(GLFW_CONTEXT_ROBUSTNESS, GLFW_LOSE_CONTEXT_ON_RESET);
    glfwWindowHint(GLFW_SCALE_TO_MONITOR, GLFW_TRUE);
    window_ = glfwCreateWindow(width, height, "Undercap", nullptr, nullptr);
    if (!window_)
      throw Trouble("this display offers no OpenGL 4.5: " + glfw_fault() +
                    "; a newer driver may, or software OpenGL (Debian: libgl1-mesa-dri, with "
                    "LIBGL_ALWAYS_SOFTWARE=1 set)");
    glfwMakeContextCurrent(window_);
    if (gladLoadGL(reinterpret_cast<GLADloadfunc>(glfwGetProcAddress)) == 0)
      throw Trouble("the functions of OpenGL 4.5 cannot be loaded; update the graphics driver");
    glfwSwapInterval(1);
    glfwSetWindowSizeLimits(window_, 480, 360, GLFW_DONT_CARE, GLFW_DONT_CARE);
  }
  ~NativeWindow() { glfwDestroyWindow(window_); }
  NativeWindow(const NativeWindow&) = delete;
  NativeWindow& operator=(const NativeWindow&) = delete;
  GLFWwindow* get() const { return window_; }

 private:
  GLFWwindow* window_;
};

class Application {
 public:
  explicit Application(const WindowOptions& options);
  ~Application();
  int run();

 private:
  void start_imgui();
  void stop_imgui();
  void open_first();
  bool frame(double work_seconds);
  void work(double seconds);
  void work_slice(double seconds);
  void lay_out();
  void menu();
  void status_line(float height);
  void keys();
  void power_keys();
  void message_strip();
  void export_dialog();
  void ask_open();
  void ask_save_as();
  void save();
  void set_text_scale(double scale);
  void device_lost();
  void write_watch();

  WindowOptions options_;
  std::unique_ptr<NativeWindow> native_;
  ShaderLibrary shaders_;
  std::unique_ptr<Desk> desk_;
  View view_;
  PicturePane picture_;
  VariantsPane variants_;
  FileDialog files_;
  UnsavedQuestion unsaved_;
  std::unique_ptr<ExportJob> export_;
  ExportRequest export_request_;
  bool export_open_ = false;
  std::string export_name_ = "picture.png";
  std::vector<fs::path> dropped_;
  std::string fault_before_ = {};
  bool software_ = false, closing_ = false, restyle_ = false;
  int busy_frames_ = 3;  // frames that are drawn whatever happens: the interface settles
  Times times_;
  std::optional<Watch> watch_;
};

Application* running = nullptr;

bool was_reset() { return glGetGraphicsResetStatus && glGetGraphicsResetStatus() != GL_NO_ERROR; }

float content_scale(GLFWwindow* window) {
  float x = 1, y = 1;
  glfwGetWindowContentScale(window, &x, &y);
  return std::clamp(x, 1.f, 4.f);
}

Application::Application(const WindowOptions& options)
    : options_(options),
      native_(std::make_unique<NativeWindow>(options.width, options.height)),
      shaders_(embedded_shaders(), options.shaders) {
  software_ = software_renderer();
  desk_ = std::make_unique<Desk>(shaders_, options.bundled);
  if (!options.watch.empty()) watch_.emplace(options.watch);
  running = this;
  start_imgui();
  open_first();
}

Application::~Application() {
  stop_imgui();
  export_.reset();
  picture_.drop_device();
  variants_.drop_device();
  drop_painted();
  desk_.reset();
  running = nullptr;
}

void Application::start_imgui() {
  ImGui::CreateContext();
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;  // the layout is ours
  io.ConfigFlags |= ImGuiConfigFlags_NavEnableKeyboard;
  glfwSetDropCallback(native_->get(), [](GLFWwindow*, int count, const char** paths) {
    for (int i = 0; i < count; ++i) running->dropped_.emplace_back(paths[i]);
  });
  ImGui_ImplGlfw_InitForOpenGL(native_->get(), true);
  ImGui_ImplOpenGL3_Init("#version 450 core");
  restyle_ = true;
}

void Application::stop_imgui() {
  ImGui_ImplOpenGL3_Shutdown();
  ImGui_ImplGlfw_Shutdown();
  ImGui::DestroyContext();
}

void Application::open_first() {
  std::string scene = options_.scene;
  if (scene.empty()) {
    const auto recent = desk_->recent();
    scene = recent.empty() ? std::string("umber_parasol") : recent.front().string();
  }
  if (!desk_->open_scene(scene) && !desk_->open()) desk_->open_scene("umber_parasol");
  if (!options_.variant.empty()) desk_->use_variant(options_.variant);
}

void Application::set_text_scale(double scale) {
  try {
    desk_->preferences().set_text_scale(
        std::clamp(scale, Preferences::smallest_text_scale, Preferences::largest_text_scale));
  } catch (const std::exception& fault) {
    desk_->say(fault.what(), true);
  }
  restyle_ = true;
}

void Application::ask_open() {
  unsaved_.ask(*desk_, [this] {
    files_.open("Open a scene", desk_->open() ? desk_->edited().path() : fs::path(), {".toml"}, false,
                [this](const fs::path& path, bool) {
                  if (desk_->open_scene(path)) view_ = {};
                });
  });
}

void Application::ask_save_as() {
  if (!desk_->open()) return;
  const fs::path start =
      desk_->wants_place() ? fs::current_path() / desk_->edited().path().filename() : desk_->edited().path();
  files_.open("Save the scene as", start, {".toml"}, true,
              [this](const fs::path& path, bool replace) { desk_->save_as(path, replace); });
}

void Application::save() {
  if (!desk_->open()) return;
  if (desk_->wants_place())
    ask_save_as();
  else
    desk_->save();
}

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
  if (ImGui::BeginMenu("Show")) {
    ImGui::MenuItem("Raw picture", "R", &view_.raw);
    ImGui::MenuItem("Thirds", "G", &view_.grid);
    static constexpr const char* names[] = {"No overlay", "Clipping", "Stops from mid-grey", "Sharp zone"};
    for (int i = 0; i < 4; ++i)
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
    view_.tidy = false;
    desk_->dismiss_messages();
  }
  if (hit(GLFW_KEY_R)) view_.raw = !view_.raw;
  if (hit(GLFW_KEY_G)) view_.grid = !view_.grid;
  if (hit(GLFW_KEY_T)) view_.tidy = !view_.tidy;
  if (hit(GLFW_KEY_O)) view_.overlay = static_cast<Overlay::Kind>((static_cast<int>(view_.overlay) + 1) % 4);
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
  if (!io.NavVisible) power_keys();
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
  const auto old = [](const Message& m) { return !m.fault && seconds_since(m.since) > 5; };
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

// Places of the panes for a window of a size: drawings beside the picture, tables below. Narrow windows get
// the panes that do not fit as tabs of the one on the right.
void Application::lay_out() {
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  const float top = ImGui::GetFrameHeight(), status = em(1.5f), gap = em(0.25f);
  const float height = size.y - top - status;
  const bool narrow = size.x < em(58) || size.y < em(34);
  const ImGuiWindowFlags flags = ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                                 ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoSavedSettings;
  const auto pane = [&](const char* name, float x, float y, float w, float h, bool tight, const auto& draw) {
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
  };
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
  const float below = std::clamp(height * 0.31f, em(11), em(20));
  const float above = height - below - gap;
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
  const float y = top + above + gap, third = std::floor((size.x - 2 * gap) / 3);
  const float sources_w = std::floor(third * 1.25f), ground_w = std::floor(third * 0.8f);
  pane("sources", 0, y, sources_w, below, false, [&] { sources_pane(*desk_, view_); });
  pane("ground", sources_w + gap, y, ground_w, below, false, [&] { ground_pane(*desk_, view_); });
  pane("variants", sources_w + ground_w + 2 * gap, y, size.x - sources_w - ground_w - 2 * gap, below, false,
       [&] { variants_.draw(*desk_, view_); });
}

// What fails after the device was reset is no fault of ours: all of it is made anew.
void Application::work(double seconds) {
  try {
    work_slice(seconds);
  } catch (const Trouble&) {
    if (!was_reset()) throw;
    device_lost();
  }
}

void Application::work_slice(double seconds) {
  const auto start = Clock::now();
  if (export_) {
    try {
      if (export_->work(seconds * 0.8)) {
        desk_->say("Wrote " + export_->request().file.string());
        export_.reset();
      }
    } catch (const std::exception& fault) {
      desk_->say(fault.what(), true);
      export_.reset();
    }
  }
  bool news = false;
  Live* beside = picture_.beside();
  const double share = beside ? 0.5 : 1;
  const double left = std::max(0.0, seconds - seconds_since(start));
  news = desk_->live().work(left * share) || news;
  if (beside) news = beside->work(left * share) || news;
  if (desk_->live().idle() || desk_->live().picture().samples() >= 64)
    news = variants_.work(*desk_, shaders_, software_ ? 0.03 : 0.004) || news;
  if (news) busy_frames_ = std::max(busy_frames_, 2);
}

void Application::device_lost() {
  stop_imgui();
  export_.reset();
  picture_.drop_device();
  variants_.drop_device();
  drop_painted();
  desk_->drop_device();
  native_.reset();
  native_ = std::make_unique<NativeWindow>(options_.width, options_.height);
  desk_->renew_device(shaders_);
  start_imgui();
  desk_->say("The graphics device was reset; the picture is made anew and nothing of the scene is lost.",
             true);
}

bool Application::frame(double work_seconds) {
  const auto start = Clock::now();
  if (std::exchange(restyle_, false)) {
    apply_look(content_scale(native_->get()) * static_cast<float>(desk_->preferences().text_scale()));
    ImGui_ImplOpenGL3_DestroyDeviceObjects();  // made anew with the frame
    view_.plan.fitted = view_.elevation.fitted = false;
  }
  ImGui_ImplOpenGL3_NewFrame();
  ImGui_ImplGlfw_NewFrame();
  ImGui::NewFrame();
  named_things().clear();
  keys();
  menu();
  lay_out();
  status_line(em(1.5f));
  if (!recovery_question(*desk_)) {
    help_window(view_);
    export_dialog();
    files_.draw();
    unsaved_.draw(*desk_, files_);
    if (desk_->in_step() && desk_->live().exposed() && !ImGui::IsPopupOpen("", ImGuiPopupFlags_AnyPopupId))
      first_hints(*desk_, ImGui::GetIO().DisplaySize.x, ImGui::GetIO().DisplaySize.y - em(1.6f));
  }
  message_strip();
  for (const fs::path& path : std::exchange(dropped_, {})) {
    if (path.extension() == ".obj" && desk_->in_step())
      add_obj(*desk_, fs::relative(path, desk_->edited().path().parent_path()).string());
    else
      unsaved_.ask(*desk_, [this, path] {
        if (desk_->open_scene(path)) view_ = {};
      });
  }
  desk_->tick();
  ImGui::Render();
  times_.interface_ms = 1e3 * seconds_since(start);
  int width = 0, height = 0;
  glfwGetFramebufferSize(native_->get(), &width, &height);
  glViewport(0, 0, width, height);
  glClearColor(0.1f, 0.1f, 0.1f, 1);
  glClear(GL_COLOR_BUFFER_BIT);
  // A program that was deleted while it was in use could not be put back after the interface.
  glUseProgram(0);
  ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
  glfwSwapBuffers(native_->get());
  if (was_reset()) {
    device_lost();
    return true;
  }
  times_.drawn_ms = 1e3 * seconds_since(start) - times_.interface_ms;
  work(work_seconds);
  times_.frame_ms = 1e3 * seconds_since(start);
  times_.worst_ms = std::max(times_.worst_ms, times_.frame_ms);
  return true;
}

void Application::write_watch() {
  if (!watch_) return;
  watch_->write(*desk_, view_, times_);
}

int Application::run() {
  // Without a card the interface itself costs what tracing needs: it is drawn when something is new to be
  // seen, and in between the time is the picture's. 40 ms leave the answer within a tenth of a second.
  const double slice = software_ ? 0.04 : 0.008;
  Clock::time_point last_frame{};
  while (!closing_) {
    const bool idle = desk_->live().idle() && !export_ && busy_frames_ <= 0;
    if (idle)
      glfwWaitEventsTimeout(0.25);
    else
      glfwPollEvents();
    const ImGuiIO& io = ImGui::GetIO();
    static ImVec2 mouse{-1, -1};
    double x = 0, y = 0;
    glfwGetCursorPos(native_->get(), &x, &y);
    const ImVec2 now(static_cast<float>(x), static_cast<float>(y));
    if (now.x != mouse.x || now.y != mouse.y || ImGui::IsAnyMouseDown())
      busy_frames_ = std::max(busy_frames_, 3);
    mouse = now;
    if (glfwWindowShouldClose(native_->get())) {
      glfwSetWindowShouldClose(native_->get(), GLFW_FALSE);
      unsaved_.ask(*desk_, [this] { closing_ = true; });
      busy_frames_ = 3;
    }
    if (!software_ || busy_frames_ > 0 || seconds_since(last_frame) > 0.2 || io.WantTextInput) {
      last_frame = Clock::now();
      --busy_frames_;
      frame(slice);
    } else {
      work(slice);
    }
    write_watch();
  }
  desk_->close();
  return 0;
}

}  // namespace
}  // namespace undercap::window

namespace undercap {

int run_window(const WindowOptions& options) {
  if (!glfwInit())
    throw Trouble("there is no display to open a window on: " + window::glfw_fault() +
                  "; 'undercap render' and 'undercap measure' need none");
  struct Terminate {
    ~Terminate() { glfwTerminate(); }
  } terminate;
  window::Application application(options);
  return application.run();
}

}  // namespace undercap
