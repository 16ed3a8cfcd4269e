// What asks: files to open and to save to, unsaved changes, recovery, the list of keys, the first hints.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/window/desk.h"
#include "app/window/view.h"

namespace undercap::window {

// A list of files in a folder, with a line to type in.
class FileDialog {
 public:
  // 'endings' of the files that are listed; 'saving' asks before it replaces one.
  void open(std::string title, std::filesystem::path start, std::vector<std::string> endings, bool saving,
            std::function<void(const std::filesystem::path&, bool replace)> chosen);
  void draw();
  bool is_open() const { return open_; }

 private:
  void list_folder();
  void accept();
  bool open_ = false, appearing_ = false, saving_ = false, ask_replace_ = false;
  std::string title_, name_, fault_;
  std::filesystem::path folder_;
  std::vector<std::string> endings_;
  std::vector<std::string> folders_, files_;
  std::function<void(const std::filesystem::path&, bool)> chosen_;
};

// What is to be done once unsaved changes are dealt with.
class UnsavedQuestion {
 public:
  void ask(Desk& desk, std::function<void()> then);
  void draw(Desk& desk, FileDialog& files);

 private:
  std::function<void()> then_;
  bool open_ = false;
};

struct KeyHelp {
  const char *keys, *does;
};
const std::vector<KeyHelp>& key_help();
void help_window(View& view);

// Offers the copies that another run left behind. True while it asks.
bool recovery_question(Desk& desk);

// Three sentences for a first start, each to be sent away for good.
void first_hints(Desk& desk, float right, float bottom);

}  // namespace undercap::window
