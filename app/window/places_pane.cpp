// The map of places for a lamp: what is asked of it, what it says of a place, and putting the lamp there.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/window/paint.h"
#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/report/fields_words.h"
#include "engine/scene/document.h"
#include "engine/session/place.h"

namespace undercap::window {

PlacesAsked map_asked(const Desk& desk, const View& view) {
  const auto& sources = desk.scene().sources;
  const bool chosen = std::any_of(sources.begin(), sources.end(),
                                  [&](const Source& source) { return source.name == view.source; });
  return {.source = chosen            ? view.source
                    : sources.empty() ? std::string()
                                      : sources.front().name,
          .target = view.map.target,
          .rise_stops = view.map.rise_stops,
          .spill_stops = view.map.spill_stops,
          .hand = view.map.hand};
}

std::string words_of_place(Desk& desk, const glm::dvec3& place_m) {
  const auto fields = desk.places().at(desk.live(), place_m);
  return fields ? fields_words(desk.live().world(), desk.places().question(), *fields) : std::string();
}

bool target_choice(const Desk& desk, std::optional<Address>& target, const std::string& name) {
  bool changed = false;
  ImGui::SetNextItemWidth(begin_row("Target", "What the lamp shall raise, as the camera sees it."));
  const std::string now = target ? target->text() : "the subject";
  if (ImGui::BeginCombo(("##" + name).c_str(), now.c_str(), ImGuiComboFlags_HeightLarge)) {
    if (ImGui::Selectable("the subject", !target)) {
      target.reset();
      changed = true;
    }
    name_item(name + "=the subject");
    for (const std::string& part : target_names(desk.live().world())) {
      if (ImGui::Selectable(part.c_str(), part == now)) {
        target = Address::parse(part);
        changed = true;
      }
      name_item(name + "=" + part);
    }
    ImGui::EndCombo();
  }
  name_item(name);
  return changed;
}

void put_lamp(Desk& desk, const std::string& source, const glm::dvec3& place_m, const glm::dvec3& aim_m,
              std::optional<double> power_pct) {
  const auto key = [&](const char* of) { return fmt::format("source.{}.{}", source, of); };
  std::vector<Edit> edits{{key("position_m"), toml(place_m)}, {key("aim"), toml(aim_m)}};
  if (power_pct) {
    edits.push_back({key("power_pct"), toml(std::min(*power_pct, 100.0))});
    edits.push_back({key("on"), "true"});
  }
  desk.change(edits, "Place " + source);
}

void put_lamp_by_map(Desk& desk, View& view, const glm::dvec3& place_m) {
  const std::string source = map_asked(desk, view).source;
  const auto fields = desk.places().at(desk.live(), place_m);
  if (!fields) {
    desk.say("The map is still being made; click again when it is there.");
    return;
  }
  // In the ground, say, nothing need touch it.
  if ((fields->limits & impossible) != 0 || !std::isfinite(fields->power_pct)) {
    desk.say(fmt::format("No lamp there: {}.", limits_words(fields->limits)));
    return;
  }
  view.source = source;
  put_lamp(desk, source, place_m, desk.places().question().target_m);
}

void map_controls(Desk& desk, View& view) {
  MapView& map = view.map;
  ImGui::Checkbox("Placement map", &map.on);
  name_item("placement map");
  explain(
      "Where this lamp may be held, drawn on Plan and Elevation: an estimate by direct light. Click on a "
      "drawing to put the lamp there.");
  if (!map.on) return;
  ImGui::SameLine();
  ImGui::Checkbox("in a hand beside the camera", &map.hand);
  name_item("map hand");
  explain("Within a hand's reach, and with no arm in the picture.");
  target_choice(desk, map.target, "map target");
  slide("map.rise", "Rise", map.rise_stops,
        {0.1, 4, false, 1, "stops", 2, "What the lamp shall add to the target, on top of all other light."});
  slide("map.spill", "Spill", map.spill_stops,
        {0.02, 2, true, 0.2, "stops", 2,
         "What it may add at most to what lies behind and before, at the power that the rise takes."});
  // What is typed may lie outside of the tracks.
  map.rise_stops = std::clamp(map.rise_stops, 0.01, 12.0);
  map.spill_stops = std::clamp(map.spill_stops, 0.001, 12.0);
  if (!desk.places().fault().empty()) {
    wrapped(desk.places().fault(), ink::accent);
    return;
  }
  const std::string source = map_asked(desk, view).source;
  if (const auto place = place_of(desk, "source:" + source)) {
    // Asked of the device when something has changed.
    const std::string now = fmt::format("{} {} {} {} {}", source, desk.live().version(),
                                        desk.places().number(), map.rise_stops, map.spill_stops);
    if (map.here_of != now || map.here.empty()) {
      map.here = words_of_place(desk, *place);
      map.here_of = now;
    }
    wrapped(
        map.here.empty() ? "The map is being made." : "Held where it is, aimed at the target: " + map.here,
        ink::plain);
    name_item("map here");
  }
  const ImVec2 corner = ImGui::GetCursorScreenPos();
  const float px = pixels_per_mm(), wide = ImGui::GetContentRegionAvail().x;
  const Drawing key = place_map_key(static_cast<double>(wide / px));
  ImGui::Dummy({wide, static_cast<float>(key.height_mm) * px});
  name_item("map key");
  paint(key, corner, {});
}

}  // namespace undercap::window
