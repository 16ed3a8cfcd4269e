#include "app/window/widgets.h"

#include <fmt/format.h>
#include <imgui/imgui_internal.h>

#include <algorithm>
#include <charconv>
#include <cmath>

namespace undercap::window {
namespace {

// One box is typed into at a time.
struct Typing {
  std::string name, text;
  bool fresh = false;
} typing;

constexpr float value_em = 4.7f;
float label_em = 6.2f;

}  // namespace

std::map<std::string, Named>& named_things() {
  static std::map<std::string, Named> things;
  return things;
}

void name_place(const std::string& name, ImVec2 low, ImVec2 high) { named_things()[name] = {low, high}; }
void name_item(const std::string& name) {
  name_place(name, ImGui::GetItemRectMin(), ImGui::GetItemRectMax());
}

void wrapped(const std::string& text, ImU32 colour) {
  ImGui::PushStyleColor(ImGuiCol_Text, colour);
  ImGui::PushTextWrapPos(0);
  ImGui::TextUnformatted(text.c_str());
  ImGui::PopTextWrapPos();
  ImGui::PopStyleColor();
}

void explain(const std::string& sentence) {
  if (sentence.empty() || !ImGui::IsItemHovered(ImGuiHoveredFlags_AllowWhenDisabled)) return;
  if (GImGui->HoveredIdTimer < 0.5f && GImGui->HoveredId != 0) return;
  ImGui::BeginTooltip();
  ImGui::PushTextWrapPos(em(22));
  ImGui::TextUnformatted(sentence.c_str());
  ImGui::PopTextWrapPos();
  ImGui::EndTooltip();
}

std::string shown(double value, int digits) {
  if (value == 0) return "0";
  const double size = std::abs(value);
  if (size >= 1e6) return fmt::format("{:.{}g}", value, digits);
  const int exponent = static_cast<int>(std::floor(std::log10(size) + 1e-9));
  const int decimals = std::clamp(digits - 1 - exponent, 0, 6);
  std::string text = fmt::format("{:.{}f}", value, decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

std::optional<double> typed(const std::string& text) {
  const auto number = [](std::string part) -> std::optional<double> {
    part.erase(0, part.find_first_not_of(" +"));
    part.erase(part.find_last_not_of(' ') + 1);
    std::replace(part.begin(), part.end(), ',', '.');
    double value = 0;
    const auto read = std::from_chars(part.data(), part.data() + part.size(), value);
    if (part.empty() || read.ec != std::errc{} || read.ptr != part.data() + part.size()) return std::nullopt;
    return std::isfinite(value) ? std::optional(value) : std::nullopt;
  };
  const std::size_t slash = text.find('/');
  if (slash == std::string::npos) return number(text);
  const auto above = number(text.substr(0, slash)), below = number(text.substr(slash + 1));
  if (!above || !below || *below == 0) return std::nullopt;
  return *above / *below;
}

bool value_box(const std::string& name, double& value, const Range& range, float width) {
  if (typing.name == name) {
    ImGui::SetNextItemWidth(width);
    if (typing.fresh) ImGui::SetKeyboardFocusHere();
    const bool enter = input_text(("##" + name).c_str(), typing.text,
                                  ImGuiInputTextFlags_AutoSelectAll | ImGuiInputTextFlags_EnterReturnsTrue);
    name_item(name);
    const bool first = std::exchange(typing.fresh, false);
    const bool left = !first && ImGui::IsItemDeactivated();
    if (!enter && !left) return false;
    const bool given_up = ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_Escape));
    const std::string text = typing.text;
    typing = {};
    if (given_up) return false;
    const auto number = typed(text);
    if (!number) return false;
    value = *number;
    return true;
  }
  const std::string text =
      fmt::format("{}{}{}", shown(value, range.digits), *range.unit ? " " : "", range.unit);
  ImGui::PushStyleVar(ImGuiStyleVar_ButtonTextAlign, {1, 0.5f});
  ImGui::PushStyleColor(ImGuiCol_Button, ink::pane);
  const bool pressed = ImGui::Button((text + "##" + name).c_str(), {width, 0});
  ImGui::PopStyleColor();
  ImGui::PopStyleVar();
  name_item(name);
  if (pressed) typing = {name, shown(value, 6), true};
  if (ImGui::IsItemHovered()) ImGui::SetMouseCursor(ImGuiMouseCursor_TextInput);
  return false;
}

bool input_text(const char* label, std::string& text, ImGuiInputTextFlags flags) {
  const auto grow = [](ImGuiInputTextCallbackData* data) {
    auto& grown = *static_cast<std::string*>(data->UserData);
    grown.resize(static_cast<std::size_t>(data->BufTextLen));
    data->Buf = grown.data();
    return 0;
  };
  return ImGui::InputText(label, text.data(), text.capacity() + 1, flags | ImGuiInputTextFlags_CallbackResize,
                          grow, &text);
}

void set_label_width(float units) { label_em = units; }

float begin_row(const char* label, const char* explained) {
  const float x = ImGui::GetCursorPosX();
  ImGui::AlignTextToFramePadding();
  ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
  ImGui::TextUnformatted(label);
  ImGui::PopStyleColor();
  explain(explained);
  // Not SameLine(x): in the later columns of a table that adds the column's place once more.
  ImGui::SameLine();
  ImGui::SetCursorPosX(x + em(label_em));
  return ImGui::GetContentRegionAvail().x;
}

Slide slide(const std::string& name, const char* label, double& value, const Range& range) {
  Slide result;
  ImGui::PushID(name.c_str());
  const float all = begin_row(label, range.explained), box = std::min(em(value_em), all * 0.5f);
  const float track = all - box - ImGui::GetStyle().ItemSpacing.x;
  if (track > em(2)) {
    double moved = std::clamp(value, range.low, range.high);
    ImGui::SetNextItemWidth(track);
    const ImGuiSliderFlags flags = ImGuiSliderFlags_NoInput | ImGuiSliderFlags_AlwaysClamp |
                                   ImGuiSliderFlags_NoRoundToFormat |
                                   (range.logarithmic ? ImGuiSliderFlags_Logarithmic : 0);
    const bool changed =
        ImGui::SliderScalar("##track", ImGuiDataType_Double, &moved, &range.low, &range.high, "", flags);
    result.begin = ImGui::IsItemActivated();
    result.end = ImGui::IsItemDeactivated();
    if (changed) value = moved;
    result.changed = changed;
    name_item("slide " + name);
    const ImVec2 low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax();
    if (range.usual && *range.usual >= range.low && *range.usual <= range.high) {
      const double share = range.logarithmic
                               ? std::log(*range.usual / range.low) / std::log(range.high / range.low)
                               : (*range.usual - range.low) / (range.high - range.low);
      const float x = low.x + em(0.35f) + static_cast<float>(share) * (high.x - low.x - em(0.7f));
      ImGui::GetWindowDrawList()->AddLine({x, high.y - em(0.25f)}, {x, high.y}, ink::soft, scale());
    }
    std::string help = range.explained;
    help += fmt::format("{}{} to {}{}{}", help.empty() ? "" : "\n", shown(range.low, 3), shown(range.high, 3),
                        *range.unit ? " " : "", range.unit);
    if (range.usual) help += fmt::format(", usually {}", shown(*range.usual, 3));
    explain(help + ".");
    ImGui::SameLine();
  }
  if (value_box(name, value, range, track > em(2) ? box : all)) {
    result.begin = result.changed = result.end = true;
  }
  explain("Click to type a value.");
  ImGui::PopID();
  return result;
}

namespace {

// Passes a slide on to the scene: one step of undo from press to release.
bool obey(Desk& desk, const Slide& slide, const std::string& key, const std::string& value,
          const std::string& step) {
  if (slide.begin && !desk.dragging()) desk.begin_drag(step);
  const bool done = slide.changed && desk.set(key, value, step);
  if (slide.end) desk.end_drag();
  return done;
}

}  // namespace

bool key_slide(Desk& desk, const std::string& key, const char* label, double value, const Range& range,
               const std::string& step) {
  const Slide moved = slide(key, label, value, range);
  return obey(desk, moved, key, toml(value), step);
}

bool key_steps(Desk& desk, const std::string& key, const char* label, double value,
               const std::vector<double>& steps, const Range& range, const std::string& step) {
  double asked = value;
  Range track = range;
  track.low = steps.front();
  track.high = steps.back();
  track.logarithmic = true;
  const Slide moved = slide(key, label, asked, track);
  const bool by_track = moved.changed && !(moved.begin && moved.end);
  if (by_track)
    asked = *std::min_element(steps.begin(), steps.end(), [&](double a, double b) {
      return std::abs(std::log(a / asked)) < std::abs(std::log(b / asked));
    });
  Slide told = moved;
  told.changed = moved.changed && asked != value;
  return obey(desk, told, key, toml(asked), step);
}

bool key_tick(Desk& desk, const std::string& key, const char* label, bool value, const std::string& step,
              const char* explained) {
  bool wanted = value;
  ImGui::PushID(key.c_str());
  const bool pressed = ImGui::Checkbox(label, &wanted);
  name_item(key);
  explain(explained);
  ImGui::PopID();
  return pressed && desk.set(key, toml(wanted), step);
}

bool key_choice(Desk& desk, const std::string& key, const char* label, const std::string& current,
                const std::vector<Choice>& choices, const std::string& step, const char* explained) {
  ImGui::PushID(key.c_str());
  ImGui::SetNextItemWidth(begin_row(label, explained));
  bool changed = false;
  if (ImGui::BeginCombo("##choice", current.c_str(), ImGuiComboFlags_HeightLarge)) {
    for (const Choice& choice : choices) {
      if (ImGui::Selectable(choice.label.c_str(), choice.label == current))
        changed = desk.set(key, choice.value, step);
      name_item(key + "=" + choice.label);
    }
    ImGui::EndCombo();
  }
  name_item(key);
  ImGui::PopID();
  return changed;
}

void heading(const char* text) {
  ImGui::PushFont(fonts().bold);
  ImGui::TextUnformatted(text);
  ImGui::PopFont();
}

void right_text(const std::string& text, ImU32 colour, ImFont* font) {
  if (font) ImGui::PushFont(font);
  const float width = ImGui::CalcTextSize(text.c_str()).x;
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + std::max(0.f, ImGui::GetContentRegionAvail().x - width));
  ImGui::PushStyleColor(ImGuiCol_Text, colour);
  ImGui::TextUnformatted(text.c_str());
  ImGui::PopStyleColor();
  if (font) ImGui::PopFont();
}

}  // namespace undercap::window
