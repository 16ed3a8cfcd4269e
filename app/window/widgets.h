// What the panes are made of: sliders that show range and usual value and can be typed over, choices,
// headings, tooltips. Everything that can be pointed at has a name, which automation and tests go by.
#pragma once

#include <imgui/imgui.h>

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/window/desk.h"
#include "app/window/look.h"

namespace undercap::window {

// Where named things are, pixels of the window; taken anew each frame.
struct Named {
  ImVec2 low, high;
};
std::map<std::string, Named>& named_things();
void name_item(const std::string& name);  // the last item
void name_place(const std::string& name, ImVec2 low, ImVec2 high);

// One sentence about the last item, after a moment.
void explain(const std::string& sentence);

// A text that breaks at the window's edge.
void wrapped(const std::string& text, ImU32 colour = ink::plain);

struct Range {
  double low = 0, high = 1;
  bool logarithmic = false;
  std::optional<double> usual{};  // a mark on the track
  const char* unit = "";
  int digits = 3;  // significant
  const char* explained = "";
};

// A value as it stands beside its slider: "1/60" for short times, three digits, no exponent.
std::string shown(double value, int digits);
// What a person types: 12.5, 12,5, 1/60. Nothing when it is no number.
std::optional<double> typed(const std::string& text);

// A row: label, track, value with unit. 'begin' when a drag begins, 'end' when it is over.
struct Slide {
  bool changed = false, begin = false, end = false;
};
Slide slide(const std::string& name, const char* label, double& value, const Range& range);

// The same for a key of the scene. 'step' is what undo calls it. True when the scene changed.
bool key_slide(Desk& desk, const std::string& key, const char* label, double value, const Range& range,
               const std::string& step);
// Over a list of values, nearest first; other values can be typed.
bool key_steps(Desk& desk, const std::string& key, const char* label, double value,
               const std::vector<double>& steps, const Range& range, const std::string& step);
bool key_tick(Desk& desk, const std::string& key, const char* label, bool value, const std::string& step,
              const char* explained);
struct Choice {
  std::string label, value;  // value: TOML
};
bool key_choice(Desk& desk, const std::string& key, const char* label, const std::string& current,
                const std::vector<Choice>& choices, const std::string& step, const char* explained);

// A value as text on the right, with a click to type over it. True when a new one was typed.
bool value_box(const std::string& name, double& value, const Range& range, float width);

// A line of text that grows.
bool input_text(const char* label, std::string& text, ImGuiInputTextFlags flags = 0);

// How wide the labels of the rows that follow are, in units of the type's size.
void set_label_width(float units);

// Begins a row of 'label' and leaves the cursor where the control goes; 'width' of what is left.
float begin_row(const char* label, const char* explained);

void heading(const char* text);
void right_text(const std::string& text, ImU32 colour, ImFont* font = nullptr);

inline float em(float units) { return units * text_px * scale(); }

}  // namespace undercap::window
