// What the program keeps for a user: which scenes were open, and a few preferences.
//
// Folders are those of the XDG base directory specification, version 0.8: a value that is not an absolute
// path is ignored. Folders are made when something is first written, for the user alone. What cannot be read,
// or is not what was written, counts as nothing; what cannot be written throws Refusal or Trouble.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "engine/scene/document.h"

namespace undercap {

// $XDG_CONFIG_HOME or ~/.config, $XDG_STATE_HOME or ~/.local/state, $XDG_CACHE_HOME or ~/.cache. They need
// not exist. Throws Trouble when the user has no home.
std::filesystem::path config_folder();
std::filesystem::path state_folder();
std::filesystem::path cache_folder();

// Makes a folder and those above it, with mode 0700.
void make_private_folder(const std::filesystem::path& folder);

// The scenes that were open last, newest first.
class RecentScenes {
 public:
  static constexpr std::size_t most = 12;
  explicit RecentScenes(std::filesystem::path state = state_folder());
  // As the file says it now, since another window may have added one. Scenes that are gone are left out.
  std::vector<std::filesystem::path> list() const;
  void add(const std::filesystem::path& scene);
  void forget(const std::filesystem::path& scene);

 private:
  void write(const std::vector<std::filesystem::path>& scenes) const;
  std::filesystem::path file_;
};

// Keys that this version does not know stay in the file, and so do comments.
class Preferences {
 public:
  static constexpr double smallest_text_scale = 0.5, largest_text_scale = 4;
  explicit Preferences(std::filesystem::path config = config_folder());

  double text_scale() const { return text_scale_; }  // 1 = as the display says
  void set_text_scale(double scale);
  // Hints that the user has read and sent away, by the word that the program calls them.
  bool hint_dismissed(std::string_view hint) const;
  void dismiss_hint(std::string_view hint);
  void bring_hints_back();

 private:
  Document read() const;
  void write(const std::string& key, const std::string& value) const;
  void write_hints() const;
  std::filesystem::path file_;
  double text_scale_ = 1;
  std::vector<std::string> hints_;
};

}  // namespace undercap
