#include "app/window/desk.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/core/errors.h"
#include "engine/scene/resolve.h"

namespace undercap::window {

std::string toml(double value) {
  std::string text = fmt::format("{:.5g}", value);
  // TOML has no number without digits around its point, and 1e+05 is one.
  if (text == "-0") text = "0";
  return text;
}

std::string toml(const glm::dvec3& p) {
  const auto tenth = [](double v) { return std::round(v * 1e4) / 1e4 + 0.0; };
  return fmt::format("[{:.6g}, {:.6g}, {:.6g}]", tenth(p.x), tenth(p.y), tenth(p.z));
}

std::string toml(bool value) { return value ? "true" : "false"; }

Desk::Desk(const ShaderLibrary& shaders, std::string bundled_scenes)
    : bundled_scenes_(std::move(bundled_scenes)),
      left_behind_(Recovery::left_behind()),
      live_(std::make_unique<Live>(shaders)),
      places_(std::make_unique<LivePlaces>(shaders)) {}

void Desk::renew_device(const ShaderLibrary& shaders) {
  live_ = std::make_unique<Live>(shaders);
  places_ = std::make_unique<LivePlaces>(shaders);
  if (edited_) live_->open(scene());
}

bool Desk::in_step() const {
  return open() && has_world() && live_->world().scene.file == scene().file &&
         live_->world().scene.sources.size() == scene().sources.size();
}

void Desk::say(std::string text, bool fault) {
  if (!messages_.empty() && messages_.back().text == text) messages_.pop_back();
  messages_.push_back({std::move(text), fault, std::chrono::steady_clock::now()});
  while (messages_.size() > 4) messages_.pop_front();
}

// Says what is refused or goes wrong; false then.
template <class Work>
bool Desk::guarded(const Work& work) {
  try {
    work();
    return true;
  } catch (const Refusal& refusal) {
    std::string text;
    for (std::size_t i = 0; i < refusal.faults().size() && i < 3; ++i)
      text += (i ? "\n" : "") + refusal.faults()[i].text();
    if (refusal.faults().size() > 3) text += fmt::format("\nand {} more", refusal.faults().size() - 3);
    say(text, true);
  } catch (const Trouble& trouble) {
    say(trouble.what(), true);
  }
  return false;
}

void Desk::become(EditedScene scene) {
  dragging_ = false;
  edited_.emplace(std::move(scene));
  opened_text_ = edited_->text();
  live_->open(edited_->scene());
}

bool Desk::open_scene(const std::filesystem::path& path) {
  return guarded([&] {
    std::filesystem::path file = path;
    std::error_code none;
    if (!file.has_parent_path() && !std::filesystem::exists(file, none))
      file = std::filesystem::path(bundled_scenes_) / (path.string() + ".toml");
    become(EditedScene::open(file));
    recovery_.done();
    guarded([&] { recent_.add(std::filesystem::absolute(file)); });
  });
}

bool Desk::open_lesson(const Lesson& lesson) {
  return guarded([&] {
    const std::filesystem::path folder = bundled_scenes_;
    const SceneFile scene =
        lesson_scene(lesson, SceneFile::open(folder / fmt::format("{}.toml", lesson.scene)));
    SceneFile file = lesson_in_variants(lesson, scene);
    file.set("title", toml_quoted(lesson.title), "lesson");
    become(EditedScene::from_text(file.text(), folder / fmt::format("lesson_{}.toml", lesson.name)));
    recovery_.done();
    say(fmt::format("{} V sets the variants beside each other.", lesson.question));
  });
}

bool Desk::open_recovered(const Recovered& recovered) {
  return guarded([&] {
    become(EditedScene::recovered(recovered.text, recovered.path));
    Recovery::discard(recovered);
    say(fmt::format("Recovered: {}. It is not saved yet.", recovered.path.filename().string()));
  });
}

bool Desk::wants_place() const {
  std::error_code none;
  return std::filesystem::equivalent(edited_->path().parent_path(), bundled_scenes_, none);
}

bool Desk::save(bool over_changes) {
  return guarded([&] {
    edited_->save(over_changes);
    opened_text_ = edited_->text();
    say(fmt::format("Saved {}", edited_->path().string()));
  });
}

bool Desk::save_as(const std::filesystem::path& path, bool replace) {
  return guarded([&] {
    edited_->save_as(path, replace);
    opened_text_ = edited_->text();
    guarded([&] { recent_.add(std::filesystem::absolute(path)); });
    say(fmt::format("Saved {}", path.string()));
  });
}

void Desk::close() { recovery_.done(); }

namespace {

std::string cost_words(const SceneChange& change) {
  if (change.set) return "the set is built anew";
  if (change.camera || change.sky) return "all light is traced anew, the set stays";
  if (!change.lamps.empty()) {
    std::string names;
    for (const std::string& lamp : change.lamps) names += (names.empty() ? "" : ", ") + lamp;
    return fmt::format("only the light of {} is traced anew", names);
  }
  if (change.mix) return "mixed anew, no sample was lost";
  return change.readings ? "only readings are taken anew" : "nothing is traced anew";
}

}  // namespace

void Desk::follow(const SceneChange& change) {
  last_cost_ = cost_words(change);
  for (const std::string& note : edited_->notes()) say(note);
  if (!change.nothing() || !change.keys.empty()) live_->edit(scene(), change, dragging_);
}

// An edit that geometry refuses is taken back.
template <class Work>
bool Desk::edit(const Work& work) {
  if (!open()) return false;
  const std::string before = edited_->text();
  return guarded([&] {
    const SceneChange change = work();
    try {
      follow(change);
    } catch (...) {
      if (edited_->text() != before) {
        if (dragging_) {
          edited_->replace_text(before, "");
        } else {
          edited_->undo();
        }
      }
      throw;
    }
  });
}

bool Desk::set(std::string_view key, std::string_view value, std::string_view name) {
  return edit([&] { return edited_->set(key, value, name); });
}

bool Desk::change(const std::vector<Edit>& edits, std::string_view name) {
  return edit([&] { return edited_->change(edits, name); });
}

bool Desk::unset(std::string_view key, std::string_view name) {
  return edit([&] { return edited_->unset(key, name); });
}

bool Desk::add_block(std::string_view text, std::string_view name) {
  return edit([&] { return edited_->add_block(text, name); });
}

bool Desk::remove_block(std::string_view list, std::string_view block, std::string_view name) {
  return edit([&] { return edited_->remove_block(list, block, name); });
}

bool Desk::use_variant(const std::string& variant) {
  return edit([&] { return edited_->use_variant(variant); });
}

void Desk::undo() {
  if (!open()) return;
  if (dragging_) end_drag();
  const auto name = edited_->undo_name();
  guarded([&] {
    if (const auto change = edited_->undo()) {
      follow(*change);
      say("Undone: " + *name);
    } else {
      say("Nothing to undo");
    }
  });
}

void Desk::redo() {
  if (!open()) return;
  if (dragging_) end_drag();
  const auto name = edited_->redo_name();
  guarded([&] {
    if (const auto change = edited_->redo()) {
      follow(*change);
      say("Done again: " + *name);
    } else {
      say("Nothing to do again");
    }
  });
}

void Desk::begin_drag(std::string_view name) {
  if (!open()) return;
  edited_->begin_gesture(name);
  dragging_ = true;
}

void Desk::end_drag() {
  if (!open() || !dragging_) return;
  dragging_ = false;
  edited_->end_gesture();
  live_->released();
}

std::vector<std::string> Desk::changed_keys() const {
  return change_between(parse_document(opened_text_, edited_->path().string()), edited_->document()).keys;
}

bool Desk::keep_variant(const std::string& name) {
  if (!open()) return false;
  std::vector<std::string> keys = changed_keys();
  for (const Variant& variant : scene().variants)
    for (const auto& [key, value] : variant.change)
      if (std::find(keys.begin(), keys.end(), key) == keys.end()) keys.push_back(key);
  std::string changes;
  for (const std::string& key : keys) {
    const auto resolved = resolve_key(edited_->document(), key);
    const auto* found = std::get_if<ResolvedKey>(&resolved);
    if (!found || fault_of_edit(*found)) continue;
    const FileNode* node = edited_->document().find(found->path);
    const std::string value =
        node ? std::string(edited_->document().source(*node)) : std::string(found->row.fallback);
    if (value.empty() || value.find('\n') != std::string::npos) continue;
    changes += fmt::format("{}{} = {}", changes.empty() ? "" : ", ", toml_quoted(key), value);
  }
  if (changes.empty()) {
    say("Nothing differs from the scene as it was opened, so a variant would hold nothing. Change something "
        "first.",
        true);
    return false;
  }
  return add_block(fmt::format("[[variant]]\nname = {}\nchange = {{ {} }}\n", toml_quoted(name), changes),
                   "Keep variant " + name);
}

void Desk::tick() {
  if (auto fault = live_->take_fault()) {
    say(*fault, true);
    // The world is still the one before the edit that could not be built.
    if (open() && has_world() && edited_->undo_name()) {
      say("Undone: " + *edited_->undo_name());
      guarded([&] {
        if (const auto change = edited_->undo()) follow(*change);
      });
    }
  }
  if (!open()) return;
  if (const auto fault = recovery_.tick(*edited_)) say(*fault, true);
}

}  // namespace undercap::window
