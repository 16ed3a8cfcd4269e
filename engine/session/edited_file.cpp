// The edited scene and its file: reading, saving, and whether somebody else has written it.
#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/session/edited_scene.h"

namespace undercap {
namespace {

namespace fs = std::filesystem;

Refusal refusal_about(const fs::path& path, std::string message) {
  return Refusal(SourcePlace{path.string(), 0, 0}, std::move(message));
}

bool is_there(const fs::path& path) {
  std::error_code ignored;
  return fs::exists(fs::symlink_status(path, ignored));
}

// The file itself where 'path' is a link to it, so that the link stays one.
fs::path target_of(const fs::path& path) {
  std::error_code fault;
  const fs::path target = fs::canonical(path, fault);
  return fault ? path : target;
}

fs::path folder_of(const fs::path& path) { return fs::absolute(path).parent_path(); }

// The keys of blocks that name a file beside the scene's.
bool names_file(std::string_view key) { return key == "file" || key == "beam_file"; }

// The last step of a key such as source.torch.beam_file.
std::string_view last_step(std::string_view key) { return key.substr(key.rfind('.') + 1); }

// Files that a scene or one of its variants names, as it names them.
std::vector<std::string> named_files(const Document& document) {
  std::vector<std::string> files;
  const auto add = [&](std::string_view key, const FileNode& value) {
    if (names_file(last_step(key)) && value.type == FileNode::Type::text &&
        std::find(files.begin(), files.end(), value.text) == files.end())
      files.push_back(value.text);
  };
  for (const char* list : {"source", "prop", "variant"}) {
    const FileNode* blocks = document.root.find(list);
    for (std::size_t i = 0; blocks && i < blocks->items.size(); ++i) {
      for (const FileEntry& entry : blocks->items[i].entries) add(entry.key, entry.value);
      if (const FileNode* change = blocks->items[i].find("change"))
        for (const FileEntry& entry : change->entries) add(entry.key, entry.value);
    }
  }
  return files;
}

// A path may not lead out of the scene's folder, so that no other name would do: the files must be there too.
void refuse_missing_files(const Document& document, const fs::path& from, const fs::path& to) {
  std::error_code ignored;
  if (fs::equivalent(from, to, ignored)) return;
  std::string missing;
  for (const std::string& file : named_files(document))
    if (!fs::exists(to / file, ignored)) missing += fmt::format("{}'{}'", missing.empty() ? "" : ", ", file);
  if (!missing.empty())
    throw refusal_about(to, fmt::format("the scene names files that lie in its own folder, and this one has "
                                        "not got {}; copy them here from '{}' first",
                                        missing, from.string()));
}

}  // namespace

std::optional<EditedScene::FileStamp> EditedScene::stamp_of(const fs::path& path) {
  struct stat about {};
  if (::stat(path.c_str(), &about) != 0) return std::nullopt;
  return FileStamp{std::int64_t{about.st_mtim.tv_sec} * 1'000'000'000 + about.st_mtim.tv_nsec,
                   static_cast<std::uint64_t>(about.st_size), about.st_ino};
}

EditedScene EditedScene::open(const fs::path& path) {
  // The stamp is older than the bytes, so that a change between the two is seen later.
  const auto stamp = stamp_of(path);
  EditedScene edited(SceneFile::open(path).text(), path);
  edited.saved_ = edited.text_;
  edited.stamp_ = stamp;
  return edited;
}

EditedScene EditedScene::recovered(std::string text, const fs::path& path) {
  EditedScene edited(std::move(text), path);
  edited.stamp_ = stamp_of(path);
  if (edited.stamp_) edited.saved_ = SceneFile::open(path).text();
  return edited;
}

bool EditedScene::changed_on_disk() const {
  if (!saved_) return false;
  const auto now = stamp_of(path_);
  if (!now) return true;
  if (now == stamp_) return false;
  try {
    if (SceneFile::open(path_).text() != *saved_) return true;
  } catch (const Refusal&) {
    return true;  // not readable any more
  }
  stamp_ = now;  // written anew with the same bytes
  return false;
}

void EditedScene::write(const fs::path& path, bool replace) {
  if (!replace && is_there(path))
    throw refusal_about(path, "exists already; save the scene under another name, or choose to replace it");
  const fs::path target = target_of(path);
  std::error_code fault;
  const fs::file_status before = fs::status(target, fault);
  write_file(target, text_, replace);
  if (fs::is_regular_file(before)) fs::permissions(target, before.permissions(), fault);
  stamp_ = stamp_of(path);
  saved_ = text_;
}

void EditedScene::save(bool over_changes) {
  if (!over_changes && is_there(path_) && changed_on_disk())
    throw refusal_about(path_,
                        "another program has changed this file since it was read; read it again, save under "
                        "another name, or choose to replace it");
  write(path_, saved_.has_value() || over_changes);
}

void EditedScene::save_as(const fs::path& path, bool replace) {
  refuse_missing_files(document_, folder_of(path_), folder_of(path));
  Scene scene = SceneFile::from_text(text_, path).scene();
  Document document = parse_document(text_, path.string());
  write(path, replace);
  path_ = path;
  scene_ = std::move(scene);
  document_ = std::move(document);
}

SceneChange EditedScene::reload() {
  end_gesture();
  const auto stamp = stamp_of(path_);
  std::string text = SceneFile::open(path_).text();
  SceneChange change = replace_text(text, "Read the file again");
  saved_ = std::move(text);
  stamp_ = stamp;
  return change;
}

}  // namespace undercap
