// One scene while it is edited: its own text, patched, with undo and redo, and what that text says.
//
//   EditedScene edited = EditedScene::open("clearing.toml");
//   const SceneChange change = edited.set("source.torch.power_pct", "50", "Power of torch");
//   edited.begin_gesture("Move torch");   // a drag: all edits until end_gesture() are one step
//   edited.undo();
//
// The text always parses and scene() is always valid: an edit that would break that throws a Refusal and
// leaves everything as it was. What only geometry shows is not checked here; when build_world refuses,
// undo() takes the step back. Undo to the start gives the bytes of the file.
#pragma once

#include <cstdint>
#include <deque>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/scene/load.h"
#include "engine/session/edit_cost.h"

namespace undercap {

// A key as --set takes it, and a TOML value.
struct Edit {
  std::string key, value;
};

class EditedScene {
 public:
  static EditedScene open(const std::filesystem::path& path);
  // A text that no file holds yet. Relative paths in it start at the folder of 'path'.
  static EditedScene from_text(std::string text, const std::filesystem::path& path);
  // A text that belongs to a file, which may hold something else or be gone.
  static EditedScene recovered(std::string text, const std::filesystem::path& path);

  const std::string& text() const { return text_; }
  const Document& document() const { return document_; }
  const Scene& scene() const { return scene_; }
  const std::filesystem::path& path() const { return path_; }
  // Sentences on what the last step did beyond what was asked for.
  const std::vector<std::string>& notes() const { return notes_; }

  // 'name' is what the step is called in a menu and in messages. An edit that changes no byte is no step.
  SceneChange set(std::string_view key, std::string_view value, std::string_view name);
  SceneChange change(const std::vector<Edit>& edits, std::string_view name);
  SceneChange use_variant(std::string_view variant);  // the step is called "Variant NAME"
  // Takes a key out, so that its default holds.
  SceneChange unset(std::string_view key, std::string_view name);
  // One [[prop]], [[source]], [[meter]] or [[variant]] with what belongs to it, behind the last of its list.
  SceneChange add_block(std::string_view toml_text, std::string_view name);
  // Takes a block out with the comment that stands right above it. Refused while something else names it.
  SceneChange remove_block(std::string_view list, std::string_view block, std::string_view name);
  SceneChange replace_text(std::string text, std::string_view name);

  // Beginning ends a gesture that is still open; so do undo() and redo().
  void begin_gesture(std::string_view name);
  void end_gesture();

  // Nothing when there is no step.
  std::optional<SceneChange> undo();
  std::optional<SceneChange> redo();
  std::optional<std::string> undo_name() const;
  std::optional<std::string> redo_name() const;

  // Whether the text is something else than what was last read from the file or written to it.
  bool unsaved() const { return !saved_ || *saved_ != text_; }
  // Whether the file is something else than what was last read or written, or gone. False for a text that
  // never was in a file.
  bool changed_on_disk() const;
  // Written beside and renamed; a link stays a link. Refused when the file was changed by someone else,
  // unless 'over_changes'.
  void save(bool over_changes = false);
  // Refused when the file exists, unless 'replace'. Files that the scene names lie in its own folder, and a
  // path may not lead out of it: so saving elsewhere is refused until they lie there as well.
  void save_as(const std::filesystem::path& path, bool replace = false);
  // The file as it is now, as a step that can be undone.
  SceneChange reload();

  // "mushroom", or the first free of "mushroom 2", "mushroom 3", ... among the blocks of a list.
  std::string next_name(std::string_view list, std::string_view wanted) const;

 private:
  // Bytes from 'begin' on: 'before' was there, 'after' is.
  struct Step {
    std::string name;
    std::size_t begin = 0;
    std::string before, after;
    std::size_t bytes() const { return name.size() + before.size() + after.size(); }
  };
  struct Gesture {
    std::string name, text;  // the text when it began
  };
  struct FileStamp {
    std::int64_t modified_ns = 0;
    std::uint64_t bytes = 0, inode = 0;
    bool operator==(const FileStamp&) const = default;
  };

  EditedScene(std::string text, std::filesystem::path path);
  SceneChange apply(std::string_view name, const std::function<void(SceneFile&)>& edit);
  SceneChange become(std::string text, Document document, Scene scene);
  SceneChange exchange(std::size_t begin, const std::string& gone, const std::string& come);
  void record(std::string_view name, std::string_view before, std::string_view after);
  void write(const std::filesystem::path& path, bool replace);
  static std::optional<FileStamp> stamp_of(const std::filesystem::path& path);

  std::filesystem::path path_;
  std::string text_;
  Document document_;
  Scene scene_;
  std::vector<std::string> notes_;
  std::deque<Step> done_;
  std::vector<Step> undone_;
  std::size_t done_bytes_ = 0;
  std::optional<Gesture> gesture_;
  std::optional<std::string> saved_;        // what the file holds as far as we know
  mutable std::optional<FileStamp> stamp_;  // of the file when it held that
};

}  // namespace undercap
