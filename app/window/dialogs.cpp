#include "app/window/dialogs.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "app/window/widgets.h"
#include "engine/core/errors.h"

namespace undercap::window {
namespace fs = std::filesystem;
namespace {

void centre_next(float width, float height) {
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  // Without a height of its own a question is as high as its words.
  ImGui::SetNextWindowSize(
      {std::min(em(width), size.x - em(1)), height > 0 ? std::min(em(height), size.y - em(1)) : 0});
  ImGui::SetNextWindowPos({size.x / 2, size.y / 2}, ImGuiCond_Always, {0.5f, 0.5f});
}

bool pressed(ImGuiKey key) { return ImGui::IsKeyPressed(ImGui::GetKeyIndex(key), false); }

}  // namespace

void FileDialog::open(std::string title, fs::path start, std::vector<std::string> endings, bool saving,
                      std::function<void(const fs::path&, bool)> chosen) {
  std::error_code none;
  title_ = std::move(title);
  folder_ = fs::is_directory(start, none) ? start : start.parent_path();
  if (folder_.empty() || !fs::is_directory(folder_, none)) folder_ = fs::current_path(none);
  folder_ = fs::absolute(folder_, none);
  name_ = fs::is_directory(start, none) ? std::string() : start.filename().string();
  endings_ = std::move(endings);
  saving_ = saving;
  chosen_ = std::move(chosen);
  fault_.clear();
  ask_replace_ = false;
  open_ = appearing_ = true;
  list_folder();
}

void FileDialog::list_folder() {
  folders_.clear();
  files_.clear();
  std::error_code fault;
  for (fs::directory_iterator it(folder_, fault), end; !fault && it != end; it.increment(fault)) {
    const std::string name = it->path().filename().string();
    if (name.starts_with('.')) continue;
    std::error_code none;
    if (it->is_directory(none))
      folders_.push_back(name);
    else if (std::find(endings_.begin(), endings_.end(), it->path().extension().string()) != endings_.end())
      files_.push_back(name);
  }
  if (fault) fault_ = folder_.string() + ": " + fault.message();
  std::sort(folders_.begin(), folders_.end());
  std::sort(files_.begin(), files_.end());
}

void FileDialog::accept() {
  if (name_.empty()) return;
  fs::path path = fs::path(name_).is_absolute() ? fs::path(name_) : folder_ / name_;
  std::error_code none;
  if (fs::is_directory(path, none)) {
    folder_ = path;
    name_.clear();
    list_folder();
    return;
  }
  if (saving_ && path.extension().empty()) path += endings_.front();
  if (saving_ && fs::exists(path, none) && !ask_replace_) {
    ask_replace_ = true;
    return;
  }
  if (!saving_ && !fs::exists(path, none)) {
    fault_ = path.string() + ": no such file";
    return;
  }
  open_ = false;
  ImGui::CloseCurrentPopup();
  chosen_(path, ask_replace_);
}

void FileDialog::draw() {
  if (!open_) return;
  if (std::exchange(appearing_, false)) ImGui::OpenPopup("files");
  centre_next(34, 26);
  if (!ImGui::BeginPopupModal("files", nullptr, ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize))
    return;
  heading(title_.c_str());
  ImGui::TextDisabled("%s", folder_.string().c_str());
  if (ImGui::BeginChild("list", {0, -em(4.4f)}, true)) {
    std::optional<fs::path> into;
    if (ImGui::Selectable("..  (up)")) into = folder_.parent_path();
    for (const std::string& name : folders_)
      if (ImGui::Selectable((name + "/").c_str())) into = folder_ / name;
    for (const std::string& name : files_)
      if (ImGui::Selectable(name.c_str(), name == name_, ImGuiSelectableFlags_AllowDoubleClick)) {
        name_ = name;
        ask_replace_ = false;
        if (ImGui::IsMouseDoubleClicked(0) && !saving_) accept();
      }
    if (into) {
      folder_ = *into;
      list_folder();
    }
  }
  ImGui::EndChild();
  if (!open_) {
    ImGui::EndPopup();
    return;
  }
  ImGui::SetNextItemWidth(-1);
  if (ImGui::IsWindowAppearing()) ImGui::SetKeyboardFocusHere();
  const bool enter =
      input_text("##name", name_, ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
  name_item("file name");
  if (ImGui::IsItemEdited()) ask_replace_ = false;
  if (ask_replace_)
    ImGui::TextColored(ImGui::ColorConvertU32ToFloat4(ink::accent),
                       "It exists already. Press again to replace it.");
  else
    ImGui::TextUnformatted(fault_.c_str());
  const bool go = ImGui::Button(ask_replace_ ? "Replace" : saving_ ? "Save" : "Open", {em(6), 0});
  name_item("file accept");
  if (go || enter) accept();
  ImGui::SameLine();
  if (open_ && (ImGui::Button("Cancel", {em(6), 0}) || pressed(ImGuiKey_Escape))) {
    open_ = false;
    ImGui::CloseCurrentPopup();
  }
  ImGui::EndPopup();
}

void UnsavedQuestion::ask(Desk& desk, std::function<void()> then) {
  if (!desk.open() || !desk.edited().unsaved()) {
    then();
    return;
  }
  then_ = std::move(then);
  open_ = true;
}

void UnsavedQuestion::draw(Desk& desk, FileDialog& files) {
  if (!open_) return;
  if (files.is_open()) return;
  if (!ImGui::IsPopupOpen("unsaved")) ImGui::OpenPopup("unsaved");
  centre_next(28, 0);
  if (!ImGui::BeginPopupModal("unsaved", nullptr, ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize))
    return;
  heading("The scene has changes that are not saved");
  ImGui::PushTextWrapPos(0);
  ImGui::TextUnformatted(desk.edited().path().filename().string().c_str());
  ImGui::PopTextWrapPos();
  const auto finish = [&] {
    open_ = false;
    ImGui::CloseCurrentPopup();
    then_();
  };
  if (ImGui::Button("Save", {em(7), 0}) || pressed(ImGuiKey_Enter)) {
    if (desk.wants_place()) {
      files.open("Save the scene as", desk.edited().path().filename(), {".toml"}, true,
                 [this, &desk](const fs::path& path, bool replace) {
                   if (desk.save_as(path, replace)) {
                     open_ = false;
                     then_();
                   }
                 });
      ImGui::CloseCurrentPopup();
    } else if (desk.save()) {
      finish();
    }
  }
  name_item("unsaved save");
  ImGui::SameLine();
  if (open_ && ImGui::Button("Do not save", {em(8), 0})) finish();
  name_item("unsaved drop");
  ImGui::SameLine();
  if (open_ && (ImGui::Button("Cancel", {em(7), 0}) || pressed(ImGuiKey_Escape))) {
    open_ = false;
    ImGui::CloseCurrentPopup();
  }
  ImGui::EndPopup();
}

bool recovery_question(Desk& desk) {
  if (desk.left_behind().empty()) return false;
  if (!ImGui::IsPopupOpen("recover")) ImGui::OpenPopup("recover");
  centre_next(30, 0);
  if (!ImGui::BeginPopupModal("recover", nullptr, ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize))
    return true;
  const Recovered one = desk.left_behind().front();
  heading("Unsaved work was left behind");
  const double minutes =
      std::chrono::duration<double>(std::chrono::system_clock::now() - one.when).count() / 60;
  ImGui::PushTextWrapPos(0);
  ImGui::TextUnformatted(fmt::format("{}, from {} ago. The program ended before it was saved.",
                                     one.path.string(),
                                     minutes < 1.5  ? "a minute"
                                     : minutes < 90 ? fmt::format("{:.0f} minutes", minutes)
                                                    : fmt::format("{:.0f} hours", minutes / 60))
                             .c_str());
  ImGui::PopTextWrapPos();
  if (ImGui::Button("Take it up", {em(8), 0})) {
    desk.left_behind().erase(desk.left_behind().begin());
    desk.open_recovered(one);
    ImGui::CloseCurrentPopup();
  }
  name_item("recover take");
  ImGui::SameLine();
  if (ImGui::Button("Throw it away", {em(8), 0})) {
    Recovery::discard(one);
    desk.left_behind().erase(desk.left_behind().begin());
    ImGui::CloseCurrentPopup();
  }
  name_item("recover drop");
  ImGui::SameLine();
  if (ImGui::Button("Ask again later", {em(8), 0}) || pressed(ImGuiKey_Escape)) {
    desk.left_behind().clear();
    ImGui::CloseCurrentPopup();
  }
  ImGui::EndPopup();
  return true;
}

const std::vector<KeyHelp>& key_help() {
  static const std::vector<KeyHelp> keys = {
      {"Ctrl+O / Ctrl+S / Ctrl+Shift+S", "open, save, save as"},
      {"Ctrl+Z / Ctrl+Y", "undo, do again"},
      {"Ctrl+E", "export: picture, EXR, drawing"},
      {"M / Ctrl+F", "map of places for the lamp; find places for it"},
      {"Ctrl+K", "keep the changes as a variant"},
      {"Ctrl+1 ... Ctrl+9", "restore a variant"},
      {"B", "close the split, or split with the first variant"},
      {"V", "variants beside each other, or the panes again; + / -, arrow keys, Home: what is seen of them"},
      {"R", "filtered or raw picture"},
      {"G", "thirds over the picture"},
      {"O", "next overlay: clipping, stops, sharp zone, plane in focus"},
      {"T", "tidy: clicks hide what they meet"},
      {"Tab / Shift+Tab", "next source"},
      {"Space", "chosen source on or off"},
      {"+ / -", "its power, by thirds of a stop"},
      {"Arrow keys", "move it by 1 cm, as seen from above; Page up, Page down: its height"},
      {"[ / ]", "aperture by a third of a stop"},
      {", / .", "height of the lens axis by 1 cm"},
      {"F / Home", "focus on the subject; fit the drawings again"},
      {"Alt+arrow keys, Enter", "walk through panes and controls, and use one"},
      {"Ctrl+plus / Ctrl+minus / Ctrl+0", "text larger, smaller, as the display says"},
      {"F1 / Esc", "this list; close what is open"},
      {"mouse: picture", "click: focus; drag: move a source or a meter, with Ctrl toward and away"},
      {"mouse: side by side", "scroll: larger and smaller about the mouse; drag: another place of the frame"},
      {"mouse: scroll", "over a source: its power; over a drawing: larger and smaller"},
      {"mouse: drawings", "drag things; Shift: to whole centimetres; click a dimension to type it"},
      {"mouse: map of places",
       "rest: what the lamp would do there; click: put it there, aimed at the target"},
  };
  return keys;
}

void help_window(View& view) {
  if (!view.help) return;
  if (!ImGui::IsPopupOpen("keys")) ImGui::OpenPopup("keys");
  centre_next(44, 36);
  if (!ImGui::BeginPopupModal("keys", nullptr, ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize))
    return;
  name_place("key list", ImGui::GetWindowPos(), ImGui::GetWindowPos());
  heading("Keys and mouse");
  if (ImGui::BeginTable("keys", 2, ImGuiTableFlags_SizingFixedFit)) {
    ImGui::TableSetupColumn("keys");
    ImGui::TableSetupColumn("does", ImGuiTableColumnFlags_WidthStretch);
    for (const KeyHelp& help : key_help()) {
      ImGui::TableNextRow();
      ImGui::TableNextColumn();
      ImGui::TextUnformatted(help.keys);
      ImGui::TableNextColumn();
      ImGui::PushTextWrapPos(0);
      ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
      ImGui::TextUnformatted(help.does);
      ImGui::PopStyleColor();
      ImGui::PopTextWrapPos();
    }
    ImGui::EndTable();
  }
  ImGui::Separator();
  heading("Before you go out");
  ImGui::PushTextWrapPos(0);
  ImGui::TextUnformatted(
      "Never look at the sun, or compose toward it, through an optical finder. Do not look into a bright "
      "LED. Keep "
      "flash and mains away from the wet. Never identify or eat fungi by a picture; wash your hands. Disturb "
      "as "
      "little as you can and put things back; protected sites and local rules come first. This program does "
      "not "
      "judge safety, and a rendered picture is not a photograph.");
  ImGui::PopTextWrapPos();
  if (ImGui::Button("Close", {em(6), 0}) || pressed(ImGuiKey_Escape) || pressed(ImGuiKey_Enter)) {
    view.help = false;
    ImGui::CloseCurrentPopup();
  }
  ImGui::EndPopup();
}

void first_hints(Desk& desk, float right, float bottom) {
  struct Hint {
    const char *word, *text;
  };
  static constexpr Hint hints[] = {
      {"torch",
       "Drag the torch in Plan or Elevation, and scroll over it for its power. Watch 'torch on stem' at the "
       "right."},
      {"focus", "Click in the picture to focus there. Drag Aperture and see what gets sharp."},
      {"keep", "Keep what you found as a variant, and set it beside another. F1 lists all keys."}};
  const auto* hint = std::find_if(std::begin(hints), std::end(hints), [&](const Hint& one) {
    return !desk.preferences().hint_dismissed(one.word);
  });
  if (hint == std::end(hints)) return;
  const float width = em(24);
  ImGui::SetNextWindowPos({right - em(0.6f), bottom - em(0.5f)}, ImGuiCond_Always, {1, 1});
  ImGui::SetNextWindowSize({width, 0});
  ImGui::SetNextWindowBgAlpha(0.96f);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, scale());
  ImGui::PushStyleColor(ImGuiCol_Border, ink::accent);
  if (ImGui::Begin("hint", nullptr,
                   ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                       ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoFocusOnAppearing |
                       ImGuiWindowFlags_NoNav)) {
    ImGui::PushTextWrapPos(width - em(0.6f));
    ImGui::TextUnformatted(hint->text);
    ImGui::PopTextWrapPos();
    if (ImGui::SmallButton("Understood")) {
      try {
        desk.preferences().dismiss_hint(hint->word);
      } catch (const std::exception& fault) {
        desk.say(fault.what(), true);
      }
    }
    name_item("hint");
    ImGui::SameLine();
    ImGui::TextDisabled("%td of %zu", hint - hints + 1, std::size(hints));
  }
  ImGui::End();
  ImGui::PopStyleColor();
  ImGui::PopStyleVar();
}

}  // namespace undercap::window
