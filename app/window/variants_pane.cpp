#include "app/window/variants_pane.h"

#include <fmt/format.h>

#include <algorithm>

#include "app/window/side_by_side.h"
#include "app/window/widgets.h"
#include "engine/core/errors.h"
#include "engine/session/variant_words.h"

namespace undercap::window {
namespace {

constexpr int small_width = 216;
constexpr unsigned small_samples = 32;

std::string words_of(const Variant& variant) {
  std::string words;
  for (const auto& [key, value] : variant.change)
    words += fmt::format("{}{} = {}", words.empty() ? "" : "\n", key, value);
  return words;
}

}  // namespace

void VariantsPane::drop_device() {
  small_.clear();
  live_.reset();
}

const VariantsPane::With& VariantsPane::with(const Desk& desk, const Variant& variant) const {
  if (with_of_ != desk.edited().text()) {
    with_of_ = desk.edited().text();
    with_.clear();
  }
  const auto [found, added] = with_.try_emplace(variant.name);
  if (!added) return found->second;
  try {
    SceneFile file = SceneFile::from_text(with_of_, desk.edited().path());
    file.use_variant(variant.name);
    const Document there = parse_document(file.text(), desk.edited().path().string());
    found->second = {
        file.text(),
        fmt::format("{}", fmt::join(differing_words(desk.edited().document(), there, variant), ", "))};
  } catch (const Refusal&) {
  }
  return found->second;
}

bool VariantsPane::work(Desk& desk, const ShaderLibrary& shaders, double seconds) {
  if (!desk.open() || desk.dragging()) return false;
  if (!live_) {
    for (const Variant& variant : desk.scene().variants) {
      const std::string text = with(desk, variant).text;
      if (text.empty() || small_[variant.name].text == text) continue;
      making_ = variant.name;
      making_text_ = text;
      try {
        live_ = std::make_unique<Live>(shaders);
        const auto& format = desk.scene().camera.format_mm;
        live_->set_size(small_width,
                        std::max(16, static_cast<int>(small_width * format[1] / format[0]) / 2 * 2));
        live_->open(SceneFile::from_text(text, desk.edited().path()).scene());
      } catch (const Refusal&) {
        live_.reset();
        small_[variant.name].text = text;
        continue;
      }
      break;
    }
    if (!live_) return false;
  }
  const auto& variants = desk.scene().variants;
  const auto made = std::find_if(variants.begin(), variants.end(),
                                 [&](const Variant& variant) { return variant.name == making_; });
  if (made == variants.end() || with(desk, *made).text != making_text_) {
    live_.reset();  // it is of a scene that was edited since
    return true;
  }
  live_->work(seconds);
  const ShownPicture& shown = live_->picture().shown();
  const bool failed = live_->take_fault().has_value();
  if (failed || (shown.full && shown.samples >= small_samples)) {
    Small& small = small_[making_];
    small.text = making_text_;
    if (!failed) {
      small.texture = Texture(shown.width, shown.height);
      const std::vector<std::uint32_t> codes = live_->picture().codes();
      small.texture.fill(std::as_bytes(std::span(codes)));
    }
    live_.reset();
  }
  return true;
}

void VariantsPane::draw(Desk& desk, View& view) {
  heading("Variants");
  if (!desk.open()) return;
  ImGui::SameLine();
  if (ImGui::SmallButton("Keep this ...")) ImGui::OpenPopup("keep");
  name_item("keep variant");
  explain(
      "Keeps the values that you changed since the scene was opened or saved, under a name, in the scene.");
  if (!desk.scene().variants.empty()) {
    ImGui::SameLine();
    if (ImGui::SmallButton(view.side_by_side.on ? "Back to the panes" : "Beside each other"))
      toggle_side_by_side(desk, view);
    name_item("side by side");
    explain("The scene as it is and the variants with a tick, three at most, with their readings: V.");
  }
  if (ImGui::BeginPopup("keep")) {
    if (ImGui::IsWindowAppearing()) {
      new_name_ = desk.edited().next_name("variant", "my light");
      ImGui::SetKeyboardFocusHere();
    }
    ImGui::SetNextItemWidth(em(12));
    const bool enter = input_text("##name", new_name_,
                                  ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
    name_item("variant name");
    ImGui::SameLine();
    if ((ImGui::Button("Keep") || enter) && !new_name_.empty() && desk.keep_variant(new_name_)) {
      desk.say(fmt::format("Variant '{}' is in the scene; save the scene to keep it on disk.", new_name_));
      ImGui::CloseCurrentPopup();
    }
    name_item("keep");
    ImGui::EndPopup();
  }
  const std::vector<Variant> variants = desk.scene().variants;
  if (variants.empty()) {
    ImGui::PushTextWrapPos(0);
    ImGui::TextDisabled("None yet. Change the light or the camera, then keep it here to compare.");
    ImGui::PopTextWrapPos();
  }
  const float width = em(8.6f), height = width * static_cast<float>(desk.scene().camera.format_mm[1] /
                                                                    desk.scene().camera.format_mm[0]);
  const float right = ImGui::GetWindowPos().x + ImGui::GetWindowContentRegionMax().x;
  for (const Variant& variant : variants) {
    ImGui::PushID(variant.name.c_str());
    ImGui::BeginGroup();
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImDrawList* list = ImGui::GetWindowDrawList();
    const bool used = with(desk, variant).text == desk.edited().text();
    if (ImGui::InvisibleButton("picture", {width, height})) desk.use_variant(variant.name);
    name_item("variant " + variant.name);
    explain("Click to restore it: its values become the scene's; undo takes them back.\n" +
            words_of(variant));
    const auto small = small_.find(variant.name);
    if (small != small_.end() && small->second.texture.id())
      list->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(small->second.texture.id())),
                     at, {at.x + width, at.y + height});
    else
      list->AddRectFilled(at, {at.x + width, at.y + height}, ink::ground);
    list->AddRect(at, {at.x + width, at.y + height},
                  used                     ? ink::accent
                  : ImGui::IsItemHovered() ? ink::plain
                                           : ink::line,
                  0, 0, (used ? 2 : 1) * scale());
    const auto& sides = view.side_by_side.chosen;
    bool chosen = std::find(sides.begin(), sides.end(), variant.name) != sides.end();
    const float end = ImGui::GetCursorPosX() + width;
    ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {0, 0});
    if (ImGui::Checkbox("##side", &chosen)) choose_side(desk, view, variant.name, chosen);
    ImGui::PopStyleVar();
    name_item("choose " + variant.name);
    explain("With a tick it is among those that are set beside each other: V.");
    ImGui::SameLine(0, em(0.4f));
    ImGui::PushTextWrapPos(end);
    ImGui::TextUnformatted(variant.name.c_str());
    ImGui::PopTextWrapPos();
    ImGui::PushFont(fonts().small);
    ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
    std::string words = with(desk, variant).differs;
    while (words.size() > 4 && ImGui::CalcTextSize(words.c_str()).x > width) words.resize(words.size() - 1);
    if (words != with(desk, variant).differs)
      words.replace(words.size() - std::min<std::size_t>(3, words.size()), 3, "...");
    ImGui::TextUnformatted(words.c_str());
    ImGui::PopStyleColor();
    const bool beside = view.beside == variant.name;
    if (ImGui::SmallButton(beside ? "Close split" : "Split")) view.beside = beside ? "" : variant.name;
    name_item("beside " + variant.name);
    explain("Splits the picture: as it is on the left, this variant on the right; drag the line.");
    ImGui::SameLine();
    if (ImGui::SmallButton("Forget")) desk.remove_block("variant", variant.name, "Forget " + variant.name);
    name_item("forget " + variant.name);
    ImGui::PopFont();
    ImGui::EndGroup();
    ImGui::PopID();
    if (ImGui::GetItemRectMax().x + width + em(0.6f) < right) ImGui::SameLine(0, em(0.6f));
  }
}

}  // namespace undercap::window
