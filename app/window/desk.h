// What the window works on: the scene that is being edited, its picture and readings, and what a person did
// to them. Knows nothing of widgets.
#pragma once

#include <chrono>
#include <deque>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/session/edited_scene.h"
#include "engine/session/lesson.h"
#include "engine/session/live.h"
#include "engine/session/live_places.h"
#include "engine/session/recovery.h"
#include "engine/session/user_folders.h"

namespace undercap::window {

// TOML text of values, short and exact enough for people: five significant digits.
std::string toml(double value);
std::string toml(const glm::dvec3& point);  // to a tenth of a millimetre
std::string toml(bool value);

struct Message {
  std::string text;
  bool fault = false;
  std::chrono::steady_clock::time_point since;
};

class Desk {
 public:
  Desk(const ShaderLibrary& shaders, std::string bundled_scenes);

  bool open() const { return edited_.has_value(); }
  EditedScene& edited() { return *edited_; }
  const EditedScene& edited() const { return *edited_; }
  const Scene& scene() const { return edited_->scene(); }
  Live& live() { return *live_; }
  const Live& live() const { return *live_; }
  // The map of places for a lamp, of the live world.
  LivePlaces& places() { return *places_; }
  const LivePlaces& places() const { return *places_; }
  bool has_world() const { return live_->ready(); }
  // The world belongs to the scene that is open, so that both may be looked at together.
  bool in_step() const;

  // Opens a file or a bundled scene by its name. A scene that is broken leaves all as it was and says why.
  bool open_scene(const std::filesystem::path& path);
  // A lesson with its pictures as variants: a text that no file holds yet, beside the scene it is made of.
  bool open_lesson(const Lesson& lesson);
  bool open_recovered(const Recovered& recovered);
  // Saves where it came from; a bundled scene, or one that was never saved, wants a place first.
  bool wants_place() const;
  bool save(bool over_changes = false);
  bool save_as(const std::filesystem::path& path, bool replace);
  void close();  // takes the recovery copy away

  // Edits. 'name' is what undo calls them. What is refused is told and changes nothing.
  bool set(std::string_view key, std::string_view value, std::string_view name);
  bool change(const std::vector<Edit>& edits, std::string_view name);
  bool unset(std::string_view key, std::string_view name);
  bool add_block(std::string_view text, std::string_view name);
  bool remove_block(std::string_view list, std::string_view block, std::string_view name);
  bool use_variant(const std::string& variant);
  void undo();
  void redo();
  // A drag: all its edits are one step, and the picture keeps up at a lower resolution.
  void begin_drag(std::string_view name);
  void end_drag();
  bool dragging() const { return dragging_; }

  // The current values become a variant: of every key that differs from the file as it was opened or saved,
  // or that another variant changes.
  bool keep_variant(const std::string& name);
  std::vector<std::string> changed_keys() const;  // since the file was opened or saved

  // Once a frame: recovery copy, faults of builds.
  void tick();

  void say(std::string text, bool fault = false);
  const std::deque<Message>& messages() const { return messages_; }
  void dismiss_messages() { messages_.clear(); }
  // What the last edit cost, in words; empty when nothing was edited yet.
  const std::string& last_cost() const { return last_cost_; }

  Preferences& preferences() { return preferences_; }
  std::vector<std::filesystem::path> recent() const { return recent_.list(); }
  const std::string& bundled_scenes() const { return bundled_scenes_; }
  // Copies that another run of the program left behind.
  std::vector<Recovered>& left_behind() { return left_behind_; }

  // The device was lost: everything on it is made anew.
  void drop_device() {
    places_.reset();
    live_.reset();
  }
  void renew_device(const ShaderLibrary& shaders);

 private:
  template <class Work>
  bool guarded(const Work& work);
  template <class Work>
  bool edit(const Work& work);
  void follow(const SceneChange& change);
  void become(EditedScene scene);

  std::string bundled_scenes_;
  Preferences preferences_;
  RecentScenes recent_;
  Recovery recovery_;
  std::vector<Recovered> left_behind_;
  std::optional<EditedScene> edited_;
  std::string opened_text_;  // as last opened or saved: what 'changed' is told against
  std::unique_ptr<Live> live_;
  std::unique_ptr<LivePlaces> places_;
  std::deque<Message> messages_;
  bool dragging_ = false;
  std::string last_cost_;
};

}  // namespace undercap::window
