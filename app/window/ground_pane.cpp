// The set: what stands on the ground, shown or tidied away, and the ground itself as the first reflector.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>

#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/scene/keys.h"

namespace undercap::window {
namespace {

std::string key_of(const Prop& prop, std::string_view key) {
  return fmt::format("prop.{}.{}", prop.name, key);
}

// Where the camera looks, on the ground; a little to the right, so that it does not stand in the subject.
std::string new_place(const Desk& desk) {
  const World& world = desk.live().world();
  const glm::dvec3 place = world.camera.focus_point_m + 0.06 * world.camera.right;
  return fmt::format("[{:.3f}, {:.3f}]", place.x, place.y);
}

bool has_needed_keys(const Kind& kind) {
  return std::any_of(kind.keys.begin(), kind.keys.end(),
                     [](const KindKey& key) { return key.fallback.empty(); });
}

void add_menu(Desk& desk, View& view, std::string& obj_file) {
  if (ImGui::SmallButton("+ prop")) ImGui::OpenPopup("kit");
  name_item("add prop");
  if (!ImGui::BeginPopup("kit")) return;
  for (const Kind& kind : kinds()) {
    if (kind.name == "mesh" || has_needed_keys(kind)) continue;
    if (ImGui::MenuItem(kind.name.c_str())) {
      const std::string name = desk.edited().next_name("prop", kind.name);
      if (desk.add_block(fmt::format("[[prop]]\nname = \"{}\"\nkind = \"{}\"\nat_m = {}\n", name, kind.name,
                                     new_place(desk)),
                         "Add " + name))
        view.prop = name;
    }
    explain(kind.meaning);
    name_item("kit " + kind.name);
  }
  ImGui::Separator();
  ImGui::TextDisabled("a card, 148 x 105 mm");
  for (const auto& [word, reflectance] :
       {std::pair("white", ".85"), std::pair("grey", ".18"), std::pair("black", ".04")})
    if (ImGui::MenuItem(word)) {
      const std::string name = desk.edited().next_name("prop", std::string(word) + " card");
      const glm::dvec3 place =
          desk.live().world().camera.focus_point_m + 0.12 * desk.live().world().camera.right;
      if (desk.add_block(
              fmt::format("[[prop]]\nname = \"{}\"\nkind = \"card\"\nsize_mm = [148, 105]\nat_m = [{:.3f}, "
                          "{:.3f}, 0.053]\nturn_deg = 60\n[prop.material.surface]\nreflectance = 0{}\n",
                          name, place.x, place.y, reflectance),
              "Add " + name))
        view.prop = name;
    }
  ImGui::Separator();
  ImGui::TextDisabled("an OBJ file in the scene's folder");
  ImGui::SetNextItemWidth(em(12));
  input_text("##obj", obj_file);
  ImGui::SameLine();
  if (ImGui::Button("Add") && !obj_file.empty()) {
    add_obj(desk, obj_file);
    ImGui::CloseCurrentPopup();
  }
  ImGui::EndPopup();
}

void prop_list(Desk& desk, View& view) {
  const std::vector<Prop> props = desk.scene().props;
  for (const Prop& prop : props) {
    ImGui::PushID(prop.name.c_str());
    bool visible = prop.visible;
    if (ImGui::Checkbox("##visible", &visible))
      desk.set(key_of(prop, "visible"), toml(visible), (visible ? "Show " : "Hide ") + prop.name);
    name_item(key_of(prop, "visible"));
    explain("Hide it, as tidying does, or show it again.");
    ImGui::SameLine();
    if (!prop.visible) ImGui::PushStyleColor(ImGuiCol_Text, ink::faint);
    if (ImGui::Selectable(fmt::format("{}  ({})", prop.name, prop.kind->name).c_str(),
                          view.prop == prop.name))
      view.prop = view.prop == prop.name ? "" : prop.name;
    if (!prop.visible) ImGui::PopStyleColor();
    name_item("prop " + prop.name);
    ImGui::PopID();
  }
}

// The keys that only this kind has, as sliders where they are numbers.
void own_keys(Desk& desk, const Prop& prop) {
  for (const KeyRow& row : of_kind(*prop.kind)) {
    const std::string key = key_of(prop, row.name);
    const auto found = prop.values.find(std::string(row.name));
    if (found == prop.values.end()) continue;
    std::string label(row.name);
    if (!row.unit.empty() && label.ends_with(fmt::format("_{}", row.unit)))
      label.resize(label.size() - row.unit.size() - 1);
    std::replace(label.begin(), label.end(), '_', ' ');
    const std::string help(row.meaning);
    if (row.type == ValueType::number || row.type == ValueType::integer) {
      const double value = number(prop.values, row.name);
      const std::string unit(row.unit);
      Range range{.low = row.low, .high = row.high, .unit = unit.c_str(), .explained = help.c_str()};
      // Tables allow more than a hand wants to drag over.
      if (row.high > 20 * std::max(value, 1.0)) range.high = std::max(20.0, 4 * value);
      range.logarithmic = row.low > 0 && range.high / row.low > 50;
      if (row.low == 0 && row.above_low) range.low = range.high / 1000;
      if (row.type == ValueType::integer) {
        double whole = value;
        const Slide moved = slide(key, label.c_str(), whole, range);
        if (moved.begin) desk.begin_drag(prop.name + ": " + label);
        if (moved.changed && std::round(whole) != value)
          desk.set(key, fmt::format("{:.0f}", whole), prop.name + ": " + label);
        if (moved.end) desk.end_drag();
      } else {
        key_slide(desk, key, label.c_str(), value, range, prop.name + ": " + label);
      }
    } else if (row.type == ValueType::choice) {
      std::vector<Choice> choices;
      for (const std::string_view word : words(row.choices))
        choices.push_back({std::string(word), fmt::format("\"{}\"", word)});
      key_choice(desk, key, label.c_str(), text(prop.values, row.name), choices, prop.name + ": " + label,
                 help.c_str());
    }
  }
}

void chosen_prop(Desk& desk, View& view) {
  const auto& props = desk.scene().props;
  const auto found =
      std::find_if(props.begin(), props.end(), [&](const Prop& prop) { return prop.name == view.prop; });
  if (found == props.end()) return;
  const Prop prop = *found;
  ImGui::Separator();
  heading(prop.name.c_str());
  ImGui::SameLine();
  if (ImGui::SmallButton("Remove")) {
    desk.remove_block("prop", prop.name, "Remove " + prop.name);
    return;
  }
  name_item("remove prop");
  key_slide(desk, key_of(prop, "wet"), "Wet", prop.wet,
            {0, 1, false, 0, "", 2, "0 dry, 1 under a film of water."}, "Wetness of " + prop.name);
  key_slide(desk, key_of(prop, "turn_deg"), "Turn", prop.turn_deg,
            {-180, 180, false, 0, "\u00b0", 3, "About the upright, counter-clockwise from above."},
            "Turn " + prop.name);
  key_slide(desk, key_of(prop, "scale"), "Scale", prop.scale, {0.2, 5, true, 1, "", 3, "Size factor."},
            "Scale " + prop.name);
  own_keys(desk, prop);
}

void ground(Desk& desk) {
  const Ground& ground = desk.scene().ground;
  static const char* names[] = {"litter", "moss", "soil", "sand", "none"};
  std::vector<Choice> choices;
  for (const char* word : names) choices.push_back({word, fmt::format("\"{}\"", word)});
  key_choice(desk, "ground.kind", "Ground", names[static_cast<int>(ground.kind)], choices, "Ground",
             "What covers the ground beneath all props.");
  if (ground.kind == Ground::Kind::none) return;
  // One slider for all three channels keeps the colour; each doubling is a stop of fill under the cap.
  const double level = 0.2126 * static_cast<double>(ground.reflectance.x) +
                       0.7152 * static_cast<double>(ground.reflectance.y) +
                       0.0722 * static_cast<double>(ground.reflectance.z);
  double asked = level * 100;
  const Slide moved =
      slide("ground.reflectance", "Reflectance", asked,
            {1, 60, true, 9.4, "%", 2,
             "How much light the litter sends back: the first fill of every cap. Twice as much is "
             "about a stop more under it."});
  if (moved.begin) desk.begin_drag("Reflectance of the ground");
  if (moved.changed && level > 0) {
    const glm::dvec3 rgb = glm::min(glm::dvec3(ground.reflectance) * (asked / 100 / level), 1.0);
    desk.set("ground.reflectance", fmt::format("[{:.4f}, {:.4f}, {:.4f}]", rgb.x, rgb.y, rgb.z),
             "Reflectance of the ground");
  }
  if (moved.end) desk.end_drag();
  key_slide(
      desk, "ground.wet", "Wetness", ground.wet,
      {0, 1, false, 0, "", 2, "0 dry, 1 under a film of water: wet ground is darker and gives less fill."},
      "Wetness of the ground");
}

}  // namespace

void add_obj(Desk& desk, const std::string& file) {
  const std::string stem = std::filesystem::path(file).stem().string();
  std::string wanted;
  for (const char c : stem)
    if (std::isalnum(static_cast<unsigned char>(c)) || c == ' ' || c == '_' || c == '-') wanted += c;
  if (wanted.empty() || !std::isalpha(static_cast<unsigned char>(wanted[0]))) wanted = "mesh " + wanted;
  const std::string name = desk.edited().next_name("prop", wanted);
  desk.add_block(fmt::format("[[prop]]\nname = \"{}\"\nkind = \"mesh\"\nfile = {}\nat_m = {}\n", name,
                             toml_quoted(file), new_place(desk)),
                 "Add " + name);
}

void ground_pane(Desk& desk, View& view) {
  heading("Ground");
  if (!desk.in_step()) return;
  static std::string obj_file;
  ImGui::SameLine();
  add_menu(desk, view, obj_file);
  ImGui::SameLine();
  ImGui::Checkbox("tidy by clicks", &view.tidy);
  name_item("tidy");
  explain("While it is ticked, a click in the picture hides the leaf or the prop that it meets.");
  ground(desk);
  ImGui::Separator();
  prop_list(desk, view);
  chosen_prop(desk, view);
}

}  // namespace undercap::window
