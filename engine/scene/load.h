// A scene file: its own text, edits to that text, and what it says.
//
//   SceneFile file = SceneFile::open("clearing.toml");
//   file.set("camera.f_number", "11", "--set");      // patches the span of one value, or adds one line
//   file.use_variant("longer lens");
//   const Scene scene = file.scene();                // or a Refusal that lists every fault of the file
//
// The text is never rewritten: comments and order stay.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "engine/scene/line_numbers.h"
#include "engine/scene/scene.h"

namespace undercap {

class SceneFile {
 public:
  // Reads a file. Refuses what is not readable; syntax and meaning are checked by scene() and set().
  static SceneFile open(const std::filesystem::path& file);
  // 'file' names the text in messages; relative paths in the text start at its folder.
  static SceneFile from_text(std::string text, std::filesystem::path file);

  const std::string& text() const { return text_; }
  const std::filesystem::path& file() const { return file_; }

  // Sets a key to a TOML value. Keys are TOML paths with names for indices: camera.f_number,
  // source.torch.power_pct, prop.tuft.wet, prop.tuft.material.cap.reflectance. Removes the other keys of an
  // exclusive group and says so in notes(). Refuses an unknown key or name and a value that is not TOML;
  // ranges are checked by scene(). 'origin' opens the message of a fault that this edit causes ("--set",
  // "variant 'x'").
  void set(std::string_view key, std::string_view value, std::string_view origin);
  void use_variant(std::string_view name);

  // Takes a key out, so that its default holds; nothing when the file does not say it. 'origin' as above.
  void unset(std::string_view key, std::string_view origin);
  // Puts one [[prop]], [[source]], [[meter]] or [[variant]] behind the others of its list.
  void add_block(std::string_view block, std::string_view origin);
  // Takes a block out by its name, with what belongs to it. What else names it is found by scene().
  void remove_block(std::string_view list, std::string_view name, std::string_view origin);

  // Everything that the text says, checked. Throws Refusal with all semantic faults (a syntax error ends
  // parsing).
  Scene scene() const;

  // One line for each thing that was done beyond what was asked for, in order.
  const std::vector<std::string>& notes() const { return notes_; }

 private:
  struct AppliedEdit {
    std::string key, value, origin;
  };
  void splice(const Splice& splice);
  std::string text_;
  std::filesystem::path file_;
  LineNumbers lines_;  // faults name the lines of the file as it was read
  std::vector<AppliedEdit> edits_;
  std::vector<std::string> notes_;
};

}  // namespace undercap
