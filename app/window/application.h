// The program with its window: one desk, its panes, and the loop that draws them and lets the picture grow.
// application.cpp has the loop, application_*.cpp what it draws and what keys do.
#pragma once

#include <imgui/imgui.h>

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/window/dialogs.h"
#include "app/window/export_job.h"
#include "app/window/main_window.h"
#include "app/window/native_window.h"
#include "app/window/picture_pane.h"
#include "app/window/places_window.h"
#include "app/window/side_by_side.h"
#include "app/window/variants_pane.h"
#include "app/window/watch.h"
#include "engine/session/lesson.h"

namespace undercap::window {

class Application {
 public:
  explicit Application(const WindowOptions& options);
  ~Application();
  int run();

 private:
  void start_imgui();
  void listen();
  void begin_frame();
  void stop_imgui();
  void open_first();
  bool frame(double work_seconds);
  void work(double seconds);
  void work_slice(double seconds);
  bool work_picture(double seconds);
  void lay_out();
  void lay_out_tables(float y, float below);
  bool maps() const;  // the map of places is seen
  void menu();
  void lessons_menu();
  void open_due_lesson();
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
  SideBySidePane side_by_side_;
  PlacesWindow places_;
  std::unique_ptr<ExportJob> export_;
  bool export_open_ = false;
  const Lesson* lesson_ = nullptr;  // to be opened
  int lesson_frames_ = 0;           // that are drawn before
  std::vector<std::filesystem::path> dropped_;
  struct Tap {
    int key = 0;
    bool ctrl = false, shift = false, alt = false;
  };
  std::vector<Tap> taps_;  // keys that went down since the last frame
  bool software_ = false, closing_ = false, restyle_ = false;
  int busy_frames_ = 3;  // frames that are drawn whatever happens: the interface settles
  Times times_;
  std::optional<Watch> watch_;
};

}  // namespace undercap::window
