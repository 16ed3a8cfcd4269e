// A copy of a scene's unsaved text, kept while it is edited, so that a crash loses two seconds at most.
//
//   Recovery recovery;
//   recovery.tick(edited);       // every frame; writes when there is something new
//   recovery.done();             // closed for good
//   for (const Recovered& one : Recovery::left_behind()) ...
//
// One file a scene in STATE/undercap/recovery: a comment line that says whose it is, then the text, byte for
// byte. Whatever ends the program without done() leaves it there.
#pragma once

#include <chrono>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/session/edited_scene.h"
#include "engine/session/user_folders.h"

namespace undercap {

struct Recovered {
  std::filesystem::path path;  // of the scene
  std::string text;
  std::chrono::system_clock::time_point when;
  std::filesystem::path file;  // the copy itself
};

class Recovery {
 public:
  using Clock = std::chrono::steady_clock;
  static constexpr std::chrono::seconds pause{2};  // between two copies

  explicit Recovery(const std::filesystem::path& state = state_folder());
  Recovery(const Recovery&) = delete;
  Recovery& operator=(const Recovery&) = delete;

  // Writes the copy when the scene has changed since the last one and the pause is over; takes it away when
  // nothing is unsaved. Gives a sentence when the copy cannot be written, once until it can be again.
  std::optional<std::string> tick(const EditedScene& edited, Clock::time_point now = Clock::now());
  void done();

  // Copies whose process has ended, newest first. A file that is none of ours is left alone.
  static std::vector<Recovered> left_behind(const std::filesystem::path& state = state_folder());
  static void discard(const Recovered& recovered);

 private:
  std::filesystem::path folder_, file_;
  std::optional<std::string> written_;
  std::optional<Clock::time_point> last_try_;
  bool fault_told_ = false;
};

}  // namespace undercap
