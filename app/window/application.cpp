#include "app/window/application.h"

#include <fmt/format.h>
#include <imgui/backends/imgui_impl_glfw.h>
#include <imgui/backends/imgui_impl_opengl3.h>

#include <algorithm>
#include <chrono>
#include <utility>

#include "app/window/look.h"
#include "app/window/paint.h"
#include "app/window/panes.h"
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

Application* running = nullptr;  // for callbacks, which know no object

}  // namespace

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
  places_.stop();
  picture_.drop_device();
  variants_.drop_device();
  side_by_side_.drop_device();
  drop_painted();
  desk_.reset();
  running = nullptr;
}

void Application::start_imgui() {
  ImGui::CreateContext();
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;  // the layout is ours
  io.ConfigFlags |= ImGuiConfigFlags_NavEnableKeyboard;
  listen();
  ImGui_ImplGlfw_InitForOpenGL(native_->get(), true);
  ImGui_ImplOpenGL3_Init("#version 450 core");
  restyle_ = true;
}

// Before the interface listens, which passes on what it hears. Whatever is pressed is answered with the next
// frame.
void Application::listen() {
  GLFWwindow* window = native_->get();
  glfwSetDropCallback(window, [](GLFWwindow*, int count, const char** paths) {
    for (int i = 0; i < count; ++i) running->dropped_.emplace_back(paths[i]);
    running->busy_frames_ = 3;
  });
  glfwSetKeyCallback(window, [](GLFWwindow*, int key, int, int action, int mods) {
    running->busy_frames_ = 3;
    if (action == GLFW_PRESS && key >= 0 && key < IM_ARRAYSIZE(ImGuiIO::KeysDown))
      running->taps_.push_back(
          {key, (mods & GLFW_MOD_CONTROL) != 0, (mods & GLFW_MOD_SHIFT) != 0, (mods & GLFW_MOD_ALT) != 0});
  });
  glfwSetMouseButtonCallback(window, [](GLFWwindow*, int, int, int) { running->busy_frames_ = 3; });
  glfwSetScrollCallback(window, [](GLFWwindow*, double, double) { running->busy_frames_ = 3; });
}

// A key that came and went between two frames is down in this one.
void Application::begin_frame() {
  ImGui_ImplOpenGL3_NewFrame();
  ImGui_ImplGlfw_NewFrame();
  ImGuiIO& io = ImGui::GetIO();
  io.KeyCtrl = io.KeysDown[GLFW_KEY_LEFT_CONTROL] || io.KeysDown[GLFW_KEY_RIGHT_CONTROL];
  io.KeyShift = io.KeysDown[GLFW_KEY_LEFT_SHIFT] || io.KeysDown[GLFW_KEY_RIGHT_SHIFT];
  io.KeyAlt = io.KeysDown[GLFW_KEY_LEFT_ALT] || io.KeysDown[GLFW_KEY_RIGHT_ALT];
  std::vector<int> lifted;
  for (const Tap& tap : std::exchange(taps_, {})) {
    // What was held with it may be up already.
    io.KeyCtrl = io.KeyCtrl || tap.ctrl;
    io.KeyShift = io.KeyShift || tap.shift;
    io.KeyAlt = io.KeyAlt || tap.alt;
    if (io.KeysDown[tap.key]) continue;
    io.KeysDown[tap.key] = true;
    lifted.push_back(tap.key);
  }
  ImGui::NewFrame();
  for (const int key : lifted) io.KeysDown[key] = false;
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

// What fails after the device was reset is no fault of ours: all of it is made anew.
void Application::work(double seconds) {
  try {
    work_slice(seconds);
  } catch (const Trouble&) {
    if (!native_->was_reset()) throw;
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
  const double left = std::max(0.0, seconds - seconds_since(start));
  if (view_.side_by_side.on ? side_by_side_.work(*desk_, left) : work_picture(left))
    busy_frames_ = std::max(busy_frames_, 2);
}

bool Application::maps() const { return view_.map.on && desk_->in_step() && !view_.side_by_side.on; }

// The picture, what it is split with, the map of places and the small pictures of the variants.
bool Application::work_picture(double seconds) {
  Live* beside = picture_.beside();
  const double share = beside ? 0.5 : 1;
  // The map goes before the picture, for it is what is asked for; a hand that drags wants the picture.
  const double for_map = maps() && desk_->places().under_way() ? (desk_->dragging() ? 0.2 : 0.5) : 0;
  bool news = desk_->live().work(seconds * share * (1 - for_map));
  if (maps())
    news = desk_->places().work(desk_->live(), map_asked(*desk_, view_), seconds * share * for_map) || news;
  if (beside) news = beside->work(seconds * share) || news;
  if (desk_->live().idle() || desk_->live().picture().samples() >= 64)
    news = variants_.work(*desk_, shaders_, software_ ? 0.03 : 0.004) || news;
  return news;
}

void Application::device_lost() {
  stop_imgui();
  export_.reset();
  places_.stop();
  picture_.drop_device();
  variants_.drop_device();
  side_by_side_.drop_device();
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
    apply_look(native_->content_scale() * static_cast<float>(desk_->preferences().text_scale()));
    ImGui_ImplOpenGL3_DestroyDeviceObjects();  // made anew with the frame
    view_.plan.fitted = view_.elevation.fitted = false;
  }
  begin_frame();
  named_things().clear();
  keys();
  menu();
  lay_out();
  status_line(em(1.5f));
  if (!recovery_question(*desk_)) {
    help_window(view_);
    export_dialog();
    places_.draw(*desk_, view_, files_, shaders_, software_);
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
  open_due_lesson();
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
  if (native_->was_reset()) {
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
  watch_->write(*desk_, view_, places_, side_by_side_, times_);
}

int Application::run() {
  // Without a card the interface itself costs what tracing needs: it is drawn when something is new to be
  // seen, and in between the time is the picture's. 40 ms leave the answer within a tenth of a second.
  const double slice = software_ ? 0.04 : 0.008;
  Clock::time_point last_frame{};
  while (!closing_) {
    const bool map_due = maps() && desk_->places().under_way();
    const bool idle = desk_->live().idle() && side_by_side_.idle() && !export_ && !places_.searching() &&
                      !map_due && busy_frames_ <= 0;
    // While there is no world yet, the cores belong to those who build it.
    if (idle)
      glfwWaitEventsTimeout(0.25);
    else if (!desk_->live().ready())
      glfwWaitEventsTimeout(0.03);
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

}  // namespace undercap::window
