#include "engine/session/edited_scene.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// More than anybody takes back one by one; the bytes bound what whole texts pasted over each other cost.
constexpr std::size_t most_steps = 2000, most_step_bytes = 32'000'000;

struct Difference {
  std::size_t begin = 0, before_bytes = 0, after_bytes = 0;
};

// All that lies between the common beginning and the common end of two texts.
Difference difference(std::string_view before, std::string_view after) {
  const auto [a, b] = std::mismatch(before.begin(), before.end(), after.begin(), after.end());
  const auto begin = static_cast<std::size_t>(a - before.begin());
  const std::string_view rest_before = before.substr(begin), rest_after = after.substr(begin);
  const auto [c, d] =
      std::mismatch(rest_before.rbegin(), rest_before.rend(), rest_after.rbegin(), rest_after.rend());
  const auto end = static_cast<std::size_t>(c - rest_before.rbegin());
  return {begin, rest_before.size() - end, rest_after.size() - end};
}

SceneFile scene_file(const std::string& text, const std::filesystem::path& path) {
  return SceneFile::from_text(text, path);
}

}  // namespace

EditedScene::EditedScene(std::string text, std::filesystem::path path)
    : path_(std::move(path)), text_(std::move(text)), scene_(scene_file(text_, path_).scene()) {
  document_ = parse_document(text_, path_.string());
}

EditedScene EditedScene::from_text(std::string text, const std::filesystem::path& path) {
  return {std::move(text), path};
}

SceneChange EditedScene::apply(std::string_view name, const std::function<void(SceneFile&)>& edit) {
  SceneFile file = scene_file(text_, path_);
  edit(file);
  Scene scene = file.scene();
  Document document = parse_document(file.text(), path_.string());
  // From here on nothing is refused.
  if (!gesture_) notes_.clear();
  if (file.text() == text_) return {};
  if (!gesture_) record(name, text_, file.text());
  notes_.insert(notes_.end(), file.notes().begin(), file.notes().end());
  return become(file.text(), std::move(document), std::move(scene));
}

SceneChange EditedScene::become(std::string text, Document document, Scene scene) {
  SceneChange change = change_between(document_, document);
  text_ = std::move(text);
  document_ = std::move(document);
  scene_ = std::move(scene);
  return change;
}

SceneChange EditedScene::set(std::string_view key, std::string_view value, std::string_view name) {
  return apply(name, [&](SceneFile& file) { file.set(key, value, name); });
}

SceneChange EditedScene::change(const std::vector<Edit>& edits, std::string_view name) {
  return apply(name, [&](SceneFile& file) {
    for (const Edit& edit : edits) file.set(edit.key, edit.value, name);
  });
}

SceneChange EditedScene::use_variant(std::string_view variant) {
  return apply(fmt::format("Variant {}", variant), [&](SceneFile& file) { file.use_variant(variant); });
}

SceneChange EditedScene::unset(std::string_view key, std::string_view name) {
  return apply(name, [&](SceneFile& file) { file.unset(key, name); });
}

SceneChange EditedScene::add_block(std::string_view toml_text, std::string_view name) {
  return apply(name, [&](SceneFile& file) { file.add_block(toml_text, name); });
}

SceneChange EditedScene::remove_block(std::string_view list, std::string_view block, std::string_view name) {
  return apply(name, [&](SceneFile& file) { file.remove_block(list, block, name); });
}

SceneChange EditedScene::replace_text(std::string text, std::string_view name) {
  return apply(name, [&](SceneFile& file) { file = scene_file(text, path_); });
}

void EditedScene::begin_gesture(std::string_view name) {
  end_gesture();
  notes_.clear();
  gesture_ = Gesture{std::string(name), text_};
}

void EditedScene::end_gesture() {
  const auto gesture = std::exchange(gesture_, std::nullopt);
  if (gesture && gesture->text != text_) record(gesture->name, gesture->text, text_);
}

void EditedScene::record(std::string_view name, std::string_view before, std::string_view after) {
  const Difference at = difference(before, after);
  done_.push_back({std::string(name), at.begin, std::string(before.substr(at.begin, at.before_bytes)),
                   std::string(after.substr(at.begin, at.after_bytes))});
  done_bytes_ += done_.back().bytes();
  undone_.clear();
  while (done_.size() > most_steps || (done_bytes_ > most_step_bytes && done_.size() > 1)) {
    done_bytes_ -= done_.front().bytes();
    done_.pop_front();
  }
}

SceneChange EditedScene::exchange(std::size_t begin, const std::string& gone, const std::string& come) {
  std::string text = text_;
  text.replace(begin, gone.size(), come);
  Scene scene = scene_file(text, path_).scene();
  Document document = parse_document(text, path_.string());
  notes_.clear();
  return become(std::move(text), std::move(document), std::move(scene));
}

std::optional<SceneChange> EditedScene::undo() {
  end_gesture();
  if (done_.empty()) return std::nullopt;
  const Step& step = done_.back();
  SceneChange change = exchange(step.begin, step.after, step.before);
  done_bytes_ -= step.bytes();
  undone_.push_back(std::move(done_.back()));
  done_.pop_back();
  return change;
}

std::optional<SceneChange> EditedScene::redo() {
  end_gesture();
  if (undone_.empty()) return std::nullopt;
  const Step& step = undone_.back();
  SceneChange change = exchange(step.begin, step.before, step.after);
  done_bytes_ += step.bytes();
  done_.push_back(std::move(undone_.back()));
  undone_.pop_back();
  return change;
}

std::optional<std::string> EditedScene::undo_name() const {
  if (gesture_ && gesture_->text != text_) return gesture_->name;
  return done_.empty() ? std::nullopt : std::optional(done_.back().name);
}

std::optional<std::string> EditedScene::redo_name() const {
  const bool gone = gesture_ && gesture_->text != text_;  // as soon as the gesture ends
  return gone || undone_.empty() ? std::nullopt : std::optional(undone_.back().name);
}

std::string EditedScene::next_name(std::string_view list, std::string_view wanted) const {
  std::set<std::string_view> taken;
  if (const FileNode* blocks = document_.root.find(list))
    for (const FileNode& block : blocks->items)
      if (const FileNode* name = block.find("name")) taken.insert(name->text);
  if (!taken.contains(wanted)) return std::string(wanted);
  // The copy of "mushroom 2" is "mushroom 3".
  const std::size_t blank = wanted.find_last_not_of("0123456789");
  const bool numbered =
      blank != wanted.npos && blank > 0 && blank + 1 < wanted.size() && wanted[blank] == ' ';
  const std::string_view stem = numbered ? wanted.substr(0, blank) : wanted;
  for (int number = 2;; ++number)
    if (std::string name = fmt::format("{} {}", stem, number); !taken.contains(name)) return name;
}

}  // namespace undercap
