#include "engine/session/user_folders.h"

#include <fmt/format.h>
#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/core/text.h"
#include "engine/scene/patch.h"

namespace undercap {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t limit_bytes = 1'000'000;

fs::path home() {
  if (const char* given = std::getenv("HOME"); given && *given == '/') return given;
  // Without HOME the user database tells, as it tells the shell at login.
  passwd entry{};
  passwd* found = nullptr;
  std::array<char, 16384> words{};
  if (::getpwuid_r(::getuid(), &entry, words.data(), words.size(), &found) == 0 && found &&
      *found->pw_dir == '/')
    return found->pw_dir;
  throw Trouble("the user has no home folder; set HOME to an absolute path");
}

// "All paths set in these environment variables must be absolute"; a relative one is to be ignored (XDG base
// directory specification 0.8).
fs::path base_folder(const char* variable, const char* in_home) {
  const char* given = std::getenv(variable);
  return given && *given == '/' ? fs::path(given) : home() / in_home;
}

// Of a file that the program itself keeps; empty when there is none that can be read.
std::string kept_text(const fs::path& file) {
  try {
    return read_file(file, limit_bytes);
  } catch (const Refusal&) {
    return {};
  }
}

void keep(const fs::path& file, std::string_view text) {
  make_private_folder(file.parent_path());
  write_file(file, text, true);
}

}  // namespace

fs::path config_folder() { return base_folder("XDG_CONFIG_HOME", ".config"); }
fs::path state_folder() { return base_folder("XDG_STATE_HOME", ".local/state"); }
fs::path cache_folder() { return base_folder("XDG_CACHE_HOME", ".cache"); }

void make_private_folder(const fs::path& folder) {
  std::error_code ignored;
  if (folder.empty() || fs::is_directory(folder, ignored)) return;
  make_private_folder(folder.parent_path());
  // Another window may have made it in between.
  if (::mkdir(folder.c_str(), 0700) != 0 && !fs::is_directory(folder, ignored))
    throw Trouble(
        fmt::format("the folder '{}' cannot be made: {}", printable(folder.string()), std::strerror(errno)));
}

RecentScenes::RecentScenes(fs::path state) : file_(std::move(state) / "undercap" / "recent") {}

std::vector<fs::path> RecentScenes::list() const {
  std::vector<fs::path> scenes;
  const std::string text = kept_text(file_);
  for (std::size_t begin = 0; begin < text.size() && scenes.size() < most;) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    const std::string line = text.substr(begin, end - begin);
    begin = end + 1;
    std::error_code ignored;
    if (!line.starts_with('/') || !is_printable(line) || !fs::is_regular_file(line, ignored)) continue;
    if (std::find(scenes.begin(), scenes.end(), line) == scenes.end()) scenes.emplace_back(line);
  }
  return scenes;
}

void RecentScenes::add(const fs::path& scene) {
  const fs::path absolute = fs::absolute(scene).lexically_normal();
  // A line could not hold it.
  if (!is_printable(absolute.string())) return;
  std::vector<fs::path> scenes{absolute};
  for (const fs::path& known : list())
    if (known != absolute) scenes.push_back(known);
  write(scenes);
}

void RecentScenes::forget(const fs::path& scene) {
  std::vector<fs::path> scenes = list();
  std::erase(scenes, fs::absolute(scene).lexically_normal());
  write(scenes);
}

void RecentScenes::write(const std::vector<fs::path>& scenes) const {
  std::string text;
  for (std::size_t i = 0; i < std::min(scenes.size(), most); ++i)
    text += fmt::format("{}\n", scenes[i].string());
  keep(file_, text);
}

Preferences::Preferences(fs::path config) : file_(std::move(config) / "undercap" / "preferences.toml") {
  const Document document = read();
  if (const FileNode* scale = document.root.find("text_scale"); scale && scale->is_number())
    if (scale->number >= smallest_text_scale && scale->number <= largest_text_scale)
      text_scale_ = scale->number;
  if (const FileNode* hints = document.root.find("hints_dismissed"))
    for (const FileNode& hint : hints->items)
      if (hint.type == FileNode::Type::text) hints_.push_back(hint.text);
}

// What is no TOML counts as an empty file, and the next preference that is set replaces it.
Document Preferences::read() const {
  try {
    return parse_document(kept_text(file_), file_.string());
  } catch (const Refusal&) {
    return {file_.string(), {}, {}};
  }
}

void Preferences::write(const std::string& key, const std::string& value) const {
  const std::string text = read().text;
  keep(file_, spliced(text, setting(text, {key}, value)));
}

void Preferences::set_text_scale(double scale) {
  text_scale_ = std::clamp(scale, smallest_text_scale, largest_text_scale);
  write("text_scale", fmt::format("{}", text_scale_));
}

bool Preferences::hint_dismissed(std::string_view hint) const {
  return std::find(hints_.begin(), hints_.end(), hint) != hints_.end();
}

void Preferences::dismiss_hint(std::string_view hint) {
  if (hint_dismissed(hint)) return;
  hints_.emplace_back(hint);
  write_hints();
}

void Preferences::bring_hints_back() {
  hints_.clear();
  write_hints();
}

void Preferences::write_hints() const {
  std::string list;
  for (const std::string& hint : hints_)
    list += fmt::format("{}{}", list.empty() ? "" : ", ", toml_quoted(hint));
  write("hints_dismissed", fmt::format("[{}]", list));
}

}  // namespace undercap
